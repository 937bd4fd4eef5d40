"""How much an athlete varies from test to test, with nothing having changed.

The typical error is the SD of the differences between following tests / sqrt 2 (Hopkins 2000,
Sports Med 30:1-15). The mean difference is taken off, so a steady gain is not mistaken for
variation; a curve in the gain hardly enters, as only neighbours are compared. It is kept as a
share of the athlete's own level, because strong athletes vary by more newtons.

A few tests say little. The athlete's own variance is therefore pulled to that of the squad as
in the empirical Bayes model for variances: the squad's variances follow a scaled inverse
chi-squared distribution, whose scale and degrees of freedom are found from mean and spread of
their logarithms (Smyth 2004, Stat Appl Genet Mol Biol 3:3). What is pulled to has as many
degrees of freedom as the squad is alike: few where athletes differ, at most those of all tests
together. Before a squad has enough tests a wide default, stated as such, stands in its place.

The newest test is the one that is judged, so it is left out of the error it is judged by: a
jump of the whole squad after a camp would otherwise hide itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import fmean, stdev, variance
from typing import TYPE_CHECKING

from strikebridge.progress.estimate import MARGIN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.progress.score import Score

FEWEST_TESTS = 3
DEFAULT_SHARE = 0.10  # of the level; wide on purpose, common practice has 3 to 6 % for holds
DEFAULT_DOF = 4.0
ENOUGH_DOF = 6.0  # of the squad together, before it replaces the default
FEWEST_SERIES = 3  # before they tell how athletes differ
MOST_PRIOR_DOF = 12.0
"""Athletes never vary all alike; twelve stands for typical errors that differ by a fifth. How
much they differ cannot be seen in few tests, and to take them as equal calls too much real."""
NEWTON_STEPS = 12  # six are enough for ten digits from 1e-4 to 1e4
LEAST_SHARE = 0.002  # nobody repeats better; keeps equal typed results from meaning certainty


class ErrorSource(StrEnum):
    """What a typical error rests on."""

    ASSUMED = "assumed"
    SQUAD = "squad"
    OWN_AND_ASSUMED = "own, with a wide default"
    OWN_AND_SQUAD = "own, with the squad's"


@dataclass(frozen=True, slots=True)
class OwnError:
    """The variation seen in the tests of one athlete.

    Attributes:
        share: typical error / level.
        dof: degrees of freedom, above 0.
        tests: how many tests it rests on.
    """

    share: float
    dof: float
    tests: int


@dataclass(frozen=True, slots=True)
class SquadError:
    """What a typical error is pulled to.

    Attributes:
        share: typical error / level.
        dof: how strongly it pulls, in degrees of freedom.
        pooled_dof: degrees of freedom of all tests behind it, 0 where it is assumed.
    """

    share: float
    dof: float
    pooled_dof: float

    @property
    def is_assumed(self) -> bool:
        """Say whether this is the wide default."""
        return self.pooled_dof == 0.0


@dataclass(frozen=True, slots=True)
class TypicalError:
    """How much a test of this athlete varies.

    Attributes:
        share: typical error / level.
        dof: degrees of freedom.
        tests: how many of the athlete's own tests are in it.
        source: what it rests on.
    """

    share: float
    dof: float
    tests: int
    source: ErrorSource

    @property
    def u_share(self) -> float:
        """Standard uncertainty of one test as a share of the level, with its margin."""
        return MARGIN * self.share


ASSUMED = SquadError(DEFAULT_SHARE, DEFAULT_DOF, 0.0)


def differences_error(values: Sequence[float]) -> tuple[float, float]:
    """Find the typical error of a row of tests and its degrees of freedom.

    *Definition*: sqrt of sum (d - mean d)^2 / (2 m - 2 / m), d the m differences between
    neighbours. The divisor is what the sum comes to on average for a variance of 1; with tests
    in pairs from many athletes it is the SD of the differences / sqrt 2.

    *Uncertainty*: neighbouring differences share a test, so the degrees of freedom are those of
    the matching chi-squared distribution, (tr Q)^2 / tr Q^2 of the quadratic form Q, with
    tr Q^2 = 6 m - 2 - 4 / m + 4 / m^2: 1 for three tests, about two thirds of m for many.

    Args:
        values: tests in the order of time, at least three.

    Returns:
        Typical error in the unit of the values, and degrees of freedom.

    Raises:
        ValueError: with fewer than three tests.
    """
    if len(values) < FEWEST_TESTS:
        raise ValueError(f"A typical error takes {FEWEST_TESTS} tests.")
    steps = [after - before for before, after in pairwise(values)]
    m, mean = len(steps), fmean(steps)
    trace = 2.0 * m - 2.0 / m
    trace_squared = 6.0 * m - 2.0 - 4.0 / m + 4.0 / m**2
    square = sum((step - mean) ** 2 for step in steps) / trace
    return math.sqrt(square), trace**2 / trace_squared


def own_error(scores: Sequence[Score]) -> OwnError | None:
    """Find the variation of one athlete from the scores of like reps before the newest.

    Args:
        scores: oldest first.

    Returns:
        The variation, no less than how well the scores were measured; None with fewer than
        three before the newest, or where the athlete has no strength.
    """
    return _error_of(scores[:-1])


def _error_of(scores: Sequence[Score]) -> OwnError | None:
    if len(scores) < FEWEST_TESTS:
        return None
    values = [score.value for score in scores]
    level = fmean(values)
    if level <= 0.0:
        return None
    error, dof = differences_error(values)
    measured = math.sqrt(fmean(score.u_own**2 for score in scores))
    return OwnError(max(error, measured, LEAST_SHARE * level) / level, dof, len(values))


def pool(runs: Sequence[Sequence[Score]]) -> SquadError:
    """Find what the typical errors of a squad have in common.

    Athletes with just two tests before the newest have one difference each. Their SD over the
    squad / sqrt 2 is the typical error of all of them together (Hopkins 2000); it tells nothing
    of how the athletes differ in it.

    Args:
        runs: scores of like reps, oldest first, of one exercise, one run for each athlete, hand
            and set-up.

    Returns:
        The squad's typical error, or the wide default where tests are too few.
    """
    errors = [one for one in (own_error(scores) for scores in runs) if one is not None]
    together = _of_pairs([scores[:-1] for scores in runs if len(scores) == FEWEST_TESTS])
    parts = [*errors, *([] if together is None else [together])]
    total = sum(one.dof for one in parts)
    if total < ENOUGH_DOF:
        return ASSUMED
    plain = math.sqrt(sum(one.dof * one.share**2 for one in parts) / total)
    cap = min(MOST_PRIOR_DOF, total)
    if len(errors) < FEWEST_SERIES:
        return SquadError(plain, cap, total)
    from scipy.special import polygamma, psi  # noqa: PLC0415 - a part of a second, so on use

    logs = [
        math.log(one.share**2) - float(psi(one.dof / 2.0)) + math.log(one.dof / 2.0)
        for one in errors
    ]
    by_chance = fmean(float(polygamma(1, one.dof / 2.0)) for one in errors)
    spread = variance(logs) - by_chance
    if spread <= float(polygamma(1, cap / 2.0)):
        return SquadError(plain, cap, total)
    dof = 2.0 * inverse_trigamma(spread)
    log_square = fmean(logs) + float(psi(dof / 2.0)) - math.log(dof / 2.0)
    return SquadError(math.exp(log_square / 2.0), dof, total)


def _of_pairs(pairs: Sequence[Sequence[Score]]) -> OwnError | None:
    """Take the SD of differences over the squad / sqrt 2, as shares of each level."""
    steps = [
        (after.value - before.value) / level
        for before, after in pairs
        if (level := (after.value + before.value) / 2.0) > 0.0
    ]
    if len(steps) < FEWEST_SERIES:
        return None
    share = max(stdev(steps) / math.sqrt(2.0), LEAST_SHARE)
    return OwnError(share, len(steps) - 1.0, 2 * len(steps))


def inverse_trigamma(y: float) -> float:
    """Solve trigamma(x) = y by Newton's rule on 1 / trigamma, which is nearly straight.

    Args:
        y: above 0.

    Returns:
        x.
    """
    from scipy.special import polygamma  # noqa: PLC0415 - as above

    x = 0.5 + 1.0 / y
    for _ in range(NEWTON_STEPS):
        trigamma = float(polygamma(1, x))
        x += trigamma * (1.0 - trigamma / y) / float(polygamma(2, x))
    return x


def typical_error(own: OwnError | None, squad: SquadError = ASSUMED) -> TypicalError:
    """Pull an athlete's own variation to the squad's.

    Args:
        own: the athlete's, None while there are too few tests.
        squad: what it is pulled to.

    Returns:
        The weighted mean of both variances, weights the degrees of freedom, which add.
    """
    if own is None:
        source = ErrorSource.ASSUMED if squad.is_assumed else ErrorSource.SQUAD
        return TypicalError(squad.share, squad.dof, 0, source)
    dof = own.dof + squad.dof
    square = (own.dof * own.share**2 + squad.dof * squad.share**2) / dof
    source = ErrorSource.OWN_AND_ASSUMED if squad.is_assumed else ErrorSource.OWN_AND_SQUAD
    return TypicalError(math.sqrt(square), dof, own.tests, source)
