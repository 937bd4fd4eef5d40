"""Reps on record by what is asked for: values of one measure, whole reps, what there is at all.

Each answer is one query that an index leads (`tests/store/test_records.py` looks at the plans).
Values come as plain columns: a squad's twelve weeks are some ten thousand rows, and to make an
object of the database's for each would take longer than the query. Different definitions of a
measure are never handed out together: only the newest on record is.
"""

from __future__ import annotations

from datetime import timedelta
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from sqlalchemy import and_, func, select

from strikebridge.club.exercise import Way
from strikebridge.club.selection import NO_SETUP, Kind, Like, RepSummary
from strikebridge.samples import Effort
from strikebridge.store.database import without_collecting
from strikebridge.store.models import MeasureRow, RepRow, RigSetupRow, SessionRow
from strikebridge.store.rows import MEASURE_COLUMNS, measure_from, setup_of, value_of
from strikebridge.store.whole_reps import IN_TIME, measures_query, reps_query, whole_reps

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import ColumnElement, Select

    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.club.selection import Selection
    from strikebridge.club.training import RepRecord
    from strikebridge.samples import MeasureValue
    from strikebridge.store.database import Store

_REP = (
    RepRow.athlete_id,
    RepRow.exercise,
    RepRow.hand,
    RepRow.setup_key,
    RepRow.effort,
    RepRow.session_id,
    RepRow.turn,
    RepRow.set_number,
    RepRow.ended_at,
    RepRow.cue,
    RepRow.way,
)
EFFORTS = {effort.value: effort for effort in Effort}
WAYS = {way.value: way for way in Way}
_OF_REP = len(_REP)
_IN_TIME = itemgetter(_REP.index(RepRow.ended_at), -1)
VERSION = _OF_REP + MEASURE_COLUMNS.index(MeasureRow.version)


