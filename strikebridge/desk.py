"""What lies on the coach's desk beside the Glance: the order, the reps of the set, the cues.

Whoever leads makes a new one when something of it changes; screens only read it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.samples import Rep

BREATH = "Breathe out on the push."


@dataclass(frozen=True, slots=True)
class Place:
    """One athlete in the order.

    Attributes:
        name: name or alias.
        asks: what is asked for, such as `rear straight`.
        done: turns of the session that have a result.
        planned: turns of the session, None where there is no plan.
        is_now: True for whose turn it is.
        is_next: True for who comes after that.
        turn: number of that turn, 0 without a session.
    """

    name: str
    asks: str = ""
    done: int = 0
    planned: int | None = None
    is_now: bool = False
    is_next: bool = False
    turn: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Attempt:
    """One rep of the set.

    Attributes:
        number: of the set, from 1.
        rep: the rep, judged.
        is_kept: False where it was taken back.
        cue: cue given before it, empty without one.
    """

    number: int
    rep: Rep
    is_kept: bool = True
    cue: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Desk:
    """All of it.

    Attributes:
        order: athletes as they come, the one whose turn it is among them.
        attempts: reps of this athlete in this set, oldest first.
        cues: the coach's own list; the first nine have a key.
        notes: what the coach is to be reminded of at this turn.
    """

    order: tuple[Place, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    cues: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
