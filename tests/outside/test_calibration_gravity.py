"""Gravity and units against published constants and formulas."""

from __future__ import annotations

import math

import pytest

from strikebridge.calibration.gravity import gravity_at, normal_gravity
from strikebridge.units import ForceUnit, to_newtons


@pytest.mark.parametrize(
    ("latitude_deg", "expected"),
    # constants of WGS 84 (equator 9.780 325 3359, pole 9.832 184 9378); between them the
    # formula of Somigliana evaluated independently
    [
        (0.0, 9.7803253359),
        (30.0, 9.7932472692),
        (45.0, 9.8061977694),
        (51.5, 9.8120335750),
        (60.0, 9.8191769531),
        (90.0, 9.8321849378),
    ],
)
def test_normal_gravity_of_wgs_84(latitude_deg: float, expected: float) -> None:
    assert normal_gravity(latitude_deg) == pytest.approx(expected, abs=1.1e-10)
    assert normal_gravity(-latitude_deg) == normal_gravity(latitude_deg)


@pytest.mark.parametrize("latitude_deg", [0.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0])
def test_the_short_form_of_1980_agrees(latitude_deg: float) -> None:
    # 9.780327 (1 + 0.0053024 sin^2 - 0.0000058 sin^2 2phi), value from memory; GRS 80 lies
    # about 1.4e-6 above WGS 84
    phi = math.radians(latitude_deg)
    short = 9.780327 * (
        1.0 + 0.0053024 * math.sin(phi) ** 2 - 0.0000058 * math.sin(2.0 * phi) ** 2
    )
    assert normal_gravity(latitude_deg) == pytest.approx(short, abs=4e-6)


def test_a_thousand_metres_up() -> None:
    # free-air gradient -3.086e-6 (m/s2)/m
    fall = normal_gravity(45.0, 1000.0) - normal_gravity(45.0)
    assert fall == pytest.approx(-0.003086, abs=2e-6)
    assert fall / normal_gravity(45.0) == pytest.approx(-0.00031, abs=5e-6)


def test_pole_to_equator() -> None:
    # 0.0519 m/s2, 0.53 % of standard gravity, from the two constants
    spread = normal_gravity(90.0) - normal_gravity(0.0)
    assert spread == pytest.approx(0.0519, abs=5e-5)
    assert gravity_at(90.0).value_m_per_s2 == normal_gravity(90.0)


def test_pound_force_and_kilogram_force_are_exact() -> None:
    # 1959 agreement on the pound (0.453 592 37 kg), 3rd CGPM 1901 (9.806 65 m/s2)
    assert to_newtons(1.0, ForceUnit.LB) == 4.4482216152605
    assert to_newtons(1.0, ForceUnit.KG) == 9.80665
    assert to_newtons(1.0, ForceUnit.KG) / to_newtons(1.0, ForceUnit.LB) == pytest.approx(
        2.204622621848776, rel=1e-15
    )
