"""Disks that are full, sticks without links, lists that are torn: one sentence each."""

from __future__ import annotations

import errno
import os
from typing import TYPE_CHECKING

import pytest

from strikebridge.errors import SafekeepingError, StoreError
from strikebridge.safekeeping.contents import ERASURES
from strikebridge.safekeeping.disk import disk_words, give_name
from strikebridge.safekeeping.erasure_list import ErasedLine, add_erasures, read_erasures
from strikebridge.safekeeping.outside import (
    FILE,
    Kind,
    forget_outside,
    note_outside,
    outside_files,
)
from strikebridge.store.copying import check_database, copy_database
from tests.safekeeping.made import fill

if TYPE_CHECKING:
    from pathlib import Path

ERASED = ErasedLine(at="2026-03-01", mark="m", sessions=1, reps=2, recordings=0, files=0)


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "is full. All is safe. Make room"),
        (errno.EDQUOT, "is full. All is safe. Make room"),
        (errno.EFBIG, "takes no file of that size. All is safe."),
        (errno.EIO, "cannot be read or written (Input/output error). All is safe."),
    ],
)
def test_what_a_disk_refuses_is_said(tmp_path: Path, number: int, words: str) -> None:
    said = disk_words(tmp_path, OSError(number, os.strerror(number)), "All is safe.")
    assert str(tmp_path) in said
    assert words in said


def no_links(*_: object) -> None:
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))  # as FAT says it


@pytest.mark.parametrize("has_links", [True, False])
def test_a_file_gets_its_name_on_any_disk_and_never_that_of_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, has_links: bool
) -> None:
    if not has_links:
        monkeypatch.setattr("pathlib.Path.hardlink_to", no_links)
    (tmp_path / "part").write_text("new")
    give_name(tmp_path / "part", tmp_path / "file")
    assert (tmp_path / "file").read_text() == "new"
    (tmp_path / "part").write_text("newer")
    with pytest.raises(FileExistsError):
        give_name(tmp_path / "part", tmp_path / "file")


def test_the_list_of_what_lies_outside_may_be_torn(tmp_path: Path) -> None:
    paths = [tmp_path / name for name in ("one", "two", "gone")]
    for path in (*paths, paths[0]):
        path.touch()
        note_outside(tmp_path, Kind.BACKUP, path)
    paths[2].unlink()
    with (tmp_path / FILE).open("ab") as file:
        file.write(b'{"at":"20')
    assert [one.path for one in outside_files(tmp_path)] == [str(paths[1]), str(paths[0])]
    forget_outside(tmp_path, {str(paths[0])})
    assert [one.path for one in outside_files(tmp_path)] == [str(paths[1])]


def test_a_list_that_cannot_be_used_is_said(tmp_path: Path) -> None:
    (tmp_path / FILE).mkdir()
    (tmp_path / ERASURES).mkdir()
    with pytest.raises(SafekeepingError, match="Remember this file yourself"):
        note_outside(tmp_path, Kind.BACKUP, tmp_path / "b.zip")
    with pytest.raises(SafekeepingError, match="cannot be read"):
        outside_files(tmp_path)
    with pytest.raises(SafekeepingError, match="cannot be read or written"):
        read_erasures(tmp_path)
    (tmp_path / FILE).rmdir()
    (tmp_path / ERASURES).rmdir()
    with pytest.raises(SafekeepingError, match="cannot be written"):
        forget_outside(tmp_path / "nowhere", set())
    with pytest.raises(SafekeepingError, match="cannot be read or written"):
        add_erasures(tmp_path / "nowhere", [ERASED])


def test_erasures_are_added_once_and_torn_lines_are_passed_over(tmp_path: Path) -> None:
    (tmp_path / ERASURES).write_bytes(b'{"at":"torn\n')
    add_erasures(tmp_path, [ERASED, ERASED])
    add_erasures(tmp_path, [ERASED])
    assert read_erasures(tmp_path) == [ERASED]


def test_a_copy_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    fill(tmp_path / "data")
    with pytest.raises(StoreError, match=r"cannot be copied.*Nothing was changed"):
        copy_database(tmp_path / "data", tmp_path / "nowhere" / "copy")
    (tmp_path / "songs.sqlite").write_bytes(b"no database" * 100)
    with pytest.raises(StoreError, match="is damaged"):
        check_database(tmp_path / "songs.sqlite")
