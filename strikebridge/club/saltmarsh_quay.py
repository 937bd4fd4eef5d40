"""Saltmarsh Quay, an invented club with six invented athletes, for demonstrations."""

from __future__ import annotations

from datetime import date

from strikebridge.club.athlete import AgeGroup, Athlete, BodyMass, Care, Consent, Stance
from strikebridge.club.training import new_id

CLUB = "Saltmarsh Quay"

_WEIGHED_ON = date(2026, 1, 12)
# name, stance, age group, body mass [kg], what to be reminded of
_ATHLETES: tuple[tuple[str, Stance, AgeGroup, float, frozenset[Care]], ...] = (
    ("Ines Halloran", Stance.ORTHODOX, AgeGroup.ADULT, 63.2, frozenset()),
    ("Tobias Merrow", Stance.SOUTHPAW, AgeGroup.ADULT, 81.4, frozenset({Care.SHOULDER})),
    ("Ayla Sandfort", Stance.ORTHODOX, AgeGroup.ADULT, 57.0, frozenset({Care.WRIST})),
    ("Kwame Oduya-Brandt", Stance.ORTHODOX, AgeGroup.ADULT, 91.7, frozenset()),
    ("Mirko Tallis", Stance.SOUTHPAW, AgeGroup.ADULT, 70.5, frozenset({Care.BLOOD_PRESSURE})),
    ("Juno Pettigrew", Stance.ORTHODOX, AgeGroup.UNDER_18, 54.3, frozenset()),
)
_GUARDIAN = Consent(date(2026, 1, 10), "mother, on paper")


def saltmarsh_quay() -> tuple[Athlete, ...]:
    """Invent the club anew; only the ids differ from one time to the next.

    Returns:
        Six athletes in the group `Saltmarsh Quay`, one of them under age with consent.
    """
    return tuple(
        Athlete(
            id=new_id(),
            name=name,
            stance=stance,
            age_group=age_group,
            consent=_GUARDIAN if age_group is AgeGroup.UNDER_18 else None,
            cares=cares,
            masses=(BodyMass(_WEIGHED_ON, mass_kg),),
            groups=(CLUB,),
        )
        for name, stance, age_group, mass_kg, cares in _ATHLETES
    )
