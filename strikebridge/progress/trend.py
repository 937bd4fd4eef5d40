"""Where an athlete is going: a robust slope, and an exponentially weighted mean."""

from __future__ import annotations

import math
from statistics import fmean
from typing import TYPE_CHECKING

from strikebridge.measures.several import median_slope
from strikebridge.progress.estimate import Estimate, joined_dof
from strikebridge.progress.score import common_part

if TYPE_CHECKING:
    from strikebridge.progress.score import ScoreRun
    from strikebridge.progress.typical_error import TypicalError

FEWEST_TESTS = 3
WEEK_DAYS = 7.0
MEDIAN_EFFICIENCY = 0.87
"""Of a median slope beside least squares with 4 to 12 evenly spaced normal tests (0.86 to 0.90
by simulation; 3 / pi with very many). With three the two slopes are the same."""
WEIGHT = 0.3  # of the newest test; NIST/SEMATECH e-Handbook 6.3.2.4 recommends 0.2 to 0.3


def weekly_trend(run: ScoreRun, error: TypicalError) -> Estimate | None:
    """Find the change in a week.

    *Definition*: median of the slopes between all pairs of tests at different times (Theil
    1950; Sen 1968, J Am Stat Assoc 63:1379-1389) x 7 days. One odd day does not tilt it.

    *Uncertainty*: typical error over the spread of the days as in least squares, widened by the
    efficiency of a median slope; what different certificates may
    differ by goes through the least-squares weights.

    Args:
        run: scores that may be compared.
        error: the athlete's typical error.

    Returns:
        Slope a week in the unit of the scores; None with tests at fewer than three times.
    """
    at = dict(zip(run.days, run.scores, strict=True))
    days, scores = list(at), list(at.values())
    if len(days) < FEWEST_TESTS:
        return None
    values = [score.value for score in scores]
    middle = fmean(days)
    spread = sum((day - middle) ** 2 for day in days)
    efficiency = 1.0 if len(days) == FEWEST_TESTS else MEDIAN_EFFICIENCY
    u_own = fmean(values) * error.share / math.sqrt(spread * efficiency)
    u_common, dof_common = common_part(scores, [(day - middle) / spread for day in days])
    return Estimate(
        value=WEEK_DAYS * median_slope(days, values),
        unit=f"{scores[0].unit}/wk",
        u=WEEK_DAYS * math.hypot(u_own, u_common),
        dof=joined_dof([(u_own, error.dof), (u_common, dof_common)]),
    )


def weights_of(count: int, weight: float = WEIGHT) -> list[float]:
    """Say how much each test has in a weighted mean that starts at the first one.

    Args:
        count: how many tests, at least 1.
        weight: of the newest.

    Returns:
        One share for each, oldest first; they add up to 1.
    """
    shares = [weight * (1.0 - weight) ** (count - 1 - i) for i in range(count)]
    shares[0] = (1.0 - weight) ** (count - 1)
    return shares
