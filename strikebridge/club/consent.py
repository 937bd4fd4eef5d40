"""Who may be stored: nothing of an under-age athlete reaches a disk before consent is recorded.

A year of birth decides, for it goes on being right. In the year of the eighteenth birthday the
day is not known; then the age group decides, and it says under 18 unless the coach has said
that the birthday is over.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.athlete import AgeGroup

if TYPE_CHECKING:
    from datetime import date

    from strikebridge.club.athlete import Athlete

OF_AGE = 18  # Convention on the Rights of the Child (United Nations 1989), article 1
OLDEST = 110  # years; beyond it a slip of the keys is likelier


def is_under_age(athlete: Athlete, today: date) -> bool:
    """Say whether an athlete is, or may still be, under eighteen.

    Args:
        athlete: the athlete.
        today: the day.

    Returns:
        True where storing needs consent.
    """
    is_said = athlete.age_group is AgeGroup.UNDER_18
    if athlete.born_year is None:
        return is_said
    years = today.year - athlete.born_year
    return years < OF_AGE or (years == OF_AGE and is_said)


def group_of_year(born_year: int, today: date) -> AgeGroup:
    """Say which age group a year of birth is in; in the year of turning 18 the careful one.

    Args:
        born_year: the year.
        today: the day.
    """
    return AgeGroup.UNDER_18 if today.year - born_year <= OF_AGE else AgeGroup.ADULT


def may_be_stored(athlete: Athlete, today: date) -> bool:
    """Say whether anything of this athlete may be written to a disk.

    Args:
        athlete: the athlete.
        today: the day.

    Returns:
        False for an under-age athlete without a recorded consent.
    """
    return athlete.consent is not None or not is_under_age(athlete, today)


def consent_fault(athlete: Athlete, today: date) -> str:
    """Say why this athlete may not be stored, and what to do.

    Args:
        athlete: the athlete.
        today: the day.

    Returns:
        A sentence, empty where storing is right.
    """
    if may_be_stored(athlete, today):
        return ""
    return (
        f"{athlete.name} is under 18 and no consent is recorded, so nothing was stored. Ask a "
        "parent or guardian, then record who agreed and when."
    )


def day_fault(day: date, today: date) -> str:
    """Say what is wrong with a day on which something was given or weighed.

    Args:
        day: the day.
        today: the day of now.

    Returns:
        A sentence, empty where it will do.
    """
    if day > today:
        return f"{day.isoformat()} is still to come; write a day up to today."
    if today.year - day.year > OLDEST:
        return f"{day.isoformat()} is too long ago; check the year."
    return ""


def age_fault(athlete: Athlete, today: date) -> str:
    """Say what is wrong with what is known of an age.

    Args:
        athlete: the athlete.
        today: the day.

    Returns:
        A sentence, empty where it will do.
    """
    if athlete.born_year is None:
        return ""
    is_minor = today.year - athlete.born_year < OF_AGE
    if is_minor and athlete.age_group is AgeGroup.ADULT:
        return f"whoever was born in {athlete.born_year} is under 18, not adult."
    return year_fault(athlete.born_year, today)


def year_fault(born_year: int, today: date) -> str:
    """Say what is wrong with a year of birth.

    Args:
        born_year: the year.
        today: the day of now.

    Returns:
        A sentence, empty where it will do.
    """
    if today.year - OLDEST <= born_year <= today.year:
        return ""
    return f"{born_year} is no year of birth; write one such as {today.year - 20}."
