from __future__ import annotations

import numpy as np
import pytest

from strikebridge.calibration.centre import centre_of_pressure

PLACES_MM = np.array([[0.0, 0.0], [400.0, 0.0], [0.0, 300.0]])
NOTHING = np.zeros((3, 3))
QUIET = np.zeros(3)


def test_the_lever_law() -> None:
    centre = centre_of_pressure(np.array([50.0, 25.0, 25.0]), PLACES_MM, NOTHING, QUIET)
    assert centre is not None
    assert (centre.x_mm, centre.y_mm) == (100.0, 75.0)
    assert (centre.u_x_mm, centre.u_y_mm) == (0.0, 0.0)


def test_two_cells_by_hand() -> None:
    # x = L f2 / (f1 + f2); with own doubts u1, u2 the law of propagation (JCGM 100:2008, 5.1.2)
    # gives u_x = L sqrt((f2 u1)^2 + (f1 u2)^2) / F^2
    f1, f2, u1, u2, length = 300.0, 100.0, 2.0, 1.0, 500.0
    places = np.array([[0.0, 0.0], [length, 0.0]])
    centre = centre_of_pressure(
        np.array([f1, f2]), places, np.zeros((2, 2)), np.array([u1, u2])
    )
    assert centre is not None
    by_hand = length * np.hypot(f2 * u1, f1 * u2) / (f1 + f2) ** 2
    assert centre.u_x_mm == pytest.approx(by_hand, rel=1e-12)
    assert centre.u_y_mm == 0.0


def test_an_error_that_all_cells_share_moves_nothing() -> None:
    forces = np.array([50.0, 20.0, 30.0])
    common = np.full((3, 3), 0.02**2)
    centre = centre_of_pressure(forces, PLACES_MM, common, QUIET)
    assert centre is not None
    assert centre.u_x_mm == pytest.approx(0.0, abs=1e-6)
    apart = centre_of_pressure(forces, PLACES_MM, np.diag([0.02**2] * 3), QUIET)
    assert apart is not None
    assert apart.u_x_mm > 1.0


def test_hardly_any_force_has_no_centre() -> None:
    small = np.array([1.0, 1.0, 1.0])
    assert centre_of_pressure(small, PLACES_MM, NOTHING, small) is None
    assert centre_of_pressure(QUIET, PLACES_MM, NOTHING, QUIET) is None
    pulled = centre_of_pressure(-50.0 * small, PLACES_MM, NOTHING, 0.1 * small)
    assert pulled is not None
    assert pulled.x_mm == pytest.approx(400.0 / 3.0)
