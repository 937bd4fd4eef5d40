"""What a coach looks at of a camp, and where it comes from; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from strikebridge.club.athlete import Athlete, Hand
    from strikebridge.records import Camp

WEEKS = (12, 4, 26, 52, None)
"""How far back one looks [weeks]; None is everything."""


@dataclass(frozen=True, slots=True)
class Filters:
    """What is looked at; None is everything.

    Attributes:
        exercise: key of the exercise, None for the one done last.
        hand: left or right.
        setup: key of the set-up.
        weeks: how far back from the newest rep [weeks].
    """

    exercise: str | None = None
    hand: Hand | None = None
    setup: str | None = None
    weeks: int | None = WEEKS[0]


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What a source has for some filters.

    Attributes:
        board: one exercise of everybody.
        athletes: id -> athlete.
        exercises: key -> name, of those that anybody has done.
        setups: keys of the set-ups of this exercise, filtered or not.
    """

    board: Camp
    athletes: Mapping[str, Athlete]
    exercises: Mapping[str, str]
    setups: Sequence[str]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a view gets what it shows.

    Attributes:
        board: what is on record for some filters.
        athlete: all exercises of one athlete, for the same days.
    """

    board: Callable[[Filters], Found]
    athlete: Callable[[str, Filters], Camp]
