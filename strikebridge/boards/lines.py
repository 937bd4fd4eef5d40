"""Cut a stream of chunks into lines, each with the arrival of its last byte.

All decoders of text share this. The same lines come out however the bytes were cut, memory is
bounded, and thousands of chunks at once (a whole recording) cost little more than a join.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.chunk_run import ChunkRun

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.samples import Chunk, Ints

LINE_LIMIT = 256
"""Bytes of a line that are looked at; whatever follows up to its line feed is dropped."""

CUT_OFF = b"\xff"
"""Stands for what was dropped; no shape of lines allows this byte, so none reads the line."""

LINE_FEED = 10


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Whole lines in order of arrival.

    Attributes:
        rows: the lines without their line feed; a carriage return at the end is left in place.
            Of one longer than `LINE_LIMIT` the beginning, and `CUT_OFF` behind it.
        arrived_us: arrival of the chunk that held the line feed [us], shape (n,), never
            falling.
    """

    rows: list[bytes]
    arrived_us: Ints

    def __len__(self) -> int:
        return len(self.rows)

    def since(self, first: int) -> Lines:
        """Leave out the lines before the one with index `first`."""
        return Lines(self.rows[first:], self.arrived_us[first:])


class LineCutter:
    """Collect bytes until lines are whole."""

    def __init__(self) -> None:
        self._tail = b""
        self._latest_us = -(2**62)

    def feed(self, chunks: Sequence[Chunk]) -> Lines | None:
        """Take in chunks, give out the lines that they complete.

        Args:
            chunks: in order of arrival; a stamp that steps back counts as the latest before it.

        Returns:
            The whole lines, or None where not one line feed came.
        """
        if isinstance(chunks, ChunkRun):
            text = self._tail + chunks.data
        elif len(chunks) == 1:
            text = self._tail + chunks[0].data
        else:
            text = b"".join([self._tail, *[chunk.data for chunk in chunks]])
        rows = text.split(b"\n")
        held = len(self._tail)
        self._tail = rows.pop()[: LINE_LIMIT + 1]
        if not rows:
            self._note_time(chunks)
            return None
        if len(max(rows, key=len)) > LINE_LIMIT:
            rows = [
                row if len(row) <= LINE_LIMIT else row[:LINE_LIMIT] + CUT_OFF for row in rows
            ]
        if len(chunks) == 1:
            self._note_time(chunks)
            return Lines(rows, np.full(len(rows), self._latest_us, np.int64))
        return Lines(rows, self._arrivals(text, held, chunks))

    def drop_half(self) -> None:
        """Forget the half line at the end: its other half will not come any more."""
        self._tail = b""

    def _note_time(self, chunks: Sequence[Chunk]) -> None:
        for chunk in chunks:
            self._latest_us = max(self._latest_us, chunk.arrived_us)

    def _arrivals(self, text: bytes, held: int, chunks: Sequence[Chunk]) -> Ints:
        """Find, for each line feed, the chunk it came in; `held` bytes came before them all."""
        if isinstance(chunks, ChunkRun):
            ends, stamps = held + chunks.ends, chunks.arrived_us
        else:
            ends = held + np.cumsum([len(chunk.data) for chunk in chunks])
            stamps = np.array([chunk.arrived_us for chunk in chunks], np.int64)
        stamps = np.maximum(np.maximum.accumulate(stamps), self._latest_us)
        self._latest_us = int(stamps[-1])
        feeds = np.flatnonzero(np.frombuffer(text, np.uint8) == LINE_FEED)
        arrived: Ints = stamps[np.searchsorted(ends, feeds, side="right")]
        return arrived
