"""Decode the lines of any sketch by a description of their shape.

There is no checksum, so the first line after opening, which may be torn and still look right,
is thrown away. A line counts only as a whole: digits are never picked out of a line that holds
anything else than the shape says. Of a reading spread over several lines all have to come, in
their order, or it does not count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from typing_extensions import override

from strikebridge.boards.joined_numbers import JoinedNumbers
from strikebridge.boards.line_decoder import (
    EDGES,
    LineDecoder,
    flag_converter_ends,
    is_idle,
)
from strikebridge.boards.line_shape import QUANTITIES, TICKS_US, USED, LineShape, Role
from strikebridge.boards.sketch_clock import SketchClock
from strikebridge.samples import CountBlock

if TYPE_CHECKING:
    import re

    from strikebridge.boards.lines import Lines
    from strikebridge.samples import Floats, Ints

DESCRIBED = "described-lines"
OFFSET_HIGH = 2**24 - 1


class DescribedLinesDecoder(LineDecoder):
    """Turn lines of a known shape into readings.

    Attributes:
        line_shape: the description.
    """

    def __init__(self, line_shape: LineShape, shape: str = DESCRIBED) -> None:
        """Begin before the first byte.

        Args:
            line_shape: what stands where.
            shape: key in the table BOARDS.
        """
        super().__init__(shape, line_shape.quantity)
        self.line_shape = line_shape
        self._patterns = line_shape.patterns()
        used = [field for field in line_shape.fields if field.role in USED]
        roles = [field.role for field in used]
        self._width = len(roles)
        self._has_comma = any(field.has_comma for field in used)
        self._values = [place for place, role in enumerate(roles) if role in QUANTITIES]
        self._is_whole = all(roles[place] is Role.COUNT for place in self._values)
        self._ends = (0, OFFSET_HIGH) if Role.OFFSET in roles else None
        clock = next((role for role in roles if role in TICKS_US), None)
        self._clock = SketchClock(
            ticks_at=None if clock is None else roles.index(clock),
            unit_us=1.0 if clock is None else TICKS_US[clock],
            number_at=roles.index(Role.NUMBER) if Role.NUMBER in roles else None,
        )
        self._begun: list[bytes] = []  # fields of a reading that goes on in the next line
        self._next = 0  # which of its lines comes next
        self._joined = JoinedNumbers() if line_shape.is_plain else None

    @override
    def finish(self) -> list[CountBlock]:
        """End the stream, or a stretch of it; see the base."""
        self._drop_begun()
        return super().finish()

    @override
    def decode(self, lines: Lines) -> list[CountBlock]:
        """Decode whole lines.

        Args:
            lines: in order of arrival.
        """
        if self._is_first:
            self._is_first = False
            lines = lines.since(1)
        rows = [row.strip(EDGES) for row in lines.rows]
        if len(self._patterns) == 1:
            fields, places = self._sift(rows)
        else:
            fields, places = self._gather(rows)
        if not places:
            return []
        numbers, arrived_us = self._numbers(fields), lines.arrived_us[places]
        is_one = None if self._joined is None else self._joined.keep(numbers[:, 0])
        if is_one is not None:
            self.unreadable += len(is_one) - int(np.count_nonzero(is_one))
            numbers, arrived_us = numbers[is_one], arrived_us[is_one]
        return self._block(numbers, arrived_us) if len(numbers) else []

    def _sift(self, rows: list[bytes]) -> tuple[list[bytes], list[int]]:
        """Take the fields out of lines that are a reading each, and say which those are."""
        fields: list[bytes] = []
        places: list[int] = []
        fullmatch = self._patterns[0].fullmatch
        for place, row in enumerate(rows):
            match = fullmatch(row)
            if match is None:
                self._note_other(row)
            else:
                fields += match.groups()
                places.append(place)
        return fields, places

    def _gather(self, rows: list[bytes]) -> tuple[list[bytes], list[int]]:
        """Put readings of several lines together; a set with a line missing is dropped."""
        fields: list[bytes] = []
        places: list[int] = []
        for place, row in enumerate(rows):
            match = None if is_idle(row) else self._match_next(row)
            if match is None:
                self._note_other(row)
                continue
            self._begun += match.groups()
            self._next += 1
            if self._next == len(self._patterns):
                fields += self._begun
                places.append(place)
                self._begun, self._next = [], 0
        return fields, places

    def _match_next(self, row: bytes) -> re.Match[bytes] | None:
        match = self._patterns[self._next].fullmatch(row)
        if match is None and self._next:
            self._drop_begun()
            match = self._patterns[0].fullmatch(row)
        return match

    def _drop_begun(self) -> None:
        """Drop a reading that was begun and cannot be completed any more."""
        self.unreadable += self._next
        self._begun, self._next = [], 0

    def _note_other(self, row: bytes) -> None:
        if not is_idle(row):
            self.unreadable += 1

    def _numbers(self, fields: list[bytes]) -> Floats:
        """Read the fields of all lines at once, shape (n, fields used)."""
        text = b";".join(fields).translate(None, b" \t")
        if self._has_comma:
            text = text.replace(b",", b".")
        numbers: Floats = np.fromstring(text, np.float64, sep=";").reshape(-1, self._width)
        return numbers

    def _block(self, numbers: Floats, arrived_us: Ints) -> list[CountBlock]:
        number, ticks_us, flags, kept = self._clock.feed(numbers, arrived_us)
        counts = numbers[kept][:, self._values]
        self.channels = len(self._values)
        if self._ends is not None:
            flag_converter_ends(counts, flags, low=self._ends[0], high=self._ends[1])
        elif self._is_whole:
            flag_converter_ends(counts, flags)
        return [CountBlock(number, counts, arrived_us[kept], ticks_us, flags)]
