"""A copy of the database while it is in use, what a copy is worth, and being alone with it.

The copy is made by SQLite's online backup inside one reading transaction: it is the database of
one moment, however long it takes, and nobody who writes has to wait for it. SQLite's own locks
say whether another program has the file open, on every system: a file with a write-ahead log
can be taken out of that mode only by whoever is alone with it (sqlite.org, Write-Ahead Logging,
section 3.3).
"""

from __future__ import annotations

import contextlib
import sqlite3
from typing import TYPE_CHECKING

from strikebridge.errors import StoreError
from strikebridge.store.database import FILE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

STEPS_AT_ONCE = 100_000  # of SQLite's machine, some milliseconds
PAGES_AT_ONCE = 2000  # of 4 kB; others get a turn after each
WAIT_S = 2.0  # for a program that is just closing
IN_USE = (
    "The data folder is in use: another window is open, or a session is running. Nothing was "
    "changed. End it, then try again."
)


def copy_database(
    source: Path, target: Path, tell: Callable[[int], None] | None = None
) -> None:
    """Copy the database of a data folder; others may read and write it meanwhile.

    Args:
        source: the data folder, with a database in it.
        target: the new file, one file without a log beside it.
        tell: told the bytes that are copied; what it raises breaks the copying off.

    Raises:
        StoreError: the database cannot be read, or the copy cannot be written.
    """
    try:
        with (
            contextlib.closing(_connect(source / FILE)) as at,
            contextlib.closing(_connect(target)) as copy,
        ):
            at.execute("BEGIN")
            at.execute("SELECT count(*) FROM sqlite_master").fetchall()  # of this moment
            (page_bytes,) = at.execute("PRAGMA page_size").fetchone()

            def pages(_: int, left: int, total: int) -> None:
                if tell is not None:
                    tell((total - left) * page_bytes)

            at.backup(copy, pages=PAGES_AT_ONCE, progress=pages)
            at.execute("COMMIT")
            copy.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.Error as error:
        raise StoreError(_copy_words(error)) from error


def check_database(path: Path, breathe: Callable[[], None] | None = None) -> int:
    """Read a copy through, page by page.

    Args:
        path: the file; nobody else has it open.
        breathe: called now and then meanwhile; what it raises breaks the reading off.

    Returns:
        The version of its tables, 0 where it says none.

    Raises:
        StoreError: it is damaged.
    """
    try:
        with contextlib.closing(_connect(path)) as at, _breathing(at, breathe):
            said = at.execute("PRAGMA integrity_check").fetchall()
            lost = at.execute("PRAGMA foreign_key_check").fetchall()
            if said != [("ok",)] or lost:
                raise StoreError("The database in it is damaged.")
            row = at.execute("SELECT version FROM schema_version").fetchone()
            return 0 if row is None else int(row[0])
    except sqlite3.Error as error:
        raise StoreError(f"The database in it is damaged ({error}).") from error


@contextlib.contextmanager
def _breathing(at: sqlite3.Connection, breathe: Callable[[], None] | None) -> Iterator[None]:
    """Call somebody now and then while SQLite is at work, and end it where that raises."""
    raised: list[Exception] = []

    def call() -> int:
        try:
            if breathe is not None:
                breathe()
        except Exception as error:  # noqa: BLE001 - SQLite would swallow it; it goes on below
            raised.append(error)
        return len(raised)

    at.set_progress_handler(call, STEPS_AT_ONCE)
    try:
        yield
    except sqlite3.OperationalError:
        if raised:
            raise raised[0] from None
        raise


@contextlib.contextmanager
def alone_with_database(data: Path) -> Iterator[None]:
    """Keep everybody else out of the database of a data folder, if nobody is in it.

    A file that is missing, or that is no database, is in nobody's use.

    Args:
        data: the data folder.

    Raises:
        StoreError: another program has it open; nothing was changed.
    """
    path = data / FILE
    with contextlib.ExitStack() as held:
        if path.exists():
            at = held.enter_context(contextlib.closing(_connect(path)))
            try:
                at.execute("PRAGMA locking_mode=EXCLUSIVE")
                at.execute("PRAGMA journal_mode=DELETE")
                at.execute("BEGIN EXCLUSIVE")
            except sqlite3.OperationalError as error:
                raise StoreError(IN_USE) from error
            except sqlite3.DatabaseError:
                at.close()  # damaged: there is nothing to be kept out of
        yield


def _connect(path: Path) -> sqlite3.Connection:
    at = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
    at.execute("PRAGMA secure_delete=ON")
    return at


def _copy_words(error: sqlite3.Error) -> str:
    name = getattr(error, "sqlite_errorname", "")
    if name.startswith(("SQLITE_FULL", "SQLITE_IOERR")):
        return (
            "The database cannot be copied: the disk of the data folder is full or does not "
            "answer. Nothing was changed. Make room, then try again."
        )
    return f"The database cannot be copied ({error}). Nothing was changed."
