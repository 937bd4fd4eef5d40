"""The file: who may read it, what it promises, and what is wrong with it in words."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import stat
import sys
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import create_engine, text

from strikebridge.errors import StoreError
from strikebridge.store.database import FILE, Store, open_store, open_url
from strikebridge.store.roster import Roster
from tests.store.made import DAY, INES

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps user folders private")
def test_files_are_for_the_user_alone(data: Path) -> None:
    before = os.umask(0)
    try:
        with contextlib.closing(open_store(data)) as store:
            Roster(store, lambda: DAY).add(INES)
            files = list(data.iterdir())
            assert {path.suffix for path in files} == {".sqlite", ".sqlite-wal", ".sqlite-shm"}
            assert {stat.S_IMODE(path.stat().st_mode) for path in files} == {0o600}
            assert stat.S_IMODE(data.stat().st_mode) == 0o700
    finally:
        os.umask(before)


def test_the_file_promises_what_is_said_of_it(store: Store) -> None:
    promised = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "secure_delete": 1}
    with store.reading() as session:
        for pragma, value in promised.items():
            assert session.execute(text(f"PRAGMA {pragma}")).scalar() == value


def test_foreign_keys_are_held_and_said_in_words(store: Store) -> None:
    with pytest.raises(StoreError, match="nothing was changed"), store.writing() as session:
        session.execute(
            text("INSERT INTO body_mass VALUES ('nobody', '2026-03-01', 63.2)"),
        )


def write_and_fail(store: Store) -> None:
    with store.writing() as session:
        session.execute(text("INSERT INTO training_group VALUES (1, 'Camp', 'camp')"))
        raise ZeroDivisionError


def test_an_error_leaves_nothing_of_a_transaction(store: Store) -> None:
    with pytest.raises(ZeroDivisionError):
        write_and_fail(store)
    with store.reading() as session:
        assert session.execute(text("SELECT count(*) FROM training_group")).scalar() == 0


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(StoreError, match="another one with --data"):
        open_store(tmp_path / "file")


def fill(data: Path) -> Path:
    with contextlib.closing(open_store(data)) as store:
        Roster(store, lambda: DAY).add(INES)
    return data / FILE


def test_a_file_that_is_no_database_is_said_and_left_alone(data: Path) -> None:
    data.mkdir()
    path = data / FILE
    path.write_bytes(b"Not a database at all. " * 100)
    with pytest.raises(StoreError, match=r"damaged, or it is no database.*Recordings .* safe"):
        open_store(data)
    assert path.read_bytes() == b"Not a database at all. " * 100


@pytest.mark.parametrize("keep", [100, 4096, 5000, 20_000])
def test_a_torn_file_is_said(data: Path, keep: int) -> None:
    path = fill(data)
    path.write_bytes(path.read_bytes()[:keep])
    with pytest.raises(StoreError, match="damaged"), contextlib.closing(open_store(data)) as it:
        Roster(it, lambda: DAY).all()


def test_a_file_with_a_scratched_middle_is_said(data: Path) -> None:
    path = fill(data)
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xa5" * (len(content) - 4096)
    path.write_bytes(content)
    with pytest.raises(StoreError, match="damaged"), contextlib.closing(open_store(data)) as it:
        Roster(it, lambda: DAY).all()


def test_the_database_of_another_program_is_left_alone(data: Path) -> None:
    data.mkdir()
    with contextlib.closing(sqlite3.connect(data / FILE)) as other:
        other.execute("CREATE TABLE songs (title TEXT)")
    with pytest.raises(StoreError, match="another program"):
        open_store(data)
    with contextlib.closing(sqlite3.connect(data / FILE)) as other:
        names = other.execute("SELECT name FROM sqlite_master").fetchall()
    assert names == [("songs",)]


def test_a_database_that_does_not_say_its_version_is_left_alone(data: Path) -> None:
    with contextlib.closing(sqlite3.connect(fill(data))) as other:
        other.execute("DELETE FROM schema_version")
        other.commit()
    with pytest.raises(StoreError, match="another program"):
        open_store(data)


def test_a_full_disk_is_said_and_costs_nothing_that_was_saved(
    store: Store, roster: Roster
) -> None:
    roster.add(INES)
    with store.reading() as session:
        pages = session.execute(text("PRAGMA page_count")).scalar()
    # a limit on the size of the file is the full disk that a test can have
    with store.writing() as session:
        session.execute(text(f"PRAGMA max_page_count = {pages}"))
    with pytest.raises(StoreError, match="The disk is full"), store.writing() as session:
        session.execute(
            text("INSERT INTO own_exercise VALUES (:key, :key, 'timed', NULL, NULL)"),
            [{"key": f"{i:04000d}"} for i in range(100)],
        )
    assert [one.name for one in roster.all()] == ["Ines Halloran"]


def test_a_deleted_name_is_written_over(store: Store, roster: Roster, data: Path) -> None:
    roster.add(INES)
    with store.writing() as session:
        session.execute(text("DELETE FROM membership"))
        session.execute(text("DELETE FROM care"))
        session.execute(text("DELETE FROM body_mass"))
        session.execute(text("DELETE FROM athlete"))
    store.forget()
    assert not any(b"Halloran" in path.read_bytes() for path in data.iterdir())


def test_another_database_can_be_named_by_its_url() -> None:
    # the same tables on an engine without any of SQLite's settings
    with contextlib.closing(open_url("sqlite://")) as store:
        assert store.where == "sqlite://"
        assert Roster(store, lambda: DAY).groups() == {}


@pytest.mark.parametrize("url", ["nonsense", "nosuchdatabase://wall/club"])
def test_a_url_that_cannot_be_used_is_said(url: str) -> None:
    with pytest.raises(StoreError, match="misspelt, or its driver"):
        open_url(url)


def test_an_unknown_error_is_said_as_the_driver_says_it() -> None:
    with contextlib.closing(Store(create_engine("sqlite://"), "memory")) as store:
        words = r"no such table: songs\. .*\(database memory\)"
        with pytest.raises(StoreError, match=words), store.reading() as session:
            session.execute(text("SELECT * FROM songs"))
        store.forget()