class Records:
    """The reps of one database, as they are asked for."""

    def __init__(self, store: Store) -> None:
        """Open the records.

        Args:
            store: the database.
        """
        self._store = store

    def values(
        self, selection: Selection, measure: str = "peak_force", way: Way | None = None
    ) -> tuple[RepSummary, ...]:
        """Give one measure of every rep that is meant, the oldest first.

        Args:
            selection: which reps.
            measure: name of the measure.
            way: how they were done, None for any.

        Returns:
            Values of the newest definition on record among them, those withheld included; a
            rep without the measure, such as one that was only timed, is not there.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at, without_collecting():
            rows = list(at.connection().execute(values_query(selection, measure, way)).all())
            # asked for in order, SQLite would go through everybody's reps for those of one
            rows.sort(key=_IN_TIME)
            newest = max((row[VERSION] for row in rows), default=0)
            likes: dict[tuple[str | None, ...], Like] = {}
            return tuple(_summary_of(row, likes) for row in rows if row[VERSION] == newest)

    def reps(self, selection: Selection) -> tuple[RepRecord, ...]:
        """Give every rep that is meant with all its measures, the oldest first.

        Args:
            selection: which reps.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at:
            return whole_reps(at, _meant(selection))

    def largest(
        self, selection: Selection, like: MeasureValue, before: datetime
    ) -> MeasureValue | None:
        """Find the largest value of a measure among the reps that are meant.

        Args:
            selection: which reps.
            like: a value of the measure; of other definitions none is taken.
            before: reps of sessions that began before this moment alone.

        Returns:
            The earliest of the largest ones, None where there is none.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at:
            row = at.execute(largest_query(selection, like, before)).first()
        return None if row is None else _summary_of(row, {}).value

    def kinds(self, athlete: str) -> tuple[Kind, ...]:
        """Say what an athlete has done, the newest first.

        Args:
            athlete: id of the athlete.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at:
            rows = at.execute(kinds_query(athlete)).all()
        return tuple(
            Kind(exercise, hand or "", setup, Effort(effort), newest_at, reps)
            for exercise, hand, setup, effort, newest_at, reps in rows
        )

    def exercises(self) -> tuple[str, ...]:
        """List the keys of all exercises that anybody has done.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at:
            found = at.scalars(exercises_query()).all()
        return tuple(key for key in found if key is not None)

    def newest_at(self, selection: Selection) -> datetime | None:
        """Say when the newest rep that is meant was over, None where there is none.

        Args:
            selection: which reps.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at:
            return at.scalar(newest_query(selection))

    def plans(self, since: datetime | None) -> dict[str, str]:
        """Name the plan of each session.

        Args:
            since: first moment, with its zone; None for all sessions.

        Returns:
            Id of the session -> name of its plan.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at:
            rows = at.execute(plans_query(since)).all()
        return {row.id: row.plan for row in rows}

    def setups(self, keys: Sequence[str]) -> dict[str, RigSetup]:
        """Give set-ups by their keys; keys that are not on record are left out.

        Args:
            keys: keys of set-ups.

        Raises:
            StoreError: the database cannot be read.
        """
        query = select(RigSetupRow).where(RigSetupRow.key.in_(keys))
        with self._store.reading() as at:
            return {row.key: setup_of(row) for row in at.scalars(query)}


def values_query(
    selection: Selection, measure: str, way: Way | None = None
) -> Select[*tuple[Any, ...]]:
    """Ask for one measure of the reps that are meant.

    Args:
        selection: which reps.
        measure: name of the measure.
        way: how they were done, None for any.
    """
    query = (
        select(*_REP, *MEASURE_COLUMNS, RepRow.id)
        .join(MeasureRow, MeasureRow.rep_id == RepRow.id)
        .where(*_meant(selection), MeasureRow.name == measure)
    )
    return query if way is None else query.where(RepRow.way == way.value)


def largest_query(
    selection: Selection, like: MeasureValue, before: datetime
) -> Select[*tuple[Any, ...]]:
    """Ask for the largest value of a measure.

    Args:
        selection: which reps.
        like: a value of the measure, which names it and its definition.
        before: when sessions had begun; a session's own reps may be later than the next one's
            beginning where a simulated board runs ahead of the clock.
    """
    value = value_of(like.name)
    return (
        values_query(selection, like.name)
        .join(SessionRow, SessionRow.id == RepRow.session_id)
        .where(SessionRow.started_at < before)
        .where(MeasureRow.version == like.version, value.is_not(None))
        .order_by(value.desc(), RepRow.ended_at, RepRow.id)
        .limit(1)
    )


def reps_queries(selection: Selection) -> tuple[Select[*tuple[Any, ...]], ...]:
    """Ask for the reps that are meant, and for their measures.

    Args:
        selection: which reps.
    """
    meant = _meant(selection)
    return reps_query(meant, IN_TIME), measures_query(meant, IN_TIME)


def kinds_query(athlete: str) -> Select[str, str | None, str | None, str, datetime, int]:
    """Ask what an athlete has done.

    Args:
        athlete: id of the athlete.
    """
    newest = func.max(RepRow.ended_at, type_=RepRow.ended_at.type)
    what = (RepRow.exercise, RepRow.hand, RepRow.setup_key, RepRow.effort)
    return (
        select(*what, newest, func.count(RepRow.id))
        .where(RepRow.athlete_id == athlete, RepRow.is_kept)
        .group_by(*what)
        .order_by(newest.desc(), RepRow.exercise, RepRow.hand)
    )


def exercises_query() -> Select[str | None]:
    """Ask for the keys of all exercises, by leaps from one to the next through an index."""
    leaps = select(func.min(RepRow.exercise).label("key")).cte("leaps", recursive=True)
    next_key = select(func.min(RepRow.exercise)).where(RepRow.exercise > leaps.c.key)
    leaps = leaps.union_all(select(next_key.scalar_subquery()).where(leaps.c.key.is_not(None)))
    return select(leaps.c.key)


def newest_query(selection: Selection) -> Select[datetime]:
    """Ask when the newest rep that is meant was over.

    Args:
        selection: which reps.
    """
    meant = _meant(selection)
    if selection.athlete is not None:  # some thousands, which are all looked at
        return select(func.max(RepRow.ended_at, type_=RepRow.ended_at.type)).where(*meant)
    newest_first = select(RepRow.ended_at).where(*meant).order_by(RepRow.ended_at.desc())
    return newest_first.limit(1)


def plans_query(since: datetime | None) -> Select[str, str]:
    """Ask for the plan of each session.

    Args:
        since: first moment; None for all sessions.
    """
    query = select(SessionRow.id, SessionRow.plan)
    if since is None:
        return query
    # a rep of that moment may be of a session that began before
    return query.where(SessionRow.started_at >= since - timedelta(days=1))


def _summary_of(row: Sequence[Any], likes: dict[tuple[str | None, ...], Like]) -> RepSummary:
    """Make a summary of a row; in one go, for a squad has ten thousand of them.

    Args:
        row: columns of `values_query`.
        likes: what reps share, which each of them is given the same one of; grows.
    """
    athlete, exercise, hand, setup, effort, session, turn, set_number, ended_at, cue, way = row[
        :_OF_REP
    ]
    shared = (athlete, exercise, hand, setup, effort)
    like = likes.get(shared)
    if like is None:
        like = likes[shared] = Like(athlete, exercise, hand or "", setup, EFFORTS[effort])
    value = measure_from(row[_OF_REP:-1])
    return RepSummary(like, session, ended_at, turn, value, cue, set_number, WAYS[way])


def _meant(selection: Selection) -> list[ColumnElement[bool]]:
    """Say in SQL which reps are meant."""
    said: list[ColumnElement[bool]] = [and_(RepRow.is_kept)]
    if selection.athlete is not None:
        said.append(RepRow.athlete_id == selection.athlete)
    if selection.exercise is not None:
        said.append(RepRow.exercise == selection.exercise)
    if selection.hand is not None:
        said.append(RepRow.hand == selection.hand.value)
    if selection.setup == NO_SETUP:
        said.append(RepRow.setup_key.is_(None))
    elif selection.setup is not None:
        said.append(RepRow.setup_key == selection.setup)
    if selection.effort is not None:
        said.append(RepRow.effort == selection.effort.value)
    if selection.since is not None:
        said.append(RepRow.ended_at >= selection.since)
    if selection.until is not None:
        said.append(RepRow.ended_at < selection.until)
    return said
