"""Make a backup: one file with everything, of one moment, read back before it gets its name.

The database is copied first, then the recordings: whatever rep the copy has, the recording it
refers to is longer by then. Nothing has to be closed for it. The file is written under another
name and gets its own once every byte of it was read from the disk again and found right.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

from strikebridge.errors import SafekeepingError
from strikebridge.private_files import open_private, private_folder
from strikebridge.safekeeping.archive import ArchiveReader, ArchiveWriter
from strikebridge.safekeeping.contents import WORK, Kept, files_of
from strikebridge.safekeeping.disk import disk_words, forget_cached, give_name
from strikebridge.safekeeping.job import Doing, Progress
from strikebridge.safekeeping.one_at_a_time import one_at_a_time
from strikebridge.safekeeping.outside import Kind, note_outside
from strikebridge.store.copying import check_database, copy_database
from strikebridge.store.database import FILE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from strikebridge.safekeeping.archive import Manifest
    from strikebridge.safekeeping.job import Tell


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made.

    Attributes:
        path: the file.
        files: how many files are in it.
        bytes: their length, before they were packed.
        packed_bytes: length of the file.
        made_at: when, RFC 3339 with offset.
    """

    path: Path
    files: int
    bytes: int
    packed_bytes: int
    made_at: str


def backup_path(target: Path, now: datetime) -> Path:
    """Say which file is meant: the one that was named, or one of today in the folder named.

    Args:
        target: a file that is not there yet, or a folder that is.
        now: the time, with its zone.
    """
    if target.is_dir():
        return target / f"strikebridge-{now:%Y-%m-%d-%H%M%S}.zip"
    return target


def make_backup(data: Path, target: Path, tell: Tell | None = None) -> Backup:
    """Make a backup of a data folder, also while a session runs.

    Args:
        data: the data folder.
        target: the file, or a folder that it is put into under a name of its own.
        tell: told how far it has come; it may break the job off by raising.

    Returns:
        What was made; it was read back and found right.

    Raises:
        SafekeepingError: there is such a file, there is nothing to keep, or the disk refuses;
            nothing is left behind.
        StoreError: the database cannot be read.
    """
    now = datetime.now().astimezone()
    path = backup_path(target, now)
    _check_place(data, path)
    part = path.with_name(path.name + ".part")
    made_at = now.isoformat(timespec="seconds")
    with one_at_a_time(data), _clean_up(data, part):
        try:
            manifest = _write(data, part, made_at, tell)
            give_name(part, path)
        except OSError as error:
            kept = "No backup was made, and what you have is untouched."
            raise SafekeepingError(disk_words(path, error, kept)) from error
        note_outside(data, Kind.BACKUP, path)
    total = sum(entry.bytes for entry in manifest.files)
    return Backup(path, len(manifest.files), total, path.stat().st_size, made_at)


def _check_place(data: Path, path: Path) -> None:
    if path.exists():
        raise SafekeepingError(
            f"{path} exists already and was left alone. Choose another name for the backup."
        )
    if path.absolute().parent.resolve().is_relative_to(data.resolve()):
        raise SafekeepingError(
            f"{path} lies in the data folder and would be lost with it. Choose another place, "
            "such as a USB stick."
        )
    if not path.absolute().parent.is_dir():
        raise SafekeepingError(
            f"There is no folder {path.parent}. Nothing was written. Plug the stick in, or "
            "choose another place."
        )


@contextlib.contextmanager
def _clean_up(data: Path, part: Path) -> Iterator[None]:
    try:
        shutil.rmtree(data / WORK, ignore_errors=True)
        yield
    finally:
        shutil.rmtree(data / WORK, ignore_errors=True)
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _write(data: Path, part: Path, made_at: str, tell: Tell | None) -> Manifest:
    """Write everything, force it to the disk and read it back."""
    copy, tables, progress = data / WORK / FILE, 0, Progress(_estimated(data), tell)
    if (data / FILE).exists():
        private_folder(copy.parent)
        open_private(copy, "wb").close()
        progress.begin(Doing.COPYING, FILE)
        copy_database(data, copy, progress.reach)
        progress.begin(Doing.CHECKING, FILE)
        tables = check_database(copy, lambda: progress.add(0))
    kept = files_of(data)
    if copy.exists():
        kept.insert(0, Kept(FILE, copy))
    if not kept:
        raise SafekeepingError(f"There is nothing to keep in {data} yet. No backup was made.")
    part.unlink(missing_ok=True)
    with open_private(part, "xb") as file:
        with contextlib.closing(ArchiveWriter(file, progress)) as archive:
            for one in kept:
                archive.put(one.name, one.path)
            manifest = archive.finish(made_at, _program(), tables)
        file.flush()
        os.fsync(file.fileno())
        forget_cached(file.fileno())
    with contextlib.closing(ArchiveReader(part)) as archive_back:
        archive_back.check(progress)
    return manifest


def _program() -> str:
    try:
        return version("strikebridge")
    except PackageNotFoundError:
        return "unknown"  # run from its folder without having been installed


def _estimated(data: Path) -> int:
    """Estimate the bytes to go through: all twice, and the database once more beforehand."""
    database = (data / FILE).stat().st_size if (data / FILE).exists() else 0
    return 3 * database + 2 * sum(one.path.stat().st_size for one in files_of(data))
