"""The exercises as a table; a coach's own ones come on top of it.

Six punches, each with a straight or a bent arm, are measured at the wall. What is done beside
it is timed and logged. A straight is straight-armed and hooks and uppercuts are bent-armed
unless the key says otherwise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.athlete import Side
from strikebridge.club.exercise import Arm, Exercise, Way

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

USUAL_ARM = {"straight": Arm.STRAIGHT, "hook": Arm.BENT, "uppercut": Arm.BENT}
"""Punch -> how the arm is held where nothing is said of it."""

SIDED = {
    "landmine-hold": "landmine punch held at the top",
    "partner-hold": "hold against a partner's hands",
}
"""Done on each side, timed: key without the side -> name without it."""

UNSIDED = {
    "band-shadow-boxing": "shadow boxing against a band",
    "wall-press": "isometric press against the wall",
    "bar-press": "isometric press against a fixed bar",
    "hinge-hold": "isometric hinge against a fixed bar",
    "squat-hold": "isometric squat against a fixed bar",
}
"""Done with the whole body, timed: key -> name."""


def _punches() -> list[Exercise]:
    rows = []
    for punch, usual in USUAL_ARM.items():
        for arm in (usual, *(other for other in Arm if other is not usual)):
            for side in Side:
                ending = "" if arm is usual else f"-{arm.value}-arm"
                words = "" if arm is usual else f", {arm.value} arm"
                key, name = f"{side.value}-{punch}{ending}", f"{side.value} {punch}{words}"
                rows.append(Exercise(key, name, Way.MEASURED, side, arm))
    return rows


def _timed() -> list[Exercise]:
    rows = [
        Exercise(f"{side.value}-{key}", f"{side.value} {name}", Way.TIMED, side)
        for key, name in SIDED.items()
        for side in Side
    ]
    return rows + [Exercise(key, name, Way.TIMED) for key, name in UNSIDED.items()]


EXERCISES: Mapping[str, Exercise] = {one.key: one for one in _punches() + _timed()}
"""Key -> exercise, as the program brings them."""


def with_own(own: Iterable[Exercise]) -> dict[str, Exercise]:
    """Put a coach's own exercises beside the program's.

    Args:
        own: exercises of the coach; one with the key of the program's never replaces it, since
            what is stored under that key would change its meaning.

    Returns:
        Key -> exercise.
    """
    return {**{one.key: one for one in own}, **EXERCISES}


def find(word: str, known: Mapping[str, Exercise]) -> tuple[Exercise, ...]:
    """Find what a plan calls by a word.

    Args:
        word: a key, or a key without its side for both of them, such as `hook`.
        known: key -> exercise.

    Returns:
        One exercise, the lead and then the rear one, or none.
    """
    if word in known:
        return (known[word],)
    both = tuple(known[key] for side in Side if (key := f"{side.value}-{word}") in known)
    return both if len(both) == len(Side) else ()
