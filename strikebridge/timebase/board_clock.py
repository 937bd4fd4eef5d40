"""Time from the board's own ticks; the host's clock only for events.

The axis is `anchor + (ticks - first ticks)`, the anchor being the arrival of the first sample,
all in whole microseconds, so nothing is lost to rounding and no block size can matter. Two
things are estimated beside it:

* the real sampling rate, from numbers and ticks over the last 8 s: lost samples, which the
  number counts, do not disturb it;
* the mapping from host to board. The board's crystal or RC oscillator may run 1 % off, so the
  difference of the two clocks is itself a line, the envelope of (arrival - time) over the last
  12 s. Late arrivals lie above it and cannot move it.

Where the board started anew, both begin again. The decoder unwraps the ticks and carries them
over a reset; should they fall all the same, the arrivals bridge the break.
"""

from __future__ import annotations

import math
from collections import deque
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import CountBlock, Flag, TimedBlock
from strikebridge.timebase.blocks import join
from strikebridge.timebase.envelope import Line, Point, doubt_of, fit_envelope

if TYPE_CHECKING:
    from strikebridge.samples import Ints

START_SAMPLES = 12  # enough for a median spacing
START_US = 1_000_000  # slow boards do not make the wall wait for all twelve
FRAME_S = 0.25
RATE_FRAMES = 32  # 8 s
MAP_FRAMES = 48  # 12 s
RATE_STEP = 0.005  # the stated rate moves only when it is off by more than this share
RATE_BREAK = 0.05  # frames this far off, twice running, are another rate: forget the old one
FLOOR_U_US = 500.0  # scheduling of the host, and the last byte of the line on a serial port
MOST_SLOPE = 0.02  # a clock this far off is none: the lines came in one burst
UNKNOWN_U_US = 1e6
RESTARTED = np.uint16(Flag.RESTARTED)


