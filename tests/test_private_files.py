"""Files and folders are for the user alone, whatever the umask, and can be closed to others."""

from __future__ import annotations

import os
import stat
import sys
from typing import TYPE_CHECKING

import pytest

from strikebridge.boards.remembered import remember_shape
from strikebridge.checks.history import OverloadRecord, append_record, board_file
from strikebridge.private_files import (
    close_to_others,
    is_open_to_others,
    open_private,
    private_folder,
)
from strikebridge.recording import Header, RecordingWriter

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="Windows keeps the folders of a profile closed by itself."
)


def mode_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def no_umask() -> Iterator[None]:
    before = os.umask(0)
    yield
    os.umask(before)


@pytest.mark.usefixtures("no_umask")
@pytest.mark.parametrize("mode", ["w", "wb", "xb", "ab+"])
def test_a_new_file_is_for_the_user_alone(tmp_path: Path, mode: str) -> None:
    path = tmp_path / "deep" / "down" / "file"
    private_folder(path.parent)
    open_private(path, mode).close()
    assert mode_of(path) == 0o600
    assert mode_of(path.parent) == 0o700
    assert mode_of(path.parent.parent) == 0o700


def test_a_folder_whose_parent_is_a_file_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "note").write_text("a shopping list", encoding="utf-8")
    with pytest.raises(OSError, match="note"):
        private_folder(tmp_path / "note" / "data")


@pytest.mark.usefixtures("no_umask")
def test_what_the_program_keeps_is_for_the_user_alone(tmp_path: Path) -> None:
    data = tmp_path / "data"
    remember_shape("serial:/dev/ttyUSB9", "csv:time_ms,count", data)
    overload = OverloadRecord(at="2026-03-01T18:00:00+01:00", force_N=900.0, rating_N=800.0)
    append_record(board_file(data, "Quay", "serial:x"), overload)
    RecordingWriter(data / "one.jsonl", Header(board="typed:", started="now")).close()
    made = sorted(data.rglob("*"))
    assert {path.name for path in made} == {"boards.json", "checks", "quay.jsonl", "one.jsonl"}
    assert mode_of(data) == 0o700
    assert {mode_of(path) for path in made} == {0o600, 0o700}


def test_text_is_utf_8_with_plain_ends_everywhere(tmp_path: Path) -> None:
    with open_private(tmp_path / "file", "w") as file:
        file.write("± \n")
    assert (tmp_path / "file").read_bytes() == b"\xc2\xb1 \n"


def test_what_is_open_is_closed_and_the_user_keeps_what_he_may(tmp_path: Path) -> None:
    script, closed = tmp_path / "script", tmp_path / "closed"
    for path, mode in ((script, 0o755), (closed, 0o600)):
        path.touch()
        path.chmod(mode)
    assert is_open_to_others(script)
    assert close_to_others([script, closed, tmp_path / "gone"]) == 1
    assert (mode_of(script), mode_of(closed)) == (0o700, 0o600)
