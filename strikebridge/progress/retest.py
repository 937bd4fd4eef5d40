"""How reliable a test is, measured by the club itself: the same athletes, tested again.

No reliability of a held punch is published. The protocol: at least ten athletes, the same
exercise, hand and set-up, two to four tests on different days within two weeks, no change of
training in between, the same number of reps. The table of athletes and tests is taken apart
into mean squares (two-way analysis of variance), and everything follows from these.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import fdtri

from strikebridge.measures.coverage import PROBABILITY
from strikebridge.progress.estimate import one_sided, spread_interval

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.samples import Floats

FEWEST_ATHLETES = 3
PROTOCOL_ATHLETES = 10  # fewer are reported with a caution; a precise answer takes about 50
TEXTBOOK = 1.96  # as Weir 2005 prints it
TAIL = (1.0 - PROBABILITY) / 2.0


class Icc(StrEnum):
    """Intraclass correlations, by the numbers of Shrout and Fleiss 1979."""

    ONE_WAY = "ICC(1,1)"
    RANDOM = "ICC(2,1)"
    FIXED = "ICC(3,1)"
    ONE_WAY_MEAN = "ICC(1,k)"
    RANDOM_MEAN = "ICC(2,k)"
    FIXED_MEAN = "ICC(3,k)"


@dataclass(frozen=True, slots=True)
class Correlation:
    """An intraclass correlation with its 95 % interval.

    Attributes:
        value: of 1 at most; below zero where athletes are more alike than their own tests.
        low: lower end.
        high: upper end.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """The two-way analysis of variance of a table of athletes and tests.

    Attributes:
        athletes: n, rows.
        tests: k, columns.
        between: mean square of the athletes, n - 1 degrees of freedom.
        within: mean square inside athletes, n (k - 1).
        trials: mean square of the tests, k - 1.
        error: residual mean square, (n - 1) (k - 1).
    """

    athletes: int
    tests: int
    between: float
    within: float
    trials: float
    error: float

    @property
    def dof_error(self) -> int:
        """Degrees of freedom of the residual."""
        return (self.athletes - 1) * (self.tests - 1)


@dataclass(frozen=True, slots=True)
class Retest:
    """What a test is worth, in the unit of the values where nothing else is said.

    Attributes:
        squares: the mean squares.
        correlations: each intraclass correlation.
        typical_error: sqrt of the residual mean square; what changes from test to test for all
            (learning) is not in it.
        typical_error_95: its 95 % interval.
        typical_error_percent: typical error / grand mean [%].
        least_real_change: t(0.975) x sqrt 2 x typical error, one test against one.
        shifts: mean of each test - mean of the first, shape (k,): learning or tiring.
        cautions: each a sentence.
    """

    squares: MeanSquares
    correlations: dict[Icc, Correlation]
    typical_error: float
    typical_error_95: tuple[float, float]
    typical_error_percent: float
    least_real_change: float
    shifts: tuple[float, ...]
    cautions: tuple[str, ...]

    @property
    def minimal_difference(self) -> float:
        """The textbook's 1.96 x sqrt 2 x typical error (Weir 2005), to compare with papers."""
        return TEXTBOOK * math.sqrt(2.0) * self.typical_error


def mean_squares(table: Sequence[Sequence[float]]) -> MeanSquares:
    """Take a table apart.

    Args:
        table: a row an athlete, a column a test, no hole; shape (n, k).

    Returns:
        Its mean squares.

    Raises:
        ValueError: with fewer than three athletes or two tests, or rows of different length.
    """
    if len(table) < FEWEST_ATHLETES or min(len(row) for row in table) < 2:
        raise ValueError(f"A retest takes {FEWEST_ATHLETES} athletes and two tests of each.")
    if len({len(row) for row in table}) > 1:
        raise ValueError("Every athlete needs the same number of tests; leave out who has not.")
    values: Floats = np.array(table, dtype=np.float64)
    n, k = values.shape
    grand = float(values.mean())
    rows, columns = values.mean(axis=1), values.mean(axis=0)
    between = k * float(np.sum((rows - grand) ** 2))
    trials = n * float(np.sum((columns - grand) ** 2))
    within = float(np.sum((values - rows[:, None]) ** 2))
    left = float(np.sum((values - rows[:, None] - columns[None, :] + grand) ** 2))
    return MeanSquares(
        athletes=n,
        tests=k,
        between=between / (n - 1),
        within=within / (n * (k - 1)),
        trials=trials / (k - 1),
        error=left / ((n - 1) * (k - 1)),
    )


