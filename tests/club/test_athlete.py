"""Names, hands and masses of the roster."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.club.athlete import (
    AgeGroup,
    Athlete,
    BodyMass,
    Hand,
    Side,
    Stance,
    hand_of,
    mass_fault,
    name_fault,
    name_key,
    tidy_name,
)


@pytest.mark.parametrize(
    ("stance", "side", "hand"),
    [  # TRADE: orthodox = left lead, southpaw = right lead (common practice, no source)
        (Stance.ORTHODOX, Side.LEAD, Hand.LEFT),
        (Stance.ORTHODOX, Side.REAR, Hand.RIGHT),
        (Stance.SOUTHPAW, Side.LEAD, Hand.RIGHT),
        (Stance.SOUTHPAW, Side.REAR, Hand.LEFT),
    ],
)
def test_the_stance_decides_which_hand_leads(stance: Stance, side: Side, hand: Hand) -> None:
    assert hand_of(side, stance) is hand


def test_the_newest_mass_is_the_mass() -> None:
    masses = (BodyMass(date(2026, 1, 1), 60.0), BodyMass(date(2026, 2, 1), 61.5))
    athlete = Athlete("1", "Ines Halloran", Stance.ORTHODOX, AgeGroup.ADULT, masses=masses)
    assert athlete.mass_kg == 61.5
    assert Athlete("1", "Ines Halloran", Stance.ORTHODOX, AgeGroup.ADULT).mass_kg is None


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ines Halloran", " ines   HALLORAN "),
        ("Jürgen", "Ju\u0308rgen"),  # composed, and letter by letter
        ("Strauß", "STRAUSS"),
        ("Åsa", "\u212bsa"),  # the sign of the angstrom
    ],
)
def test_names_that_look_the_same_are_the_same(one: str, other: str) -> None:
    assert name_key(one) == name_key(other)


@settings(deadline=None)
@given(st.text(max_size=30))
def test_tidying_a_name_twice_is_tidying_it_once(name: str) -> None:
    tidied = tidy_name(name)
    assert tidy_name(tidied) == tidied
    assert name_key(tidied) == name_key(name)


@pytest.mark.parametrize(
    ("name", "word"),
    [("", "no name"), ("x" * 61, "61 letters"), ("a\x00b", "cannot be shown"), ("x" * 60, "")],
)
def test_what_is_wrong_with_a_name_is_said(name: str, word: str) -> None:
    assert (word in name_fault(name)) if word else name_fault(name) == ""


@pytest.mark.parametrize("mass_kg", [-70.0, 0.0, 14.9, 400.1, float("nan"), float("inf")])
def test_what_is_no_body_mass_is_said(mass_kg: float) -> None:
    assert "no body mass" in mass_fault(mass_kg)


@pytest.mark.parametrize("mass_kg", [15.0, 63.2, 400.0])
def test_a_body_mass_will_do(mass_kg: float) -> None:
    assert mass_fault(mass_kg) == ""
