"""Put a backup in place of what is there, which is kept aside and can be taken back.

The backup is unpacked, checked and brought to the newest tables beside what is there; only then
are the two exchanged (`exchange`). Nobody may have the database open meanwhile.
"""

from __future__ import annotations

import contextlib
import shutil
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from strikebridge.errors import SafekeepingError
from strikebridge.safekeeping.archive import ArchiveReader
from strikebridge.safekeeping.contents import ASIDE, CONTENTS, WORK, present, set_aside
from strikebridge.safekeeping.disk import disk_words, sync_folder
from strikebridge.safekeeping.erasing import erase_again
from strikebridge.safekeeping.exchange import Exchange, complete, write_job
from strikebridge.safekeeping.job import Progress
from strikebridge.safekeeping.one_at_a_time import nobody_records, one_at_a_time
from strikebridge.safekeeping.outside import Kind, note_outside
from strikebridge.store.copying import alone_with_database, check_database
from strikebridge.store.database import FILE, open_store
from strikebridge.store.migrations import newest
from strikebridge.store.past import History
from strikebridge.store.place import LOGS
from strikebridge.store.roster import Roster

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from strikebridge.safekeeping.archive import Manifest
    from strikebridge.safekeeping.job import Tell

KEPT = "Nothing was changed."


@dataclass(frozen=True, slots=True)
class Restored:
    """What is in place now.

    Attributes:
        athletes: how many athletes.
        sessions: how many sessions.
        aside: folder with what was there before, None where there was nothing.
    """

    athletes: int
    sessions: int
    aside: Path | None


def restore_backup(data: Path, file: Path, tell: Tell | None = None) -> Restored:
    """Put a backup in place of what a data folder holds.

    Args:
        data: the data folder; it may be new.
        file: the backup.
        tell: told how far it has come.

    Returns:
        What is in place now.

    Raises:
        SafekeepingError: the backup is damaged or newer than this program, something is
            recorded in the data folder, or the disk refuses.
        StoreError: somebody uses the data folder, or the database in the backup is damaged.
    """
    with (
        contextlib.closing(ArchiveReader(file)) as reader,
        one_at_a_time(data),
        nobody_records(data),
    ):
        with _made_ready(data) as fresh:
            _check_known(reader.manifest, file)
            total = sum(entry.bytes for entry in reader.manifest.files)
            reader.unpack(fresh, Progress(total, tell))
            _look_into(fresh)
            erase_again(data, fresh)
            athletes, sessions = _look_into(fresh)
            aside = _exchange(data, fresh)
        note_outside(data, Kind.RESTORED, file)
    return Restored(athletes, sessions, aside)


def take_back(data: Path) -> Restored:
    """Put back what was there before the newest restore; what is there now is kept in turn.

    Args:
        data: the data folder.

    Returns:
        What is in place now.

    Raises:
        SafekeepingError: nothing was kept aside, something is recorded, or the disk refuses.
        StoreError: somebody uses the data folder.
    """
    with one_at_a_time(data), nobody_records(data):
        before = set_aside(data)
        if not before:
            raise SafekeepingError(
                f"Nothing was restored in {data}, so there is nothing to take back."
            )
        try:
            erase_again(data, before[0])
            athletes, sessions = _look_into(before[0])
            aside = _exchange(data, before[0])
        except OSError as error:
            raise SafekeepingError(disk_words(data, error, KEPT)) from error
    return Restored(athletes, sessions, aside)


@contextlib.contextmanager
def _made_ready(data: Path) -> Iterator[Path]:
    """Give a folder to make things ready in, and clear it away."""
    work = data / WORK
    shutil.rmtree(work, ignore_errors=True)
    try:
        yield work / "new"
    except OSError as error:
        raise SafekeepingError(disk_words(data, error, KEPT)) from error
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _check_known(manifest: Manifest, file: Path) -> None:
    """Refuse what only a newer program knows, before anything is unpacked."""
    unknown = {entry.name.split("/", 1)[0] for entry in manifest.files} - {*CONTENTS}
    if unknown or manifest.tables > newest():
        raise SafekeepingError(
            f"{file} was made by a newer strikebridge ({manifest.program}). {KEPT} Install the "
            "newer strikebridge and try again."
        )


def _look_into(folder: Path) -> tuple[int, int]:
    """Check the database of a folder, bring it to the newest tables, and count who is in it."""
    path = folder / FILE
    if not path.exists():
        return 0, 0
    check_database(path)
    with contextlib.closing(open_store(folder)) as store:
        return len(Roster(store).all()), len(History(store).sessions())


def _exchange(data: Path, source: Path) -> Path | None:
    """Exchange what is there with what a folder inside of it holds."""
    comes = [*present(source), *_logs(source)]
    for folder in (source, *(path for path in source.rglob("*") if path.is_dir())):
        sync_folder(folder)
    with alone_with_database(data):
        # seen while nobody else can bring a log back
        goes = [*present(data), *_logs(data)]
        exchange = Exchange(
            aside=_aside_name(data),
            goes=tuple(goes),
            source=source.relative_to(data).as_posix(),
            comes=tuple(comes),
        )
        write_job(data, exchange)
    complete(data, exchange)
    aside = data / exchange.aside
    if goes:
        return aside
    aside.rmdir()
    return None


def _logs(folder: Path) -> list[str]:
    return [name for name in LOGS if (folder / name).exists()]


def _aside_name(data: Path) -> str:
    name = f"{ASIDE}{datetime.now().astimezone():%Y-%m-%d-%H%M%S-%f}"
    return name if not (data / name).exists() else f"{name}-2"
