"""The smallest change that matters in a squad, and strength per body mass."""

from __future__ import annotations

import math
from statistics import fmean, variance
from typing import TYPE_CHECKING

from strikebridge.progress.estimate import Estimate

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

SQUAD = 10  # athletes; the SD of fewer is off by more than a quarter
SMALL_EFFECT = 0.2  # of the SD between athletes: Hopkins 2000, after Cohen's small effect
FRESH_DAYS = 31  # a boxer's body mass of two months ago says nothing in a camp


def smallest_worthwhile(levels: Sequence[float], error_share: float) -> float | None:
    """Find the smallest change that makes a difference in this squad.

    *Definition*: 0.2 x SD between athletes. What the athletes vary by from test to test is
    taken off the variance of the levels first, so that a shaky test does not raise it.

    Args:
        levels: one test of each athlete, like exercise and hand, in one unit.
        error_share: typical error of a test as a share of the level.

    Returns:
        In the unit of the levels; None where there are fewer than ten athletes, or where they
        differ by no more than a test varies.
    """
    if len(levels) < SQUAD:
        return None
    between = variance(levels) - (error_share * fmean(levels)) ** 2
    return SMALL_EFFECT * math.sqrt(between) if between > 0.0 else None


def per_body_mass(
    value: Estimate, on: date, weighings: Sequence[tuple[date, float]]
) -> Estimate | None:
    """Divide strength by body mass.

    Args:
        value: strength.
        on: day it was measured.
        weighings: day and body mass [kg] of each weighing, in any order.

    Returns:
        Strength per kilogram, with the doubt of the strength alone (that of the weighing is not
        known); None where the nearest weighing is more than 31 days away.
    """
    near = min(weighings, key=lambda one: abs((one[0] - on).days), default=None)
    if near is None or abs((near[0] - on).days) > FRESH_DAYS or near[1] <= 0.0:
        return None
    return Estimate(value.value / near[1], f"{value.unit}/kg", value.u / near[1], value.dof)
