"""What every decoder of text lines does alike: cut the bytes, mind the first line."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.lines import LineCutter
from strikebridge.samples import Flag, Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.lines import Lines
    from strikebridge.samples import Chunk, CountBlock, Flags, Floats, Identity

EDGES = b"\0\r \t"
"""Bytes at the ends of a line that mean nothing."""

CONVERTER_LOW = -(2**23)  # the end codes of a 24-bit converter
CONVERTER_HIGH = 2**23 - 1


class LineDecoder(ABC):
    """Base of the decoders of lines; a subclass says what a line means.

    Attributes:
        shape: key in the table BOARDS.
        quantity: what the numbers are.
        identity: what the board said of itself, None until it did.
        channels: readings a line, 0 until the first.
        unreadable: lines that were no reading and no comment; the first line after opening,
            which may be torn, is not counted.
    """

    def __init__(self, shape: str, quantity: Quantity = Quantity.COUNT) -> None:
        """Begin before the first byte.

        Args:
            shape: key in the table BOARDS.
            quantity: what the numbers are, as far as it is known.
        """
        self.shape = shape
        self.quantity = quantity
        self.identity: Identity | None = None
        self.channels = 0
        self.unreadable = 0
        self._cutter = LineCutter()
        self._is_first = True

    @property
    def pause_s(self) -> float:
        """Longest silence that is usual for such a board [s]; any is too long at a cable."""
        return 0.0

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a coach should know of this board, in whole sentences."""
        return ()

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

    @abstractmethod
    def decode(self, lines: Lines) -> list[CountBlock]:
        """Decode whole lines.

        Args:
            lines: in order of arrival.
        """
        ...


def is_idle(line: bytes) -> bool:
    """Say whether a line means nothing by agreement: empty, or a comment.

    Args:
        line: without its line feed.
    """
    line = line.strip(EDGES)
    return not line or line.startswith(b"#")


def flag_converter_ends(
    counts: Floats, flags: Flags, *, low: int = CONVERTER_LOW, high: int = CONVERTER_HIGH
) -> None:
    """Flag, in place, samples in which a 24-bit converter stood at one of its ends.

    Source: data sheet of the HX711, output codes 0x800000 and 0x7FFFFF when the input leaves
    the range.

    Args:
        counts: shape (n, channels).
        flags: bits of `Flag`, shape (n,).
        low: lower end code.
        high: upper end code.
    """
    is_end = (counts >= high) | (counts <= low)
    if is_end.any():
        flags[is_end.any(axis=1)] |= np.uint16(Flag.SATURATED)
