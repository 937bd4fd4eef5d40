"""An athlete as typed, field by field, be it in a table, a window or a command.

Every field is text. All that is wrong is said at once, each with its field.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from strikebridge.club.athlete import (
    LONGEST_NOTE,
    AgeGroup,
    Athlete,
    BodyMass,
    Care,
    Consent,
    Stance,
    mass_fault,
    name_fault,
    tidy_name,
)
from strikebridge.club.consent import (
    age_fault,
    day_fault,
    group_of_year,
    may_be_stored,
    year_fault,
)
from strikebridge.club.training import new_id

if TYPE_CHECKING:
    from collections.abc import Mapping

FIELDS = (
    "name",
    "stance",
    "age_group",
    "born_year",
    "mass_kg",
    "weighed_on",
    "consent_on",
    "consent_by",
    "wrist",
    "shoulder",
    "blood_pressure",
    "note",
    "groups",
)
CARE_FIELDS = {care.value.replace(" ", "_"): care for care in Care}
BETWEEN_GROUPS = "|"
_YES = frozenset({"yes", "y", "x", "1", "true"})
_NO = frozenset({"", "no", "n", "0", "false"})

W = TypeVar("W", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class FieldFault:
    """What is wrong with one field.

    Attributes:
        field: name of the field.
        words: a sentence that says what to write instead.
    """

    field: str
    words: str


@dataclass(frozen=True, slots=True)
class Entry:
    """What became of the fields.

    Attributes:
        athlete: the athlete with a new id, None where something is wrong.
        faults: everything that is wrong.
    """

    athlete: Athlete | None
    faults: tuple[FieldFault, ...] = ()


def fields_of(athlete: Athlete) -> dict[str, str]:
    """Write an athlete as fields, with the newest body mass.

    Args:
        athlete: the athlete.

    Returns:
        One text for each of `FIELDS`; what is not known is empty.
    """
    newest = athlete.masses[-1] if athlete.masses else None
    consent = athlete.consent
    return {
        "name": athlete.name,
        "stance": athlete.stance.value,
        "age_group": athlete.age_group.value,
        "born_year": "" if athlete.born_year is None else str(athlete.born_year),
        "mass_kg": "" if newest is None else repr(newest.mass_kg),
        "weighed_on": "" if newest is None else newest.weighed_on.isoformat(),
        "consent_on": "" if consent is None else consent.given_on.isoformat(),
        "consent_by": "" if consent is None else consent.given_by,
        **{
            field: "yes" if care in athlete.cares else "" for field, care in CARE_FIELDS.items()
        },
        "note": athlete.note,
        "groups": BETWEEN_GROUPS.join(athlete.groups),
    }


def read_entry(fields: Mapping[str, str], today: date) -> Entry:
    """Make an athlete of fields.

    Args:
        fields: text by name of the field; those left out are empty.
        today: the day.

    Returns:
        The athlete, or all that is wrong.
    """
    reader = _Reader(fields, today)
    athlete = reader.athlete()
    faults = tuple(reader.faults)
    return Entry(None if faults else athlete, faults)


class _Reader:
    """Reads the fields of one athlete; where one is wrong a stand-in goes on."""

    def __init__(self, fields: Mapping[str, str], today: date) -> None:
        self._fields = fields
        self._today = today
        self.faults: list[FieldFault] = []

    def athlete(self) -> Athlete:
        name = tidy_name(self._text("name"))
        self._mind("name", name_fault(name))
        born_year = self._born_year()
        athlete = Athlete(
            id=new_id(),
            name=name,
            stance=self._one_of("stance", Stance, Stance.ORTHODOX),
            age_group=self._age_group(born_year),
            born_year=born_year,
            consent=self._consent(),
            cares=frozenset(care for field, care in CARE_FIELDS.items() if self._is_yes(field)),
            note=self._note(),
            masses=self._masses(),
            groups=self._groups(),
        )
        if not self.faults:
            self._mind("age_group", age_fault(athlete, self._today))
            if not self.faults and not may_be_stored(athlete, self._today):
                self._mind(
                    "consent_on",
                    "under 18, and no consent is recorded. Ask a parent or guardian, then "
                    "give consent_on and consent_by.",
                )
        return athlete

    def _text(self, field: str) -> str:
        return self._fields.get(field, "").strip()

    def _mind(self, field: str, words: str) -> None:
        if words:
            self.faults.append(FieldFault(field, words))

    def _one_of(self, field: str, words: type[W], otherwise: W) -> W:
        said = self._text(field).casefold()
        for word in words:
            if word.value == said:
                return word
        known = " or ".join(word.value for word in words)
        self._mind(field, f"{_quoted(said)} will not do; write {known}.")
        return otherwise

    def _born_year(self) -> int | None:
        said = self._text("born_year")
        if not said:
            return None
        if not (said.isascii() and said.isdigit()):
            self._mind("born_year", f"{_quoted(said)} is no year; write one such as 2001.")
            return None
        fault = year_fault(int(said[:9]), self._today)
        self._mind("born_year", fault)
        return None if fault else int(said)

    def _age_group(self, born_year: int | None) -> AgeGroup:
        if self._text("age_group"):
            return self._one_of("age_group", AgeGroup, AgeGroup.UNDER_18)
        if born_year is not None:
            return group_of_year(born_year, self._today)
        if not self._text("born_year"):
            self._mind(
                "age_group",
                "no age is given; write adult or under 18, or give born_year.",
            )
        return AgeGroup.UNDER_18

    def _day(self, field: str) -> date | None:
        said = self._text(field)
        try:
            # fromisoformat also takes 20260301 and 2026-W09-7, which people misread
            day = date.fromisoformat(said) if len(said) == 10 and said[4] == "-" else None
            day = None if day is None or day.isoformat() != said else day
        except ValueError:
            day = None
        if day is None:
            self._mind(field, f"{_quoted(said)} is no day; write it as 2026-03-01.")
            return None
        self._mind(field, day_fault(day, self._today))
        return day

    def _consent(self) -> Consent | None:
        given_on, given_by = self._text("consent_on"), self._text("consent_by")
        if not given_on and not given_by:
            return None
        if not given_by:
            self._mind("consent_by", "who agreed is missing; write it, such as mother.")
        elif len(given_by) > LONGEST_NOTE or not given_by.isprintable():
            self._mind("consent_by", "this cannot be kept; write a few plain words.")
        if not given_on:
            self._mind("consent_on", "the day is missing; write it as 2026-03-01.")
            return None
        day = self._day("consent_on")
        return None if day is None else Consent(day, given_by)

    def _is_yes(self, field: str) -> bool:
        said = self._text(field).casefold()
        if said not in _YES and said not in _NO:
            self._mind(field, f"{_quoted(said)} will not do; write yes or no.")
        return said in _YES

    def _note(self) -> str:
        note = self._text("note")
        if len(note) > LONGEST_NOTE:
            self._mind(
                "note", f"{len(note)} letters are too many; write {LONGEST_NOTE} at most."
            )
        return note

    def _masses(self) -> tuple[BodyMass, ...]:
        said = self._text("mass_kg")
        if not said:
            if self._text("weighed_on"):
                self._mind("mass_kg", "the body mass is missing beside its day.")
            return ()
        day = self._day("weighed_on") if self._text("weighed_on") else self._today
        try:
            mass_kg = float("" if "_" in said else said)
        except ValueError:
            self._mind(
                "mass_kg", f"{_quoted(said)} is no number; write kilograms, such as 63.5."
            )
            return ()
        self._mind("mass_kg", mass_fault(mass_kg))
        return () if day is None else (BodyMass(day, mass_kg),)

    def _groups(self) -> tuple[str, ...]:
        said = self._text("groups")
        if not said:
            return ()
        groups = [tidy_name(group) for group in said.split(BETWEEN_GROUPS)]
        for group in groups:
            self._mind("groups", name_fault(group))
        return tuple(sorted(set(groups)))


def _quoted(said: str) -> str:
    return repr(said[:40]) if said else "an empty field"
