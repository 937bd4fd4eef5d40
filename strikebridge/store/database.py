"""Opening the database: one SQLite file in the data folder, or a server's by its URL.

SQLite is run so that what was said to be saved survives a power cut: a write-ahead log, every
commit forced to the disk (`synchronous=FULL`), foreign keys held. Content that is deleted is
written over (`secure_delete`). A transaction that writes takes the lock at its beginning, so
that two programs at one file wait for each other and never fail half-way; a reader waits for
nobody. What the driver raises becomes one sentence here.
"""

from __future__ import annotations

import contextlib
import gc
import os
import sqlite3
import time
from typing import TYPE_CHECKING

from sqlalchemy import create_engine, event, make_url
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.orm import Session

from strikebridge.errors import StoreError
from strikebridge.private_files import FILE_MODE, private_folder
from strikebridge.store import place
from strikebridge.store.migrations import upgrade

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from sqlalchemy import Connection, Engine

FILE = place.FILE
WAIT_S = 10.0  # for another program that writes; a rep takes some milliseconds
LOOK_AGAIN_S = 0.01
CACHE_KIB = 32_000  # a squad's twelve weeks; with SQLite's own 2 MB they take a fifth longer
_IS_WRITING = "is_writing"

_DAMAGED = (
    "The file is damaged, or it is no database. Recordings are files of their own and are "
    "safe. Move it away, or put a backup in its place."
)
_BUSY = "Another program holds it. Close that one, then try again."
_OWNER = "It cannot be opened for writing. Check the data folder and who owns it."
_WHY: dict[str, str] = {
    "SQLITE_FULL": "The disk is full. Make room, then try again.",
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
    "SQLITE_READONLY": _OWNER,
    "SQLITE_PERM": _OWNER,
    "SQLITE_CANTOPEN": _OWNER,
    "SQLITE_NOTADB": _DAMAGED,
    "SQLITE_CORRUPT": _DAMAGED,
    "SQLITE_IOERR": "The disk does not answer. Check it, then try again.",
}
"""Beginning of SQLite's name of a result code (sqlite.org, Result and Error Codes) -> words."""


class Store:
    """One open database.

    Attributes:
        where: the file, or the URL without its password, as messages name it.
    """

    def __init__(self, engine: Engine, where: str) -> None:
        """Take an engine; `open_store` and `open_url` make one.

        Args:
            engine: engine of SQLAlchemy.
            where: what messages call it.

        Raises:
            StoreError: it cannot be used.
        """
        self.where = where
        self._reading = engine
        self._writing = engine.execution_options(**{_IS_WRITING: True})
        try:
            with self._words():
                with self._reading.connect() as connection:
                    connection.exec_driver_sql("SELECT 1")
                with self._writing.begin() as connection:
                    upgrade(connection)
        except StoreError:
            self.close()
            raise

    @contextlib.contextmanager
    def reading(self) -> Iterator[Session]:
        """Open a transaction that reads; any thread.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._words(), Session(self._reading) as session:
            yield session

    @contextlib.contextmanager
    def writing(self) -> Iterator[Session]:
        """Open a transaction that writes; it is on the disk when this is left without an error.

        Raises:
            StoreError: the database cannot be written; nothing of the transaction is there.
        """
        with self._words(), Session(self._writing) as session, session.begin():
            yield session

    def forget(self) -> None:
        """Leave nothing of what was deleted: a file without gaps, and an empty log.

        Raises:
            StoreError: the database cannot be written, or somebody else is reading it.
        """
        if self._reading.dialect.name != "sqlite":
            return
        with self._words(), contextlib.closing(self._reading.raw_connection()) as raw:
            cursor = raw.cursor()
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            said = cursor.fetchone()
        if said is None or said[0]:
            raise StoreError(
                f"What was deleted is still in the log of the database {self.where}. {_BUSY}"
            )

    def close(self) -> None:
        """Let go of the database."""
        self._reading.dispose()

    @contextlib.contextmanager
    def _words(self) -> Iterator[None]:
        try:
            yield
        except (SQLAlchemyError, sqlite3.Error) as error:
            raise StoreError(f"{_words_of(error)} (database {self.where})") from error


@contextlib.contextmanager
def without_collecting() -> Iterator[None]:
    """Let Python not look for garbage while many rows become values.

    It looks after every few hundred new objects, and now and then through all there are: half
    of the time of a large answer. Rows and values hold no circle that it could find.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def open_store(data: Path) -> Store:
    """Open the database of a data folder; folder and file are made for the user alone.

    Args:
        data: the data folder.

    Returns:
        The database, brought to the newest version.

    Raises:
        StoreError: it cannot be opened, is damaged, or is newer than this program.
    """
    path = data / FILE
    try:
        private_folder(data)
        # made here, for SQLite would let others read it; its log follows its permissions
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, FILE_MODE))
        path.chmod(FILE_MODE)
    except OSError as error:
        raise StoreError(
            f"The database {path} cannot be opened ({error.strerror}). Check the data folder, "
            "or choose another one with --data."
        ) from error
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": WAIT_S})
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return Store(engine, str(path))


def open_url(url: str) -> Store:
    """Open a database on a server; its driver has to be installed.

    Args:
        url: as SQLAlchemy writes it, such as `postgresql+psycopg://club@wall/strikebridge`.

    Returns:
        The database, brought to the newest version.

    Raises:
        StoreError: it cannot be opened or used.
    """
    try:
        parsed = make_url(url)
        return Store(create_engine(parsed), parsed.render_as_string(hide_password=True))
    except (SQLAlchemyError, ImportError) as error:
        raise StoreError(
            "The address of the database cannot be used: it is misspelt, or its driver is not "
            "installed."
        ) from error


def _set_up_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    # the driver's own way of beginning a transaction begins too late
    connection.isolation_level = None
    _switch_log_on(connection)
    for pragma in (
        "synchronous=FULL",
        "foreign_keys=ON",
        "secure_delete=ON",
        f"cache_size=-{CACHE_KIB}",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _switch_log_on(connection: sqlite3.Connection) -> None:
    """Switch the write-ahead log on; SQLite itself does not wait where two want to at once."""
    end_s = time.monotonic() + WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            is_busy = error.sqlite_errorname.startswith("SQLITE_BUSY")
            if not is_busy or time.monotonic() > end_s:
                raise
            time.sleep(LOOK_AGAIN_S)
        else:
            return


def _begin_sqlite(connection: Connection) -> None:
    is_writing = connection.get_execution_options().get(_IS_WRITING, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if is_writing else "BEGIN")


def _words_of(error: SQLAlchemyError | sqlite3.Error) -> str:
    """Say in words what the driver could not do."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    name = getattr(cause, "sqlite_errorname", "")
    for beginning, words in _WHY.items():
        if name.startswith(beginning):
            return f"The database cannot be used, and nothing was changed. {words}"
    said = str(cause).splitlines()[0].rstrip(".")
    return (
        f"The database cannot be used, and nothing was changed: {said}. Recordings are files "
        "of their own and are safe."
    )
