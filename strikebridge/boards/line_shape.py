"""One description of a board's lines, and the text that people write it in.

A shape says what stands where. Everything outside angle brackets is there as it stands; in
brackets stands what varies:

| written | is |
| --- | --- |
| `<count>` | raw counts of the converter, or their average |
| `<offset>` | raw counts of a 24-bit converter that begin at 0, with the middle at 8388608 |
| `<N>` `<kg>` `<g>` `<lb>` | a value in this unit |
| `<value>` | a value whose unit nobody has said |
| `<s>` `<ms>` `<us>` | the board's own clock |
| `<number>` | the running number of the reading |
| `<skip>` | a number that is not used |
| `<clock>` | a time of day or a date, not used |
| `<word>` | one of several words, not used |
| `<eol>` | the reading goes on in the next line |
| `<x3C>` | the byte with this hexadecimal code |

A comma inside the brackets, as in `<kg,>`, means a decimal comma. A blank stands for any
blanks and tabs; beside a sign of punctuation there may be none. Several values are several
cells. So `<ms>,<count>` are two columns, and `Weight:<eol><kg> kg` is a label with its value on
the next line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from strikebridge.errors import FormatError
from strikebridge.samples import Quantity

MOST_CELLS = 4
MOST_LINES = 8
MOST_TEXT = 250  # characters of the text; a line of a board is not longer either


class Role(StrEnum):
    """What a varying part of a line is."""

    COUNT = "count"
    OFFSET = "offset"
    N = "N"
    KG = "kg"
    G = "g"
    LB = "lb"
    VALUE = "value"
    S = "s"
    MS = "ms"
    US = "us"
    NUMBER = "number"
    SKIP = "skip"
    CLOCK = "clock"
    WORD = "word"


QUANTITIES = {
    Role.COUNT: Quantity.COUNT,
    Role.OFFSET: Quantity.COUNT,
    Role.N: Quantity.N,
    Role.KG: Quantity.KG,
    Role.G: Quantity.G,
    Role.LB: Quantity.LB,
    Role.VALUE: Quantity.UNKNOWN,
}
"""Roles that are readings, and of what."""

TICKS_US = {Role.S: 1e6, Role.MS: 1e3, Role.US: 1.0}
"""Roles that are the board's clock, and the microseconds of one unit."""

WORDS = {
    Role.COUNT: "raw counts",
    Role.OFFSET: "raw counts from 0 to 16777215",
    Role.N: "newtons",
    Role.KG: "kilograms",
    Role.G: "grams",
    Role.LB: "pounds",
    Role.VALUE: "a value of unknown unit",
    Role.S: "board time in s",
    Role.MS: "board time in ms",
    Role.US: "board time in us",
    Role.NUMBER: "running number",
    Role.SKIP: "a number left out",
    Role.CLOCK: "a time of day left out",
    Role.WORD: "a word left out",
}

SIGN = r"(?:[+-][ \t]*)?"
PATTERNS = {
    Role.OFFSET: r"\d{1,8}",
    Role.NUMBER: r"\d{1,10}",
    Role.CLOCK: r"[0-9:.,/TZ+-]{4,40}(?: [0-9:.,]{5,20})?",
    # words that say that the value beside them is none
    Role.WORD: r"(?!(?:OL|UL|OVER|UNDER|ERR|ERROR)\b)[A-Za-z_]{1,20}",
}
NUMBER = SIGN + r"(?:\d{1,15}(?:\.\d{0,9})?|\.\d{1,9})"
COMMA_NUMBER = SIGN + r"(?:\d{1,15}(?:,\d{0,9})?|,\d{1,9})"

FIELD = re.compile(r"<([A-Za-z]+)(,?)>|<x([0-9A-Fa-f]{2})>")
GLUE = re.compile(r"[A-Za-z0-9_]")


@dataclass(frozen=True, slots=True)
class Field:
    """A part of a line that varies.

    Attributes:
        role: what it is.
        has_comma: True where decimals stand behind a comma.
    """

    role: Role
    has_comma: bool = False


Part = str | Field


@dataclass(frozen=True, slots=True)
class LineShape:
    """What stands where in the line, or the few lines, that make one reading.

    Attributes:
        lines: for each line its parts in order, fixed text (a character a byte) and fields.
    """

    lines: tuple[tuple[Part, ...], ...]

    @property
    def fields(self) -> tuple[Field, ...]:
        """All fields in order, those of later lines behind."""
        return tuple(part for line in self.lines for part in line if isinstance(part, Field))

    @property
    def channels(self) -> int:
        """Cells in a reading."""
        return sum(field.role in QUANTITIES for field in self.fields)

    @property
    def quantity(self) -> Quantity:
        """What the readings are."""
        return next(QUANTITIES[f.role] for f in self.fields if f.role in QUANTITIES)

    @property
    def is_plain(self) -> bool:
        """True for one number a line and nothing else."""
        return len(self.lines) == 1 and len(self.lines[0]) == 1 and self.channels == 1

    # typing.override came with Python 3.12
    def __str__(self) -> str:  # type: ignore[explicit-override]
        return "<eol>".join("".join(map(_written, line)) for line in self.lines)

    def in_words(self) -> str:
        """Say in words what a reading holds."""
        words = [WORDS[field.role] for field in self.fields]
        lines = "a line" if len(self.lines) == 1 else f"{len(self.lines)} lines"
        return f"{lines} with {', then '.join(words)}"

    def patterns(self) -> list[re.Pattern[bytes]]:
        """Make the expression of each line; groups are the fields that are used, in order."""
        return [re.compile(_expression(line).encode("latin-1")) for line in self.lines]

    def with_value(self, role: Role) -> LineShape:
        """Say what its readings are.

        Args:
            role: role of a reading.
        """
        lines = tuple(
            tuple(
                Field(role, part.has_comma)
                if isinstance(part, Field) and part.role in QUANTITIES
                else part
                for part in line
            )
            for line in self.lines
        )
        return LineShape(lines)


