"""Reports that the window writes: into the data folder, as HTML and as PDF.

A report of the same thing and day takes the place of the one before. A backup has them, and
whoever is erased goes from them as well.
"""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

from strikebridge.cli.looking import since_of
from strikebridge.cli.reporting import (
    athlete_sheet,
    find_session,
    remember,
    session_sheet,
    squad_sheet,
    write_report,
)
from strikebridge.club.selection import Selection
from strikebridge.errors import FormatError
from strikebridge.private_files import private_folder
from strikebridge.reports.language import language
from strikebridge.reports.wording import Wording
from strikebridge.safekeeping.contents import RECORDINGS, REPORTS
from strikebridge.screens.progress_source import Filters
from strikebridge.screens.report_desk import ReportOf, Wanted, Written
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster, local_day

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from strikebridge.reports.sheet import Sheet
    from strikebridge.store.database import Store


def keeper_of(data: Path) -> Callable[[Wanted], Written]:
    """Write reports of what a data folder holds.

    Args:
        data: the data folder.

    Returns:
        What a window asks, on any thread.
    """
    return lambda wanted: keep_report(data, wanted)


def keep_report(data: Path, wanted: Wanted) -> Written:
    """Write one report as HTML and as PDF.

    Args:
        data: the data folder.
        wanted: what is to be reported.

    Returns:
        Where it is.

    Raises:
        FormatError: a file cannot be written.
        SafekeepingError: it cannot be noted where it was written.
        ScreenError: what draws a PDF is not here.
        SessionError: there is no such session.
        StoreError: the database cannot be read.
    """
    wording = Wording(language(), wanted.unit)
    with contextlib.closing(open_store(data)) as store:
        name, sheet = _MAKERS[wanted.of](store, data, wanted, wording)
    folder = data / REPORTS
    try:
        private_folder(folder)
    except OSError as error:
        raise FormatError(f"{folder} cannot be made: {error.strerror}.") from error
    pdf = folder / f"{file_name(name)}.pdf"
    athlete = wanted.who if wanted.of is ReportOf.ATHLETE else ""
    for file in (pdf.with_suffix(".html"), pdf):
        write_report(sheet, file)
        remember(data, file, athlete)
    return Written(wording.language.say(f"{wanted.of.value}.kind"), pdf)


def file_name(words: str) -> str:
    """Make a name for a file that every system takes.

    Args:
        words: what it is, with any letters.

    Returns:
        Letters, digits and hyphens.
    """
    kept = "".join(letter if letter.isalnum() else " " for letter in words)
    return "-".join(kept.split())


def _session(store: Store, data: Path, wanted: Wanted, wording: Wording) -> tuple[str, Sheet]:
    session = find_session(store, wanted.who)
    name = f"session {session.started_at:%Y-%m-%d-%H%M%S} {session.plan}"
    return name, session_sheet(store, session, data / RECORDINGS, wording)


def _athlete(store: Store, _data: Path, wanted: Wanted, wording: Wording) -> tuple[str, Sheet]:
    since = since_of(store, wanted.filters or Filters())
    selection = Selection(athlete=wanted.who, since=since)
    name = f"athlete {Roster(store).find(wanted.who).name} {local_day()}"
    return name, athlete_sheet(store, wanted.who, selection, wording)


def _squad(store: Store, _data: Path, wanted: Wanted, wording: Wording) -> tuple[str, Sheet]:
    filters = wanted.filters or Filters()
    selection = Selection(
        hand=filters.hand, setup=filters.setup, since=since_of(store, filters)
    )
    return f"squad {local_day()}", squad_sheet(store, selection, wording)


_MAKERS = {ReportOf.SESSION: _session, ReportOf.ATHLETE: _athlete, ReportOf.SQUAD: _squad}
