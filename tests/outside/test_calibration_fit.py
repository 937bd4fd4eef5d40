"""Fits against NIST's certified values and against general-purpose references."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import linalg, stats

from strikebridge.calibration.fit import choose_degree, fit_curve
from tests.outside.published_fits import NORRIS, PONTIUS_DEFLECTION, PONTIUS_LOAD

NINE_DIGITS = 1e-10


def test_pontius_certified() -> None:
    # NIST StRD, data set Pontius, certified values
    fit = fit_curve(PONTIUS_LOAD, PONTIUS_DEFLECTION, 2)
    np.testing.assert_allclose(
        fit.coefficients,
        [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14],
        rtol=NINE_DIGITS,
    )
    np.testing.assert_allclose(
        fit.u,
        [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16],
        rtol=NINE_DIGITS,
    )
    assert fit.residual_sd == pytest.approx(0.205177424076185e-03, rel=NINE_DIGITS)
    assert fit.dof == 37
    assert fit.r_squared == pytest.approx(0.999999900178537, rel=1e-14)
    assert fit.dof * fit.residual_sd**2 == pytest.approx(0.155761768796992e-05, rel=NINE_DIGITS)


def test_pontius_unscaled_covariance() -> None:
    # (X'X)^-1 as in the GNU Scientific Library's regression test of this data set
    fit = fit_curve(PONTIUS_LOAD, PONTIUS_DEFLECTION, 2)
    expected = [
        [2.76754385964916e-01, -3.59649122807024e-07, 9.74658869395731e-14],
        [-3.59649122807024e-07, 5.91630591630603e-13, -1.77210703526497e-19],
        [9.74658869395731e-14, -1.77210703526497e-19, 5.62573661988878e-26],
    ]
    np.testing.assert_allclose(fit.covariance / fit.residual_sd**2, expected, rtol=1e-12)


def test_norris_certified() -> None:
    # NIST StRD, data set Norris, certified values
    fit = fit_curve(NORRIS[:, 0], NORRIS[:, 1])
    np.testing.assert_allclose(
        fit.coefficients, [-0.262323073774029, 1.00211681802045], rtol=NINE_DIGITS
    )
    np.testing.assert_allclose(
        fit.u, [0.232818234301152, 0.429796848199937e-03], rtol=NINE_DIGITS
    )
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=NINE_DIGITS)
    assert fit.r_squared == pytest.approx(0.999993745883712, rel=1e-14)
    assert fit.dof == 34


def test_handbook_straight_line_is_refused_and_the_curve_accepted() -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 4.6.1, load cell calibration: line to the
    # printed 4 digits; F 214.75 and 0.81 are values from memory, the digits here follow from
    # the data by F = (SS residual - SS pure) / (groups - p) / (SS pure / (n - groups))
    line = fit_curve(PONTIUS_LOAD, PONTIUS_DEFLECTION, 1)
    np.testing.assert_allclose(line.coefficients, [6.150e-03, 7.221e-07], rtol=5e-4)
    np.testing.assert_allclose(line.u, [7.132e-04, 3.969e-10], rtol=5e-4)
    np.testing.assert_allclose(
        line.coefficients / line.u, [8.623, 1819.289], rtol=0, atol=5.5e-4
    )
    assert line.residuals.min() == pytest.approx(-0.0042751, abs=5e-8)
    assert line.residuals.max() == pytest.approx(0.0024211, abs=5e-8)
    assert line.lack_of_fit is not None
    assert pytest.approx(214.7469, abs=5e-5) == line.lack_of_fit.F
    assert line.lack_of_fit.dof == (18, 20)
    assert line.lack_of_fit.p < 1e-15
    curve = fit_curve(PONTIUS_LOAD, PONTIUS_DEFLECTION, 2)
    assert curve.lack_of_fit is not None
    assert pytest.approx(0.810724, abs=5e-7) == curve.lack_of_fit.F
    assert curve.lack_of_fit.dof == (17, 20)
    assert curve.lack_of_fit.p > 0.5
    assert choose_degree(PONTIUS_LOAD, PONTIUS_DEFLECTION) == 2


def test_handbook_inverse_use() -> None:
    # same handbook section: deflection 1.239722 -> load 1 705 106 (value from memory); further
    # digits by solving the certified parabola
    curve = fit_curve(PONTIUS_LOAD, PONTIUS_DEFLECTION, 2)
    assert curve.invert(1.239722) == pytest.approx(1705105.569, abs=5e-4)


def test_force_standard_floor_on_pontius() -> None:
    # ASTM E74 (from memory): LLF = 2.4 SD in load units, class A floor 400 LLF; with this SD
    # and slope 0.000492425818 / 7.32059e-7 = 672.7 -> 269 063
    curve = fit_curve(PONTIUS_LOAD, PONTIUS_DEFLECTION, 2)
    assert 2.4 * curve.residual_sd == pytest.approx(0.000492425818, abs=5e-13)
    lowest = 2.4 * curve.residual_sd / curve.slope(0.0)
    assert lowest == pytest.approx(672.7, abs=0.05)
    assert 400.0 * lowest == pytest.approx(269063, abs=0.5)


def test_line_agrees_with_scipy() -> None:
    fit = fit_curve(NORRIS[:, 0], NORRIS[:, 1])
    other = stats.linregress(NORRIS[:, 0], NORRIS[:, 1])
    np.testing.assert_allclose(fit.coefficients, [other.intercept, other.slope], rtol=1e-9)
    np.testing.assert_allclose(fit.u, [other.intercept_stderr, other.stderr], rtol=1e-9)
    assert fit.r_squared == pytest.approx(other.rvalue**2, rel=1e-9)


def test_weighted_curve_agrees_with_numpy_and_scipy() -> None:
    x = NORRIS[:, 0] / 100.0
    u = 0.1 + 0.05 * x
    fit = fit_curve(x, NORRIS[:, 1], 2, u)
    other, covariance = np.polyfit(x, NORRIS[:, 1], 2, w=1.0 / u, cov=True)
    np.testing.assert_allclose(fit.coefficients, other[::-1], rtol=1e-9)
    np.testing.assert_allclose(fit.covariance, covariance[::-1, ::-1], rtol=1e-9)
    # and with weighted normal equations solved by another route
    whitened = np.vander(x, 3, increasing=True) / u[:, np.newaxis]
    least, *_ = linalg.lstsq(whitened, NORRIS[:, 1] / u)
    np.testing.assert_allclose(fit.coefficients, least, rtol=1e-9)
