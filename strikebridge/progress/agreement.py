"""Agreement of two ways to measure, or of two days (Bland, Altman 1986, Lancet i:307-310)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import TYPE_CHECKING

from strikebridge.measures.coverage import PROBABILITY

if TYPE_CHECKING:
    from collections.abc import Sequence

from scipy.special import ndtri, stdtrit

NORMAL_95 = float(ndtri(0.5 + PROBABILITY / 2.0))
FEWEST_PAIRS = 3


@dataclass(frozen=True, slots=True)
class Agreement:
    """Two rows of values compared pair by pair, all in the unit of the values.

    Attributes:
        means: mean of each pair, shape (n,), to be drawn to the right.
        differences: first - second of each pair, shape (n,), to be drawn upwards.
        bias: mean difference.
        sd: SD of the differences.
        factor: limits are this many SD from the bias.
    """

    means: tuple[float, ...]
    differences: tuple[float, ...]
    bias: float
    sd: float
    factor: float

    @property
    def limits(self) -> tuple[float, float]:
        """Limits of agreement: where 95 % of differences are expected."""
        return self.bias - self.factor * self.sd, self.bias + self.factor * self.sd

    @property
    def u_bias(self) -> float:
        """Standard uncertainty of the bias, sd / sqrt n."""
        return self.sd / math.sqrt(len(self.differences))

    @property
    def u_limit(self) -> float:
        """Standard uncertainty of a limit, sqrt(3 sd^2 / n), the paper's approximation."""
        return math.sqrt(3.0) * self.u_bias

    def interval(self, value: float, u: float) -> tuple[float, float]:
        """Give the 95 % interval of the bias or of a limit; dof n - 1, no rounding of t.

        Args:
            value: bias or limit.
            u: its standard uncertainty.
        """
        t = float(stdtrit(len(self.differences) - 1, 0.5 + PROBABILITY / 2.0))
        return value - t * u, value + t * u


def agreement(
    first: Sequence[float], second: Sequence[float], factor: float = NORMAL_95
) -> Agreement:
    """Compare two rows of values.

    Args:
        first: values of the one, at least three.
        second: those of the other, in the same order.
        factor: 1.959964 for 95 %; the paper of 1986 rounds it to 2.

    Returns:
        The comparison.

    Raises:
        ValueError: with fewer than three pairs, or rows of different length.
    """
    if len(first) < FEWEST_PAIRS:
        raise ValueError(f"Agreement takes {FEWEST_PAIRS} pairs.")
    differences = tuple(a - b for a, b in zip(first, second, strict=True))
    means = tuple((a + b) / 2.0 for a, b in zip(first, second, strict=True))
    return Agreement(means, differences, fmean(differences), stdev(differences), factor)


def repeatability(
    first: Sequence[float], second: Sequence[float], factor: float = 2.0
) -> float:
    """Give the coefficient of repeatability: factor x SD of repeat differences about zero.

    Args:
        first: first measurement of each.
        second: its repeat.
        factor: 2 in the paper of 1986.

    Returns:
        In the unit of the values.
    """
    return factor * math.sqrt(fmean((a - b) ** 2 for a, b in zip(first, second, strict=True)))
