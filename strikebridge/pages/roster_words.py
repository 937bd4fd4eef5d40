"""What the page of the athletes says of each of them, and what its form asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.athlete import AgeGroup, Stance
from strikebridge.club.consent import is_under_age
from strikebridge.club.entry import BETWEEN_GROUPS, CARE_FIELDS, FIELDS, FieldFault, fields_of
from strikebridge.pages.sheet import Field, FieldKind, SideWords

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from strikebridge.club.athlete import Athlete, BodyMass

GATE = (
    "Nothing of an athlete under 18 is stored before consent is recorded: who agreed, a parent "
    "or guardian, and when."
)
LABELS: dict[str, str] = {
    "name": "Name or alias",
    "stance": "Stance",
    "age_group": "Age group",
    "born_year": "Year of birth",
    "mass_kg": "Body mass",
    "weighed_on": "Weighed on",
    "consent_on": "Consent given on",
    "consent_by": "Consent given by",
    "wrist": "Mind the wrist",
    "shoulder": "Mind the shoulder",
    "blood_pressure": "Mind the blood pressure",
    "note": "Note",
    "groups": "Groups",
}
"""Field -> as the coach reads it."""

HINTS: dict[str, str] = {
    "name": "as it is called out",
    "stance": "which side stands in front",
    "age_group": "or the year of birth",
    "born_year": "such as 2001; may stay empty",
    "mass_kg": "kilograms, such as 63.5; may stay empty",
    "weighed_on": "such as 2026-03-01; empty means today",
    "consent_on": "needed under 18, such as 2026-03-01",
    "consent_by": "who agreed, such as mother",
    "wrist": "you are reminded at their turn",
    "note": "a sentence of your own",
    "groups": f"such as Seniors {BETWEEN_GROUPS} Tuesday",
}
CHOICES: dict[str, tuple[str, ...]] = {
    "stance": ("", *Stance),
    "age_group": ("", *AgeGroup),
}


def day_words(day: date) -> str:
    """Write a day as a coach reads it, such as `12 Jan 2026`."""
    return f"{day.day} {day:%b %Y}"


def mass_words(mass: BodyMass) -> str:
    """Write a weighing with its day."""
    return f"{mass.mass_kg:.1f} kg, {day_words(mass.weighed_on)}"


def age_words(athlete: Athlete, today: date) -> str:
    """Say the age group as it is today.

    Args:
        athlete: the athlete.
        today: the day.
    """
    return AgeGroup.UNDER_18.value if is_under_age(athlete, today) else AgeGroup.ADULT.value


def consent_words(athlete: Athlete, today: date) -> str:
    """Say whether consent is on record.

    Args:
        athlete: the athlete.
        today: the day.
    """
    if athlete.consent is not None:
        return f"{athlete.consent.given_by}, {day_words(athlete.consent.given_on)}"
    return "missing" if is_under_age(athlete, today) else "not needed"


def care_words(athlete: Athlete) -> str:
    """Say what to be reminded of."""
    return ", ".join(sorted(care.value for care in athlete.cares))


def athlete_cells(athlete: Athlete, today: date) -> tuple[str, ...]:
    """Write an athlete as a row of the list.

    Args:
        athlete: the athlete.
        today: the day.
    """
    mass = mass_words(athlete.masses[-1]) if athlete.masses else "not on record"
    return (
        athlete.name,
        athlete.stance.value,
        age_words(athlete, today),
        mass,
        consent_words(athlete, today),
        care_words(athlete) or "-",
    )


def athlete_side(athlete: Athlete) -> tuple[SideWords, ...]:
    """Say the rest of what is known of an athlete, beside the list.

    Args:
        athlete: the athlete.
    """
    groups = ", ".join(athlete.groups)
    said = [
        SideWords(athlete.name, is_head=True),
        SideWords(f"Groups: {groups}." if groups else "In no group."),
    ]
    if len(athlete.masses) > 1:
        earlier = "; ".join(mass_words(mass) for mass in athlete.masses[-4:-1])
        said.append(SideWords(f"Earlier: {earlier}."))
    if athlete.note:
        said.append(SideWords(athlete.note))
    return tuple(said)


def athlete_fields(before: Athlete | None, groups: Iterable[str]) -> tuple[Field, ...]:
    """Say what is asked for.

    Args:
        before: the athlete as on record, None for a new one.
        groups: names of the groups there are.
    """
    values = {} if before is None else fields_of(before)
    hints = dict(HINTS)
    known = f" {BETWEEN_GROUPS} ".join(groups)
    if known:
        hints["groups"] = f"separated by {BETWEEN_GROUPS}; there are: {known}"
    if before is not None:
        # a new weighing joins the earlier ones; left as it stood it would be written over
        values |= {"mass_kg": "", "weighed_on": ""}
        if before.masses:
            hints["mass_kg"] = f"newest {mass_words(before.masses[-1])}; another joins it"
    return tuple(
        Field(
            key,
            LABELS[key],
            hints.get(key, ""),
            _kind(key),
            CHOICES.get(key, ()),
            values.get(key, ""),
        )
        for key in FIELDS
    )


def in_labels(faults: Sequence[FieldFault]) -> tuple[FieldFault, ...]:
    """Write faults with the labels of the form in place of the names of the fields.

    Args:
        faults: as the checks say them.
    """
    return tuple(FieldFault(fault.field, _labelled(fault.words)) for fault in faults)


def _labelled(words: str) -> str:
    for name, label in LABELS.items():
        if "_" in name:  # the others are plain words, which stay
            words = words.replace(name, label)
    return words


def _kind(key: str) -> FieldKind:
    if key in CARE_FIELDS:
        return FieldKind.YES
    return FieldKind.CHOICE if key in CHOICES else FieldKind.TEXT
