"""What a data folder holds that is worth keeping, by name; the rest is nobody's business here.

A data folder may be any folder the coach names, with other things in it. Backup, restore and
erasing go by this table alone: they neither carry away nor move what is not in it.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.private_files import close_to_others, is_open_to_others
from strikebridge.store.place import FILE, LOGS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

RECORDINGS = "recordings"
REPORTS = "reports"
ERASURES = "erasures.jsonl"
CONTENTS: Mapping[str, str] = {
    FILE: "athletes, groups, sessions and reps",
    RECORDINGS: "every byte of every board",
    "certificates": "calibrations",
    "checks": "checks and overloads of each board",
    "points": "points of the calibrations",
    "plans": "plans of the coach's own",
    "boards.json": "how the lines of each board are read",
    "plates.csv": "the plates of the club",
    REPORTS: "reports that the coach keeps here",
    "next-session.json": "what was chosen for the next session",
    "cautions.json": "which cautions were read",
    "screens.json": "colours and unit of the windows",
    ERASURES: "who was erased, without names",
}
"""Name in the data folder -> what it is; a new file of the program needs a line here."""

ASIDE = "before-restore-"
"""Beginning of the name of a folder with what was there before a restore."""
WORK = "safekeeping.part"
"""Folder for what is not ready yet; it may be thrown away at any time."""
UNFINISHED = (".part", ".new")
"""Ends of names of files that are being written and get their name when they are whole."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One file that is worth keeping.

    Attributes:
        name: its path from the data folder, with forward slashes.
        path: where it is.
    """

    name: str
    path: Path


def present(data: Path) -> list[str]:
    """Name what is there of the table, in its order.

    Args:
        data: the data folder.
    """
    return [name for name in CONTENTS if (data / name).exists()]


def files_of(data: Path) -> list[Kept]:
    """List all files of the table but the database, in order.

    Args:
        data: the data folder.

    Raises:
        OSError: a folder cannot be read.
    """
    found: list[Kept] = []
    for name in present(data):
        if name == FILE:
            continue
        path = data / name
        if path.is_dir():
            found += _below(path, name)
        elif path.is_file():
            found.append(Kept(name, path))
    return found


def _below(folder: Path, name: str) -> Iterator[Kept]:
    for at, folders, files in os.walk(folder, onerror=_refuse):
        folders.sort()
        inside = folder / os.path.relpath(at, folder)
        for file in sorted(files):
            path = inside / file
            if not file.endswith(UNFINISHED) and path.is_file():
                yield Kept(f"{name}/{path.relative_to(folder).as_posix()}", path)


def _refuse(error: OSError) -> None:
    raise error


def set_aside(data: Path) -> list[Path]:
    """List the folders with what was there before each restore, the newest first.

    Args:
        data: the data folder.
    """
    found = (path for path in data.glob(f"{ASIDE}*") if path.is_dir())
    return sorted(found, key=lambda path: path.name, reverse=True)


def is_loose(data: Path) -> bool:
    """Say whether others on this computer may look into a data folder with people in it.

    Args:
        data: the data folder.
    """
    return (data / FILE).exists() and is_open_to_others(data)


def tighten(data: Path) -> int:
    """Close a data folder to others, with all that the program keeps in it.

    Args:
        data: the data folder.

    Returns:
        How many files and folders were open to others.
    """
    ours = [data, *(data / name for name in (*CONTENTS, *LOGS)), *set_aside(data)]
    deep = [path for top in ours[1:] if top.is_dir() for path in top.rglob("*")]
    return close_to_others([path for path in (*ours, *deep) if path.exists()])
