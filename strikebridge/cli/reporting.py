"""From a data folder to a report in a file: what `report` and the keys of the window share."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.club.selection import like_of, maximal_of
from strikebridge.errors import SessionError
from strikebridge.export.gather import curves_of
from strikebridge.glance import Trace
from strikebridge.opening import known_exercises
from strikebridge.records import best_before, camp
from strikebridge.reports.athlete_page import athlete_page
from strikebridge.reports.session_report import Told, session_report
from strikebridge.reports.sheet_html import write_html
from strikebridge.reports.squad_page import squad_page
from strikebridge.reports.standing import Club, stories
from strikebridge.safekeeping.outside import Kind, note_outside
from strikebridge.screens.app import open_for_pictures
from strikebridge.store.past import History
from strikebridge.store.roster import Roster, local_day

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.club.selection import Like, Selection
    from strikebridge.club.training import RepRecord, SessionRecord
    from strikebridge.export.dataset import ForceTrace
    from strikebridge.reports.sheet import Sheet
    from strikebridge.reports.wording import Wording
    from strikebridge.samples import MeasureValue
    from strikebridge.store.database import Store

LAST = "last"
NAMED = 3  # sessions that are named where none was found
SUFFIXES = (".html", ".pdf")
BEFORE_S, AFTER_S = 0.3, 0.4  # of a curve that is shown before its onset and after its release
WITHOUT_PDF = "Name a file that ends in .html to do without: a browser prints it as well."


def club_of(store: Store, group: str | None = None) -> Club:
    """Say who is who.

    Args:
        store: the database.
        group: name of a group, None for everybody.

    Raises:
        RosterError: there is no such group.
        StoreError: the database cannot be read.
    """
    names = {key: one.name for key, one in known_exercises(store).items()}
    return Club({one.id: one for one in Roster(store).all(group)}, names)


def find_session(store: Store, word: str) -> SessionRecord:
    """Find a session by its id, the beginning of it, or the word `last`.

    Args:
        store: the database.
        word: what was typed.

    Raises:
        SessionError: there is none, or several begin like that.
        StoreError: the database cannot be read.
    """
    history = History(store)
    newest = history.sessions(limit=NAMED)
    found = newest[:1] if word == LAST else history.sessions_from(word, 2)
    if len(found) == 1:
        return found[0]
    if not newest:
        raise SessionError("No session yet. Lead one: strikebridge session test-day")
    named = ", ".join(f"{one.id[:8]} ({one.plan}, {one.started_at:%Y-%m-%d})" for one in newest)
    raise SessionError(
        f"{'Several sessions begin' if found else 'No session begins'} with {word!r}. "
        f"The newest are {named}; {LAST} is the first of them."
    )


def athlete_sheet(store: Store, athlete: str, selection: Selection, wording: Wording) -> Sheet:
    """Make the page of an athlete.

    Args:
        store: the database.
        athlete: id of the athlete.
        selection: which reps of this athlete.
        wording: language and unit.

    Raises:
        StoreError: the database cannot be read.
    """
    club = club_of(store)
    own = replace(club, athletes={athlete: club.athletes[athlete]})
    (story,) = stories(camp(store, selection), own)
    return athlete_page(story, club, wording, local_day())


def squad_sheet(
    store: Store, selection: Selection, wording: Wording, group: str | None = None
) -> Sheet:
    """Make the page of the squad.

    Args:
        store: the database.
        selection: which reps.
        wording: language and unit.
        group: name of a group, None for everybody.

    Raises:
        RosterError: there is no such group.
        StoreError: the database cannot be read.
    """
    club = club_of(store, group)
    found = stories(camp(store, selection), club, has_sides=False)
    return squad_page(group or "", found, club, wording, local_day())


def session_sheet(
    store: Store, session: SessionRecord, recordings: Path, wording: Wording
) -> Sheet:
    """Make the report of a session.

    Args:
        store: the database.
        session: the session.
        recordings: where the recordings lie.
        wording: language and unit.

    Raises:
        StoreError: the database cannot be read.
    """
    told = told_of(store, session, recordings)
    return session_report(told, club_of(store), wording, local_day())


def told_of(store: Store, session: SessionRecord, recordings: Path | None) -> Told:
    """Put together what the report of a session is made of.

    Args:
        store: the database.
        session: the session.
        recordings: where the recordings lie, None to leave the curves out.

    Raises:
        StoreError: the database cannot be read.
    """
    history = History(store)
    reps = history.reps(session.id)
    kept = [rep for rep in reps if rep.is_kept]
    found = {} if recordings is None else curves_of(kept, recordings)[0]
    curves = {
        rep.turn: _from_onset(found[place])
        for rep in kept
        if (place := (rep.recording or "", -1.0 if rep.start_s is None else rep.start_s))
        in found
    }
    return Told(
        session, reps, history.closed(session.id), _before(store, session, kept), curves
    )


def write_report(sheet: Sheet, file: Path) -> int | None:
    """Write a report in the format that its name says.

    Args:
        sheet: the report.
        file: ends in .html or .pdf.

    Returns:
        How many pages it has; None where that is the browser's matter.

    Raises:
        FormatError: the file cannot be written.
        ScreenError: a PDF is wanted, and what draws it is not here.
    """
    if file.suffix.lower() == ".html":
        write_html(sheet, file)
        return None
    open_for_pictures(WITHOUT_PDF)
    from strikebridge.screens.paper import write_pdf  # noqa: PLC0415 - loads Qt

    return write_pdf(sheet, file)


def remember(data: Path, file: Path, athlete: str = "") -> None:
    """Note where a report was written, for the day somebody is erased.

    Args:
        data: the data folder.
        file: the report.
        athlete: id of the only athlete in it, empty where it holds several.

    Raises:
        SafekeepingError: it cannot be noted.
    """
    note_outside(data, Kind.REPORT, file, athlete)


def _before(
    store: Store, session: SessionRecord, kept: list[RepRecord]
) -> dict[Like, MeasureValue]:
    """Look up the best force of the days before for everything that was done."""
    return {
        like: best
        for like, rep in {maximal_of(like_of(one)): one for one in kept}.items()
        if (best := best_before(store, rep, session.started_at)) is not None
    }


def _from_onset(trace: ForceTrace) -> Trace:
    """Cut a curve to the hold, time counted from its onset."""
    at = {event.label: event.time_s for event in trace.events}
    time_s, force_N = np.array(trace.time_s), np.array(trace.force_N)
    onset_s = at.get("onset", float(time_s[0]))
    since_s = time_s - onset_s
    end_s = at.get("release", float(time_s[-1])) - onset_s + AFTER_S
    part = (since_s >= -BEFORE_S) & (since_s <= end_s)
    return Trace(since_s[part], force_N[part])
