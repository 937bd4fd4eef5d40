"""A change since the baseline, and the least one that could be called real.

Least real change = t(0.975, dof) x sqrt(1/n1 + 1/n2) x typical error, widened by a small
margin and by what two different certificates may differ by. The textbook's 1.96 x sqrt 2 x
typical error is its limit for one test against one (Weir 2005, J Strength Cond Res 19:231-240).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING

from strikebridge.progress.estimate import Estimate, Word, joined_dof
from strikebridge.progress.score import common_part

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.progress.score import Score
    from strikebridge.progress.typical_error import TypicalError

MOST_BASELINE = 3  # tests averaged for the baseline


@dataclass(frozen=True, slots=True)
class Change:
    """What became of an athlete between two times.

    Attributes:
        estimate: now - before, with its interval.
        before: mean of the tests before, in the unit of the estimate.
        now: mean of the tests now.
        tests_before: how many tests are in `before`.
        tests_now: how many in `now`.
    """

    estimate: Estimate
    before: float
    now: float
    tests_before: int
    tests_now: int

    @property
    def percent(self) -> float:
        """The change as a share of what was before [%]."""
        return 100.0 * self.estimate.value / self.before

    @property
    def least_real(self) -> float:
        """The least change that would have been called real, in the unit of the estimate."""
        return self.estimate.u95

    @property
    def word(self) -> Word:
        """Real, likely or cannot tell."""
        return self.estimate.word


def change_between(
    before: Sequence[Score], now: Sequence[Score], error: TypicalError
) -> Change:
    """Compare two groups of tests of one athlete.

    Args:
        before: at least one.
        now: at least one, none of them in `before`.
        error: the athlete's typical error.

    Returns:
        The change.

    Raises:
        ValueError: when a group is empty.
    """
    if not before or not now:
        raise ValueError("A change takes a test before and one now.")
    n1, n2 = len(before), len(now)
    first, last = fmean(s.value for s in before), fmean(s.value for s in now)
    u_own = (first + last) / 2.0 * error.u_share * math.sqrt(1.0 / n1 + 1.0 / n2)
    u_common, dof_common = common_part(
        [*before, *now], [*([-1.0 / n1] * n1), *([1.0 / n2] * n2)]
    )
    estimate = Estimate(
        value=last - first,
        unit=now[0].unit,
        u=math.hypot(u_own, u_common),
        dof=joined_dof([(u_own, error.dof), (u_common, dof_common)]),
    )
    return Change(estimate, first, last, n1, n2)


def change_since_baseline(scores: Sequence[Score], error: TypicalError) -> Change | None:
    """Compare the newest test with the first ones.

    Args:
        scores: oldest first.
        error: the athlete's typical error.

    Returns:
        The newest against the mean of the first, at most three and no more than half of all;
        None with fewer than two.
    """
    if len(scores) < 2:
        return None
    n = min(MOST_BASELINE, len(scores) // 2)
    return change_between(scores[:n], scores[-1:], error)
