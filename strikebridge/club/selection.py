"""Which reps on record are meant, and what is known of each of them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from strikebridge.club.athlete import Hand
from strikebridge.club.exercise import Way
from strikebridge.samples import Effort

if TYPE_CHECKING:
    from datetime import datetime

    from strikebridge.club.training import RepRecord
    from strikebridge.samples import MeasureValue

NO_SETUP = ""
"""Key that stands for reps without a noted set-up, where None would mean any."""


@dataclass(frozen=True, slots=True)
class Selection:
    """Which reps are meant; None where it does not matter.

    Reps that were taken back are never among them.

    Attributes:
        athlete: id of the athlete.
        exercise: key of the exercise.
        hand: left or right.
        setup: key of the set-up, `NO_SETUP` for those where none was noted.
        effort: maximal, submaximal, or None for both.
        since: first moment, with its zone.
        until: moment after the last, with its zone.
    """

    athlete: str | None = None
    exercise: str | None = None
    hand: Hand | None = None
    setup: str | None = None
    effort: Effort | None = Effort.MAXIMAL
    since: datetime | None = None
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Like:
    """What reps must share to be compared; another height, distance or ball is another test.

    Attributes:
        athlete: id of the athlete.
        exercise: key of the exercise.
        hand: `left`, `right`, or empty where both work.
        setup: key of the set-up, None where none was noted.
        effort: maximal or submaximal.
    """

    athlete: str
    exercise: str
    hand: str
    setup: str | None
    # thousands of reps are sorted by these, and the hash of an enumeration is slow
    effort: Effort = field(default=Effort.MAXIMAL, hash=False)


def like_of(rep: RepRecord) -> Like:
    """Say what a rep shares with those it may be compared with.

    Args:
        rep: the rep.
    """
    return Like(
        athlete=rep.athlete,
        exercise=rep.exercise,
        hand="" if rep.hand is None else rep.hand.value,
        setup=None if rep.setup is None else rep.setup.key,
        effort=rep.prescription.effort,
    )


def maximal_of(like: Like) -> Like:
    """Say which maximal reps stand beside those that share something, however hard these were.

    Args:
        like: what the reps share.
    """
    return replace(like, effort=Effort.MAXIMAL)


def selection_of(like: Like) -> Selection:
    """Mean every rep of those that may be compared, of all days.

    Args:
        like: what the reps share.
    """
    return Selection(
        athlete=like.athlete,
        exercise=like.exercise,
        hand=Hand(like.hand) if like.hand else None,
        setup=NO_SETUP if like.setup is None else like.setup,
        effort=like.effort,
    )


@dataclass(frozen=True, slots=True)
class RepSummary:
    """One measure of one rep that counts, with what tells it from others.

    Attributes:
        like: what it may be compared with.
        session: id of the session.
        at: when it was over, with its zone.
        turn: place in the session, rising.
        value: the measure, peak force as a rule, with both doubts and its certificate.
        cue: the cue given before it, empty without one.
        set_number: which set of the session, from 1.
        way: measured, or typed off a plain scale.
    """

    like: Like
    session: str
    at: datetime
    turn: int
    value: MeasureValue
    cue: str = ""
    set_number: int = 1
    way: Way = Way.MEASURED

    @property
    def number(self) -> float:
        """The value, in its unit.

        Raises:
            ValueError: where it is withheld.
        """
        if self.value.value is None:
            raise ValueError("This rep has no value; it cannot be compared.")
        return self.value.value


@dataclass(frozen=True, slots=True)
class Kind:
    """What an athlete, or anybody, has done: one exercise, hand, set-up and effort.

    Attributes:
        exercise: key of the exercise.
        hand: `left`, `right`, or empty where both work.
        setup: key of the set-up, None where none was noted.
        effort: maximal or submaximal.
        newest_at: when the newest rep was over, with its zone.
        reps: how many there are.
    """

    exercise: str
    hand: str
    setup: str | None
    effort: Effort
    newest_at: datetime
    reps: int
