"""A stop for pain that was a slip, taken back later: nothing of it is lost.

A turn that was closed by it moves to a number below zero and says there that it was taken back;
one more row says when that was. Whoever asks which turns of a session are over is told of those
above zero alone. So the original stays, marked, and goes with the athlete when that is erased.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from strikebridge.club.training import Closing
from strikebridge.store.models import ClosedTurnRow, RepRow, SessionRow

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy.orm import Session

    from strikebridge.store.database import Store

AS_IT_WAS = "pain, taken back"
"""Reason at a turn below zero: it had been closed for pain, at the moment that stands there."""
LIFTED = "taken back"
"""The same of the row that says when that was done."""


@dataclass(frozen=True, slots=True)
class Lifted:
    """A stop for pain that was taken back.

    Attributes:
        exercise: key of the exercise.
        stopped_at: when it was stopped, with its zone.
        lifted_at: when that was taken back, with its zone.
    """

    exercise: str
    stopped_at: datetime
    lifted_at: datetime


class Stops:
    """Stops for pain of one database, after the session they were pressed in."""

    def __init__(self, store: Store) -> None:
        """Open them.

        Args:
            store: the database.
        """
        self._store = store

    def lift(self, athlete: str, exercise: str, since: datetime, now: datetime) -> int:
        """Take back the stops of an exercise, in every session since then.

        A turn that they closed is open again where its session is taken up again; in one that
        has ended it counts as left out.

        Args:
            athlete: id of the athlete.
            exercise: key of the exercise.
            since: the first moment that counts, with its zone.
            now: this moment, with its zone.

        Returns:
            How many turns they had closed; 0 where there was none to take back.

        Raises:
            StoreError: the database cannot be written.
        """
        query = (
            select(ClosedTurnRow)
            .where(
                ClosedTurnRow.athlete_id == athlete,
                ClosedTurnRow.exercise == exercise,
                ClosedTurnRow.why == Closing.PAIN.value,
                ClosedTurnRow.closed_at >= since,
            )
            .order_by(ClosedTurnRow.turn)
        )
        with self._store.writing() as at:
            rows = at.scalars(query).all()
            for session in {row.session_id for row in rows}:
                mine = [row for row in rows if row.session_id == session]
                _lift_in(at, session, mine, now)
            return len(rows)

    def lifted(self, athlete: str, since: datetime) -> tuple[Lifted, ...]:
        """List the stops that were taken back, as they were, oldest first.

        Args:
            athlete: id of the athlete.
            since: the first moment of taking back that counts, with its zone.

        Raises:
            StoreError: the database cannot be read.
        """
        query = select(ClosedTurnRow).where(
            ClosedTurnRow.athlete_id == athlete, ClosedTurnRow.turn < 0
        )
        with self._store.reading() as at:
            rows = at.scalars(query.order_by(ClosedTurnRow.turn.desc())).all()
            found: dict[tuple[str, datetime], Lifted] = {}
            was: dict[str, ClosedTurnRow] = {}
            for row in rows:  # of each session the stops first, then when they were taken back
                if row.why == AS_IT_WAS:
                    was[row.session_id] = row
                elif row.closed_at >= since:
                    stop = was[row.session_id]
                    one = Lifted(stop.exercise, stop.closed_at, row.closed_at)
                    found.setdefault((one.exercise, one.lifted_at), one)
            return tuple(sorted(found.values(), key=lambda one: one.lifted_at))


def _lift_in(at: Session, session: str, rows: Sequence[ClosedTurnRow], now: datetime) -> None:
    """Move the turns that a stop closed in one session below zero, and write down when."""
    turns = [row.turn for row in rows]
    lowest = select(func.min(ClosedTurnRow.turn)).where(ClosedTurnRow.session_id == session)
    free = min(0, at.scalar(lowest) or 0) - 1
    kept = select(RepRow.turn).where(RepRow.session_id == session, RepRow.is_kept)
    done = set(at.scalars(kept.where(RepRow.turn.in_(turns))))
    has_ended = at.scalar(select(SessionRow.ended_at).where(SessionRow.id == session))
    for row in rows:
        at.add(_row_like(row, free, AS_IT_WAS, row.closed_at))
        free -= 1
        if has_ended is not None and row.turn not in done:
            row.why = Closing.SKIPPED.value
        else:
            at.delete(row)
    at.add(_row_like(rows[-1], free, LIFTED, now))


def _row_like(row: ClosedTurnRow, turn: int, why: str, when: datetime) -> ClosedTurnRow:
    return ClosedTurnRow(
        session_id=row.session_id,
        turn=turn,
        athlete_id=row.athlete_id,
        exercise=row.exercise,
        why=why,
        closed_at=when,
    )
