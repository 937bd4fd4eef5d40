"""Sessions, reps and cues as they come in; every call is one transaction and may be repeated.

A rep is saved when its call returns: it survives a killed program and a power cut. The same
attempt at the same turn is stored once, however often it is handed over. Of several attempts at
a turn the newest counts; the others stay, taken back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import func, select, update
from sqlalchemy.orm import selectinload

from strikebridge.club.consent import consent_fault
from strikebridge.club.training import Closing, ResumePoint, Saved
from strikebridge.errors import ConsentError, RosterError, StoreError
from strikebridge.store.models import (
    AthleteRow,
    ClosedTurnRow,
    CueRow,
    RepRow,
    RigSetupRow,
    SessionAthleteRow,
    SessionRow,
)
from strikebridge.store.roster import local_day
from strikebridge.store.rows import athlete_of, rep_row, session_of, session_row, setup_row

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from strikebridge.club.training import (
        ClosedTurn,
        CueRecord,
        RepRecord,
        SessionRecord,
    )
    from strikebridge.store.database import Store


class Training:
    """The sessions of one database."""

    def __init__(self, store: Store, day: Callable[[], date] = local_day) -> None:
        """Open the sessions.

        Args:
            store: the database.
            day: says which day it is.
        """
        self._store = store
        self._day = day

    def begin(self, session: SessionRecord) -> None:
        """Write down that a session has begun; the same one twice is once.

        Args:
            session: the session.

        Raises:
            ConsentError: one athlete is under age without consent; nothing was written.
            RosterError: an athlete is not in the roster.
            StoreError: the database cannot be written.
        """
        with self._store.writing() as at:
            if at.get(SessionRow, session.id) is not None:
                return
            for athlete in session.athletes:
                self._check(at, athlete)
            at.add(session_row(session))

    def end(self, session: str, ended_at: datetime) -> None:
        """Write down that a session is over; the first end stands.

        Args:
            session: id of the session.
            ended_at: when, with its zone.

        Raises:
            StoreError: there is no such session, or the database cannot be written.
        """
        with self._store.writing() as at:
            row = _session(at, session)
            row.ended_at = row.ended_at or ended_at

    def save(self, rep: RepRecord) -> Saved:
        """Save a rep; when this returns it is on the disk, once.

        Args:
            rep: the rep.

        Returns:
            Whether it was written now or had been before.

        Raises:
            ConsentError: the athlete is under age without consent; nothing was written.
            RosterError: the athlete is not in the roster.
            StoreError: there is no such session, or the database cannot be written.
        """
        with self._store.writing() as at:
            _session(at, rep.session)
            self._check(at, rep.athlete)
            mine = (RepRow.session_id == rep.session, RepRow.turn == rep.turn)
            earlier = at.scalars(select(RepRow.attempt).where(*mine)).all()
            if rep.attempt in earlier:
                return Saved.ALREADY
            new = rep_row(rep)
            if any(attempt > rep.attempt for attempt in earlier):
                new.is_kept = False  # it comes late; a later attempt has been seen
            if new.is_kept:
                # a statement of its own: at most one is kept at every moment
                at.execute(update(RepRow).where(*mine).values(is_kept=False))
                _open_turn(at, rep.session, rep.turn)
            if rep.setup is not None and at.get(RigSetupRow, rep.setup.key) is None:
                at.add(setup_row(rep.setup))
            at.add(new)
        return Saved.NOW

    def add_past(self, past: Sequence[tuple[SessionRecord, Sequence[RepRecord]]]) -> None:
        """Take in sessions of days gone by with all their reps, every one of them or none.

        A session that is on record already goes on: athletes and turns are added to it.

        Args:
            past: sessions and their reps; no turn of theirs is on record.

        Raises:
            ConsentError: an athlete is under age without consent; nothing was written.
            RosterError: an athlete is not in the roster.
            StoreError: the database cannot be written.
        """
        with self._store.writing() as at:
            for session, reps in past:
                for athlete in session.athletes:
                    self._check(at, athlete)
                row = at.get(SessionRow, session.id)
                if row is None:
                    at.add(session_row(session))
                else:
                    _go_on(row, session)
                for setup in {rep.setup for rep in reps if rep.setup is not None}:
                    if at.get(RigSetupRow, setup.key) is None:
                        at.add(setup_row(setup))
                at.flush()
                at.add_all(rep_row(rep) for rep in reps)

    def take_back(self, session: str, turn: int) -> bool:
        """Mark the rep of a turn as taken back; it stays on record, and the turn is open again.

        Args:
            session: id of the session.
            turn: planned turn, from 1.

        Returns:
            True if there was one to take back.

        Raises:
            StoreError: the database cannot be written.
        """
        kept = select(RepRow).where(
            RepRow.session_id == session, RepRow.turn == turn, RepRow.is_kept
        )
        with self._store.writing() as at:
            row = at.scalar(kept)
            if row is None:
                return False
            row.is_kept = False
            return True

    def close_turn(self, closed: ClosedTurn) -> None:
        """Write down that a turn is over without a rep that counts; the newest reason stands.

        Args:
            closed: the turn.

        Raises:
            ConsentError: the athlete is under age without consent; nothing was written.
            RosterError: the athlete is not in the roster.
            StoreError: there is no such session, or the database cannot be written.
        """
        with self._store.writing() as at:
            _session(at, closed.session)
            self._check(at, closed.athlete)
            at.merge(
                ClosedTurnRow(
                    session_id=closed.session,
                    turn=closed.turn,
                    athlete_id=closed.athlete,
                    exercise=closed.exercise,
                    why=closed.why.value,
                    closed_at=closed.closed_at,
                )
            )

    def open_turn(self, session: str, turn: int) -> None:
        """Open a closed turn again; one that is open already stays so.

        Args:
            session: id of the session.
            turn: planned turn, from 1.

        Raises:
            StoreError: the database cannot be written.
        """
        with self._store.writing() as at:
            _open_turn(at, session, turn)

    def note_cue(self, cue: CueRecord) -> None:
        """Write down a cue; the same one twice is once.

        Args:
            cue: the cue.

        Raises:
            ConsentError: the athlete is under age without consent; nothing was written.
            RosterError: the athlete is not in the roster.
            StoreError: there is no such session, or the database cannot be written.
        """
        with self._store.writing() as at:
            _session(at, cue.session)
            self._check(at, cue.athlete)
            at.merge(
                CueRow(
                    session_id=cue.session,
                    given_at=cue.given_at,
                    athlete_id=cue.athlete,
                    cue=cue.cue,
                    turn=cue.turn,
                )
            )

    def unfinished(self) -> tuple[SessionRecord, ...]:
        """List the sessions that have no end, the newest first.

        Raises:
            StoreError: the database cannot be read.
        """
        query = (
            select(SessionRow)
            .options(selectinload(SessionRow.athletes))
            .where(SessionRow.ended_at.is_(None))
            .order_by(SessionRow.started_at.desc())
        )
        with self._store.reading() as at:
            return tuple(session_of(row) for row in at.scalars(query))

    def resume_point(self, session: str) -> ResumePoint:
        """Say where a session stands.

        Args:
            session: id of the session.

        Raises:
            StoreError: there is no such session, or the database cannot be read.
        """
        mine = RepRow.session_id == session
        kept = select(RepRow.turn, RepRow.ended_at).where(mine, RepRow.is_kept)
        newest = select(RepRow.turn, func.max(RepRow.attempt)).where(mine)
        closings = select(ClosedTurnRow).where(
            ClosedTurnRow.session_id == session, ClosedTurnRow.turn > 0
        )
        with self._store.reading() as at:
            record = session_of(_session(at, session))
            closed, reps = at.scalars(closings).all(), at.execute(kept).all()
            done = frozenset(turn for turn, _ in reps)
            ended = {row.turn: row.closed_at for row in closed}
            ended.update((turn, when) for turn, when in reps)
            return ResumePoint(
                session=record,
                done=done,
                # pain after the last turn of an exercise is noted at that turn, which is done
                closed={row.turn: Closing(row.why) for row in closed if row.turn not in done},
                attempts={one[0]: one[1] for one in at.execute(newest.group_by(RepRow.turn))},
                stopped=frozenset(
                    (row.athlete_id, row.exercise)
                    for row in closed
                    if row.why == Closing.PAIN.value
                ),
                ended=tuple(sorted(ended, key=lambda turn: (ended[turn], turn))),
            )

    def _check(self, at: Session, athlete: str) -> None:
        """Refuse to write anything of an athlete who may not be stored."""
        row = at.get(AthleteRow, athlete)
        if row is None:
            raise RosterError(
                "An athlete of this session is not in the roster, and nothing was stored. Add "
                "the athlete first."
            )
        refused = consent_fault(athlete_of(row), self._day())
        if refused:
            raise ConsentError(refused)


def _go_on(row: SessionRow, session: SessionRecord) -> None:
    """Put athletes and turns of a session onto those it had."""
    row.turns = session.turns
    there = {one.athlete_id for one in row.athletes}
    new = [athlete for athlete in session.athletes if athlete not in there]
    row.athletes += [
        SessionAthleteRow(place=place, athlete_id=athlete)
        for place, athlete in enumerate(new, start=len(there) + 1)
    ]


def _session(at: Session, session: str) -> SessionRow:
    row = at.get(SessionRow, session)
    if row is None:
        raise StoreError(f"There is no session {session} in the database.")
    return row


def _open_turn(at: Session, session: str, turn: int) -> None:
    row = at.get(ClosedTurnRow, (session, turn))
    if row is not None:
        at.delete(row)
