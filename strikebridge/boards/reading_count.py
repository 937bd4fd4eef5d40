"""Devices that say neither how many readings they took nor when: both are counted here."""

from __future__ import annotations

from abc import ABC
from typing import TYPE_CHECKING

import numpy as np
from typing_extensions import override

from strikebridge.boards.radio_lines import RadioDecoder
from strikebridge.samples import CountBlock, Flag

if TYPE_CHECKING:
    from strikebridge.samples import Quantity

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
        self._lost = 0
        self._ticks_us = -(2**62)
        self._rows: list[tuple[int, float, int, int, int]] = []

    def miss(self, lost: int = 1) -> None:
        """Note readings that are known to be missing before the next one.

        Args:
            lost: how many more.
        """
        self._lost += lost

    def add(self, value: float, arrived_us: int, flags: int = 0) -> None:
        """Take in one reading.

        Args:
            value: in the device's own quantity.
            arrived_us: arrival [us].
            flags: bits of `Flag`.
        """
        # nothing can be missing before the first one
        lost, self._lost = self._lost if self._number >= 0 else 0, 0
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


class CountedDecoder(RadioDecoder, ABC):
    """Base of the decoders whose readings are counted here; a subclass takes payloads in."""

    def __init__(self, shape: str, quantity: Quantity, *, is_even: bool) -> None:
        """Begin before the first byte.

        Args:
            shape: key in the table BOARDS.
            quantity: what the numbers are, as far as it is known.
            is_even: True for a device that samples evenly, False for one that speaks when it
                likes.
        """
        super().__init__(shape, quantity)
        self._pause_s = 0.0 if is_even else USUAL_PAUSE_S
        self._readings = ReadingCount(is_even=is_even)

    @override
    def build(self) -> CountBlock | None:
        """Give out the readings; see RadioDecoder."""
        return self._readings.build()

    @property
    @override
    def pause_s(self) -> float:
        """Longest silence that is usual for such a device [s]."""
        return self._pause_s
