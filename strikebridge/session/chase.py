"""Where the number to chase comes from, in a few words for the wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.session.plan import Target

if TYPE_CHECKING:
    from datetime import date

    from strikebridge.session.targets import Targets
    from strikebridge.session.turns import Turn


def origin(turn: Turn, targets: Targets) -> str:
    """Say where the mark or the band of a turn comes from.

    Args:
        turn: whose.
        targets: bests of the days before and of this session.

    Returns:
        Such as `own best, today`; empty where nothing is to be reached.
    """
    block = turn.block
    if not turn.is_measured or block.target is Target.NONE:
        return ""
    if block.fixed_band_N is not None or block.target is Target.FIXED:
        return "set by the plan"
    best_N = targets.best_N(turn)
    if block.band_percent is not None:
        low, high = block.band_percent
        share = f"{low:g} to {high:g} %"
        if best_N is None:
            return f"{share} by feel: no best with this set-up yet"
        return f"{share} of own best"
    if best_N is None:
        return "the first with this set-up"
    past = targets.past_best(turn)
    is_old = past is not None and past.value == best_N
    return f"own best, {targets.past_day(turn)}" if is_old else "own best, today"


def day_words(day: date, today: date) -> str:
    """Say on which day something was.

    Args:
        day: that day.
        today: this day.

    Returns:
        `earlier today`, or such as `24 Nov`, with the year where it is another.
    """
    if day == today:
        return "earlier today"
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.day} {day:%b}{year}"
