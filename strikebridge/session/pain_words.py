"""What is said of a stop for pain: of whom, of what, and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.club.athlete import Athlete
    from strikebridge.session.turns import Turn

STOPPED = "Stopped for pain"
OVER_TODAY = "this exercise is over for today. See someone qualified before it is tried again."
ALL_PAUSED = (
    "Everybody is paused. Who has pain is done with this exercise for today, and sees someone "
    "qualified before it is tried again. The others go on."
)


def pain_words(turn: Turn, athletes: Mapping[str, Athlete]) -> str:
    """Say whose exercise is over; of what all do at once nobody knows whose pain it is.

    Args:
        turn: whose pain it is, and at what.
        athletes: id -> athlete.
    """
    if turn.block.everyone:
        return ALL_PAUSED
    return f"{athletes[turn.athlete].name}, {turn.exercise.name}: {OVER_TODAY}"
