"""What was done before: best, last and mean of what is alike, and the reps of a session.

Reps that were taken back and values that are withheld do not count for best, last and mean, and
one definition of a measure is never mixed with another.
"""

from __future__ import annotations

from statistics import fmean
from typing import TYPE_CHECKING

from sqlalchemy import and_, select
from sqlalchemy.orm import selectinload

from strikebridge.club.training import Closing, Past, PastValue
from strikebridge.store.models import (
    ClosedTurnRow,
    CueRow,
    MeasureRow,
    RepRow,
    SessionAthleteRow,
    SessionRow,
)
from strikebridge.store.rows import closed_of, cue_of, measure_of, session_of, value_of
from strikebridge.store.whole_reps import BY_TURN, whole_reps

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import ColumnElement, Row

    from strikebridge.club.selection import Like
    from strikebridge.club.training import ClosedTurn, CueRecord, RepRecord, SessionRecord
    from strikebridge.store.database import Store

HIGHEST = "\uffff"  # stands behind every letter an id may have


class History:
    """What one database knows of the days before."""

    def __init__(self, store: Store) -> None:
        """Open the history.

        Args:
            store: the database.
        """
        self._store = store

    def past(self, like: Like, measure: str = "peak_force", version: int | None = None) -> Past:
        """Sum up one measure over all that is alike.

        Args:
            like: what the reps share.
            measure: name of the measure.
            version: version of its definition, None for the newest on record.

        Returns:
            Best, last and mean; an empty one where nothing is on record.

        Raises:
            StoreError: the database cannot be read.
        """
        counts = [
            *_shares(like),
            RepRow.is_kept,
            MeasureRow.name == measure,
            MeasureRow.value.is_not(None),
        ]
        # of a join, for the reps that do not count must not decide which version is the newest
        numbers = select(MeasureRow.version, MeasureRow.value)
        numbers = numbers.join(RepRow, RepRow.id == MeasureRow.rep_id).where(*counts)
        with self._store.reading() as at:
            by_version: dict[int, list[float]] = {}
            for found, number in at.connection().execute(numbers):
                by_version.setdefault(found, []).append(number or 0.0)
            newest = max(by_version, default=None) if version is None else version
            if newest is None or newest not in by_version:
                return Past()
            pairs = (
                select(RepRow, MeasureRow)
                .join(MeasureRow, MeasureRow.rep_id == RepRow.id)
                .where(*counts, MeasureRow.version == newest)
                .limit(1)
            )
            value = value_of(measure)
            # of two that are equal the earlier one is the best: the later did not beat it
            largest = pairs.where(value.is_not(None)).order_by(
                value.desc(), RepRow.ended_at, RepRow.id
            )
            latest = pairs.order_by(RepRow.ended_at.desc(), RepRow.id.desc())
            best, last = (_value_of(at.execute(one).first()) for one in (largest, latest))
            # not SQL's: its mean depends on the order in which an index gives the values
            return Past(len(by_version[newest]), best, last, fmean(by_version[newest]))

    def alike(self, like: Like, limit: int | None = None) -> tuple[RepRecord, ...]:
        """List the kept reps of what is alike, the newest last.

        Args:
            like: what the reps share.
            limit: how many of the newest, None for all.

        Raises:
            StoreError: the database cannot be read.
        """
        newest_first = (RepRow.ended_at.desc(), RepRow.id.desc())
        meant = [*_shares(like), and_(RepRow.is_kept)]
        with self._store.reading() as at:
            return whole_reps(at, meant, newest_first, limit)[::-1]

    def reps(self, session: str) -> tuple[RepRecord, ...]:
        """List the reps of a session by turn and attempt, those taken back among them.

        Args:
            session: id of the session.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as at:
            return whole_reps(at, [RepRow.session_id == session], BY_TURN)

    def cues(self, session: str) -> tuple[CueRecord, ...]:
        """List the cues of a session, oldest first.

        Args:
            session: id of the session.

        Raises:
            StoreError: the database cannot be read.
        """
        query = select(CueRow).where(CueRow.session_id == session).order_by(CueRow.given_at)
        with self._store.reading() as at:
            return tuple(cue_of(row) for row in at.scalars(query))

    def closed(self, session: str) -> tuple[ClosedTurn, ...]:
        """List the turns of a session that are over without a rep, by turn.

        Args:
            session: id of the session.

        Raises:
            StoreError: the database cannot be read.
        """
        query = select(ClosedTurnRow).where(
            ClosedTurnRow.session_id == session, ClosedTurnRow.turn > 0
        )
        with self._store.reading() as at:
            rows = at.scalars(query.order_by(ClosedTurnRow.turn))
            return tuple(closed_of(row) for row in rows)

    def stops_for_pain(self, since: datetime) -> tuple[ClosedTurn, ...]:
        """List the turns that were ended for pain, oldest first.

        Args:
            since: the first moment that counts, with its zone.

        Raises:
            StoreError: the database cannot be read.
        """
        query = select(ClosedTurnRow).where(
            ClosedTurnRow.why == Closing.PAIN.value, ClosedTurnRow.closed_at >= since
        )
        with self._store.reading() as at:
            rows = at.scalars(query.order_by(ClosedTurnRow.closed_at, ClosedTurnRow.turn))
            return tuple(closed_of(row) for row in rows)

    def sessions(
        self, athlete: str | None = None, limit: int | None = None
    ) -> tuple[SessionRecord, ...]:
        """List sessions, the newest first.

        Args:
            athlete: id of one who took part, None for all sessions.
            limit: how many of the newest, None for all.

        Raises:
            StoreError: the database cannot be read.
        """
        query = (
            select(SessionRow)
            .options(selectinload(SessionRow.athletes))
            .order_by(SessionRow.started_at.desc(), SessionRow.id)
            .limit(limit)
        )
        if athlete is not None:
            takes_part = select(SessionAthleteRow.session_id)
            takes_part = takes_part.where(SessionAthleteRow.athlete_id == athlete)
            query = query.where(SessionRow.id.in_(takes_part))
        with self._store.reading() as at:
            return tuple(session_of(row) for row in at.scalars(query))

    def sessions_from(self, beginning: str, limit: int) -> tuple[SessionRecord, ...]:
        """List sessions whose id begins like that, by id.

        Args:
            beginning: of the id, at least one letter.
            limit: how many at most.

        Raises:
            StoreError: the database cannot be read.
        """
        query = (
            select(SessionRow)
            .options(selectinload(SessionRow.athletes))
            .where(SessionRow.id >= beginning, SessionRow.id < beginning + HIGHEST)
            .order_by(SessionRow.id)
            .limit(limit)
        )
        with self._store.reading() as at:
            return tuple(session_of(row) for row in at.scalars(query))


def _shares(like: Like) -> list[ColumnElement[bool]]:
    """Say in SQL what reps share; what is not known is alike only to what is not known."""
    return [
        RepRow.athlete_id == like.athlete,
        RepRow.exercise == like.exercise,
        RepRow.hand == like.hand if like.hand else RepRow.hand.is_(None),
        RepRow.setup_key.is_(None) if like.setup is None else RepRow.setup_key == like.setup,
        RepRow.effort == like.effort.value,
    ]


def _value_of(row: Row[RepRow, MeasureRow] | None) -> PastValue | None:
    if row is None:
        return None
    rep, measure = row
    return PastValue(measure_of(measure), rep.ended_at, rep.session_id, rep.turn)
