from __future__ import annotations

import numpy as np
import pytest

from strikebridge.calibration.fit import Fit, bend_p, choose_degree, fit_curve
from strikebridge.errors import CalibrationError

LOADS = np.linspace(0.0, 700.0, 8)


def test_an_exact_line_is_found_exactly() -> None:
    fit = fit_curve(LOADS, 8000.0 - 200.0 * LOADS)
    np.testing.assert_allclose(fit.coefficients, [8000.0, -200.0], rtol=1e-12)
    assert fit.degree == 1
    assert fit.r_squared == pytest.approx(1.0)
    assert fit.residual_sd == pytest.approx(0.0, abs=1e-8)
    assert fit.slope(300.0) == pytest.approx(-200.0)
    assert fit.invert(8000.0 - 200.0 * 350.0) == pytest.approx(350.0)


def test_a_curve_is_inverted_and_its_slope_follows() -> None:
    fit = fit_curve(LOADS, 10.0 + 2.0 * LOADS + 1e-4 * LOADS**2, 2)
    assert fit.slope(500.0) == pytest.approx(2.1, rel=1e-9)
    assert fit.invert(10.0 + 2.0 * 450.0 + 1e-4 * 450.0**2) == pytest.approx(450.0, rel=1e-9)
    value, u = fit.predict(450.0)
    assert value == pytest.approx(930.25, rel=1e-9)
    assert u < 1e-6


def test_beyond_the_vertex_the_force_still_grows() -> None:
    fit = fit_curve(LOADS, 2.0 * LOADS - 1e-3 * LOADS**2, 2)
    assert fit.invert(2000.0) < fit.invert(3000.0)


@pytest.mark.parametrize(
    ("load", "degree", "words"),
    [
        ([100.0, 100.0, 100.0], 1, r"All loads are the same \(100 N\)"),
        ([0.0, 100.0], 1, "2 points at 2 different loads are too few for a straight line"),
        ([0.0, 100.0, 200.0], 2, "too few for a curve of degree 2"),
        ([0.0, 100.0, 100.0, 0.0], 2, "4 points at 2 different loads"),
    ],
)
def test_too_little_is_said_in_one_sentence(load: list[float], degree: int, words: str) -> None:
    with pytest.raises(CalibrationError, match=words):
        fit_curve(np.array(load), np.linspace(0.0, 1.0, len(load)), degree)


def test_readings_that_do_not_move_explain_nothing() -> None:
    fit = fit_curve(LOADS, np.full(8, 5.0))
    assert fit.r_squared <= 0.0 or fit.residual_sd < 1e-12


def test_all_readings_zero_have_no_variance_to_explain() -> None:
    assert fit_curve(LOADS, np.zeros(8)).r_squared == 0.0


def test_lack_of_fit_needs_repeats_and_loads_to_spare() -> None:
    assert fit_curve(LOADS, 2.0 * LOADS).lack_of_fit is None
    assert fit_curve(np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.1, 1.0])).lack_of_fit is None
    twice = np.concatenate([LOADS, LOADS])
    assert fit_curve(twice, 2.0 * twice + 1e-3 * twice**2).lack_of_fit is None


def test_few_loads_stay_straight_however_bent() -> None:
    loads = np.tile([0.0, 100.0, 200.0, 300.0, 400.0], 2)
    noise = np.tile([1.0, -1.0], 5)
    assert choose_degree(loads, 2.0 * loads + 0.01 * loads**2 + noise) == 1


def test_a_bend_without_repeats_is_judged_by_its_own_doubt() -> None:
    noise = np.array([1.0, -1.0, -1.0, 1.0, 1.0, -1.0, -1.0, 1.0])
    assert choose_degree(LOADS, 2.0 * LOADS + 0.01 * LOADS**2 + noise) == 2
    assert choose_degree(LOADS, 2.0 * LOADS + noise) == 1


def test_repeats_that_accept_the_line_keep_it() -> None:
    loads = np.tile(LOADS, 2)
    noise = np.repeat([1.0, -1.0], 8)
    assert choose_degree(loads, 2.0 * loads + 1e-6 * loads**2 + noise) == 1


@pytest.mark.parametrize(("bend", "chance"), [(0.0, 1.0), (1e-3, 0.0)])
def test_a_bend_without_doubt_is_chance_or_certain(bend: float, chance: float) -> None:
    exact = Fit(np.array([0.0, 1.0, bend]), np.zeros((3, 3)), 0.0, 3, 1.0, None, np.zeros(6))
    assert bend_p(exact) == chance
