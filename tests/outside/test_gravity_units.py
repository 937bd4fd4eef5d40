"""Units of force against their definitions.

Standard gravity 9.806 65 m/s2 exactly (3rd CGPM, 1901; value from memory, universally used);
the avoirdupois pound 0.453 592 37 kg exactly (1959 agreement; value from memory); the
pound-force is their product, 4.448 221 615 260 5 N.
"""

from __future__ import annotations

import pytest

from strikebridge.units import ForceUnit, decimals_for, from_newtons, to_newtons


def test_a_kilogram_force_is_exactly_9_80665_newtons() -> None:
    assert to_newtons(1.0, ForceUnit.KG) == 9.80665


def test_a_pound_force() -> None:
    assert to_newtons(1.0, ForceUnit.LB) == pytest.approx(4.4482216152605, rel=1e-15)


def test_a_newton_in_pounds_and_kilograms() -> None:
    # derived from the definitions
    assert from_newtons(1.0, ForceUnit.LB) == pytest.approx(0.224808943099710, rel=1e-14)
    assert from_newtons(1.0, ForceUnit.KG) == pytest.approx(0.101971621, abs=5e-10)
    assert from_newtons(1.0, ForceUnit.N) == 1.0


def test_a_kilogram_in_pounds() -> None:
    # derived from the definitions
    pounds = from_newtons(to_newtons(1.0, ForceUnit.KG), ForceUnit.LB)
    assert pounds == pytest.approx(2.204622621848776, rel=1e-15)


def test_two_digits_of_the_uncertainty_at_the_most() -> None:
    # JCGM 100:2008, 7.2.6 (value from memory)
    assert decimals_for(3.2) == 1
    assert decimals_for(0.032, most=5) == 3
    assert decimals_for(32.0, most=5) == 0
    assert decimals_for(None) == 0
    assert decimals_for(float("inf")) == 0
    assert decimals_for(0.0) == 1
    assert decimals_for(-1.0) == 0
