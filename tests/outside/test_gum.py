"""Uncertainty arithmetic against the GUM's own examples and a published library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties

from strikebridge.calibration.budget import (
    combined_u,
    convolved_factor,
    coverage_factor,
    effective_dof,
    rectangular_u,
    step_u,
    t_factor,
)
from strikebridge.calibration.certificate import BudgetTerm
from strikebridge.calibration.fit import Fit, fit_curve
from tests.outside.published_fits import THERMOMETER


def thermometer() -> Fit:
    return fit_curve(THERMOMETER[:, 0] - 20.0, THERMOMETER[:, 1])


def test_h3_to_the_printed_digits() -> None:
    # JCGM 100:2008, H.3.3 and H.3.4
    fit = thermometer()
    y1, y2 = fit.coefficients
    u1, u2 = fit.u
    assert y1 == pytest.approx(-0.1712, abs=5e-5)
    assert u1 == pytest.approx(0.0029, abs=5e-5)
    assert y2 == pytest.approx(0.00218, abs=5e-6)
    assert u2 == pytest.approx(0.00067, abs=5e-6)
    assert fit.covariance[0, 1] / (u1 * u2) == pytest.approx(-0.930, abs=5e-4)
    assert fit.residual_sd == pytest.approx(0.0035, abs=5e-5)
    assert fit.dof == 9
    b30, u_b30 = fit.predict(10.0)
    assert b30 == pytest.approx(-0.1494, abs=5e-5)
    assert u_b30 == pytest.approx(0.0041, abs=5e-5)


def test_h3_in_full_digits() -> None:
    # recomputed from the 11 pairs; SSE also in the Measurement Standards Laboratory of New
    # Zealand's documentation of its uncertainty calculator, example H.3
    fit = thermometer()
    np.testing.assert_allclose(
        fit.coefficients, [-0.17120379013135, 0.00218269773988728], rtol=1e-11
    )
    np.testing.assert_allclose(fit.u, [0.00287759783516, 0.000667938773228], rtol=1e-11)
    assert fit.dof * fit.residual_sd**2 == pytest.approx(0.000110096583109, rel=1e-11)
    assert fit.predict(10.0)[1] == pytest.approx(0.00413859575285, rel=1e-11)


def test_h3_residuals_as_printed() -> None:
    # JCGM 100:2008, table H.6
    np.testing.assert_allclose(
        thermometer().residuals,
        [
            -0.0031,
            -0.0022,
            -0.0003,
            0.0056,
            -0.0005,
            -0.0025,
            0.0054,
            0.0033,
            0.0002,
            -0.0029,
            -0.0030,
        ],
        atol=5.5e-5,
    )


def test_h3_with_a_common_systematic_error() -> None:
    # the same New Zealand document: a common error u = 0.005 goes into the intercept alone
    fit = thermometer()
    terms = [BudgetTerm("fit", float(fit.u[0]), dof=9.0), BudgetTerm("bath", 0.005)]
    assert combined_u(terms) == pytest.approx(0.00576893138292676, rel=1e-12)
    assert effective_dof(terms) == pytest.approx(145.38, abs=0.005)
    assert fit.u[1] == pytest.approx(0.0006679387732278323, rel=1e-12)


def test_the_prediction_agrees_with_a_published_library() -> None:
    fit = thermometer()
    y1, y2 = uncertainties.correlated_values(fit.coefficients, fit.covariance)
    other = y1 + y2 * 10.0
    value, u = fit.predict(10.0)
    assert value == pytest.approx(other.nominal_value, rel=1e-9)
    assert u == pytest.approx(other.std_dev, rel=1e-9)


def test_g_4_1_first_example() -> None:
    # JCGM 100:2008, G.4.1, example 1 (inputs and t values from memory): 0.25 %, 0.57 %, 0.82 %
    # from n = 10, 5, 15 -> u_c 1.03 %, 19 effective degrees of freedom, U95 2.2 %, U99 2.9 %
    terms = [
        BudgetTerm("1", 0.25, dof=9.0),
        BudgetTerm("2", 0.57, dof=4.0),
        BudgetTerm("3", 0.82, dof=14.0),
    ]
    assert combined_u(terms) == pytest.approx(1.03, abs=0.005)
    dof = effective_dof(terms)
    assert dof == pytest.approx(19.0, abs=0.05)
    assert t_factor(dof) == pytest.approx(2.09, abs=0.005)
    assert t_factor(dof, 0.99) == pytest.approx(2.86, abs=0.005)
    assert t_factor(dof) * combined_u(terms) == pytest.approx(2.2, abs=0.05)
    assert t_factor(dof, 0.99) * combined_u(terms) == pytest.approx(2.9, abs=0.05)
    assert coverage_factor(terms) == t_factor(dof)


def test_rectangles_and_steps() -> None:
    # JCGM 100:2008, 4.3.7 and F.2.2.1
    assert rectangular_u(1.0) == pytest.approx(0.57735, abs=5e-6)
    assert step_u(1.0) == pytest.approx(0.28868, abs=5e-6)


def test_unweighed_plate_of_twenty_kilograms() -> None:
    # 2 % of 20 kg known only as limits: 0.4 kg / sqrt 3 (JCGM 100:2008, 4.3.7)
    assert rectangular_u(0.4) == pytest.approx(0.231, abs=5e-4)


def test_weights_of_class_m1() -> None:
    # OIML R 111-1:2004: maximum permissible error of 20 kg, class M1, is 1 g
    assert rectangular_u(1e-3) * 9.80665 == pytest.approx(0.005662, abs=5e-7)


def test_a_rectangle_alone_and_a_normal_alone() -> None:
    # JCGM 100:2008, G.1.2 (k = 1.65 for a rectangle at 95 %) and table G.2, last row (1.960)
    assert convolved_factor(1.0, 0.0) == pytest.approx(1.65, abs=0.005)
    assert t_factor(math.inf) == pytest.approx(1.960, abs=5e-4)
    assert convolved_factor(1.0, 1e4) == pytest.approx(1.960, abs=5e-4)


@pytest.mark.parametrize(
    ("dof", "k"), [(1, 12.71), (2, 4.30), (5, 2.57), (10, 2.23), (20, 2.09)]
)
def test_table_g2(dof: float, k: float) -> None:
    # JCGM 100:2008, table G.2, column 95 %
    assert t_factor(dof) == pytest.approx(k, abs=0.005)


@pytest.mark.parametrize("share", [0.05, 0.3, 1.0, 3.0])
def test_convolved_factor_agrees_with_propagation_of_distributions(share: float) -> None:
    # JCGM 101:2008, clause 7: the same by drawing
    draw = np.random.default_rng(7)
    n = 400_000
    sums = draw.uniform(-1.0, 1.0, n) + draw.normal(0.0, share, n)
    k = convolved_factor(1.0, share)
    inside = np.mean(np.abs(sums) <= k * math.hypot(rectangular_u(1.0), share))
    assert inside == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / n))
