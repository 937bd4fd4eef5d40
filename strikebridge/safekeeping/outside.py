"""What the program wrote wherever the coach said, and may hold people: one line a file.

Backups, exports and reports go wherever the coach wants them. When somebody is erased, the
program has to know where they might still be. The list is of this computer: no backup has it.
It holds no name: whom a report is about stands there as a mark, which is made of the random id
and cannot be turned back into it.
"""

from __future__ import annotations

import hashlib
import os
from datetime import datetime
from enum import StrEnum
from pathlib import Path

import msgspec

from strikebridge.errors import SafekeepingError
from strikebridge.private_files import open_private

FILE = "outside.jsonl"


class Kind(StrEnum):
    """What was written."""

    BACKUP = "backup"
    RESTORED = "backup put in place"
    EXPORT = "export"
    REPORT = "report"


class Outside(msgspec.Struct, frozen=True, kw_only=True):
    """One file or folder that was written.

    Attributes:
        at: when, RFC 3339 with offset.
        kind: what it is.
        path: where it is.
        mark: of the only athlete in it, empty where it holds several.
        sha256: sum of a file about one athlete, by which it is known again; else empty.
    """

    at: str
    kind: Kind
    path: str
    mark: str = ""
    sha256: str = ""

    @property
    def is_there(self) -> bool:
        """Say whether there is still something at that place."""
        return Path(self.path).exists()

    @property
    def is_away(self) -> bool:
        """Say whether it may lie on a disk that is not plugged in now.

        Then its folder is not there, or empty where a disk is always plugged into the same one.
        """
        folder = Path(self.path).parent
        try:
            return not self.is_there and (not folder.exists() or not any(folder.iterdir()))
        except OSError:
            return True

    @property
    def is_same(self) -> bool:
        """Say whether the file about one athlete is still the one that was written."""
        return bool(self.sha256) and _sum_of(Path(self.path)) == self.sha256


_encode = msgspec.json.Encoder().encode
_decode = msgspec.json.Decoder(Outside).decode


def mark_of(athlete: str) -> str:
    """Turn an athlete's random id into a mark that does not give it away.

    Args:
        athlete: the id.
    """
    return hashlib.sha256(athlete.encode()).hexdigest()[:32]


def note_outside(data: Path, kind: Kind, path: Path, athlete: str = "") -> None:
    """Remember what was written, and where.

    Args:
        data: the data folder.
        kind: what it is.
        path: where it is.
        athlete: id of the only athlete in it, empty where it holds several.

    Raises:
        SafekeepingError: it cannot be remembered.
    """
    mark = mark_of(athlete) if athlete else ""
    line = Outside(
        at=datetime.now().astimezone().isoformat(timespec="seconds"),
        kind=kind,
        path=str(path.absolute()),
        mark=mark,
        sha256=_sum_of(path) if mark else "",
    )
    try:
        with open_private(data / FILE, "ab") as file:
            file.write(_encode(line) + b"\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise SafekeepingError(
            f"{path} was written, but the list {data / FILE} of what lies outside cannot be "
            f"({error.strerror}). Remember this file yourself if somebody has to be erased."
        ) from error


def outside_files(data: Path) -> list[Outside]:
    """List what is remembered and still there or away, oldest first, each place once.

    Args:
        data: the data folder.

    Raises:
        SafekeepingError: the list cannot be read.
    """
    return [one for one in _each_once(data) if one.is_there or one.is_away]


def last_backup(data: Path) -> Outside | None:
    """Find the newest backup that was made here, wherever it may be now.

    Args:
        data: the data folder.

    Raises:
        SafekeepingError: the list cannot be read.
    """
    made = [one for one in _read(data) if one.kind is Kind.BACKUP]
    return made[-1] if made else None


def forget_outside(data: Path, gone: set[str], mark: str = "") -> None:
    """Take places off the list.

    Args:
        data: the data folder.
        gone: paths.
        mark: of an athlete whose every line goes, for a path may say a name; empty for none.

    Raises:
        SafekeepingError: the list cannot be written.
    """
    kept = [
        one
        for one in _each_once(data)
        if one.path not in gone and not (mark and one.mark == mark)
    ]
    fresh = data / f"{FILE}.new"
    try:
        with open_private(fresh, "wb") as file:
            file.writelines(_encode(one) + b"\n" for one in kept)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(data / FILE)
    except OSError as error:
        raise SafekeepingError(
            f"The list {data / FILE} cannot be written ({error.strerror})."
        ) from error


def _each_once(data: Path) -> list[Outside]:
    newest: dict[str, Outside] = {}
    for one in _read(data):
        newest.pop(one.path, None)
        newest[one.path] = one
    return list(newest.values())


def _read(data: Path) -> list[Outside]:
    try:
        lines = (data / FILE).read_bytes().splitlines()
    except FileNotFoundError:
        return []
    except OSError as error:
        raise SafekeepingError(
            f"The list {data / FILE} cannot be read ({error.strerror})."
        ) from error
    found = []
    for line in lines:
        try:
            found.append(_decode(line))
        except msgspec.MsgspecError:
            continue  # the torn last line of a crash
    return found


def _sum_of(path: Path) -> str:
    """Give the sum of a file, empty where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""
