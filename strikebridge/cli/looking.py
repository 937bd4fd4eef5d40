"""Where squad board and athlete pages get what they show: the database, by filters."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from strikebridge.club.selection import Selection
from strikebridge.opening import known_exercises
from strikebridge.records import camp, newest_exercise
from strikebridge.screens.progress_view import Filters, Found, Source
from strikebridge.store.records import Records
from strikebridge.store.roster import Roster

if TYPE_CHECKING:
    from strikebridge.records import Camp
    from strikebridge.store.database import Store

EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)  # before any rep


def source_of(store: Store) -> Source:
    """Look into a database.

    Args:
        store: the database; stays open as long as the source is used.

    Returns:
        What a view asks.
    """
    known = {key: one.name for key, one in known_exercises(store).items()}

    def board(filters: Filters) -> Found:
        exercise = filters.exercise or newest_exercise(store, Selection())
        selection = Selection(exercise=exercise, hand=filters.hand, setup=filters.setup)
        found = camp(store, _within(store, selection, filters.weeks))
        setups = {one.like.setup for one in found.standings if one.like.setup is not None}
        if filters.setup is not None:
            setups.add(filters.setup)
        return Found(
            board=found,
            athletes={one.id: one for one in Roster(store).all()},
            exercises={key: known.get(key, key) for key in Records(store).exercises()},
            setups=sorted(setups),
        )

    def athlete(who: str, filters: Filters) -> Camp:
        return camp(store, _within(store, Selection(athlete=who), filters.weeks))

    return Source(board, athlete)


def _within(store: Store, selection: Selection, weeks: int | None) -> Selection:
    """Look so many weeks back from the newest rep of the same exercise, by anybody."""
    asked = Selection(athlete=selection.athlete, exercise=selection.exercise)
    newest = Records(store).newest_at(asked)
    if newest is None:
        return selection
    reach = timedelta(weeks=weeks) if weeks is not None else newest - EARLIEST
    return replace(selection, since=newest - reach)
