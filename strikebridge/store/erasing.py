"""Take somebody out of the database for good: rows, what only they made necessary, and bytes.

The rows of this athlete go, whoever else's stay. A session that nobody else took part in goes
with them, and so do groups and set-ups that nobody has any more. A session that has no end gets
one, for its turns were counted with this athlete and cannot be taken up again. Afterwards the
file is written anew without gaps, and its log is cut to nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import delete, func, select, update

from strikebridge.store.models import (
    AthleteRow,
    BodyMassRow,
    CareRow,
    ClosedTurnRow,
    CueRow,
    GroupRow,
    MeasureRow,
    MembershipRow,
    RepRow,
    RigSetupRow,
    SessionAthleteRow,
    SessionRow,
)

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

    from strikebridge.store.database import Store


OF_AN_ATHLETE: tuple[
    type[RepRow | ClosedTurnRow | CueRow | SessionAthleteRow | BodyMassRow | CareRow]
    | type[MembershipRow],
    ...,
] = (RepRow, ClosedTurnRow, CueRow, SessionAthleteRow, BodyMassRow, CareRow, MembershipRow)
"""Every table whose rows are of one athlete, but the roster itself."""


@dataclass(frozen=True, slots=True)
class Held:
    """What the database holds of somebody.

    Attributes:
        sessions: how many sessions.
        reps: how many reps, those taken back counted.
    """

    sessions: int
    reps: int


def held_of(store: Store, athlete: str) -> Held:
    """Count what there is of somebody.

    Args:
        store: the database.
        athlete: id.

    Raises:
        StoreError: the database cannot be read.
    """
    with store.reading() as at:
        return Held(_count(at, SessionAthleteRow, athlete), _count(at, RepRow, athlete))


def erase_athlete(store: Store, athlete: str, now: datetime) -> None:
    """Take somebody out of the database; who is not in it any more is no mistake.

    Args:
        store: the database.
        athlete: id.
        now: end of the sessions that have none, with its zone.

    Raises:
        StoreError: the database cannot be written; nothing of it was done.
    """
    with store.writing() as at:
        theirs = set(
            at.scalars(
                select(SessionAthleteRow.session_id).where(
                    SessionAthleteRow.athlete_id == athlete
                )
            )
        )
        setups = set(at.scalars(select(RepRow.setup_key).where(RepRow.athlete_id == athlete)))
        reps = select(RepRow.id).where(RepRow.athlete_id == athlete)
        at.execute(delete(MeasureRow).where(MeasureRow.rep_id.in_(reps)))
        for table in OF_AN_ATHLETE:
            at.execute(delete(table).where(table.athlete_id == athlete))
        at.execute(delete(AthleteRow).where(AthleteRow.id == athlete))
        _drop_what_nobody_has(at, theirs, {key for key in setups if key is not None})
        at.execute(
            update(SessionRow)
            .where(SessionRow.id.in_(theirs), SessionRow.ended_at.is_(None))
            .values(ended_at=now)
        )


def _drop_what_nobody_has(at: Session, sessions: set[str], setups: set[str]) -> None:
    """Drop groups, sessions and set-ups that only this athlete made necessary."""
    at.execute(delete(GroupRow).where(GroupRow.id.not_in(select(MembershipRow.group_id))))
    still = select(SessionAthleteRow.session_id)
    at.execute(
        delete(SessionRow).where(SessionRow.id.in_(sessions), SessionRow.id.not_in(still))
    )
    used = select(RepRow.setup_key).where(RepRow.setup_key.is_not(None))
    at.execute(
        delete(RigSetupRow).where(RigSetupRow.key.in_(setups), RigSetupRow.key.not_in(used))
    )


def _count(at: Session, table: type[SessionAthleteRow | RepRow], athlete: str) -> int:
    found = select(func.count()).select_from(table).where(table.athlete_id == athlete)
    return at.scalar(found) or 0
