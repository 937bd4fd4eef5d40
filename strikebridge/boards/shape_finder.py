"""Find out from the first lines what shape a board's lines have, and decode them.

A protocol with a checksum is known by one of its lines: its decoder in the table BOARDS says so
(`is_reading`). Any other sketch is looked at for up to some
seconds: its lines are held back until their shape is sure, or until what is not sure will not
become so by waiting. Then all that was held is decoded, so nothing is lost; only the very first
line, which may be torn, never counts.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, cast

import numpy as np

from strikebridge.boards import BOARDS
from strikebridge.boards.bare_integers import BARE
from strikebridge.boards.described_lines import DESCRIBED, DescribedLinesDecoder
from strikebridge.boards.line_decoder import EDGES, LineDecoder, is_idle
from strikebridge.boards.lines import LineCutter, Lines
from strikebridge.boards.recognising.recognise import NOTHING, Finding, recognise
from strikebridge.boards.recognising.tokens import Kind, take_apart
from strikebridge.boards.strikebridge_lines import LIKE_OURS
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.strikebridge_lines import StrikebridgeLinesDecoder
    from strikebridge.samples import Chunk, CountBlock, Identity

NOT_FOUND = "unknown"
MOST_HELD = 256  # lines
LOOKS = (12, 16, 24, 32, 48, 64, 96, 128, 192, 256)  # lines held at which to look
FEWEST_LINES = 4  # after the wait below; the first may be torn
WAIT_US = 2_500_000  # by then a slow board has to do with what has come
FEW_LINES, FEW_US = 24, 500_000  # as long to be sure about a faster one


class ShapeFinder:
    """Decode lines of a shape not known beforehand.

    Attributes:
        found: the decoder chosen, None while there is none.
        finding: what was last understood of the lines, with what has to be asked.
    """

    def __init__(self) -> None:
        self.found: LineDecoder | None = None
        self.finding: Finding = NOTHING
        self._cutter = LineCutter()
        self._protocols = _protocols()
        self._begin()
        self._dropped = 0

    def _begin(self) -> None:
        self._held: list[tuple[bytes, int]] = []
        self._unlike = 0  # held lines without any number
        self._since_look = 0

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
        return self._dropped + (self.found.unreadable if self.found else self._unlike)

    @property
    def pause_s(self) -> float:
        """Longest silence that is usual for such a board [s]."""
        return self.found.pause_s if self.found else 0.0

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a coach should know of this board, in whole sentences."""
        return self.found.remarks if self.found else ()

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
            self._hold(line, int(lines.arrived_us[place]))
            self.found = self._choose(line)
            if self.found is not None:
                return self._decode_held(lines.since(place + 1))
        return []

    def finish(self) -> list[CountBlock]:
        """End the stream, or a stretch of it: decide by what has come.

        Feeding may go on after a lost board came back; its first line may be torn again.
        """
        self._cutter.drop_half()
        blocks: list[CountBlock] = []
        if self.found is None:
            self.found = self._look(is_last=True)
            if self.found is not None:
                nothing = Lines([], np.empty(0, np.int64))
                blocks = self._decode_held(nothing)
        if self.found is not None:
            return [*blocks, *self.found.finish()]
        self._dropped += self._unlike
        self._begin()
        return []

    def _hold(self, line: bytes, arrived_us: int) -> None:
        """Keep a line until the shape is known, or until there are too many."""
        if self._held and is_idle(line):
            return
        if len(self._held) == MOST_HELD:
            # the first line held need not be torn, but its place is that of one which may be
            self._held = self._held[MOST_HELD // 2 :]
            self._dropped += MOST_HELD // 2
            self._unlike = sum(not _has_number(row) for row, _ in self._held[1:])
        if self._held:
            self._unlike += not _has_number(line)
        self._held.append((line, arrived_us))

    def _choose(self, line: bytes) -> LineDecoder | None:
        """See whether the newest line, or all of them, are enough to know the shape."""
        for kind in self._protocols:
            if kind.is_reading(line):
                return kind()
        if not is_idle(line):
            self._since_look += 1
        waited_us = self._held[-1][1] - self._held[0][1]
        count = len(self._held)
        is_last = count >= MOST_HELD or (count >= FEWEST_LINES and waited_us >= WAIT_US)
        is_last = is_last or (count >= FEW_LINES and waited_us >= FEW_US)
        # a board that stays unclear costs little: half of what is held has to be new
        has_news = self._since_look >= max(FEWEST_LINES, count // 2)
        if count in LOOKS or (is_last and has_news):
            return self._look(is_last=is_last)
        return None

    def _look(self, *, is_last: bool) -> LineDecoder | None:
        """Look at all lines held; what is not sure is taken only when it will not get surer."""
        self._since_look = 0
        if not self._held:
            return None
        rows = [row for row, _ in self._held if LIKE_OURS.search(row) is None]
        span_us = self._held[-1][1] - self._held[0][1]
        self.finding = recognise(rows, span_us / 1e6)
        shape = self.finding.shape
        if shape is None or not (is_last or self.finding.is_sure):
            return None
        return DescribedLinesDecoder(shape, BARE if shape.is_plain else DESCRIBED)

    def _decode_held(self, rest: Lines) -> list[CountBlock]:
        rows, arrivals = zip(*self._held, strict=True)
        self._begin()
        arrived_us = np.concatenate([np.array(arrivals, np.int64), rest.arrived_us])
        lines = Lines([*rows, *rest.rows], arrived_us)
        return [] if self.found is None else self.found.decode(lines)


def _protocols() -> list[type[StrikebridgeLinesDecoder]]:
    """Import the decoders of the table that know a line of theirs by its checksum."""
    kinds = []
    for place in BOARDS.values():
        module, _, name = place.partition(":")
        kind = getattr(importlib.import_module(module), name)
        if hasattr(kind, "is_reading"):
            kinds.append(cast("type[StrikebridgeLinesDecoder]", kind))
    return kinds


def _has_number(line: bytes) -> bool:
    return any(token.kind is Kind.NUMBER for token in take_apart(line.strip(EDGES)))
