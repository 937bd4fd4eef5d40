"""What is known of one earlier rep, and which reps may be compared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.samples import Effort

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from strikebridge.samples import MeasureValue


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
    effort: Effort = Effort.MAXIMAL


@dataclass(frozen=True, slots=True)
class RepSummary:
    """One earlier rep that counts.

    Attributes:
        like: what it may be compared with.
        session: id of the session.
        at: when it was over, with its zone.
        turn: place in the session, rising.
        value: one measure of it, peak force as a rule, with both doubts and its certificate.
        cue: the cue given before it, empty without one.
        set_number: which set of the session, from 1.
    """

    like: Like
    session: str
    at: datetime
    turn: int
    value: MeasureValue
    cue: str = ""
    set_number: int = 1

    @property
    def number(self) -> float:
        """The value, in its unit.

        Raises:
            ValueError: where it is withheld.
        """
        if self.value.value is None:
            raise ValueError("This rep has no value; it cannot be compared.")
        return self.value.value


def by_like(reps: Iterable[RepSummary]) -> dict[Like, tuple[RepSummary, ...]]:
    """Sort reps into those that may be compared.

    Args:
        reps: of any athletes, in any order.

    Returns:
        Reps with a value by what they share, each in the order of time and turn.
    """
    found: dict[Like, list[RepSummary]] = {}
    for rep in reps:
        if rep.value.value is not None:
            found.setdefault(rep.like, []).append(rep)
    return {like: tuple(sorted(some, key=_order)) for like, some in found.items()}


def by_session(reps: Iterable[RepSummary]) -> list[tuple[RepSummary, ...]]:
    """Cut reps into sessions.

    Args:
        reps: reps with a value, in any order.

    Returns:
        The reps of each session in their order, the oldest session first.
    """
    found: dict[str, list[RepSummary]] = {}
    for rep in sorted(reps, key=_order):
        found.setdefault(rep.session, []).append(rep)
    return [tuple(some) for some in found.values()]


def _order(rep: RepSummary) -> tuple[datetime, int]:
    return rep.at, rep.turn
