"""A roster as a CSV table: read in full or not at all, every mistake named by line and column.

A header names the columns, which are the fields of `strikebridge.club.entry` in any order;
`name` and `stance` must be there, and `age_group` or `born_year`. Fields are separated by
commas (RFC 4180) or, as spreadsheets of some countries write it, by semicolons; then a decimal
comma is right as well.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from strikebridge.club.athlete import name_key
from strikebridge.club.entry import FIELDS, read_entry
from strikebridge.errors import FaultyFileError, FormatError

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from datetime import date

    from strikebridge.club.athlete import Athlete

NEEDED = ("name", "stance")
AGES = ("age_group", "born_year")


def read_roster(
    text: str, table: str, taken: Collection[str], today: date
) -> tuple[Athlete, ...]:
    """Read a roster.

    Args:
        text: the table.
        table: name of the file, for messages.
        taken: names that are in the roster already.
        today: the day.

    Returns:
        The athletes, in the order of the table, with new ids.

    Raises:
        FaultyFileError: something is wrong; all of it is named, by line and column.
    """
    reader = _TableReader(table, today)
    try:
        athletes = reader.read(text, {name_key(name): 0 for name in taken})
    except csv.Error as error:
        reader.mind(reader.line, None, f"this is no CSV ({error}); save the table again.")
        athletes = []
    if reader.errors:
        raise FaultyFileError(reader.errors)
    return tuple(athletes)


class _TableReader:
    """Goes through one table and collects what is wrong."""

    def __init__(self, table: str, today: date) -> None:
        self._table = table
        self._today = today
        self.errors: list[FormatError] = []
        self.line = 1

    def mind(self, line: int, column: str | None, words: str) -> None:
        """Note what is wrong at a place."""
        at = f"{self._table}, line {line}" + (f", column {column}" if column else "")
        self.errors.append(FormatError(f"{at}: {words}", line=line, column=column))

    def read(self, text: str, first_seen: dict[str, int]) -> list[Athlete]:
        """Read header and rows.

        Args:
            text: the table.
            first_seen: the line of each name so far, 0 for those of the roster; it grows.
        """
        text = text.removeprefix("\ufeff")
        separator = _separator(text)
        rows = self._rows(text, separator)
        header = next(rows, None)
        if header is None:
            self.mind(1, None, "the table is empty; it needs a header and rows.")
            return []
        names = [cell.strip().casefold() for cell in header[1]]
        if not self._is_header_right(header[0], names):
            return []
        athletes = []
        for line, cells in rows:
            fields = dict(zip(names, (cell.strip() for cell in cells), strict=False))
            if len(cells) > len(names):
                self.mind(line, None, "the row has more cells than the header.")
            if separator == ";" and "mass_kg" in fields:
                fields["mass_kg"] = fields["mass_kg"].replace(",", ".")
            entry = read_entry(fields, self._today)
            for fault in entry.faults:
                self.mind(line, fault.field, fault.words)
            self._mind_twice(line, fields.get("name", ""), first_seen)
            if entry.athlete is not None:
                athletes.append(entry.athlete)
        if not athletes and not self.errors:
            self.mind(header[0], None, "the table has a header but no rows.")
        return athletes

    def _rows(self, text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
        """Give the rows that are not blank, with the line each begins at."""
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
        for row in reader:
            begins, self.line = self.line, reader.line_num + 1
            if any(cell.strip() for cell in row):
                yield begins, row

    def _is_header_right(self, line: int, names: list[str]) -> bool:
        """See that the columns are known, each once, and none is missing."""
        before = len(self.errors)
        for name in dict.fromkeys(names):
            if name not in FIELDS:
                known = ", ".join(FIELDS)
                self.mind(line, name or None, f"there is no such column; those are: {known}.")
            elif names.count(name) > 1:
                self.mind(line, name, "there are two of this column; keep one.")
        for name in NEEDED:
            if name not in names:
                self.mind(line, name, "this column is missing.")
        if not any(name in names for name in AGES):
            self.mind(line, AGES[0], f"a column {AGES[0]} or {AGES[1]} is needed.")
        return len(self.errors) == before

    def _mind_twice(self, line: int, name: str, first_seen: dict[str, int]) -> None:
        key = name_key(name)
        if not key:
            return
        if key in first_seen:
            earlier = first_seen[key]
            where = f"in line {earlier}" if earlier else "in the roster"
            self.mind(
                line, "name", f"{name} is {where} already; give each athlete an own name."
            )
        first_seen.setdefault(key, line)


def _separator(text: str) -> str:
    """See whether the header is separated by commas or semicolons."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    return ";" if header.count(";") > header.count(",") else ","
