"""The roster in words and as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.consent import is_under_age
from strikebridge.reports.tables import lined_up

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from strikebridge.club.athlete import Athlete
    from strikebridge.reports.analysis_json import Json

HEADER = ("name", "stance", "age", "mass", "mind", "groups")


def athlete_document(athlete: Athlete, today: date) -> dict[str, Json]:
    """Write an athlete as plain values.

    Args:
        athlete: the athlete.
        today: the day, on which the age depends.

    Returns:
        A document of plain values that JSON can carry.
    """
    consent = athlete.consent
    return {
        "id": athlete.id,
        "name": athlete.name,
        "stance": athlete.stance.value,
        "under_age": is_under_age(athlete, today),
        "born_year": athlete.born_year,
        "consent": None
        if consent is None
        else {"on": consent.given_on.isoformat(), "by": consent.given_by},
        "masses": [
            {"on": mass.weighed_on.isoformat(), "mass_kg": mass.mass_kg}
            for mass in athlete.masses
        ],
        "cares": [*sorted(care.value for care in athlete.cares)],
        "note": athlete.note,
        "groups": [*athlete.groups],
    }


def roster_lines(athletes: Sequence[Athlete], today: date) -> list[str]:
    """Write a roster as a table.

    Args:
        athletes: the athletes.
        today: the day, on which the age depends.

    Returns:
        One line for the header and one for each athlete, columns lined up.
    """
    return lined_up([HEADER, *(_cells(athlete, today) for athlete in athletes)])


def _cells(athlete: Athlete, today: date) -> tuple[str, ...]:
    mass = "-" if athlete.mass_kg is None else f"{athlete.mass_kg:.1f} kg"
    return (
        athlete.name,
        athlete.stance.value,
        "under 18" if is_under_age(athlete, today) else "adult",
        mass,
        ", ".join(sorted(care.value for care in athlete.cares)) or "-",
        ", ".join(athlete.groups) or "-",
    )
