"""Who may be stored, day by day."""

from datetime import date

import pytest

from strikebridge.club.athlete import AgeGroup, Athlete, Consent, Stance
from strikebridge.club.consent import (
    age_fault,
    consent_fault,
    day_fault,
    group_of_year,
    is_under_age,
    may_be_stored,
    year_fault,
)

TODAY = date(2026, 3, 1)
GIVEN = Consent(date(2026, 2, 1), "mother")


def one(
    group: AgeGroup, born_year: int | None = None, consent: Consent | None = None
) -> Athlete:
    return Athlete("1", "Juno Pettigrew", Stance.ORTHODOX, group, born_year, consent)


@pytest.mark.parametrize(
    ("group", "born_year", "expected"),
    [
        (AgeGroup.ADULT, None, False),
        (AgeGroup.UNDER_18, None, True),
        (AgeGroup.ADULT, 2009, True),  # the year decides
        (AgeGroup.UNDER_18, 2008, True),  # the birthday may be to come
        (AgeGroup.ADULT, 2008, False),  # the coach says that it is over
        (AgeGroup.UNDER_18, 2007, False),
    ],
)
def test_who_is_under_age(group: AgeGroup, born_year: int | None, expected: bool) -> None:
    assert is_under_age(one(group, born_year), TODAY) is expected


def test_whoever_is_under_age_grows_up_by_the_year_of_birth() -> None:
    athlete = one(AgeGroup.UNDER_18, 2010)
    assert is_under_age(athlete, date(2028, 12, 31))
    assert not is_under_age(athlete, date(2029, 1, 1))


def test_only_consent_opens_the_gate_for_the_under_age() -> None:
    assert not may_be_stored(one(AgeGroup.UNDER_18), TODAY)
    assert may_be_stored(one(AgeGroup.UNDER_18, consent=GIVEN), TODAY)
    assert may_be_stored(one(AgeGroup.ADULT), TODAY)
    assert "nothing was stored" in consent_fault(one(AgeGroup.UNDER_18), TODAY)
    assert consent_fault(one(AgeGroup.UNDER_18, consent=GIVEN), TODAY) == ""


@pytest.mark.parametrize(
    ("born_year", "expected"), [(2007, AgeGroup.ADULT), (2008, AgeGroup.UNDER_18)]
)
def test_the_age_group_of_a_year_is_the_careful_one(born_year: int, expected: AgeGroup) -> None:
    assert group_of_year(born_year, TODAY) is expected


@pytest.mark.parametrize(
    ("group", "born_year", "word"),
    [
        (AgeGroup.ADULT, None, ""),
        (AgeGroup.ADULT, 2009, "not adult"),
        (AgeGroup.ADULT, 2008, ""),
        (AgeGroup.UNDER_18, 2027, "no year of birth"),
        (AgeGroup.ADULT, 1990, ""),
    ],
)
def test_an_age_that_contradicts_itself_is_said(
    group: AgeGroup, born_year: int | None, word: str
) -> None:
    said = age_fault(one(group, born_year), TODAY)
    assert (word in said) if word else said == ""


def test_days_lie_between_a_long_life_ago_and_today() -> None:
    assert day_fault(TODAY, TODAY) == ""
    assert "still to come" in day_fault(date(2026, 3, 2), TODAY)
    assert "too long ago" in day_fault(date(1026, 3, 2), TODAY)
    assert year_fault(1916, TODAY) == ""
    assert year_fault(1915, TODAY) != ""
