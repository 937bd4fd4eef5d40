"""The shape of a SQLite database, read without the program: tables, keys, indexes."""

from __future__ import annotations

import contextlib
import sqlite3
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path


def shape_of(path: Path) -> dict[str, Any]:
    """Read what can be told apart of a database's tables, by the name of the table."""
    with contextlib.closing(sqlite3.connect(path)) as at:
        names = [
            name
            for (name,) in at.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        return {name: _table(at, name) for name in sorted(names)}


def _table(at: sqlite3.Connection, name: str) -> dict[str, Any]:
    indexes = at.execute(f"PRAGMA index_list({name})").fetchall()
    return {
        # name, type, NOT NULL, default, place in the key; their order does not matter
        "columns": sorted(row[1:6] for row in at.execute(f"PRAGMA table_info({name})")),
        "refers": sorted(row[2:5] for row in at.execute(f"PRAGMA foreign_key_list({name})")),
        "indexes": sorted(
            (
                is_unique,
                is_partial,
                [row[2] for row in at.execute(f"PRAGMA index_info({index})")],
            )
            for _, index, is_unique, _, is_partial in indexes
        ),
    }


def load_dump(dump: Path, path: Path) -> None:
    """Make the database of a dump."""
    path.parent.mkdir(parents=True)
    with contextlib.closing(sqlite3.connect(path)) as at:
        at.executescript(dump.read_text(encoding="utf-8"))


def write_dump(path: Path, dump: Path) -> None:
    """Write a database as a dump."""
    with contextlib.closing(sqlite3.connect(path)) as at:
        dump.write_text("\n".join(at.iterdump()) + "\n", encoding="utf-8")
