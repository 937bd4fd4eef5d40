"""Where an athlete is heading, in one word: up, flat or fading.

Flat has to be shown, like everything else: the whole interval of the change lies within what
would matter. A change that is merely not real is `cannot tell`.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.progress.estimate import Word
from strikebridge.progress.readiness import MATTERS

if TYPE_CHECKING:
    from strikebridge.progress.change import Change


class Heading(StrEnum):
    """Where an athlete is heading."""

    UP = "up"
    LIKELY_UP = "likely up"
    FLAT = "flat"
    LIKELY_FADING = "likely fading"
    FADING = "fading"
    CANNOT_TELL = "cannot tell"
    TOO_FEW = "too few sessions"


def heading(change: Change | None, worthwhile: float | None = None) -> Heading:
    """Say where an athlete is heading.

    *Definition*: real or likely changes by their sign; flat where the 95 % interval of the
    change lies within the smallest worthwhile change both ways; else it cannot be told.

    Args:
        change: since the baseline, None with fewer than two sessions.
        worthwhile: smallest worthwhile change in the unit of the change, None where unknown:
            then 5 % of the baseline.

    Returns:
        The word.
    """
    if change is None:
        return Heading.TOO_FEW
    found = change.estimate
    is_up = found.value > 0.0
    if found.word is Word.REAL:
        return Heading.UP if is_up else Heading.FADING
    if found.word is Word.LIKELY:
        return Heading.LIKELY_UP if is_up else Heading.LIKELY_FADING
    matters = MATTERS * change.before if worthwhile is None else worthwhile
    if -matters < found.low and found.high < matters:
        return Heading.FLAT
    return Heading.CANNOT_TELL
