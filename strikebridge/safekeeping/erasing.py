"""Erase somebody who asks for it, everywhere the program knows of.

It is written down first (`unfinished.json`), so that an erasure that was broken off is finished
by the next program that opens the data folder. Then: the rows, and the bytes they left in the
file of the database; this athlete's turns in every recording; what was chosen for the next
session, and reports kept in the folder, if they name the athlete; the same in what earlier
restores set aside; reports elsewhere about this athlete alone, if they are still the files that
were written. Results of others stay, and what is computed of the squad is computed without this
athlete from then on.
"""

from __future__ import annotations

import contextlib
import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.errors import SafekeepingError
from strikebridge.safekeeping.contents import RECORDINGS, REPORTS, WORK, set_aside
from strikebridge.safekeeping.cutting import cut_out, names
from strikebridge.safekeeping.disk import disk_words
from strikebridge.safekeeping.erasure_list import ErasedLine, add_erasures, read_erasures
from strikebridge.safekeeping.exchange import Erasure, drop_job, write_job
from strikebridge.safekeeping.one_at_a_time import one_at_a_time
from strikebridge.safekeeping.outside import forget_outside, mark_of, outside_files
from strikebridge.safekeeping.traces import Traces
from strikebridge.store.copying import alone_with_database
from strikebridge.store.database import open_store
from strikebridge.store.erasing import erase_athlete, held_of
from strikebridge.store.place import FILE
from strikebridge.store.roster import Roster

if TYPE_CHECKING:
    from strikebridge.club.athlete import Athlete
    from strikebridge.safekeeping.outside import Outside
    from strikebridge.store.erasing import Held

NEXT_SESSION = "next-session.json"
LATER = "It will be finished the next time strikebridge is started."


@dataclass(frozen=True, slots=True)
class Erased:
    """What an erasure did.

    Attributes:
        recordings: how many recordings something was cut out of.
        reports: files of the folder of reports that went.
        removed: files outside of the data folder that were about this athlete alone, and went.
        elsewhere: what else the program wrote outside and may hold this athlete.
    """

    recordings: int
    reports: tuple[str, ...]
    removed: tuple[str, ...]
    elsewhere: tuple[Outside, ...]


def find_for_erasure(data: Path, who: str) -> tuple[Athlete, Held]:
    """Say who is meant and what there is of this athlete.

    Args:
        data: the data folder.
        who: name or id.

    Raises:
        RosterError: there is nobody like that.
        StoreError: the database cannot be read.
    """
    with contextlib.closing(open_store(data)) as store:
        athlete = Roster(store).find(who)
        return athlete, held_of(store, athlete.id)


def erase(data: Path, athlete: Athlete, held: Held) -> Erased:
    """Erase somebody for good.

    Args:
        data: the data folder.
        athlete: whom, from `find_for_erasure`.
        held: what there is of this athlete, for the list of erasures.

    Returns:
        What was done.

    Raises:
        SafekeepingError: the disk refuses; says how things stand.
        StoreError: somebody uses the data folder, or its database cannot be written.
    """
    job = Erasure(
        athlete=athlete.id,
        name=athlete.name,
        at=datetime.now().astimezone().date().isoformat(),
        sessions=held.sessions,
        reps=held.reps,
    )
    with one_at_a_time(data):
        with alone_with_database(data):
            try:
                write_job(data, job)
            except OSError as error:
                words = disk_words(data, error, "Nothing was erased.")
                raise SafekeepingError(words) from error
        return finish_erasure(data, job)


def finish_erasure(data: Path, job: Erasure) -> Erased:
    """Carry out an erasure that is written down, from wherever it stands.

    Args:
        data: the data folder.
        job: as it stands in `unfinished.json`.

    Returns:
        What was done.

    Raises:
        SafekeepingError: the disk refuses.
        StoreError: the database cannot be written.
    """
    try:
        shutil.rmtree(data / WORK, ignore_errors=True)
        folders = (data, *set_aside(data))
        kept = [path for folder in folders for path in _reports(folder)]
        recordings = sum(erase_in(folder, job.athlete, job.name) for folder in folders)
        reports = tuple(str(path) for path in kept if not path.exists())
        removed, elsewhere = _outside(data, mark_of(job.athlete))
        line = ErasedLine(
            at=job.at,
            mark=mark_of(job.athlete),
            sessions=job.sessions,
            reps=job.reps,
            recordings=recordings,
            files=len(removed),
        )
        add_erasures(data, [line])
        drop_job(data)
    except OSError as error:
        raise SafekeepingError(disk_words(data, error, LATER)) from error
    return Erased(recordings, reports, tuple(removed), tuple(elsewhere))


def erase_in(folder: Path, athlete: str, name: str) -> int:
    """Erase somebody in one folder with a database and recordings.

    Args:
        folder: a data folder, or what a restore set aside.
        athlete: id.
        name: name.

    Returns:
        How many recordings something was cut out of.

    Raises:
        OSError: a recording cannot be written.
        StoreError: the database cannot be written.
    """
    if (folder / FILE).exists():
        with contextlib.closing(open_store(folder)) as store:
            erase_athlete(store, athlete, datetime.now().astimezone())
            store.forget()
    choice = folder / NEXT_SESSION
    if choice.exists() and names(choice, athlete):
        choice.unlink()
    traces = Traces(athlete, name)
    for path in _reports(folder):
        # what a PDF says is packed; it goes, for it can be made again
        if path.suffix.lower() == ".pdf" or traces.are_in(path):
            path.unlink()
    found = [
        path for path in sorted((folder / RECORDINGS).rglob("*.jsonl")) if names(path, athlete)
    ]
    for path in found:
        cut_out(path, athlete)
    return len(found)


def erase_again(data: Path, fresh: Path) -> None:
    """Clear what is about to be put in place of everybody who was erased before.

    Args:
        data: the data folder, with its list of erasures.
        fresh: what is put in place, with its own list.

    Raises:
        OSError: a recording cannot be written.
        SafekeepingError: a list cannot be read or written.
        StoreError: the database cannot be written.
    """
    erased = [*read_erasures(data), *read_erasures(fresh)]
    if not erased:
        return
    marks = {one.mark for one in erased}
    back: list[Athlete] = []
    if (fresh / FILE).exists():
        with contextlib.closing(open_store(fresh)) as store:
            back = [one for one in Roster(store).all() if mark_of(one.id) in marks]
    for athlete in back:
        erase_in(fresh, athlete.id, athlete.name)
    add_erasures(fresh, erased)


def _reports(folder: Path) -> list[Path]:
    """List the files in the folder of reports."""
    return sorted(path for path in (folder / REPORTS).rglob("*") if path.is_file())


def _outside(data: Path, mark: str) -> tuple[list[str], list[Outside]]:
    """Remove what was written about this athlete alone, and name what may hold others too."""
    removed: list[str] = []
    elsewhere: list[Outside] = []
    for one in outside_files(data):
        if one.mark == mark and one.is_same:
            Path(one.path).unlink()
            removed.append(one.path)
        elif one.mark in ("", mark) and (one.is_there or not _lies_in(data, one)):
            elsewhere.append(one)
    forget_outside(data, set(removed), mark)
    return removed, elsewhere


def _lies_in(data: Path, one: Outside) -> bool:
    """Say whether a place is in the data folder, so that it is on no stick."""
    return Path(one.path).is_relative_to(data.absolute())
