"""Put one set of files in place of what a data folder holds: whole, or not at all.

Several files and folders cannot be exchanged at once, so it is written down first, in one file
that is there or is not (`unfinished.json`). Before that nothing has changed, and what was made
ready is thrown away. From then on the exchange will be completed, by this program or, if it is
killed, by the next one that opens the folder: out with what is there, then in with what comes,
each by a rename on one disk. Which of the two is under way stands in that file as well, so that
a name that is there is never taken for the wrong one.
"""

from __future__ import annotations

import os
import shutil
from enum import StrEnum
from typing import TYPE_CHECKING

import msgspec

from strikebridge.errors import SafekeepingError
from strikebridge.private_files import open_private, private_folder
from strikebridge.safekeeping.contents import WORK
from strikebridge.safekeeping.disk import disk_words, sync_folder

if TYPE_CHECKING:
    from pathlib import Path

JOB = "unfinished.json"
LATE = "late-"
"""Beginning of the name of what another program made in the middle of an exchange."""


class Step(StrEnum):
    """How far an exchange has come."""

    OUT = "out"
    IN = "in"


class Exchange(msgspec.Struct, frozen=True, kw_only=True, tag_field="job", tag="exchange"):
    """What goes out of a data folder and what comes in; all names are of that folder.

    Attributes:
        aside: folder that what is there goes to.
        goes: names of what is there.
        source: folder that has what comes.
        comes: names of what comes.
        step: which of the two is under way.
    """

    aside: str
    goes: tuple[str, ...]
    source: str
    comes: tuple[str, ...]
    step: Step = Step.OUT


class Erasure(msgspec.Struct, frozen=True, kw_only=True, tag_field="job", tag="erasure"):
    """Somebody who is being erased.

    Attributes:
        athlete: id.
        name: name, to find what was written about this athlete.
        at: day, as 2026-03-01.
        sessions: how many sessions this athlete took part in.
        reps: how many reps there are.
    """

    athlete: str
    name: str
    at: str
    sessions: int
    reps: int


Job = Exchange | Erasure
_decode = msgspec.json.Decoder(Job).decode


def read_job(data: Path) -> Job | None:
    """Say what was begun and is not finished.

    Args:
        data: the data folder.

    Returns:
        The job, None where there is none.

    Raises:
        SafekeepingError: its file is there and cannot be read.
    """
    try:
        job: Job = _decode((data / JOB).read_bytes())
    except FileNotFoundError:
        return None
    except (OSError, msgspec.MsgspecError) as error:
        raise SafekeepingError(
            f"{data / JOB} cannot be read ({error}). It was written by a newer strikebridge or "
            "is damaged. Install the newest strikebridge and try again."
        ) from error
    return job


def write_job(data: Path, job: Job) -> None:
    """Write a job down; when this returns it will be finished, come what may.

    Args:
        data: the data folder.
        job: the job.

    Raises:
        OSError: the disk refuses; nothing has begun.
    """
    fresh = data / f"{JOB}.new"
    with open_private(fresh, "wb") as file:
        file.write(msgspec.json.encode(job))
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(data / JOB)
    sync_folder(data)


def drop_job(data: Path) -> None:
    """Say that the job is finished.

    Args:
        data: the data folder.

    Raises:
        OSError: the disk refuses.
    """
    sync_folder(data)
    (data / JOB).unlink()
    sync_folder(data)


def complete(data: Path, exchange: Exchange) -> None:
    """Carry out an exchange that is written down, from wherever it stands.

    Args:
        data: the data folder.
        exchange: as it stands in `unfinished.json`.

    Raises:
        SafekeepingError: the disk refuses, or a file is in use; says how things stand.
    """
    try:
        if exchange.step is Step.OUT:
            _out(data, exchange)
            exchange = msgspec.structs.replace(exchange, step=Step.IN)
            write_job(data, exchange)
        _make_room(data, exchange)
        _move(data / exchange.source, data, exchange.comes)
        drop_job(data)
    except OSError as error:
        kept = "It will be finished the next time strikebridge is started."
        raise SafekeepingError(disk_words(data, error, kept)) from error
    shutil.rmtree(data / WORK, ignore_errors=True)
    source = data / exchange.source
    if source.is_dir() and not any(source.iterdir()):
        source.rmdir()


def _out(data: Path, exchange: Exchange) -> None:
    """Set aside what is there; if that cannot be, put it back and say so."""
    aside = data / exchange.aside
    try:
        private_folder(aside)
        _move(data, aside, exchange.goes)
        sync_folder(aside)
    except OSError as error:
        _move(aside, data, exchange.goes)
        drop_job(data)
        aside.rmdir()
        raise SafekeepingError(
            f"{error.filename or data} is in use ({error.strerror}). Nothing was changed. "
            "Close every window of strikebridge, then try again."
        ) from error


def _make_room(data: Path, exchange: Exchange) -> None:
    """Set aside what another program made between out and in."""
    for name in exchange.comes:
        if os.path.lexists(data / exchange.source / name) and os.path.lexists(data / name):
            (data / name).rename(data / exchange.aside / f"{LATE}{name}")


def _move(source: Path, target: Path, names: tuple[str, ...]) -> None:
    """Move what has not been moved yet."""
    for name in names:
        if os.path.lexists(source / name) and not os.path.lexists(target / name):
            (source / name).rename(target / name)