def correlations(squares: MeanSquares) -> dict[Icc, Correlation]:
    """Find the intraclass correlations and their 95 % intervals.

    *Definition* and *Uncertainty*: Shrout and Fleiss 1979, Psychol Bull 86:420-428; the
    intervals of the random forms by Satterthwaite's approximation given there.

    Args:
        squares: the mean squares, of a table with some scatter.

    Returns:
        All six.

    Raises:
        ValueError: where all tests of each athlete are equal, so that nothing can be said.
    """
    if squares.error <= 0.0 or squares.within <= 0.0:
        raise ValueError("All tests of each athlete are equal; there is nothing to compare.")
    k = squares.tests
    one_way = _of_ratio(
        squares.between / squares.within,
        (squares.athletes - 1, squares.athletes * (k - 1)),
        k,
    )
    fixed = _of_ratio(
        squares.between / squares.error, (squares.athletes - 1, squares.dof_error), k
    )
    random = _random(squares)
    return {
        Icc.ONE_WAY: one_way,
        Icc.RANDOM: random,
        Icc.FIXED: fixed,
        Icc.ONE_WAY_MEAN: _of_mean(one_way, k),
        Icc.RANDOM_MEAN: _of_mean(random, k),
        Icc.FIXED_MEAN: _of_mean(fixed, k),
    }


def retest(table: Sequence[Sequence[float]]) -> Retest:
    """Report on a test and its repeats.

    Args:
        table: a row an athlete, a column a test; shape (n, k).

    Returns:
        The report.

    Raises:
        ValueError: when the table is too small, has holes or no scatter.
    """
    squares = mean_squares(table)
    found = correlations(squares)
    error, dof = math.sqrt(squares.error), squares.dof_error
    means = np.array(table, dtype=np.float64).mean(axis=0)
    cautions = []
    if squares.athletes < PROTOCOL_ATHLETES:
        cautions.append(
            f"{squares.athletes} athletes are few; the protocol asks for {PROTOCOL_ATHLETES}, "
            "and the intervals say how little is known."
        )
    if squares.trials / squares.error > float(fdtri(squares.tests - 1, dof, PROBABILITY)):
        cautions.append(
            "The mean changed from test to test: learning or tiring. Let everybody practise "
            "first, then measure again."
        )
    return Retest(
        squares=squares,
        correlations=found,
        typical_error=error,
        typical_error_95=spread_interval(error, dof),
        typical_error_percent=100.0 * error / float(means.mean()),
        least_real_change=one_sided(1.0 - TAIL, dof) * math.sqrt(2.0) * error,
        shifts=tuple(float(mean - means[0]) for mean in means),
        cautions=tuple(cautions),
    )


def _of_ratio(ratio: float, dofs: tuple[int, int], k: int) -> Correlation:
    """Turn a ratio of mean squares into a correlation; the interval is that of the ratio."""
    low = ratio / float(fdtri(dofs[0], dofs[1], 1.0 - TAIL))
    high = ratio * float(fdtri(dofs[1], dofs[0], 1.0 - TAIL))
    value, low, high = ((f - 1.0) / (f + k - 1.0) for f in (ratio, low, high))
    return Correlation(value, low, high)


def _random(squares: MeanSquares) -> Correlation:
    n, k = squares.athletes, squares.tests
    b, j, e = squares.between, squares.trials, squares.error
    value = (b - e) / (b + (k - 1) * e + k * (j - e) / n)
    trial_ratio = j / e
    a = k * value * trial_ratio
    c = n * (1.0 + (k - 1) * value) - k * value
    dof = (k - 1) * (n - 1) * (a + c) ** 2 / ((n - 1) * a**2 + c**2)
    upper = float(fdtri(n - 1, dof, 1.0 - TAIL))
    lower = float(fdtri(dof, n - 1, 1.0 - TAIL))
    trials = k * j + (k * n - k - n) * e
    return Correlation(
        value,
        n * (b - upper * e) / (upper * trials + n * b),
        n * (lower * b - e) / (trials + n * lower * b),
    )


def _of_mean(one: Correlation, k: int) -> Correlation:
    """Step up to the mean of k tests (Spearman and Brown)."""
    value, low, high = (k * r / (1.0 + (k - 1) * r) for r in (one.value, one.low, one.high))
    return Correlation(value, low, high)
