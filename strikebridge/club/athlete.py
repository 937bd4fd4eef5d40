"""An athlete of the roster."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

LONGEST_NAME = 60  # letters; more cannot be read from across the room
LONGEST_NOTE = 500  # letters
HEAVIEST_KG = 400.0  # beyond it a slip of the keys is likelier than an athlete
LIGHTEST_KG = 15.0  # the same the other way


class Stance(StrEnum):
    """Which side stands in front; it decides which hand leads."""

    ORTHODOX = "orthodox"
    SOUTHPAW = "southpaw"


class Hand(StrEnum):
    """A hand as the athlete has it."""

    LEFT = "left"
    RIGHT = "right"


class Side(StrEnum):
    """A hand as the stance has it."""

    LEAD = "lead"
    REAR = "rear"


class AgeGroup(StrEnum):
    """As much as has to be known of an age."""

    UNDER_18 = "under 18"
    ADULT = "adult"


class Care(StrEnum):
    """What the coach is reminded of at the athlete's turn."""

    WRIST = "wrist"
    SHOULDER = "shoulder"
    BLOOD_PRESSURE = "blood pressure"


@dataclass(frozen=True, slots=True)
class Consent:
    """That storing was agreed to.

    Attributes:
        given_on: day of the consent.
        given_by: who gave it, such as `mother`; for an adult the athlete's own.
    """

    given_on: date
    given_by: str


@dataclass(frozen=True, slots=True)
class BodyMass:
    """One weighing.

    Attributes:
        weighed_on: the day.
        mass_kg: body mass [kg].
    """

    weighed_on: date
    mass_kg: float


@dataclass(frozen=True, slots=True)
class Athlete:
    """An athlete; what a recording names is only the id.

    Attributes:
        id: random, says nothing of the person.
        name: name or alias, as it is called out.
        stance: orthodox or southpaw.
        age_group: under 18 or adult; where a year of birth is known it decides instead.
        born_year: year of birth, None where it is not on record.
        consent: consent to store, None where none is on record.
        cares: what to be reminded of at this athlete's turn.
        note: a sentence of the coach's own; may be empty.
        masses: weighings, oldest first.
        groups: names of the groups the athlete is in, in the order of the alphabet.
    """

    id: str
    name: str
    stance: Stance
    age_group: AgeGroup
    born_year: int | None = None
    consent: Consent | None = None
    cares: frozenset[Care] = frozenset()
    note: str = ""
    masses: tuple[BodyMass, ...] = ()
    groups: tuple[str, ...] = ()

    @property
    def mass_kg(self) -> float | None:
        """The newest body mass [kg], None where none is on record."""
        return self.masses[-1].mass_kg if self.masses else None


def hand_of(side: Side, stance: Stance) -> Hand:
    """Say which hand it is.

    Args:
        side: lead or rear.
        stance: the athlete's; orthodox leads with the left, southpaw with the right.

    Returns:
        The hand.
    """
    leads_left = stance is Stance.ORTHODOX
    return Hand.LEFT if leads_left == (side is Side.LEAD) else Hand.RIGHT


def tidy_name(name: str) -> str:
    """Write a name one way: composed letters, single spaces, none at the ends.

    Args:
        name: as typed.

    Returns:
        The same name; may be empty.
    """
    return " ".join(unicodedata.normalize("NFC", name).split())


def name_key(name: str) -> str:
    """Say what makes two names the same: capitals, spaces and the way of typing do not.

    Args:
        name: a name.

    Returns:
        A key to compare, never to show.
    """
    return unicodedata.normalize("NFC", tidy_name(name).casefold())


def name_fault(name: str) -> str:
    """Say what is wrong with a name of an athlete or a group.

    Args:
        name: tidied by `tidy_name`.

    Returns:
        A sentence, empty where it will do.
    """
    if not name:
        return "there is no name; write a name or an alias."
    if len(name) > LONGEST_NAME:
        return f"the name has {len(name)} letters; {LONGEST_NAME} at most can be shown."
    if not name.isprintable():
        return "the name has a letter that cannot be shown; type it again."
    return ""


def mass_fault(mass_kg: float) -> str:
    """Say what is wrong with a body mass.

    Args:
        mass_kg: body mass [kg].

    Returns:
        A sentence, empty where it will do.
    """
    if LIGHTEST_KG <= mass_kg <= HEAVIEST_KG:  # False for NaN as well
        return ""
    return (
        f"{mass_kg:g} kg is no body mass; write kilograms from {LIGHTEST_KG:g} to "
        f"{HEAVIEST_KG:g}."
    )
