"""Decode the plainest sketch there is: one number a line and nothing else.

There is no checksum, so the first line after opening, which may be torn and still look like a
number, is thrown away. A line with a letter in it is never a reading: digits are not picked out
of words. There is no sequence number either; readings are numbered as they come, and lost ones
are for the timebase to infer.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.lines import LineCutter
from strikebridge.boards.strikebridge_lines import EDGES, flag_converter_ends
from strikebridge.samples import CountBlock, Identity, Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.lines import Lines
    from strikebridge.samples import Chunk

NUMBER = re.compile(rb"[+-]?\d{1,15}(?:\.\d{0,9})?")


class BareIntegersDecoder:
    """Turn lines of one number each into readings.

    Attributes:
        shape: key in the table BOARDS.
        quantity: counts as long as all numbers are whole; unknown once one has decimals.
        identity: always None; such a board does not say what it is.
        channels: 1 from the first reading on.
        unreadable: lines that were no number, not empty and no comment, but for the first one.
    """

    lines_to_trust = 3

    def __init__(self) -> None:
        self.shape = "bare-integers"
        self.quantity = Quantity.COUNT
        self.identity: Identity | None = None
        self.channels = 0
        self.unreadable = 0
        self._cutter = LineCutter()
        self._is_first = True
        self._number = 0

    @staticmethod
    def is_reading(line: bytes) -> bool:
        """Say whether a line is one plain number."""
        return NUMBER.fullmatch(line.strip(EDGES)) is not None

    def feed(self, chunks: Sequence[Chunk]) -> list[CountBlock]:
        """Decode what has arrived; the same readings come out however the bytes are cut.

        Args:
            chunks: in order of arrival.
        """
        lines = self._cutter.feed(chunks)
        return [] if lines is None else self.decode(lines)

    def finish(self) -> list[CountBlock]:
        """End the stream, or a stretch of it; a half line left over is no reading.

        Feeding may go on after a lost board came back; its first line may be torn again.
        """
        self._cutter.drop_half()
        self._is_first = True
        return []

    def decode(self, lines: Lines) -> list[CountBlock]:
        """Decode whole lines.

        Args:
            lines: in order of arrival.
        """
        if self._is_first:
            self._is_first = False
            lines = lines.since(1)
        rows = [row.strip(EDGES) for row in lines.rows]
        places = [place for place, row in enumerate(rows) if NUMBER.fullmatch(row)]
        arrived_us = lines.arrived_us
        if len(places) != len(rows):
            arrived_us = arrived_us[places]
            others = len(rows) - len(places)
            self.unreadable += others - sum(not row or row[:1] == b"#" for row in rows)
            rows = [rows[place] for place in places]
        if not rows:
            return []
        text = b" ".join(rows)
        if b"." in text:
            self.quantity = Quantity.UNKNOWN
        counts = np.fromstring(text, np.float64, sep=" ").reshape(-1, 1)
        number = np.arange(self._number, self._number + len(rows))
        self._number += len(rows)
        self.channels = 1
        flags = np.zeros(len(rows), np.uint16)
        flag_converter_ends(counts, flags)
        return [CountBlock(number, counts, arrived_us, None, flags)]
