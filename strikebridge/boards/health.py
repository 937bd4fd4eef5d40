"""See from a board's readings that something is wrong with it, and say it in words.

| fault | seen by |
| --- | --- |
| stuck | the same count again and again: a live 24-bit converter always moves |
| saturated | the converter stands at its end |
| unreadable | more lines that cannot be read than readings |
| reset | the board's clock and numbers begin anew |
| clock | the board's clock leaps and does not begin anew |
| rate | far from what the board says of itself; real boards are 3 to 17 % off |
| losing | more than a tenth of the readings never come |

The first three make the force of now worthless, and the wall says so instead of showing one.
The others are remarks. Each is also an event in the recording, when it begins and when it is
over. Silence and a pulled plug are seen by whoever owns the port.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.shape_finder import ShapeFinder
from strikebridge.samples import Flag, Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.link import Decoder
    from strikebridge.samples import Chunk, CountBlock, Floats, Identity

STUCK_US = 1_500_000  # and at least so many readings:
STUCK_READINGS = 12
SATURATED_READINGS = 3
WINDOW_US = 5_000_000  # over which rate, losses and unreadable lines are judged
FEWEST = 20  # readings or lines in it
RATE_OFF = 0.35
LOSING = 0.1
PASSING_US = 5_000_000  # how long a reset is still said
SATURATED = int(Flag.SATURATED)
RESTARTED = int(Flag.RESTARTED)
CLOCK_LEAPT = int(Flag.CLOCK_LEAPT)


class Fault(StrEnum):
    """What is wrong with a board."""

    STUCK = "stuck"
    SATURATED = "saturated"
    UNREADABLE = "unreadable"
    RESET = "reset"
    CLOCK = "clock"
    RATE = "rate"
    LOSING = "losing"


BLINDING = (Fault.STUCK, Fault.SATURATED, Fault.UNREADABLE)
"""Faults with which no force of now can be shown, weightiest first."""

WORDS: dict[Fault, tuple[str, str]] = {
    Fault.STUCK: (
        "The board sends the same reading again and again.",
        "Check the wires of cell, converter and board; pull the plug and put it in again.",
    ),
    Fault.SATURATED: (
        "The converter is at the end of its range.",
        "Take the load off. If it stays, a wire of the cell is off or two are swapped.",
    ),
    Fault.UNREADABLE: (
        "Most lines of the board cannot be read.",
        "All is recorded. Check the plug and the cable, and the baud rate.",
    ),
    Fault.RESET: (
        "The board started anew.",
        "If that happens again its supply is weak: use another cable or port, without a hub.",
    ),
    Fault.CLOCK: (
        "The board's clock leapt.",
        "Times go on by this computer's clock. If it happens again, mend the sketch.",
    ),
    Fault.RATE: (
        "The board is far from the rate that it names.",
        "Check the rate pin of the converter, and that the sketch does not wait.",
    ),
    Fault.LOSING: (
        "The board loses more than a tenth of its readings.",
        "Check cable and hub; a rise may be withheld for it.",
    ),
}
"""What is said of each, and what to do."""


@dataclass(frozen=True, slots=True)
class Change:
    """A fault that began or is over.

    Attributes:
        fault: which.
        at_us: when, on the stream's clock [us].
        has_begun: True if it began.
    """

    fault: Fault
    at_us: int
    has_begun: bool


class Health:
    """Look at readings as they come.

    Attributes:
        faults: what is wrong now, and since when [us].
    """

    def __init__(self) -> None:
        self.faults: dict[Fault, int] = {}
        self._changes: list[Change] = []
        self._last: Floats | None = None
        self._same = 0
        self._same_since_us = 0
        self._ends = 0
        self._number: int | None = None
        # one entry a feed: arrival, readings, readings lost, unreadable lines
        self._window: deque[tuple[int, int, int, int]] = deque()
        self._sums = [0, 0, 0]
        self._unreadable = 0
        self._passing: dict[Fault, int] = {}

    def feed(
        self,
        blocks: Sequence[CountBlock],
        now_us: int,
        quantity: Quantity,
        unreadable: int,
        identity: Identity | None,
    ) -> None:
        """Take what a decoder gave out.

        Args:
            blocks: readings.
            now_us: arrival of the bytes they came from [us].
            quantity: what they are.
            unreadable: lines that could not be read, since the beginning.
            identity: what the board says of itself, or None.
        """
        lost = readings = 0
        for block in blocks:
            readings += len(block)
            lost += self._look(block, quantity)
        self._count(now_us, readings, lost, unreadable)
        nominal_hz = None if identity is None else identity.rate_hz
        self._judge(now_us, nominal_hz)

    def changes(self) -> list[Change]:
        """Give out what began or ended since the last call."""
        changes, self._changes = self._changes, []
        return changes

    def pause(self) -> None:
        """Hear that the board is gone: what is counted begins anew when it is back."""
        self._window.clear()
        self._sums = [0, 0, 0]
        self._same = self._ends = 0
        self._last = self._number = None

    def _look(self, block: CountBlock, quantity: Quantity) -> int:
        """Look at the readings of a block; say how many are missing before or in it."""
        flags = int(np.bitwise_or.reduce(block.flags))
        # a board that comes back after a loss has begun anew, and nobody wonders
        if flags & (RESTARTED | CLOCK_LEAPT) and self._number is not None:
            fault = Fault.CLOCK if flags & CLOCK_LEAPT else Fault.RESET
            self._passing[fault] = int(block.arrived_us[-1]) + PASSING_US
            self._set(fault, int(block.arrived_us[-1]), is_so=True)
        self._look_for_ends(block, flags)
        if quantity is Quantity.COUNT:
            self._look_for_stuck(block)
        before, self._number = self._number, int(block.number[-1])
        if before is None:
            return 0
        if flags & (RESTARTED | CLOCK_LEAPT):
            return 0
        return max(0, self._number - before - len(block))

    def _look_for_ends(self, block: CountBlock, flags: int) -> None:
        if not flags & SATURATED:
            self._ends = 0
        else:
            is_end = (block.flags & np.uint16(SATURATED)) != 0
            inside = np.flatnonzero(~is_end)
            tail = len(block) - 1 - int(inside[-1]) if len(inside) else len(block) + self._ends
            self._ends = tail
        self._set(
            Fault.SATURATED, int(block.arrived_us[-1]), is_so=self._ends >= SATURATED_READINGS
        )

    def _look_for_stuck(self, block: CountBlock) -> None:
        last = block.counts[-1]
        is_same = self._last is not None and bool((block.counts == self._last).all())
        if not is_same:
            moved = np.flatnonzero((block.counts != last).any(axis=1))
            first = int(moved[-1]) + 1 if len(moved) else 0
            self._same = len(block) - first
            self._same_since_us = int(block.arrived_us[first])
        else:
            self._same += len(block)
        self._last = last
        at_us = int(block.arrived_us[-1])
        is_long = at_us - self._same_since_us >= STUCK_US
        self._set(
            Fault.STUCK,
            at_us,
            # at its end the converter does stand still, and that is said already
            is_so=is_long and self._same >= STUCK_READINGS and not self._ends,
        )

    def _count(self, now_us: int, readings: int, lost: int, unreadable: int) -> None:
        bad, self._unreadable = unreadable - self._unreadable, unreadable
        if readings or lost or bad:
            self._window.append((now_us, readings, lost, bad))
            for place, n in enumerate((readings, lost, bad)):
                self._sums[place] += n
        while self._window and now_us - self._window[0][0] > WINDOW_US:
            _, *counts = self._window.popleft()
            for place, n in enumerate(counts):
                self._sums[place] -= n

    def _judge(self, now_us: int, nominal_hz: float | None) -> None:
        readings, lost, bad = self._sums
        self._set(Fault.UNREADABLE, now_us, is_so=bad >= FEWEST and bad > readings)
        self._set(
            Fault.LOSING, now_us, is_so=readings >= FEWEST and lost > LOSING * (readings + lost)
        )
        span_us = now_us - self._window[0][0] if self._window else 0
        if nominal_hz and span_us > 0.8 * WINDOW_US:
            rate_hz = (readings + lost - self._window[0][1]) / (span_us * 1e-6)
            is_off = abs(rate_hz / nominal_hz - 1.0) > RATE_OFF
            self._set(Fault.RATE, now_us, is_so=is_off and bad <= readings)
        for fault, until_us in list(self._passing.items()):
            if now_us >= until_us:
                del self._passing[fault]
                self._set(fault, now_us, is_so=False)

    def _set(self, fault: Fault, at_us: int, *, is_so: bool) -> None:
        if is_so == (fault in self.faults):
            return
        if is_so:
            self.faults[fault] = at_us
        else:
            del self.faults[fault]
        self._changes.append(Change(fault, at_us, is_so))


class WatchedDecoder:
    """A decoder whose readings are looked at on their way.

    They are looked at when `health` is asked for: a screen that waits for them comes first.

    Attributes:
        inner: the decoder itself.
    """

    def __init__(self, inner: Decoder) -> None:
        """Begin.

        Args:
            inner: the decoder.
        """
        self.inner = inner
        self._health = Health()
        self._unseen: list[tuple[list[CountBlock], int, Quantity, int, Identity | None]] = []

    @property
    def health(self) -> Health:
        """What was seen in all that was decoded."""
        unseen, self._unseen = self._unseen, []
        for seen in unseen:
            self._health.feed(*seen)
        return self._health

    @property
    def shape(self) -> str:
        """Key in the table BOARDS."""
        return self.inner.shape

    @property
    def quantity(self) -> Quantity:
        """What the numbers are."""
        return self.inner.quantity

    @property
    def identity(self) -> Identity | None:
        """What the board said of itself, None until it did."""
        return self.inner.identity

    @property
    def channels(self) -> int:
        """Readings a line, 0 until the first."""
        return self.inner.channels

    @property
    def pause_s(self) -> float:
        """Longest silence that is usual for such a board [s]."""
        return self.inner.pause_s

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a coach should know of this board, in whole sentences."""
        return self.inner.remarks

    @property
    def questions(self) -> tuple[str, ...]:
        """What has to be asked before its lines can be read."""
        inner = self.inner
        is_open = isinstance(inner, ShapeFinder) and inner.found is None
        return inner.finding.questions if isinstance(inner, ShapeFinder) and is_open else ()

    @property
    def unreadable(self) -> int:
        """Lines that were no reading and no comment."""
        return self.inner.unreadable

    def feed(self, chunks: Sequence[Chunk]) -> list[CountBlock]:
        """Decode what has arrived, and keep it to be looked at.

        Args:
            chunks: in order of arrival.
        """
        blocks = self.inner.feed(chunks)
        if chunks:
            now_us = chunks[-1].arrived_us
            self._unseen.append(
                (blocks, now_us, self.quantity, self.inner.unreadable, self.inner.identity)
            )
        return blocks

    def finish(self) -> list[CountBlock]:
        """End the stream, or a stretch of it."""
        self.health.pause()
        return self.inner.finish()
