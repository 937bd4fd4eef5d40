"""The clock and the running number that a sketch prints beside its readings, as far as it does.

A clock of milliseconds or seconds is turned into microseconds and unwrapped as the board's
clock of our own lines is. Where there is a clock but no running number, a step of the clock
that is longer than usual tells how many readings are missing. Where there is neither, readings
are numbered as they come, and lost ones are for the timebase to infer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.board_clock import CLOCK_TURN_US, SEQUENCE_TURN, BoardClock
from strikebridge.samples import Flag

if TYPE_CHECKING:
    from strikebridge.samples import Flags, Floats, Ints

LEARN_STEPS = 15  # steps of the clock before the usual one is known
FOLLOW = 1.0 / 64.0
COARSE_US = 1000.0  # no clock in use is read more coarsely than to the millisecond
LONG = 1.5  # usual steps; a longer one hides a lost reading
LONGEST_US = 10_000_000  # a longer step says nothing of lost readings
MOST_STEP = 1000  # a running number that leaps further was set anew
TURNS = (256, 65_536, 10, 100, 1000, 10_000)  # where running numbers begin anew
Clocked = tuple["Ints", "Ints | None", "Flags", "Ints"]


class SketchClock:
    """Number and time the readings of a sketch."""

    def __init__(self, *, ticks_at: int | None, unit_us: float, number_at: int | None) -> None:
        """Begin before the first reading.

        Args:
            ticks_at: column of the board's clock, None where it prints none.
            unit_us: microseconds of one unit of that clock.
            number_at: column of the running number, None where it prints none.
        """
        self._ticks_at = ticks_at
        self._unit_us = unit_us
        self._number_at = number_at
        self._clock = BoardClock()
        self._number = -1
        self._printed: int | None = None
        self._micros: int | None = None
        self._steps_us: list[int] = []
        self._usual_us: float | None = None

    def feed(self, numbers: Floats, arrived_us: Ints) -> Clocked:
        """Number and time the next readings.

        Args:
            numbers: a row a reading, at least one.
            arrived_us: their arrivals [us], shape (n,).

        Returns:
            Running number; board clock [us] or None; flags; places of the readings kept (a line
            that came twice is not).
        """
        places = np.arange(len(numbers))
        flags = np.zeros(len(numbers), np.uint16)
        if self._ticks_at is None:
            if self._number_at is None:
                number = self._number + 1 + places
            else:
                steps = [self._step(int(n)) for n in numbers[:, self._number_at]]
                flags[[step > 1 for step in steps]] |= np.uint16(Flag.GAP_BEFORE)
                number = self._number + np.cumsum(steps)
            self._number = int(number[-1])
            return number, None, flags, places
        micros = np.round(numbers[:, self._ticks_at] * self._unit_us).astype(np.int64)
        micros %= CLOCK_TURN_US
        if self._number_at is None:
            steps = [self._infer(us) for us in micros.tolist()]
        else:
            steps = [self._step(int(n)) for n in numbers[:, self._number_at]]
        sequence = (self._number + np.cumsum(steps)) % SEQUENCE_TURN
        self._number = (self._number + sum(steps)) % SEQUENCE_TURN
        clock = self._clock.feed(sequence, micros, arrived_us)
        return clock.number, clock.ticks_us, clock.flags, places[clock.kept]

    def _step(self, printed: int) -> int:
        """Say how far a printed running number went on."""
        before, self._printed = self._printed, printed
        if before is None:
            return 1
        step = printed - before
        if step < 0:
            turns = [turn for turn in TURNS if before < turn and step + turn <= turn // 8 + 1]
            step = min((step + turn for turn in turns), default=1)
        return step if 1 <= step <= MOST_STEP else 1

    def _infer(self, micros: int) -> int:
        """Say how many readings a step of the clock stands for."""
        before, self._micros = self._micros, micros
        if before is None:
            return 1
        step_us = (micros - before) % CLOCK_TURN_US
        if step_us > LONGEST_US:
            return 1
        if self._usual_us is None:
            self._steps_us.append(step_us)
            if len(self._steps_us) == LEARN_STEPS:
                self._usual_us = float(np.median(self._steps_us))
                self._steps_us = []
            return 1
        usual_us = self._usual_us
        if usual_us and step_us > LONG * usual_us + min(self._unit_us, COARSE_US):
            return max(1, round(step_us / usual_us))
        self._usual_us = usual_us + FOLLOW * (step_us - usual_us)
        return 1
