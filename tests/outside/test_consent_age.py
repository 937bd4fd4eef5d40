"""Who is a child, against the Convention on the Rights of the Child (United Nations, 1989).

Article 1: every human being below the age of eighteen years. A program that knows only the year
must count whoever may still be a child as one.
"""

from datetime import date, timedelta

import pytest

from strikebridge.club.athlete import AgeGroup, Athlete, Stance
from strikebridge.club.consent import group_of_year, may_be_stored


@pytest.mark.parametrize("today", [date(2026, 1, 1), date(2026, 7, 1), date(2026, 12, 31)])
def test_no_child_is_stored_on_any_birthday(today: date) -> None:
    for age_days in range(0, 20 * 365, 11):
        born = today - timedelta(days=age_days)
        years = today.year - born.year - ((today.month, today.day) < (born.month, born.day))
        group = group_of_year(born.year, today)
        athlete = Athlete("1", "Juno Pettigrew", Stance.ORTHODOX, group, born.year)
        if years < 18:
            assert group is AgeGroup.UNDER_18
            assert not may_be_stored(athlete, today)
