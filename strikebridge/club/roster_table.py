"""A roster as a CSV table: read in full or not at all, every mistake named by line and column.

A header names the columns, which are the fields of `strikebridge.club.entry` in any order;
`name` and `stance` must be there, and `age_group` or `born_year`.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from strikebridge.club.athlete import name_key
from strikebridge.club.entry import FIELDS, read_entry
from strikebridge.club.table_text import TableText

if TYPE_CHECKING:
    from collections.abc import Collection
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
    lines = TableText(text, table)
    first_seen = {name_key(name): 0 for name in taken}
    athletes = []
    for line, fields in lines.rows(FIELDS, NEEDED, partial(_mind_ages, lines)):
        if "mass_kg" in fields:
            fields["mass_kg"] = lines.number(fields["mass_kg"])
        entry = read_entry(fields, today)
        for fault in entry.faults:
            lines.mind(line, fault.field, fault.words)
        _mind_twice(lines, line, fields.get("name", ""), first_seen)
        if entry.athlete is not None:
            athletes.append(entry.athlete)
    lines.refuse()
    return tuple(athletes)


def _mind_ages(lines: TableText, line: int, names: Collection[str]) -> None:
    if not any(name in names for name in AGES):
        lines.mind(line, AGES[0], f"a column {AGES[0]} or {AGES[1]} is needed.")


def _mind_twice(lines: TableText, line: int, name: str, first_seen: dict[str, int]) -> None:
    """See that each name is there once; `first_seen` grows."""
    key = name_key(name)
    if not key:
        return
    if key in first_seen:
        earlier = first_seen[key]
        where = f"in line {earlier}" if earlier else "in the roster"
        lines.mind(line, "name", f"{name} is {where} already; give each athlete an own name.")
    first_seen.setdefault(key, line)
