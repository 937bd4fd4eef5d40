"""Where squad board and athlete pages get what they show: the database, by filters."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from strikebridge.club.selection import Selection
from strikebridge.opening import known_exercises
from strikebridge.records import Shelf, camp, newest_exercise
from strikebridge.screens.progress_source import Filters, Found, Source
from strikebridge.store.database import without_collecting
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

    shelf: Shelf = {}

    @without_collecting()
    def board(filters: Filters) -> Found:
        selection = Selection(
            exercise=_exercise_of(store, filters),
            hand=filters.hand,
            setup=filters.setup,
            since=since_of(store, filters),
        )
        found = camp(store, selection, shelf=shelf)
        setups = {one.like.setup for one in found.standings if one.like.setup is not None}
        if filters.setup is not None:
            setups.add(filters.setup)
        return Found(
            board=found,
            athletes={one.id: one for one in Roster(store).all()},
            exercises={key: known.get(key, key) for key in Records(store).exercises()},
            setups=sorted(setups),
        )

    @without_collecting()
    def athlete(who: str, filters: Filters) -> Camp:
        selection = Selection(athlete=who, since=since_of(store, filters))
        return camp(store, selection, shelf=shelf)

    return Source(board, athlete)


def since_of(store: Store, filters: Filters) -> datetime | None:
    """Look back from the newest rep of the exercise, so that row, page and report agree.

    Args:
        store: the database.
        filters: what is looked at.

    Returns:
        The first moment, None where nothing is on record.
    """
    newest = Records(store).newest_at(Selection(exercise=_exercise_of(store, filters)))
    if newest is None:
        return None
    return EARLIEST if filters.weeks is None else newest - timedelta(weeks=filters.weeks)


def _exercise_of(store: Store, filters: Filters) -> str | None:
    return filters.exercise or newest_exercise(store, Selection())
