"""Today against the last weeks: ready, flat, or cannot tell.

The level of the last weeks is the exponentially weighted mean of their tests, so that an
athlete who is improving is held to the newer ones. Flat: today lies below it by more than
chance does in 1 of 20 (one-sided 95 %). Ready: a drop that would matter can be ruled out in the
same way. Everything between is `cannot tell`, and says what the kit and the athlete's own
scatter allow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.progress.estimate import Estimate, joined_dof, one_sided
from strikebridge.progress.score import common_part
from strikebridge.progress.trend import weights_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.progress.score import Score
    from strikebridge.progress.typical_error import TypicalError

LAST_WEEKS = timedelta(days=28)
FEWEST_TESTS = 3
SURE = 0.95  # one-sided
MATTERS = 0.05  # of the level; our own convention, where the squad gives no worthwhile change


class Readiness(StrEnum):
    """How today stands."""

    READY = "ready"
    FLAT = "flat"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Today:
    """Today against the last weeks.

    Attributes:
        word: ready, flat or cannot tell.
        change: today - level, with its interval; None with fewer than three earlier tests.
        level: level of the last weeks, in the unit of the change.
        tests: how many earlier tests it rests on.
        matters: the drop that has to be ruled out for ready.
        reason: why it cannot be told; empty where it can.
    """

    word: Readiness
    change: Estimate | None
    level: float | None
    tests: int
    matters: float | None
    reason: str = ""


def readiness(
    scores: Sequence[Score], error: TypicalError, worthwhile: float | None = None
) -> Today:
    """Compare the newest test with those of the 28 days before it.

    Args:
        scores: oldest first, the newest is today's; at least one.
        error: the athlete's typical error.
        worthwhile: smallest worthwhile change in the unit of the scores, None where unknown:
            then 5 % of the level.

    Returns:
        How today stands.

    Raises:
        ValueError: without any test.
    """
    if not scores:
        raise ValueError("Readiness takes a test of today.")
    today = scores[-1]
    earlier = [score for score in scores[:-1] if today.at - score.at <= LAST_WEEKS]
    n = len(earlier)
    if n < FEWEST_TESTS:
        reason = f"{n} of the {FEWEST_TESTS} tests needed in the four weeks before it"
        return Today(Readiness.CANNOT_TELL, None, None, n, None, reason)
    shares = weights_of(n)
    level = sum(w * score.value for w, score in zip(shares, earlier, strict=True))
    u_own = level * error.u_share * math.sqrt(1.0 + sum(w**2 for w in shares))
    u_common, dof_common = common_part([*earlier, today], [*(-w for w in shares), 1.0])
    change = Estimate(
        value=today.value - level,
        unit=today.unit,
        u=math.hypot(u_own, u_common),
        dof=joined_dof([(u_own, error.dof), (u_common, dof_common)]),
    )
    matters = MATTERS * level if worthwhile is None else worthwhile
    reach = one_sided(SURE, change.dof) * change.u
    if change.value < -reach:
        return Today(Readiness.FLAT, change, level, n, matters)
    if change.value - reach > -matters:
        return Today(Readiness.READY, change, level, n, matters)
    reason = "today could be as before or down; the scatter of the tests does not tell"
    return Today(Readiness.CANNOT_TELL, change, level, n, matters, reason)
