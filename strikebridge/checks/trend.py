"""How zero and gain of a board go from check to check, on one certificate.

The slope is the median of the slopes of all pairs (Theil 1950, Sen 1968): one bad check does
not tilt it. It takes three checks, and pairs at least a day apart; before nothing is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.checks.history import Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.checks.history import CheckRecord

FEWEST = 3
MONTH_DAYS = 30.0
LEAST_DAYS = 1.0


@dataclass(frozen=True, slots=True)
class Trend:
    """Slope of one thing over the checks.

    Attributes:
        checks: how many it rests on.
        days: from the first to the last [days].
        per_month: change in 30 days, in the unit of the thing.
    """

    checks: int
    days: float
    per_month: float


def zero_trend(checks: Sequence[CheckRecord]) -> Trend | None:
    """Find how the zero goes [N].

    Args:
        checks: of one certificate, in order; those that called the cell damaged are left out.

    Returns:
        The trend, None where there are too few checks.
    """
    return _trend([(_days(one), one.zero_N) for one in _sound(checks)])


def gain_trend(checks: Sequence[CheckRecord]) -> Trend | None:
    """Find how the gain goes, as a share of itself.

    Args:
        checks: as for `zero_trend`; those that left the gain unchecked are left out.

    Returns:
        The trend, None where there are too few checks.
    """
    sound = _sound(checks)
    return _trend([(_days(one), one.gain_error) for one in sound if one.gain_error is not None])


def _sound(checks: Sequence[CheckRecord]) -> list[CheckRecord]:
    return [check for check in checks if check.verdict is not Verdict.CELL_DAMAGED]


def _days(check: CheckRecord) -> float:
    return datetime.fromisoformat(check.at).timestamp() / 86_400.0


def _trend(points: list[tuple[float, float]]) -> Trend | None:
    if len(points) < FEWEST:
        return None
    at_days, value = np.array(points).T
    i, j = np.triu_indices(len(points), 1)
    apart = at_days[j] - at_days[i]
    is_apart = np.abs(apart) >= LEAST_DAYS
    days = float(np.ptp(at_days))
    if np.count_nonzero(is_apart) < FEWEST - 1:
        return None
    slopes = (value[j] - value[i])[is_apart] / apart[is_apart]
    return Trend(len(points), days, float(np.median(slopes)) * MONTH_DAYS)
