"""Number and time the readings of a device that says neither how many it took nor when."""

from __future__ import annotations

import numpy as np

from strikebridge.samples import CountBlock, Flag

USUAL_PAUSE_S = 15.0
"""A scale that speaks when it likes is silent for longer than a board, and all is well."""

GAP_BEFORE = int(Flag.GAP_BEFORE)


class ReadingCount:
    """Collect readings of one channel, with a running number.

    A scale speaks when it likes: once it has settled, or a few times a second while something
    changes. There is no period that could be fitted, so the arrival of a reading is taken for
    its time; the milliseconds of the radio are small beside the tenths of a second between two.
    A device that samples evenly, as a converter does, needs no such clock: the timebase finds
    the period from the arrivals, and takes the jitter out.
    """

    def __init__(self, *, is_even: bool) -> None:
        """Begin.

        Args:
            is_even: True for a device that samples evenly.
        """
        self._is_even = is_even
        self._number = -1
        self._ticks_us = -(2**62)
        self._rows: list[tuple[int, float, int, int, int]] = []

    def add(self, value: float, arrived_us: int, *, lost: int = 0, flags: int = 0) -> None:
        """Take in one reading.

        Args:
            value: in the device's own quantity.
            arrived_us: arrival [us].
            lost: readings known to be missing just before it.
            flags: bits of `Flag`.
        """
        if self._number < 0:
            lost = 0  # nothing can be missing before the first one
        self._number += 1 + lost
        self._ticks_us = max(arrived_us, self._ticks_us + 1)
        flags |= GAP_BEFORE if lost else 0
        self._rows.append((self._number, value, arrived_us, self._ticks_us, flags))

    def build(self) -> CountBlock | None:
        """Give out what was taken in since the last call, None where that is nothing."""
        if not self._rows:
            return None
        number, value, arrived_us, ticks_us, flags = zip(*self._rows, strict=True)
        self._rows = []
        return CountBlock(
            np.array(number, np.int64),
            np.array(value, np.float64).reshape(-1, 1),
            np.array(arrived_us, np.int64),
            None if self._is_even else np.array(ticks_us, np.int64),
            np.array(flags, np.uint16),
        )