USED = (*QUANTITIES, *TICKS_US, Role.NUMBER)


def parse_shape(text: str) -> LineShape:
    """Read a shape as people write it.

    Args:
        text: such as `<ms>,<count>`.

    Returns:
        The shape.

    Raises:
        FormatError: it is no shape; the message says what is wrong with it.
    """
    if len(text) > MOST_TEXT:
        raise FormatError(f"A shape of {len(text)} characters is too long for a line.")
    lines = tuple(_parse_line(line) for line in text.split("<eol>"))
    _check(text, lines)
    return LineShape(lines)


def _parse_line(text: str) -> tuple[Part, ...]:
    parts: list[Part] = []
    fixed, at = "", 0
    for match in FIELD.finditer(text):
        fixed += _fixed(text[at : match.start()])
        at = match.end()
        if match[3]:
            fixed += chr(int(match[3], 16))
            continue
        try:
            role = Role(match[1])
        except ValueError as error:
            known = ", ".join(f"<{role}>" for role in Role)
            raise FormatError(
                f"There is no <{match[1]}> in a shape of lines; use {known}."
            ) from error
        if fixed:
            parts.append(fixed)
            fixed = ""
        parts.append(Field(role, bool(match[2])))
    fixed += _fixed(text[at:])
    return (*parts, fixed) if fixed else tuple(parts)


def _fixed(text: str) -> str:
    if not all(" " <= char <= "~" or char == "\t" for char in text) or "<" in text:
        raise FormatError(
            f"'{text}' cannot stand in a shape of lines: write a '<' as <x3C>, and a byte that "
            "is no plain character by its code as well."
        )
    return text


def _check(text: str, lines: tuple[tuple[Part, ...], ...]) -> None:
    fields = [part for line in lines for part in line if isinstance(part, Field)]
    readings = [field.role for field in fields if field.role in QUANTITIES]
    for roles in ([Role.S, Role.MS, Role.US], [Role.NUMBER]):
        if sum(field.role in roles for field in fields) > 1:
            raise FormatError(f"The shape '{text}' has two of {' '.join(roles)}; keep one.")
    if not 1 <= len(readings) <= MOST_CELLS or len(set(readings)) != 1:
        raise FormatError(
            f"The shape '{text}' needs one to {MOST_CELLS} readings of one kind, such as "
            "<count> or <kg>; write <skip> for the other numbers."
        )
    if len(lines) > MOST_LINES or not all(lines):
        raise FormatError(f"The shape '{text}' has empty lines, or more than {MOST_LINES}.")
    if len(lines) > 1 and len(set(map(_expression, lines))) != len(lines):
        raise FormatError(
            f"The lines of the shape '{text}' cannot be told apart; each needs a text of its "
            "own."
        )
    for line in lines:
        for before, after in pairwise(line):
            is_glued = isinstance(before, str) and GLUE.match(before[-1]) is not None
            if isinstance(after, Field) and (isinstance(before, Field) or is_glued):
                raise FormatError(
                    f"In the shape '{text}' a <{after.role}> is glued to what stands before "
                    "it; put a blank or a separator between."
                )


def _written(part: Part) -> str:
    if isinstance(part, Field):
        return f"<{part.role}{',' if part.has_comma else ''}>"
    return "".join(
        char if " " <= char <= "~" and char != "<" else f"<x{ord(char):02X}>" for char in part
    )


def _expression(line: tuple[Part, ...]) -> str:
    """Write the regular expression of one line."""
    text = ""
    for place, part in enumerate(line):
        if isinstance(part, Field):
            group = _field_expression(part)
            text += rf"[ \t]*({group})" if part.role in USED else rf"[ \t]*(?:{group})"
            continue
        before = place > 0  # a field stands there
        after = place + 1 < len(line)
        text += _fixed_expression(part, is_after_field=before, is_before_field=after)
    return text


def _field_expression(field: Field) -> str:
    plain = COMMA_NUMBER if field.has_comma else NUMBER
    return PATTERNS.get(field.role, plain)


def _fixed_expression(text: str, *, is_after_field: bool, is_before_field: bool) -> str:
    """Write the expression of fixed text; a run of blanks is one, or none at punctuation."""
    pieces = re.split(r"([ \t]+)", text)
    out = ""
    for place, piece in enumerate(pieces):
        if place % 2 == 0:
            out += re.escape(piece)
            continue
        before, after = pieces[place - 1][-1:], pieces[place + 1][:1]
        is_word_before = GLUE.match(before) is not None if before else is_after_field
        is_word_after = GLUE.match(after) is not None if after else is_before_field
        # a unit may stand close behind its number, and only there
        is_unit = not before and is_after_field and after.isalpha()
        is_needed = is_word_before and is_word_after and not is_unit
        out += r"[ \t]+" if is_needed else r"[ \t]*"
    return out