class BoardClock:
    """Times from ticks.

    Attributes:
        rate_hz: real sampling rate [1/s], None until known.
    """

    def __init__(self, nominal_rate_hz: float | None) -> None:
        """Start with nothing known.

        Args:
            nominal_rate_hz: rate to state for a lone sample [1/s], None where unknown.
        """
        self.rate_hz: float | None = None
        self._nominal_hz = nominal_rate_hz
        self._held: list[CountBlock] = []
        self._shift_us: int | None = None  # time = ticks + shift
        self._last_ticks_us = 0
        self._last_arrived_us = 0
        self._last_us = 0
        self._frame = START_SAMPLES
        self._fill = 0
        self._odd_frames = 0
        self._low: tuple[int, int] | None = None  # time and delay of the frame's fastest sample
        self._lows: deque[tuple[int, int]] = deque(maxlen=MAP_FRAMES)
        self._marks: deque[tuple[int, int]] = deque(maxlen=RATE_FRAMES + 1)  # number, time

    def feed(self, block: CountBlock) -> list[TimedBlock]:
        """Time one block.

        Args:
            block: readings with ticks, at least one.

        Returns:
            Timed readings; none while the rate is not known yet.
        """
        if self.rate_hz is not None:
            alone = self._emit_one(block) if len(block) == 1 else None
            return self._emit(block) if alone is None else alone
        self._held.append(block)
        return self._start(is_final=False)

    def finish(self) -> list[TimedBlock]:
        """Let go of what still waits for a rate."""
        return self._start(is_final=True) if self._held else []

    def to_stream_s(self, at_us: int) -> tuple[float, float]:
        """Map a moment of the host's clock onto the time axis of the samples.

        Args:
            at_us: host monotonic clock since the start of the stream [us].

        Returns:
            Time [s] and its standard uncertainty [s].
        """
        lows = [*self._lows, self._low] if self._low is not None else list(self._lows)
        if not lows:
            return at_us / 1e6, UNKNOWN_U_US / 1e6
        origin_us = lows[-1][0]
        points: list[Point] = [(float(x - origin_us), float(y)) for x, y in lows]
        level = Line(min(y for _, y in points), 0.0)
        line = level if len(points) < 4 else fit_envelope(points)
        if abs(line.slope) > MOST_SLOPE:
            line = level
        later_us = (at_us - origin_us - line.offset) / (1.0 + line.slope)
        u_us = math.hypot(FLOOR_U_US, doubt_of(points, line))
        return (origin_us + later_us) / 1e6, u_us / 1e6

    def _start(self, *, is_final: bool) -> list[TimedBlock]:
        """State a first rate once there is enough to go by."""
        held = self._held[0] if len(self._held) == 1 else join(self._held)
        ticks = _ticks(held)
        elapsed = np.flatnonzero(ticks - ticks[0] >= START_US)
        enough = (
            min(START_SAMPLES, max(3, int(elapsed[0]) + 1)) if len(elapsed) else START_SAMPLES
        )
        if len(held) < enough and not is_final:
            self._held = [held]
            return []
        self._held = []
        spacing_us = np.diff(ticks[:enough]) / np.maximum(1, np.diff(held.number[:enough]))
        spacing_us = spacing_us[spacing_us > 0.0]
        # of a lone reading nothing can be said: the printed rate, else the slowest there is
        self.rate_hz = self._nominal_hz or 1.0
        if len(spacing_us):
            self.rate_hz = 1e6 / float(np.median(spacing_us))
        self._frame = max(4, round(self.rate_hz * FRAME_S))
        return self._emit(held)

    def _emit(self, block: CountBlock) -> list[TimedBlock]:
        """Time a block; it is cut where the stated rate changes."""
        time_us, breaks = self._to_time_us(block, _ticks(block))
        delay_us = block.arrived_us - time_us
        cuts, rates = [0], [self.rate_hz or 1.0]
        start = 0
        for stop in [*breaks, len(block)]:
            while start < stop:
                end = min(stop, start + self._frame - self._fill)
                self._follow(block.number, time_us, delay_us, slice(start, end))
                start = end
                if self.rate_hz is not None and self.rate_hz != rates[-1]:
                    cuts.append(end)
                    rates.append(self.rate_hz)
            if stop < len(block):
                self._forget()
        return [
            TimedBlock(
                block.number[a:b], time_us[a:b] / 1e6, block.counts[a:b], block.flags[a:b], rate
            )
            for a, b, rate in zip(cuts, [*cuts[1:], len(block)], rates, strict=True)
            if b > a
        ]

    def _emit_one(self, block: CountBlock) -> list[TimedBlock] | None:
        """Time a line that came alone, as they do live, at a fraction of the cost of `_emit`.

        Returns:
            What `_emit` would say of it; None where it takes a closer look.
        """
        tick, arrived_us = int(_ticks(block)[0]), int(block.arrived_us[0])
        shift_us = self._shift_us
        is_plain = shift_us is not None and tick > self._last_ticks_us
        if not is_plain or shift_us is None or block.flags[0] & RESTARTED:
            return None
        if self._last_ticks_us + shift_us != self._last_us or self._fill + 1 >= self._frame:
            return None
        time_us = tick + shift_us
        delay_us = arrived_us - time_us
        if self._low is None or delay_us < self._low[1]:
            self._low = (time_us, delay_us)
        self._fill += 1
        self._last_ticks_us, self._last_arrived_us, self._last_us = tick, arrived_us, time_us
        rate_hz = self.rate_hz or 1.0
        time_s = np.array((time_us / 1e6,))
        return [TimedBlock(block.number, time_s, block.counts, block.flags, rate_hz)]

    def _to_time_us(self, block: CountBlock, ticks: Ints) -> tuple[Ints, list[int]]:
        """Turn ticks into times, and say where the board started anew."""
        if self._shift_us is None:
            self._shift_us = int(block.arrived_us[0] - ticks[0])
            self._last_ticks_us = int(ticks[0]) - 1
            self._last_us = int(block.arrived_us[0]) - 1
        restarts = np.flatnonzero(block.flags & RESTARTED).tolist()
        is_rising = int(ticks[0]) > self._last_ticks_us and bool((np.diff(ticks) > 0).all())
        if is_rising and self._last_ticks_us + self._shift_us == self._last_us:
            time_us = ticks + self._shift_us
        else:
            time_us, falls = self._to_rising_us(ticks, block.arrived_us)
            restarts = sorted({*restarts, *falls})
        self._last_ticks_us = int(ticks[-1])
        self._last_arrived_us = int(block.arrived_us[-1])
        self._last_us = int(time_us[-1])
        return time_us, restarts

    def _to_rising_us(self, ticks: Ints, arrived_us: Ints) -> tuple[Ints, list[int]]:
        """Turn ticks that stand still or fall into rising times, one by one."""
        shift_us = self._shift_us or 0
        last_ticks, last_arrived, last_us = (
            self._last_ticks_us,
            self._last_arrived_us,
            self._last_us,
        )
        time_us: list[int] = []
        falls: list[int] = []
        for tick, arrived in zip(ticks.tolist(), arrived_us.tolist(), strict=True):
            if tick < last_ticks:
                shift_us = last_us + max(1, arrived - last_arrived) - tick
                falls.append(len(time_us))
            # a coarse clock repeats itself; a microsecond keeps the order
            last_us = max(tick + shift_us, last_us + 1)
            last_ticks, last_arrived = tick, arrived
            time_us.append(last_us)
        self._shift_us = shift_us
        return np.array(time_us, dtype=np.int64), falls

    def _follow(self, number: Ints, time_us: Ints, delay_us: Ints, part: slice) -> None:
        """Take a stretch of one frame into the estimates."""
        if not self._marks:
            self._marks.append((int(number[part.start]), int(time_us[part.start])))
        at = part.start + int(delay_us[part].argmin())
        if self._low is None or delay_us[at] < self._low[1]:
            self._low = (int(time_us[at]), int(delay_us[at]))
        self._fill += part.stop - part.start
        if self._fill < self._frame:
            return
        self._lows.append(self._low)
        self._low, self._fill = None, 0
        self._update_rate(int(number[part.stop - 1]), int(time_us[part.stop - 1]))

    def _update_rate(self, number: int, time_us: int) -> None:
        """Count one finished frame into the rate."""
        last_number, last_us = self._marks[-1]
        self._marks.append((number, time_us))
        first_number, first_us = self._marks[0]
        stated_hz = self.rate_hz or 1.0
        frame_hz = (number - last_number) * 1e6 / (time_us - last_us)
        is_odd = abs(frame_hz / stated_hz - 1.0) > RATE_BREAK
        self._odd_frames = self._odd_frames + 1 if is_odd else 0
        if self._odd_frames >= 2:
            self.rate_hz, self._odd_frames = frame_hz, 0
            self._marks.clear()
            self._marks.append((number, time_us))
            self._frame = max(4, round(frame_hz * FRAME_S))
            return
        mean_hz = (number - first_number) * 1e6 / (time_us - first_us)
        if not is_odd and abs(mean_hz / stated_hz - 1.0) > RATE_STEP:
            self.rate_hz = mean_hz

    def _forget(self) -> None:
        """Begin the estimates anew; the stated rate stays until there is a better one."""
        self._marks.clear()
        self._lows.clear()
        self._low, self._fill, self._odd_frames = None, 0, 0


def _ticks(block: CountBlock) -> Ints:
    if block.ticks_us is None:
        raise ValueError("the stream had board ticks and now has none")
    return block.ticks_us
