"""A session and what was done in it, as it is kept.

Planned turns are numbered from 1 in the order of the plan. A turn is known by its session and
this number, an attempt at it by a number more: a redo is the second attempt, and the first one
stays, taken back. At most one attempt at a turn is kept. Whoever saves the same attempt twice,
after a crash or on resuming, stores it once.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.club.exercise import Way
from strikebridge.samples import Prescription

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from strikebridge.club.athlete import Hand, Stance
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.samples import MeasureValue


def new_id() -> str:
    """Draw an id for an athlete or a session: 32 random hexadecimal letters."""
    return uuid.uuid4().hex


@dataclass(frozen=True, slots=True)
class SessionRecord:
    """One session as it is run.

    Attributes:
        id: random, from `new_id`.
        plan: name of the plan.
        plan_text: the plan as run, in full, so that the session can be taken up again.
        athletes: ids in the order of the session.
        turns: how many turns are planned.
        started_at: with its zone.
        ended_at: with its zone, None while it runs or where it broke off.
        group: name of the group, empty without one.
        wall: name of the wall, empty where there is only one.
    """

    id: str
    plan: str
    plan_text: str
    athletes: tuple[str, ...]
    turns: int
    started_at: datetime
    ended_at: datetime | None = None
    group: str = ""
    wall: str = ""


@dataclass(frozen=True, slots=True)
class RepRecord:
    """One rep of one turn.

    Attributes:
        session: id of the session.
        turn: planned turn, from 1.
        athlete: id of the athlete.
        exercise: key of the exercise.
        set_number: set, from 1.
        rep_number: rep in the set, from 1.
        ended_at: when it was over, with its zone.
        attempt: 1, or more for a redo.
        hand: left or right, None where both work.
        stance: the athlete's at that time, None where it does not matter.
        setup: how wall and fist were set up, None where it does not matter.
        prescription: what was asked for.
        way: measured, typed or timed.
        is_kept: False once taken back.
        rise: word of the verdict, empty without one.
        hold: word of the verdict, empty without one.
        faults: words of the verdict.
        sentence: what was said to the athlete.
        detail: what was said to the coach.
        cue: cue given since the rep before, empty without one.
        certificate: id of the certificate, None without one.
        recording: name of the recording's file, None without one.
        start_s: beginning of the rep on the recording's axis [s].
        end_s: its end [s].
        go_s: the go on the same axis [s], None without one.
        measures: every measure by name; empty where only timed.
    """

    session: str
    turn: int
    athlete: str
    exercise: str
    set_number: int
    rep_number: int
    ended_at: datetime
    attempt: int = 1
    hand: Hand | None = None
    stance: Stance | None = None
    setup: RigSetup | None = None
    prescription: Prescription = field(default_factory=Prescription)
    way: Way = Way.MEASURED
    is_kept: bool = True
    rise: str = ""
    hold: str = ""
    faults: tuple[str, ...] = ()
    sentence: str = ""
    detail: str = ""
    cue: str = ""
    certificate: str | None = None
    recording: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    go_s: float | None = None
    measures: Mapping[str, MeasureValue] = field(default_factory=dict)

    @property
    def force(self) -> MeasureValue | None:
        """The force it is known by: its peak, or what was typed off a plain scale."""
        return self.measures.get("hold_mean" if self.way is Way.TYPED else "peak_force")


class Closing(StrEnum):
    """Why a turn is over without a rep that counts."""

    SKIPPED = "skipped"
    PAIN = "pain"
    UNDONE = "undone"
    NO_SHOW = "no show"


@dataclass(frozen=True, slots=True)
class ClosedTurn:
    """A turn that is over without a rep that counts.

    Attributes:
        session: id of the session.
        turn: planned turn, from 1.
        athlete: id of the athlete.
        exercise: key of the exercise; a stop for pain ends it for this athlete.
        why: why.
        closed_at: with its zone.
    """

    session: str
    turn: int
    athlete: str
    exercise: str
    why: Closing
    closed_at: datetime


@dataclass(frozen=True, slots=True)
class CueRecord:
    """One cue of the coach.

    Attributes:
        session: id of the session.
        athlete: id of the athlete.
        given_at: with its zone.
        cue: the cue, from the coach's own list.
        turn: planned turn it was given before, from 1.
    """

    session: str
    athlete: str
    given_at: datetime
    cue: str
    turn: int


class Saved(StrEnum):
    """What became of a rep that was handed over; both say that it is on the disk."""

    NOW = "now"
    ALREADY = "already"


@dataclass(frozen=True, slots=True)
class ResumePoint:
    """Where a session stands.

    Attributes:
        session: the session.
        done: turns with a rep that is kept.
        closed: turns that are over without one, and why.
        attempts: attempts on record by turn, those taken back counted.
        stopped: athlete and exercise of each stop for pain.
        ended: turns that are over in the order they ended; any that is missing comes first.
    """

    session: SessionRecord
    done: frozenset[int]
    closed: Mapping[int, Closing]
    attempts: Mapping[int, int]
    stopped: frozenset[tuple[str, str]] = frozenset()
    ended: tuple[int, ...] = ()

    @property
    def over(self) -> tuple[int, ...]:
        """Turns that are over, in the order they ended."""
        every = self.done | set(self.closed)
        place = {number: at for at, number in enumerate(self.ended)}
        return tuple(sorted(every, key=lambda one: (place.get(one, -1), one)))

    @property
    def next_turn(self) -> int | None:
        """The first planned turn that is still open, None where none is."""
        for turn in range(1, self.session.turns + 1):
            if turn not in self.done and turn not in self.closed:
                return turn
        return None


@dataclass(frozen=True, slots=True)
class PastValue:
    """One measure of one earlier rep.

    Attributes:
        value: the measure.
        ended_at: when the rep was over.
        session: id of its session.
        turn: its turn.
    """

    value: MeasureValue
    ended_at: datetime
    session: str
    turn: int


@dataclass(frozen=True, slots=True)
class Past:
    """What an athlete has done of what may be compared.

    Attributes:
        count: reps on record whose value is not withheld.
        best: the largest, None without any.
        last: the newest, None without any.
        mean: mean of all, in the unit of `best`, None without any.
    """

    count: int = 0
    best: PastValue | None = None
    last: PastValue | None = None
    mean: float | None = None
