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
    [
        # rounding rule of the Particle Data Group, worked out by hand
        (0.04, 1),
        (0.6, 1),
        (1.0, 1),
        (3.54, 1),
        (3.55, 0),
        (6.0, 0),
        (9.5, 0),
        (40.0, 0),
        (0.0, 1),
        (None, 0),
    ],
)
def test_decimals_follow_the_uncertainty(u95: float | None, decimals: int) -> None:
    assert decimals_for(u95) == decimals


def test_tens_are_rounded_only_where_asked() -> None:
    assert decimals_for(120.0, fewest=-2) == -1
    assert decimals_for(float("inf")) == 0


@given(st.floats(1e-3, 1e4), st.integers(0, 4))
def test_uncertainty_never_shows_more_than_two_digits(u95: float, most: int) -> None:
    decimals = decimals_for(u95, most=most, fewest=-9)
    assert round(u95 * 10.0**decimals) < 100


@pytest.mark.parametrize(
    ("value", "u95", "unit", "shown"),
    [
        (84.62, 0.6, ForceUnit.KG, "84.6"),
        (84.62, 4.0, ForceUnit.KG, "85"),
        (84.62, None, ForceUnit.KG, "85"),
        (186.55, 1.0, ForceUnit.LB, "186.6"),
        (1234.4, 8.0, ForceUnit.N, "1234"),
        (1234.4, 150.0, ForceUnit.N, "1230"),
        (-0.01, 0.6, ForceUnit.KG, "0.0"),
    ],
)
def test_force_is_shown_no_finer_than_it_is_known(
    value: float, u95: float | None, unit: ForceUnit, shown: str
) -> None:
    u95_N = None if u95 is None else to_newtons(u95, unit)
    assert show_force(to_newtons(value, unit), u95_N, unit) == shown


def test_a_gain_carries_its_sign() -> None:
    kg = to_newtons(1.0, ForceUnit.KG)
    assert show_force(2.3 * kg, 0.5 * kg, ForceUnit.KG, is_signed=True) == "+2.3"


@pytest.mark.parametrize(
    ("u95", "shown"), [(0.61, "0.7"), (0.6, "0.6"), (0.001, "0.1"), (3.2, "3.2"), (4.2, "5")]
)
def test_doubt_is_rounded_up_and_never_away(u95: float, shown: str) -> None:
    assert show_doubt(to_newtons(u95, ForceUnit.KG), ForceUnit.KG) == shown


def test_units_there_and_back() -> None:
    for unit in ForceUnit:
        assert from_newtons(to_newtons(7.0, unit), unit) == pytest.approx(7.0)
