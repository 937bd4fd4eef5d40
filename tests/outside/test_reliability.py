"""Reliability and change beside published tables, SciPy and statsmodels.

Data and their sources: `tests/data/README.md`. `exact` stands for the same formula evaluated on
the published data elsewhere, to more digits than the paper prints.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from strikebridge.progress.agreement import agreement, repeatability
from strikebridge.progress.change import change_between
from strikebridge.progress.retest import Icc, correlations, mean_squares, retest
from strikebridge.progress.sides import VARIANTS
from strikebridge.progress.trend import weekly_trend, weights_of
from strikebridge.progress.typical_error import ErrorSource, TypicalError, differences_error
from tests.progress.made_camps import run_of

DATA = Path(__file__).parent.parent / "data"


def columns(name: str) -> dict[str, list[float]]:
    table = np.genfromtxt(DATA / name, delimiter=",", names=True)
    return {column: table[column].tolist() for column in table.dtype.names or ()}


PEFR = columns("bland_altman_1986_pefr.csv")
RATINGS = np.genfromtxt(DATA / "shrout_fleiss_1979.csv", delimiter=",", skip_header=1)[:, 1:]
TRIALS = np.genfromtxt(DATA / "weir_2005_set_A.csv", delimiter=",", skip_header=1)[:, 1:]


# Bland and Altman 1986; figures of the paper: values from memory


def test_bland_altman_as_printed() -> None:
    found = agreement(PEFR["wright_1"], PEFR["mini_1"], factor=2.0)
    assert round(found.bias, 1) == -2.1
    assert round(found.sd, 1) == 38.8
    # the paper doubled the rounded 38.8
    assert found.limits == pytest.approx((-79.7, 75.5), abs=0.1)
    assert round(found.u_bias, 1) == 9.4
    assert found.interval(found.bias, found.u_bias) == pytest.approx((-22.0, 17.8), abs=0.06)
    assert round(found.u_limit, 1) == 16.3
    low = found.limits[0]
    assert found.interval(low, found.u_limit) == pytest.approx((-114.3, -45.1), abs=0.15)


def test_bland_altman_exact() -> None:
    found = agreement(PEFR["wright_1"], PEFR["mini_1"])
    assert found.bias == pytest.approx(-2.11764705882, abs=5e-12)
    assert found.sd == pytest.approx(38.7651298736, abs=5e-11)
    assert found.limits == pytest.approx((-78.0959055, 73.8606114), abs=1e-6)  # with 1.959964
    assert found.means[0] == 503.0


def test_repeatability_of_both_meters() -> None:
    wright = repeatability(PEFR["wright_1"], PEFR["wright_2"])
    mini = repeatability(PEFR["mini_1"], PEFR["mini_2"])
    assert (wright, mini) == pytest.approx((43.2938, 56.3163), abs=5e-5)
    # as printed: 43.2 and 56.4
    assert (wright, mini) == pytest.approx((43.2, 56.4), abs=0.1)


# Shrout and Fleiss 1979


def test_shrout_fleiss_mean_squares() -> None:
    squares = mean_squares(RATINGS.tolist())
    found = (squares.between, squares.within, squares.trials, squares.error)
    assert [round(one, 2) for one in found] == [11.24, 6.26, 32.49, 1.02]
    assert found == pytest.approx((11.241667, 6.263889, 32.486111, 1.019444), abs=5e-7)


@pytest.mark.parametrize(
    ("which", "printed", "exact"),
    [
        (Icc.ONE_WAY, 0.17, 0.165742),
        (Icc.RANDOM, 0.29, 0.289764),
        (Icc.FIXED, 0.71, 0.714841),
        (Icc.ONE_WAY_MEAN, 0.44, 0.442797),
        (Icc.RANDOM_MEAN, 0.62, 0.620051),
        (Icc.FIXED_MEAN, 0.91, 0.909316),
    ],
)
def test_shrout_fleiss_correlations(which: Icc, printed: float, exact: float) -> None:
    found = correlations(mean_squares(RATINGS.tolist()))[which].value
    assert round(found, 2) == printed
    assert found == pytest.approx(exact, abs=5e-7)


@pytest.mark.parametrize(
    ("which", "low", "high"),
    [  # intervals as statistics packages print them for this table; values from memory
        (Icc.ONE_WAY, -0.13, 0.72),
        (Icc.RANDOM, 0.02, 0.76),
        (Icc.FIXED, 0.34, 0.95),
        (Icc.ONE_WAY_MEAN, -0.88, 0.91),
        (Icc.RANDOM_MEAN, 0.07, 0.93),
        (Icc.FIXED_MEAN, 0.68, 0.99),
    ],
)
def test_shrout_fleiss_intervals(which: Icc, low: float, high: float) -> None:
    found = correlations(mean_squares(RATINGS.tolist()))[which]
    assert (round(found.low, 2), round(found.high, 2)) == (low, high)


# Weir 2005, data set A


def test_weir_set_a() -> None:
    found = retest(TRIALS.tolist())
    squares = found.squares
    assert (squares.between, squares.trials, squares.error, squares.within) == pytest.approx(
        (2098.5357, 30.25, 57.1071, 53.75), abs=5e-5
    )
    three = [found.correlations[k].value for k in (Icc.ONE_WAY, Icc.RANDOM, Icc.FIXED)]
    assert three == pytest.approx([0.950053, 0.949975, 0.947016], abs=5e-7)
    assert round(found.typical_error, 1) == 7.6  # as printed, p. 236
    assert found.typical_error == pytest.approx(7.556927, abs=5e-7)
    assert round(found.minimal_difference) == 21  # value from memory
    assert found.minimal_difference == pytest.approx(20.946732, abs=2e-6)


def test_typical_error_is_that_of_hopkins() -> None:
    # Hopkins 2000, Sports Med 30:1-15: SD of differences / sqrt 2 (value from memory)
    for pair, exact in ((("wright_1", "wright_2"), 15.36121), (("mini_1", "mini_2"), 20.41581)):
        first, second = (PEFR[one] for one in pair)
        found = retest(list(zip(first, second, strict=True)))
        assert found.typical_error == pytest.approx(exact, abs=5e-6)
        by_hand = float(np.std(np.subtract(first, second), ddof=1)) / math.sqrt(2.0)
        assert found.typical_error == pytest.approx(by_hand, rel=1e-12)


def test_least_real_change_goes_to_the_textbook_limit() -> None:
    # 1.96 sqrt 2 typical errors (Weir 2005); ours has its stated margin of 4 % and k = 2
    scores = run_of([500, 500], u_own=0.0).scores
    error = TypicalError(0.04, math.inf, 0, ErrorSource.SQUAD)
    found = change_between(scores[:1], scores[1:], error).least_real
    assert found == pytest.approx(1.04 * 2.0 * math.sqrt(2.0) * 20.0, rel=1e-12)


# NIST/SEMATECH e-Handbook 6.3.2.4


def test_weights_are_those_of_the_weighted_mean_of_the_handbook() -> None:
    table = columns("nist_ewma_6324.csv")
    values = [50.0, *table["y"]]  # begins at the target
    found = [np.dot(weights_of(n, 0.3), values[:n]) for n in range(2, len(values) + 1)]
    assert [round(float(one), 2) for one in found] == [
        round(one, 2) for one in table["ewma_after"]
    ]
    assert found == pytest.approx(table["ewma_after"], abs=5.1e-5)


# Asymmetry: the formulas of Bishop, Read, Chavda, Turner 2016, with 450 and 500 N


@pytest.mark.parametrize(
    ("variant", "value"),
    [
        ("percentage difference", 10.0),
        ("limb symmetry index", 90.0),
        ("bilateral asymmetry index", 5.2632),
        ("symmetry index", 10.5263),
        ("log ratio", 10.5361),
        ("symmetry angle", 3.3475),
    ],
)
def test_asymmetry_variants(variant: str, value: float) -> None:
    assert round(VARIANTS[variant](450.0, 500.0), 4) == value


# SciPy and statsmodels on random data


@pytest.mark.parametrize("seed", range(5))
def test_mean_squares_are_those_of_statsmodels(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n, k = int(rng.integers(3, 15)), int(rng.integers(2, 6))
    values = 500 + 80 * rng.normal(size=(n, 1)) + 20 * rng.normal(size=(n, k))
    frame = pd.DataFrame(
        {
            "force": values.ravel(),
            "athlete": np.repeat(np.arange(n), k),
            "trial": np.tile(np.arange(k), n),
        }
    )
    expected = anova_lm(ols("force ~ C(athlete) + C(trial)", frame).fit())["mean_sq"]
    found = mean_squares(values.tolist())
    assert (found.between, found.trials, found.error) == pytest.approx(
        (expected["C(athlete)"], expected["C(trial)"], expected["Residual"]), rel=1e-9
    )
    one_way = anova_lm(ols("force ~ C(athlete)", frame).fit())["mean_sq"]
    assert found.within == pytest.approx(one_way["Residual"], rel=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_agreement_is_that_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    first, second = rng.normal(500, 50, 12), rng.normal(510, 50, 12)
    found = agreement(first.tolist(), second.tolist())
    expected = stats.ttest_rel(first, second).confidence_interval(0.95)
    assert found.interval(found.bias, found.u_bias) == pytest.approx(
        (expected.low, expected.high), rel=1e-9
    )


@pytest.mark.parametrize("seed", range(5))
def test_trend_is_that_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    run = run_of(rng.normal(500, 30, 9).tolist(), days_apart=3)
    found = weekly_trend(run, TypicalError(0.04, 20.0, 5, ErrorSource.SQUAD))
    assert found is not None
    values = [score.value for score in run.scores]
    assert found.value == pytest.approx(
        7.0 * stats.theilslopes(values, run.days).slope, rel=1e-9
    )


@pytest.mark.parametrize("seed", range(5))
def test_error_of_differences_is_a_quadratic_form(seed: int) -> None:
    # the general theory of quadratic forms in normal variables, by matrices
    rng = np.random.default_rng(seed)
    n = int(rng.integers(3, 12))
    values = rng.normal(size=n)
    steps = np.diff(np.eye(n), axis=0)
    centred = np.eye(n - 1) - 1.0 / (n - 1)
    form = steps.T @ centred @ steps
    error, dof = differences_error(values.tolist())
    assert error**2 == pytest.approx(values @ form @ values / np.trace(form), rel=1e-9)
    assert dof == pytest.approx(np.trace(form) ** 2 / np.trace(form @ form), rel=1e-9)
