"""Plates as the coach declares them: a word on the command line, or a small table.

A word is `A=20`, `A=20±0.4` (or `+-`) or `A=20±2%`; the table is CSV with the columns `name`
and `mass_kg`, and as wanted `tolerance_kg` and `make`. A plate whose tolerance
nobody knows counts as one of a club: off by up to `CLUB_TOLERANCE`, and all of them in the same
way, because they may well come from one make, and an error that all share is the one that no
walk averages out.
"""

from __future__ import annotations

import csv
import io
import math
import re
from typing import TYPE_CHECKING

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Sequence

CLUB_TOLERANCE = 0.03
"""Share of its mass by which a club's plate may be off (common practice, no source)."""
CLUB = "club"
"""Make of the plates of which nobody said anything."""
COLUMNS = ("name", "mass_kg", "tolerance_kg", "make")
_WORD = re.compile(
    r"(?P<name>[^=]+)=(?P<kg>[0-9.eE+]+?)(?:(?:±|\+-|\+/-)(?P<tolerance>[0-9.eE]+)(?P<share>%)?)?"
)


def parse_plate(word: str) -> PlateRecord:
    """Read one plate from a word.

    Args:
        word: such as `A=20±0.4`.

    Returns:
        The plate.

    Raises:
        FormatError: it cannot be read; says how to write it.
    """
    found = _WORD.fullmatch(word.strip())
    kg = _number(found["kg"]) if found else math.nan
    tolerance = _number(found["tolerance"] or "0") if found else math.nan
    if found is None or not math.isfinite(kg + tolerance):
        msg = (
            f"{word!r} is no plate. Write name, kilograms and what they may be off:"
            " A=20, A=20±0.4 or A=20±2%."
        )
        raise FormatError(msg)
    if found["share"]:
        tolerance *= kg / 100.0
    is_said = found["tolerance"] is not None
    return plate(found["name"].strip(), kg, tolerance if is_said else None)


def parse_plates(text: str) -> tuple[PlateRecord, ...]:
    """Read plates from a table.

    Args:
        text: CSV with a header.

    Returns:
        The plates, in the order of the lines.

    Raises:
        FormatError: names line and column of what is wrong.
    """
    reader = csv.DictReader(io.StringIO(text, newline=""), skipinitialspace=True, strict=True)
    plates: list[PlateRecord] = []
    try:
        header = [name.strip() for name in reader.fieldnames or ()]
        _check_header(header)
        reader.fieldnames = header
        plates += (_plate_of(fields, reader.line_num) for fields in reader)
    except csv.Error as error:
        line = reader.reader.line_num  # that of the other one waits for the row to be whole
        msg = f"Line {line} is no CSV ({error}). Check its quotation marks."
        raise FormatError(msg, line=line) from error
    if not plates:
        msg = "The table names no plates: one line a plate, such as A,20,0.4."
        raise FormatError(msg, line=2, column="name")
    return tuple(plates)


def plate(name: str, mass_kg: float, tolerance_kg: float | None, make: str = "") -> PlateRecord:
    """Declare a plate.

    Args:
        name: what the coach calls it.
        mass_kg: mass on its face [kg].
        tolerance_kg: what it may be off [kg], None where nobody knows.
        make: plates of one make share their error.

    Returns:
        The plate.
    """
    if tolerance_kg is None:
        return PlateRecord(name, mass_kg, CLUB_TOLERANCE * mass_kg, make or CLUB)
    return PlateRecord(name, mass_kg, tolerance_kg, make)


def assumed_words(plates: Sequence[PlateRecord]) -> str:
    """Say what was assumed of plates, empty where nothing was."""
    assumed = [one for one in plates if one.make == CLUB]
    if not assumed:
        return ""
    names, first = ", ".join(one.name for one in assumed), assumed[0]
    return (
        f"Nothing was said of how far {names} may be off: taken as ±{CLUB_TOLERANCE:.0%}, as"
        f" plates of a club are. Weigh them and say so: {first.name}={first.mass_kg:g}±0.05."
    )


def _check_header(header: list[str]) -> None:
    unknown = [name for name in header if name not in COLUMNS]
    if unknown or not {"name", "mass_kg"} <= set(header) or len(set(header)) < len(header):
        msg = (
            "Line 1 must name the columns name and mass_kg, and as wanted tolerance_kg and"
            f" make, each once; it names {', '.join(header) or 'none'}."
        )
        raise FormatError(msg, line=1, column=(unknown or header or ["name"])[0])


def _plate_of(fields: dict[str, str | None], line: int) -> PlateRecord:
    words = {name: (fields.get(name) or "").strip() for name in COLUMNS}
    if None in fields:
        msg = f"Line {line} has more fields than the header has columns. Decimals need a point."
        raise FormatError(msg, line=line)
    numbers = {}
    for column in ("mass_kg", "tolerance_kg"):
        numbers[column] = _number(words[column])
        is_missing = column == "tolerance_kg" and not words[column]
        if not is_missing and not math.isfinite(numbers[column]):
            said = repr(words[column]) if words[column] else "an empty field"
            msg = f"Line {line}, column {column}: {said} is no number. Write it like 12.5."
            raise FormatError(msg, line=line, column=column)
    tolerance_kg = numbers["tolerance_kg"] if words["tolerance_kg"] else None
    return plate(words["name"], numbers["mass_kg"], tolerance_kg, words["make"])


def _number(word: str) -> float:
    try:
        return float(word)
    except ValueError:
        return math.nan
