import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.units import (
    ForceUnit,
    decimals_for,
    from_newtons,
    show_doubt,
    show_force,
    to_newtons,
)


@pytest.mark.parametrize(
    ("u95", "decimals"),
    [(0.04, 1), (0.6, 1), (1.0, 1), (1.2, 0), (6.0, 0), (40.0, 0), (0.0, 1), (None, 0)],
)
def test_no_more_decimals_than_a_tenth_of_the_uncertainty(u95, decimals):
    assert decimals_for(u95) == decimals


def test_tens_are_rounded_only_where_asked():
    assert decimals_for(120.0, fewest=-2) == -1
    assert decimals_for(float("inf")) == 0


@given(st.floats(1e-3, 1e4), st.integers(0, 4))
def test_last_digit_is_never_finer_than_a_tenth_of_u95(u95, most):
    decimals = decimals_for(u95, most=most, fewest=-9)
    assert 10.0**-decimals >= u95 / 10.0 * (1.0 - 1e-6)


@pytest.mark.parametrize(
    ("value", "u95", "unit", "shown"),
    [
        (84.62, 0.6, ForceUnit.KG, "84.6"),
        (84.62, 3.0, ForceUnit.KG, "85"),
        (84.62, None, ForceUnit.KG, "85"),
        (186.55, 1.0, ForceUnit.LB, "186.6"),
        (1234.4, 8.0, ForceUnit.N, "1234"),
        (1234.4, 150.0, ForceUnit.N, "1230"),
        (-0.01, 0.6, ForceUnit.KG, "0.0"),
    ],
)
def test_force_is_shown_no_finer_than_it_is_known(value, u95, unit, shown):
    u95_N = None if u95 is None else to_newtons(u95, unit)
    assert show_force(to_newtons(value, unit), u95_N, unit) == shown


def test_a_gain_carries_its_sign():
    kg = to_newtons(1.0, ForceUnit.KG)
    assert show_force(2.3 * kg, 0.5 * kg, ForceUnit.KG, is_signed=True) == "+2.3"


@pytest.mark.parametrize(
    ("u95", "shown"), [(0.61, "0.7"), (0.6, "0.6"), (0.001, "0.1"), (3.2, "4")]
)
def test_doubt_is_rounded_up_and_never_away(u95, shown):
    assert show_doubt(to_newtons(u95, ForceUnit.KG), ForceUnit.KG) == shown


def test_units_there_and_back():
    for unit in ForceUnit:
        assert from_newtons(to_newtons(7.0, unit), unit) == pytest.approx(7.0)
