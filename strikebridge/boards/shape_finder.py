"""Find out from the first lines which of the shapes in the table BOARDS a board speaks.

Every decoder says of a line whether it could be one of its readings, and how many of them in a
row it takes to be believed: one where a checksum vouches for it, three for bare numbers. The
shapes are asked in the order of the table; the first that is believed gets all lines from the
beginning of its row, and everything after. Nothing that came before could have been a reading
of that shape, so nothing is lost and little has to be held back.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Protocol, cast

import numpy as np

from strikebridge.boards import BOARDS
from strikebridge.boards.lines import LineCutter, Lines
from strikebridge.boards.link import Decoder
from strikebridge.boards.strikebridge_lines import EDGES
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.samples import Chunk, CountBlock, Identity

NOT_FOUND = "unknown"


class LineDecoder(Decoder, Protocol):
    """A decoder that works line by line and can be recognised.

    Attributes:
        lines_to_trust: readings in a row that it takes to be believed.
    """

    lines_to_trust: int

    @staticmethod
    def is_reading(line: bytes) -> bool:
        """Say whether a line could be a reading of this shape."""
        ...

    def decode(self, lines: Lines) -> list[CountBlock]:
        """Decode whole lines; the very first one may be torn."""
        ...


Choice = tuple[LineDecoder, list[tuple[bytes, int]]]


class ShapeFinder:
    """Decode lines of a shape not known beforehand.

    Attributes:
        found: the decoder chosen, None while there is none.
    """

    def __init__(self) -> None:
        self.found: LineDecoder | None = None
        self._cutter = LineCutter()
        self._candidates = [_make(place) for place in BOARDS.values()]
        self._streaks = [0] * len(self._candidates)
        self._held: list[tuple[bytes, int]] = []
        self._most_held = max(decoder.lines_to_trust for decoder in self._candidates)
        self._is_first = True
        self._unreadable = 0

    @property
    def shape(self) -> str:
        """Key in the table BOARDS; `unknown` until it has been found out."""
        return self.found.shape if self.found else NOT_FOUND

    @property
    def quantity(self) -> Quantity:
        """What the numbers are."""
        return self.found.quantity if self.found else Quantity.UNKNOWN

    @property
    def identity(self) -> Identity | None:
        """What the board said of itself, None until it did."""
        return self.found.identity if self.found else None

    @property
    def channels(self) -> int:
        """Readings a line, 0 until the first."""
        return self.found.channels if self.found else 0

    @property
    def unreadable(self) -> int:
        """Lines that were no reading and no comment, those before the choice included."""
        return self._unreadable + (self.found.unreadable if self.found else 0)

    def feed(self, chunks: Sequence[Chunk]) -> list[CountBlock]:
        """Decode what has arrived; the same readings come out however the bytes are cut.

        Args:
            chunks: in order of arrival.
        """
        lines = self._cutter.feed(chunks)
        if lines is None:
            return []
        if self.found is not None:
            return self.found.decode(lines)
        for place, line in enumerate(lines.rows):
            chosen = self._ask(line, int(lines.arrived_us[place]))
            if chosen is not None:
                self.found, held = chosen
                rows, arrivals = zip(*held, strict=True)
                rest = lines.since(place + 1)
                arrived_us = np.concatenate([np.array(arrivals, np.int64), rest.arrived_us])
                return self.found.decode(Lines([*rows, *rest.rows], arrived_us))
        return []

    def finish(self) -> list[CountBlock]:
        """End the stream, or a stretch of it; what could not be recognised is no reading.

        Feeding may go on after a lost board came back; its first line may be torn again.
        """
        self._cutter.drop_half()
        if self.found is not None:
            return self.found.finish()
        self._is_first = True
        self._streaks = [0] * len(self._candidates)
        self._held = []
        return []

    def _ask(self, line: bytes, arrived_us: int) -> Choice | None:
        """Show a line to every candidate, and choose the first that has seen enough.

        Returns:
            Once there is a choice, the decoder and its lines so far, after the one that came
            before them (the decoder takes its first line for a torn one); None before.
        """
        is_first, self._is_first = self._is_first, False
        is_empty = not line.strip(EDGES) or line.startswith(b"#")
        if is_first or not is_empty:
            self._held = [*self._held[-self._most_held :], (line, arrived_us)]
        if is_empty:
            return None
        is_any = False
        for index, decoder in enumerate(self._candidates):
            is_reading = decoder.is_reading(line)
            is_any |= is_reading
            self._streaks[index] = self._streaks[index] + 1 if is_reading else 0
            if self._streaks[index] >= decoder.lines_to_trust:
                return decoder, self._held[-decoder.lines_to_trust - 1 :]
        if not is_any and not is_first:
            self._unreadable += 1
        return None


def _make(place: str) -> LineDecoder:
    module, _, name = place.partition(":")
    return cast("LineDecoder", getattr(importlib.import_module(module), name)())
