from __future__ import annotations

import pytest

from strikebridge.calibration.gravity import STANDARD, given_gravity, gravity_at, normal_gravity
from strikebridge.errors import CalibrationError


def test_a_place_has_its_gravity_and_a_small_doubt() -> None:
    place = gravity_at(51.5, 20.0)
    assert place.value_m_per_s2 == pytest.approx(normal_gravity(51.5) - 6.2e-5, abs=1e-6)
    assert 0.0 < place.u_relative < 1e-4 < STANDARD.u_relative


def test_standard_gravity_reaches_pole_and_equator() -> None:
    half = STANDARD.u_m_per_s2 * 3.0**0.5
    assert STANDARD.value_m_per_s2 - half <= normal_gravity(0.0)
    assert STANDARD.value_m_per_s2 + half >= normal_gravity(90.0)


def test_a_given_gravity_is_exact() -> None:
    assert given_gravity(9.812).u_relative == 0.0


@pytest.mark.parametrize("value", [0.0, 9.7, 9.9, 981.0, float("nan")])
def test_gravity_from_elsewhere_is_refused(value: float) -> None:
    with pytest.raises(CalibrationError, match="nowhere"):
        given_gravity(value)


@pytest.mark.parametrize(
    ("latitude_deg", "elevation_m", "words"),
    [(91.0, 0.0, "latitude"), (0.0, 9500.0, "9500 m"), (float("nan"), 0.0, "latitude")],
)
def test_places_that_do_not_exist_are_refused(
    latitude_deg: float, elevation_m: float, words: str
) -> None:
    with pytest.raises(CalibrationError, match=words):
        gravity_at(latitude_deg, elevation_m)
