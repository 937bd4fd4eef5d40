"""Unwrap a board's sequence number and clock, and see where it lost samples or began anew.

A board counts its samples in 16 bits and its microseconds in 32. Between two lines the sequence
number went on by `s` (modulo 65 536) and the clock by `t` (modulo 2**32 us = 71.6 min).

* Almost always both steps are small and positive, and are simply added up.
* A long silence may hide whole turns of either counter. Turns of the clock are told by the
  host's clock, turns of the sequence number by the board's clock and the mean spacing so far.
* After a **reset** both begin anew. The clock then seems to step back; or, when it stood in
  the upper half of its range, to leap ahead by up to half an hour. No line can arrive before it
  was made: a clock that runs ahead of the host's by more than 2 s, counted from the promptest
  line so far, has been reset.

How long a board was away during a reset only the host's clock tells. The running clock goes on
by the time between the two arrivals, and the running number by as many samples as fit into it,
so that both go on rising and the hole has about the right length. That sample is flagged
RESTARTED, and CLOCK_LEAPT as well where the clock shows that it did not just begin.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Flag

if TYPE_CHECKING:
    from strikebridge.samples import Flags, Ints

SEQUENCE_TURN = 2**16
CLOCK_TURN_US = 2**32
PLAIN_STEPS = 4096  # samples; a longer jump of the sequence number is looked at twice
PLAIN_STEP_US = 10_000_000  # a longer jump of the clock is looked at twice
AHEAD_US = 2_000_000  # further than this before the host no true clock gets
FRESH_US = 10_000_000  # a clock that has just begun shows less; else it leapt
CLOCK_TOLERANCE = 64  # board clocks may run 1/64 fast or slow against the host's
SPACING_SAMPLES = 8  # from so many on the mean spacing is known


@dataclass(frozen=True, slots=True, eq=False)
class Unwrapped:
    """Counters that only rise.

    Attributes:
        kept: which of the lines given are new readings, shape (m,); a repeated line is not.
        number: running sample number, lost ones counted, shape (n,).
        ticks_us: running board clock [us], shape (n,), rising.
        flags: GAP_BEFORE, RESTARTED and CLOCK_LEAPT, shape (n,).
    """

    kept: slice | Ints
    number: Ints
    ticks_us: Ints
    flags: Flags


ALL = slice(None)
GAP_BEFORE = int(Flag.GAP_BEFORE)
RESTARTED = int(Flag.RESTARTED)
CLOCK_LEAPT = int(Flag.CLOCK_LEAPT)


class BoardClock:
    """Keep the place in a board's counters."""

    def __init__(self) -> None:
        self._started = False
        self._sequence = 0
        self._micros = 0
        self._arrived_us = 0
        self._number = 0
        self._ticks_us = 0
        self._run_number = 0  # first sample since the board last began
        self._run_ticks_us = 0
        self._spacing_before_us: float | None = None  # as it was in the run before
        self._lag_us = 0  # of the promptest line, see `_lag_key`

    def feed(self, sequence: Ints, micros: Ints, arrived_us: Ints) -> Unwrapped:
        """Unwrap the counters of lines in their order.

        Args:
            sequence: 0 to 65 535, shape (m,), not empty.
            micros: 0 to 2**32 - 1 [us], shape (m,).
            arrived_us: arrivals [us], shape (m,), never falling.
        """
        if not self._started:
            self._begin(int(sequence[0]), int(micros[0]), int(arrived_us[0]))
        steps = _steps(sequence, self._sequence, SEQUENCE_TURN)
        steps_us = _steps(micros, self._micros, CLOCK_TURN_US)
        self._sequence, self._micros = int(sequence[-1]), int(micros[-1])
        kept: slice | Ints = ALL
        is_repeat = (steps == 0) & (steps_us == 0)
        if is_repeat.any():
            kept = np.flatnonzero(~is_repeat)
            steps, steps_us, arrived_us = steps[kept], steps_us[kept], arrived_us[kept]
        number_before, ticks_before_us = self._number, self._ticks_us
        flags = np.zeros(len(steps), np.uint16)
        self._walk(steps, steps_us, arrived_us, flags)
        if flags.any():
            flags[(flags != 0) & (micros[kept] > FRESH_US)] |= CLOCK_LEAPT
        flags[steps > 1] |= GAP_BEFORE
        number = number_before + np.cumsum(steps)
        return Unwrapped(kept, number, ticks_before_us + np.cumsum(steps_us), flags)

    def feed_one(self, sequence: int, micros: int, arrived_us: int) -> tuple[int, int, int]:
        """Unwrap the counters of a single line, at a fraction of the cost of `feed`.

        Args:
            sequence: 0 to 65 535.
            micros: 0 to 2**32 - 1 [us].
            arrived_us: arrival [us].

        Returns:
            Running number, running board clock [us] and flags; number -1 for a repeated line.
        """
        if not self._started:
            self._begin(sequence, micros, arrived_us)
        step = (sequence - self._sequence) % SEQUENCE_TURN
        step_us = (micros - self._micros) % CLOCK_TURN_US
        if step == 0 and step_us == 0:
            return -1, 0, 0
        self._sequence, self._micros = sequence, micros
        is_restart, step, _ = self._take(step, step_us, arrived_us)
        flags = 0
        if is_restart:
            flags = RESTARTED | CLOCK_LEAPT if micros > FRESH_US else RESTARTED
        return self._number, self._ticks_us, flags | (GAP_BEFORE if step > 1 else 0)

    def _begin(self, sequence: int, micros: int, arrived_us: int) -> None:
        """Pretend that a sample came one count and one microsecond before the first one."""
        self._started = True
        self._sequence, self._micros = sequence - 1, micros - 1
        self._number, self._ticks_us = -1, micros - 1
        self._run_ticks_us = micros
        self._arrived_us = arrived_us
        self._lag_us = _lag_key(arrived_us, micros)

    def _walk(self, steps: Ints, steps_us: Ints, arrived_us: Ints, flags: Flags) -> None:
        """Add the steps up; put right, in place, those that cannot be meant as they stand."""
        is_odd = (
            (steps < 1) | (steps > PLAIN_STEPS) | (steps_us < 1) | (steps_us > PLAIN_STEP_US)
        )
        done = 0
        for odd in np.flatnonzero(is_odd).tolist():
            self._advance(steps[done:odd], steps_us[done:odd], arrived_us[done:odd])
            is_restart, steps[odd], steps_us[odd] = self._take(
                int(steps[odd]), int(steps_us[odd]), int(arrived_us[odd])
            )
            if is_restart:
                flags[odd] = RESTARTED
            done = odd + 1
        self._advance(steps[done:], steps_us[done:], arrived_us[done:])

    def _advance(self, steps: Ints, steps_us: Ints, arrived_us: Ints) -> None:
        """Go on by steps that are as they should be."""
        if not len(steps):
            return
        ticks_us = self._ticks_us + np.cumsum(steps_us)
        self._number += int(steps.sum())
        self._ticks_us = int(ticks_us[-1])
        self._arrived_us = int(arrived_us[-1])
        lag_us = arrived_us - ticks_us - arrived_us // CLOCK_TOLERANCE
        self._lag_us = min(self._lag_us, int(lag_us.min()))

    def _take(self, step: int, step_us: int, arrived_us: int) -> tuple[bool, int, int]:
        """Go on by one step, odd or not; return what `_resolve` made of it."""
        is_restart = False
        if not (1 <= step <= PLAIN_STEPS and 1 <= step_us <= PLAIN_STEP_US):
            is_restart, step, step_us = self._resolve(step, step_us, arrived_us)
        if is_restart:
            self._spacing_before_us = self._spacing_us()
        self._number += step
        self._ticks_us += step_us
        self._arrived_us = arrived_us
        lag_us = _lag_key(arrived_us, self._ticks_us)
        if is_restart:
            self._run_number, self._run_ticks_us = self._number, self._ticks_us
        if is_restart or lag_us < self._lag_us:
            self._lag_us = lag_us
        return is_restart, step, step_us

    def _resolve(self, step: int, step_us: int, arrived_us: int) -> tuple[bool, int, int]:
        """Say what an odd step means: a reset or not, samples gone on, microseconds gone on."""
        away_us = arrived_us - self._arrived_us
        turns = max(0, round((away_us - step_us) / CLOCK_TURN_US))
        forward_us = max(1, step_us + turns * CLOCK_TURN_US)
        spacing_us = self._spacing_us()
        # how far the host was ahead at the least, by then; drift of the board's clock aside
        least_us = (
            self._lag_us + self._arrived_us // CLOCK_TOLERANCE - away_us // CLOCK_TOLERANCE
        )
        if arrived_us - self._ticks_us - forward_us < least_us - AHEAD_US:
            since_us = max(1, away_us, round(spacing_us or 1))
            return True, max(1, round(since_us / spacing_us)) if spacing_us else 1, since_us
        if spacing_us:
            turns = max(0, round((forward_us / spacing_us - step) / SEQUENCE_TURN))
            step += turns * SEQUENCE_TURN
        return False, max(1, step), forward_us

    def _spacing_us(self) -> float | None:
        """Mean spacing of the samples [us], as well as it is known by now."""
        samples = self._number - self._run_number
        if samples >= SPACING_SAMPLES:
            return (self._ticks_us - self._run_ticks_us) / samples
        return self._spacing_before_us


def _steps(values: Ints, before: int, turn: int) -> Ints:
    """Count how far a wrapping counter went on between one value and the next."""
    steps = np.empty(len(values), np.int64)
    steps[0] = values[0] - before
    np.subtract(values[1:], values[:-1], out=steps[1:])
    steps %= turn
    return steps


def _lag_key(arrived_us: int, ticks_us: int) -> int:
    """Say how far the host's clock is ahead, so that a slow board clock does not raise it."""
    return arrived_us - ticks_us - arrived_us // CLOCK_TOLERANCE
