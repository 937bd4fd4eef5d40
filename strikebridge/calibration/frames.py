"""Readings of a stream cut into frames by their own times, whatever blocks they came in."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Flag

if TYPE_CHECKING:
    from strikebridge.samples import Flags, Floats, TimedBlock

FRAME_S = 0.1
"""Length of the frames on which a walk and a check decide [s]."""
BROKEN_S = 1.0
"""A hole this long in the stream begins the step under way again [s]."""
_BAD = np.uint16(Flag.BAD_WORD)
_SATURATED = np.uint16(Flag.SATURATED)
_RESTARTED = np.uint16(Flag.RESTARTED)


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A short stretch of good readings.

    Attributes:
        time_s: their times [s], shape (n,), n at least 1.
        readings: the readings, shape (n, channels).
        is_saturated: whether the converter stood at its end.
        is_restarted: whether the board began anew within it.
    """

    time_s: Floats
    readings: Floats
    is_saturated: bool
    is_restarted: bool

    @property
    def sums(self) -> Floats:
        """Sum of the cells, shape (n,)."""
        total: Floats = self.readings.sum(axis=1)
        return total


class FrameCutter:
    """Cut blocks into frames of one length."""

    def __init__(self, frame_s: float) -> None:
        """Begin.

        Args:
            frame_s: length of a frame [s].
        """
        self._frame_s = frame_s
        self._number: float | None = None
        self._parts: list[tuple[Floats, Floats, Flags]] = []

    def feed(self, block: TimedBlock) -> list[Frame]:
        """Take a block.

        Args:
            block: timed readings.

        Returns:
            The frames that are full because something after them has come; glitches are left
            out, and frames of nothing else.
        """
        frames: list[Frame] = []
        numbers = np.floor(block.time_s / self._frame_s)
        edges = np.flatnonzero(np.diff(numbers)) + 1
        bounds = [0, *edges.tolist(), len(block)]
        for begin, end in pairwise(bounds):
            if begin == end:
                continue
            if self._number is not None and numbers[begin] != self._number:
                frames += self._close()
            self._number = float(numbers[begin])
            part = slice(begin, end)
            self._parts.append((block.time_s[part], block.counts[part], block.flags[part]))
        return frames

    def _close(self) -> list[Frame]:
        parts, self._parts = self._parts, []
        time_s, readings, flags = (
            np.concatenate(column) for column in zip(*parts, strict=True)
        )
        good = ((flags & _BAD) == 0) & np.isfinite(readings).all(axis=1)
        if not good.any():
            return []
        return [
            Frame(
                time_s[good],
                readings[good],
                bool((flags & _SATURATED).any()),
                bool((flags & _RESTARTED).any()),
            )
        ]
