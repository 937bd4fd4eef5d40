"""Take athletes and exercises in as they are typed: the same checks for terminal and window.

What is wrong comes back field by field, and then nothing has been written. What is typed of an
under-age athlete is held in memory alone until consent is among it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from strikebridge.club.athlete import Side, name_fault, tidy_name
from strikebridge.club.entry import CARE_FIELDS, FieldFault, fields_of, read_entry
from strikebridge.club.exercise import Arm, Exercise, Way, key_fault, key_of_name
from strikebridge.club.roster_table import read_roster
from strikebridge.errors import FormatError, RosterError
from strikebridge.session.exercises import find, with_own
from strikebridge.store.roster import local_day

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.entry import Entry
    from strikebridge.store.exercises import OwnExercises
    from strikebridge.store.roster import Roster

BOTH_SIDES = "both"
SIDES = ("", *(side.value for side in Side), BOTH_SIDES)
WAYS = (Way.TIMED.value, Way.MEASURED.value)
WORD = re.compile(r"[^\W\d_]{2}")  # two letters in a row
LARGEST_BYTES = 20_000_000  # a roster of ten thousand has some two million


def entry_of(fields: Mapping[str, str], before: Athlete | None = None) -> Entry:
    """Make an athlete of what was typed.

    Args:
        fields: text by name of the field; those left out are empty.
        before: the athlete as on record, None for a new one; earlier weighings stay, and so do
            the groups unless `groups` is among the fields.

    Returns:
        The athlete, or all that is wrong.
    """
    entry = read_entry(fields, local_day())
    made = entry.athlete
    if made is None or before is None:
        return entry
    days = {mass.weighed_on: mass for mass in (*before.masses, *made.masses)}
    masses = tuple(days[day] for day in sorted(days))
    groups = made.groups if "groups" in fields else before.groups
    return replace(entry, athlete=replace(made, id=before.id, masses=masses, groups=groups))


def fields_left(
    athlete: Athlete, said: Mapping[str, str | None], *, is_care_new: bool
) -> dict[str, str]:
    """Give the fields as they were, less those that what is said now does away with.

    Args:
        athlete: as on record.
        said: what is said now, by name of the field; None where nothing is said of it.
        is_care_new: True where what to be reminded of is said anew.
    """
    fields = fields_of(athlete)
    dropped = {"mass_kg", "weighed_on", "groups"}  # these are kept as they are
    if said["born_year"] is not None and said["age_group"] is None:
        dropped.add("age_group")
    if said["age_group"] is not None and said["born_year"] is None:
        dropped.add("born_year")
    if is_care_new:
        dropped |= CARE_FIELDS.keys()
    return {name: text for name, text in fields.items() if name not in dropped}


def import_table(roster: Roster, file: Path) -> tuple[Athlete, ...]:
    """Add all athletes of a CSV, or none.

    Args:
        roster: where they go.
        file: the table.

    Returns:
        Who was added.

    Raises:
        FaultyFileError: something is wrong with it; all of it is named by line and column.
        FormatError: the file cannot be read as text.
        RosterError: somebody came in between with the same name.
        StoreError: the database cannot be used.
    """
    text = table_text(file)
    taken = [one.name for one in roster.all()]
    found = read_roster(text, file.name, taken, local_day())
    roster.add_all(found)
    return found


@dataclass(frozen=True, slots=True)
class ExerciseEntry:
    """What became of the fields of an exercise.

    Attributes:
        exercises: one, or the lead and the rear one; empty where something is wrong.
        faults: everything that is wrong.
    """

    exercises: tuple[Exercise, ...]
    faults: tuple[FieldFault, ...] = ()


def exercise_entry(fields: Mapping[str, str], own: Sequence[Exercise]) -> ExerciseEntry:
    """Make an exercise of what was typed.

    Args:
        fields: `name`, `way` (timed, measured), `side` (lead, rear, both, or none), `arm`
            (straight, bent, or none); those left out are empty.
        own: the coach's own exercises so far.

    Returns:
        The exercises, or all that is wrong.
    """
    name = tidy_name(fields.get("name", ""))
    faults = [FieldFault("name", fault) for fault in [_exercise_name_fault(name)] if fault]
    for field, words in (("way", WAYS), ("side", SIDES), ("arm", ("", *Arm))):
        said = fields.get(field, "")
        if said not in words:
            wanted = ", ".join(word for word in words if word)
            faults.append(FieldFault(field, f"{said!r} will not do; write {wanted}."))
    if faults:
        return ExerciseEntry((), tuple(faults))
    made = _exercises(name, fields)
    known = with_own(own)
    for one in made:
        fault = key_fault(one.key)
        # a word that means both sides must go on meaning them
        if taken := find(one.key, known):
            names = " and ".join(other.name for other in taken)
            fault = f"there is {names} with the word {one.key} already; choose another name."
        if fault:
            return ExerciseEntry((), (FieldFault("name", fault),))
    return ExerciseEntry(made)


def _exercise_name_fault(name: str) -> str:
    """Say what is wrong with a name that a plan's word is to be made of."""
    if name and not WORD.search(name):
        return f"{name!r} has no word in it for a plan to use; write one such as wall sit."
    return name_fault(name)


def add_exercises(own: OwnExercises, entry: ExerciseEntry) -> None:
    """Put exercises beside the program's.

    Args:
        own: where they go.
        entry: without faults.

    Raises:
        RosterError: one of them will not do.
        StoreError: the database cannot be written.
    """
    if entry.faults:
        raise RosterError(" ".join(fault.words for fault in entry.faults))
    own.put_all(entry.exercises)


def _exercises(name: str, fields: Mapping[str, str]) -> tuple[Exercise, ...]:
    way, arm = Way(fields["way"]), fields.get("arm", "")
    side = fields.get("side", "")
    sides: list[Side | None] = [None]
    if side:
        sides = list(Side) if side == BOTH_SIDES else [Side(side)]
    return tuple(
        Exercise(
            key_of_name(name if one is None else f"{one.value} {name}"),
            name if one is None else f"{one.value} {name}",
            way,
            one,
            Arm(arm) if arm else None,
        )
        for one in sides
    )


def table_text(file: Path) -> str:
    """Read a table that was typed.

    Args:
        file: the file.

    Raises:
        FormatError: it cannot be read, is no text in UTF-8, or too large.
    """
    try:
        if file.stat().st_size > LARGEST_BYTES:
            raise FormatError(
                f"{file} is too large for a table that was typed; choose another one."
            )
        return file.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise FormatError(f"{file} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise FormatError(
            f"{file} is not text in UTF-8: save the table as CSV in UTF-8 and try again."
        ) from error
