"""Results of days gone by, typed into a spreadsheet: read in full or not at all.

One row a rep. A header names the columns in any order: `athlete`, `day`, `exercise`, and
`peak`, `held` or both (a peak, and what a scale stood at while it was held), with their unit in
the column `unit`. As wanted: `hold_s`, `effort`, `set`, `cue`, and the set-up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from strikebridge.club.athlete import name_key
from strikebridge.club.consent import day_fault
from strikebridge.club.exercise import Way
from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup
from strikebridge.club.table_text import TableText
from strikebridge.samples import Effort
from strikebridge.units import ForceUnit, to_newtons

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.exercise import Exercise

NEEDED = ("athlete", "day", "exercise", "unit")
FORCES = {"peak": "peak_force", "held": "hold_mean"}
"""Column -> the measure that it is."""
LENGTHS = {"pad_height_m": (0.3, 3.0), "distance_m": (0.1, 3.0), "elbow_deg": (30.0, 180.0)}
UNIT_WORDS = {"hold_s": "s", "pad_height_m": "m", "distance_m": "m", "elbow_deg": "degrees"}
"""Column -> unit as it is said; the others have none, or the one of the row."""
WORDS = {"pad": Pad, "cover": Cover, "fist": Fist, "feet": Feet}
FIELDS = (*NEEDED, *FORCES, "hold_s", "effort", "set", "cue", *LENGTHS, *WORDS)
POSSIBLE = {
    ForceUnit.KG: (1.0, 500.0),
    ForceUnit.N: (10.0, 5000.0),
    ForceUnit.LB: (2.0, 1100.0),
}
"""Unit -> least and most taken: nobody who pushes holds less, nobody half of the other."""
MOST_HOLD_S = 60.0
MOST_SETS = 50
LONGEST_CUE = 60
NAMED_LINES = 3  # of a name that is not in the roster; the rest are counted

W = TypeVar("W", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class TypedForce:
    """One force of a rep.

    Attributes:
        measure: `peak_force` or `hold_mean`.
        value_N: the force [N].
        step_N: smallest step of what was typed [N].
    """

    measure: str
    value_N: float
    step_N: float


@dataclass(frozen=True, slots=True)
class TypedResult:
    """One rep of a day gone by.

    Attributes:
        athlete: whose.
        day: when.
        exercise: what.
        forces: its peak, what was held, or both.
        hold_s: seconds prescribed [s], None where not known.
        effort: maximal or submaximal.
        set_number: which set, from 1.
        cue: cue given before it, empty without one.
        setup: how wall and fist were set up.
    """

    athlete: Athlete
    day: date
    exercise: Exercise
    forces: tuple[TypedForce, ...]
    hold_s: float | None = None
    effort: Effort = Effort.MAXIMAL
    set_number: int = 1
    cue: str = ""
    setup: RigSetup = field(default_factory=RigSetup)


@dataclass(frozen=True, slots=True)
class Known:
    """What a table may refer to.

    Attributes:
        athletes: the roster, by `name_key`.
        exercises: by key.
        today: the day.
    """

    athletes: Mapping[str, Athlete]
    exercises: Mapping[str, Exercise]
    today: date


def read_past(text: str, table: str, known: Known) -> tuple[TypedResult, ...]:
    """Read results of days gone by.

    Args:
        text: the table.
        table: name of the file, for messages.
        known: what it may refer to.

    Returns:
        The results, in the order of the table.

    Raises:
        FaultyFileError: something is wrong; all of it is named, by line and column.
    """
    lines = TableText(text, table)
    strangers = _Strangers()
    results = [
        _Row(lines, line, fields, known, strangers).result()
        for line, fields in lines.rows(FIELDS, NEEDED)
    ]
    strangers.mind(lines)
    lines.refuse()
    return tuple(one for one in results if one is not None)


class _Strangers:
    """Collects who is not in the roster, so that a name is said once and not for each row."""

    def __init__(self) -> None:
        self._lines: dict[str, tuple[str, list[int]]] = {}

    def note(self, name: str, line: int) -> None:
        """Note that a row is of somebody who is not in the roster."""
        self._lines.setdefault(name_key(name), (name, []))[1].append(line)

    def mind(self, table: TableText) -> None:
        """Say each name with its lines, before what else is wrong: it explains the most."""
        for name, lines in reversed(self._lines.values()):
            words = f"{name!r} is not in the roster: {_listed(lines)}. Add the athlete first."
            table.mind_first(lines[0], "athlete", words)


def _listed(lines: Sequence[int]) -> str:
    """List lines of a file, the first ones by number and the rest by how many."""
    if len(lines) == 1:
        return f"line {lines[0]}"
    more = len(lines) - NAMED_LINES
    if more > 0:
        shown, last = lines[:NAMED_LINES], f"{more} more"
    else:
        shown, last = lines[:-1], str(lines[-1])
    return f"lines {', '.join(map(str, shown))} and {last}"


class _Row:
    """Reads one row."""

    def __init__(
        self,
        lines: TableText,
        line: int,
        fields: Mapping[str, str],
        known: Known,
        strangers: _Strangers,
    ) -> None:
        self._lines = lines
        self._line = line
        self._fields = fields
        self._known = known
        self._strangers = strangers

    def result(self) -> TypedResult | None:
        """Read the row; None where something is wrong, which is then minded."""
        athlete, exercise, day = self._athlete(), self._exercise(), self._day()
        forces, setup = self._forces(), self._setup()
        hold_s = self._number("hold_s", (0.5, MOST_HOLD_S))
        set_number = self._number("set", (1.0, MOST_SETS))
        effort = self._one_of("effort", Effort) or Effort.MAXIMAL
        cue = self._cue()
        if athlete is None or exercise is None or day is None or not forces:
            return None
        return TypedResult(
            athlete=athlete,
            day=day,
            exercise=exercise,
            forces=forces,
            hold_s=hold_s,
            effort=effort,
            set_number=1 if set_number is None else round(set_number),
            cue=cue,
            setup=setup,
        )

    def _text(self, field: str) -> str:
        return self._fields.get(field, "")

    def _mind(self, field: str, words: str) -> None:
        self._lines.mind(self._line, field, words)

    def _athlete(self) -> Athlete | None:
        said = self._text("athlete")
        found = self._known.athletes.get(name_key(said))
        if not said:
            self._mind("athlete", "nobody is named; write a name of the roster.")
        elif found is None:
            self._strangers.note(said, self._line)
        return found

    def _exercise(self) -> Exercise | None:
        said = self._text("exercise").casefold().replace(" ", "-")
        found = self._known.exercises.get(said)
        if found is None or found.way is Way.TIMED:
            measured = ", ".join(
                key for key, one in self._known.exercises.items() if one.way is Way.MEASURED
            )
            self._mind("exercise", f"{said!r} is no measured exercise; those are: {measured}.")
            return None
        return found

    def _day(self) -> date | None:
        said = self._text("day")
        try:
            day = date.fromisoformat(said)
        except ValueError:
            self._mind("day", f"{said!r} is no day; write it as 2026-03-01.")
            return None
        if fault := day_fault(day, self._known.today):
            self._mind("day", fault)
        return day

    def _forces(self) -> tuple[TypedForce, ...]:
        """Read the forces of the row; none where something is wrong, which is then minded."""
        given = [field for field in FORCES if self._text(field)]
        unit = self._one_of("unit", ForceUnit)
        if not given:
            self._mind("peak", "write a peak, or what was held in the column held, or both.")
            return ()
        if unit is None:
            if not self._text("unit"):
                self._mind("unit", "the unit is missing; write kg, N or lb.")
            return ()
        values = [self._number(field, POSSIBLE[unit], unit.value) for field in given]
        sound = [value for value in values if value is not None]
        if len(sound) < len(given):
            return ()
        if sound[-1] > sound[0]:
            self._mind(
                "held", f"{sound[-1]:g} {unit} held is above the peak of {sound[0]:g} {unit}."
            )
            return ()
        return tuple(
            TypedForce(FORCES[field], to_newtons(value, unit), self._step_N(field, unit))
            for field, value in zip(given, sound, strict=True)
        )

    def _step_N(self, field: str, unit: ForceUnit) -> float:
        """Say how finely a force was typed [N]."""
        _, _, decimals = self._lines.number(self._text(field)).partition(".")
        return to_newtons(10.0 ** -len(decimals), unit)

    def _number(self, field: str, limits: tuple[float, float], unit: str = "") -> float | None:
        said = self._text(field)
        if not said:
            return None
        try:
            value = float("" if "_" in said else self._lines.number(said))
        except ValueError:
            self._mind(field, f"{said!r} is no number; write one such as 63.5.")
            return None
        if not math.isfinite(value) or not limits[0] <= value <= limits[1]:
            unit = f" {unit or UNIT_WORDS.get(field, '')}".rstrip()
            possible = f"{limits[0]:g} to {limits[1]:g}{unit} is possible."
            self._mind(field, f"{said} will not do; {possible}")
            return None
        return value

    def _one_of(self, field: str, words: type[W]) -> W | None:
        said = self._text(field)
        for word in words:
            if word.value.casefold() == said.casefold():
                return word
        if said:
            those = ", ".join(word.value for word in words)
            self._mind(field, f"{said!r} will not do; those are: {those}.")
        return None

    def _setup(self) -> RigSetup:
        return RigSetup(
            pad_height_m=self._number("pad_height_m", LENGTHS["pad_height_m"]),
            distance_m=self._number("distance_m", LENGTHS["distance_m"]),
            pad=self._one_of("pad", Pad),
            cover=self._one_of("cover", Cover),
            fist=self._one_of("fist", Fist),
            elbow_deg=self._number("elbow_deg", LENGTHS["elbow_deg"]),
            feet=self._one_of("feet", Feet),
        )

    def _cue(self) -> str:
        cue = self._text("cue")
        if len(cue) > LONGEST_CUE or not cue.isprintable():
            self._mind(
                "cue", f"this cannot be kept; write {LONGEST_CUE} plain letters at most."
            )
        return cue
