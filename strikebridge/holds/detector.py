"""The streaming detector: readings in, holds and contacts out.

Readings become frames (`frames`), frames walk through the state table (`table`, which holds the
theory, and `machine`), and what the table calls the end of a hold is cut out on single readings
(`refine`). Memory is bounded: two seconds of readings at rest, and a contact of at most 90 s.
"""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from strikebridge.holds import refine
from strikebridge.holds.frames import BATCH_ROWS, Batch, Intake, frame_length
from strikebridge.holds.machine import HOLD_FLOOR_N, HOLD_S, Machine
from strikebridge.holds.rows import BRIDGE_S, FLAGS, FORCE, MISSING, TIME, breaks, rows_of
from strikebridge.holds.spikes import USUAL
from strikebridge.holds.table import Sight, State
from strikebridge.holds.touch import Frame, Touch, Watch
from strikebridge.samples import Contact, Flag, Floats, ForceBlock, Hold

HOLD_SD = 6.0
BEYOND_RANGE = 0.8  # of the readings of a load; so much at the end of the converter is no force
ANSWER_S = 0.3  # a hold is handed out this long after its release at the latest
LIST_FLOOR_N = 8.0  # lighter contacts are not worth a line
TAIL_S = 0.2  # the force of a let-go that is still under way is carried on this far
KEEP_S = 2.0  # of readings at rest: what a hold carries from before its onset, and some


class HoldDetector:
    """Find holds and contacts in calibrated force, as it comes.

    Args:
        settling_s: time the converter's filter needs after a step [s]; None if unknown. Handed
            on with each hold.
    """

    def __init__(self, settling_s: float | None = None) -> None:
        self._settling_s = settling_s
        self._machine = Machine(self._on_end)
        self._intake: Intake | None = None
        self._rate_hz = 0.0
        self._length = 1
        self._look = 1
        self._columns = 0
        self._last_row: Floats | None = None
        self._kept: deque[tuple[int, Floats]] = deque()
        self._calibration: tuple[str | None, float] = (None, math.inf)
        self._found: list[Hold | Contact] = []
        self._holds = 0

    def feed(self, block: ForceBlock) -> list[Hold | Contact]:
        """Take in readings.

        Args:
            block: calibrated force; numbers go on from the last block, lost ones left out.

        Returns:
            What was finished by them, in order.
        """
        if not len(block):
            return []
        rows = rows_of(block)
        if not len(rows):
            return []
        if self._intake is None:
            self._set_rate(block.rate_hz, rows.shape[1])
        elif frame_length(block.rate_hz) != self._length and not (
            0.5 < block.rate_hz / self._rate_hz < 2.0
        ):
            self._break_run()
            self._set_rate(block.rate_hz, rows.shape[1])
        self._calibration = (block.calibration, block.dof_common)
        cuts = breaks(rows, self._last_row, self._rate_hz)
        begin = 0
        for cut in [*cuts, len(rows)]:
            if cut > begin:
                self._add(rows[begin:cut])
            if cut < len(rows):
                self._break_run()
            begin = cut
        self._last_row = rows[-1]
        return self._hand_out()

    def finish(self) -> list[Hold | Contact]:
        """Say that nothing more comes.

        Returns:
            What was under way: a hold that was still held has no release.
        """
        if self._intake is not None:
            self._drain()
            if self._machine.touch is not None:
                self._machine.step(Sight.GAP, self._end_of_run())
            self._machine.touch = None
        return self._hand_out()

    def watch(self) -> Watch:
        """Return the state of things for the live screen."""
        touch = self._machine.touch
        zero = self._machine.zero
        pressed = self._machine.state in (State.TOUCHED, State.HOLDING)
        peak_N = None
        if touch is not None and self._intake is not None:
            # a spike stands alone: two readings in a row must be this high
            pending = self._intake.pending() - zero.zero_N
            pairs = np.minimum(pending[:-1], pending[1:])
            peak_N = max(touch.peak_N, float(pairs.max()) if pressed and len(pairs) else 0.0)
        holding = touch is not None and touch.body is not None
        return Watch(
            state=self._machine.state,
            zero_N=zero.zero_N + self._machine.live_shift(),
            noise_N=zero.noise_N,
            u_zero_N=zero.u_N,
            is_touched=pressed,
            is_holding=self._machine.state is State.HOLDING,
            onset_s=touch.start_s if touch is not None else None,
            peak_N=peak_N,
            level_N=touch.level_now() if touch is not None and holding else None,
            pulls=self._machine.pulls.count,
            pulled_s=self._machine.pulls.last_s,
        )

    def _set_rate(self, rate_hz: float, columns: int) -> None:
        self._rate_hz = rate_hz
        self._length = frame_length(rate_hz)
        self._look = 1 if rate_hz < 40.0 else 3
        self._columns = columns
        self._machine.set_rate(self._length, rate_hz, ANSWER_S - self._look / rate_hz)
        self._intake = self._new_intake()

    def _new_intake(self) -> Intake:
        keep = USUAL + 8 + round(1.5 * BRIDGE_S * self._rate_hz)
        return Intake(self._length, self._look, self._columns, keep)

    def _add(self, rows: Floats) -> None:
        for begin in range(0, len(rows), BATCH_ROWS):
            assert self._intake is not None
            self._intake.add(rows[begin : begin + BATCH_ROWS])
            self._run(self._intake.take())

    def _drain(self) -> None:
        assert self._intake is not None
        while (batch := self._intake.take(all_of_it=True)) is not None:
            self._run(batch)

    def _break_run(self) -> None:
        """Deal with a hole too long to be bridged: nothing connects across it."""
        self._drain()
        self._machine.step(Sight.GAP, self._end_of_run())
        self._intake = self._new_intake()
        self._kept.clear()
        self._machine.begin_run()

    def _end_of_run(self) -> Frame:
        end = self._kept[-1][0] + len(self._kept[-1][1]) if self._kept else 0
        return Frame(end, end, 0.0, 0.0, 0.0, 0.0)

    def _run(self, batch: Batch | None) -> None:
        if batch is None:
            return
        self._kept.append((batch.first, batch.rows))
        starts = batch.rows[:: batch.length, TIME].tolist()
        plain = [seen and k not in batch.spikes for k, seen in enumerate(batch.is_seen)]
        upto = 0  # frames before this one were taken in at rest
        for k, start_s in enumerate(starts):
            if k >= upto and self._machine.state is State.REST:
                upto = k + self._machine.rest(batch.mean[k:], batch.within[k:], plain[k:])
            if k < upto:
                continue
            if k in batch.spikes:
                batch.remove_spikes(k, self._machine.is_spike)
            first = batch.first + k * batch.length
            self._machine.see(
                Frame(
                    first,
                    first + batch.length,
                    start_s,
                    batch.mean[k],
                    batch.high[k],
                    batch.within[k],
                    batch.is_seen[k],
                )
            )
        self._trim()

    def _trim(self) -> None:
        end = self._kept[-1][0] + len(self._kept[-1][1])
        oldest = end - round(KEEP_S * self._rate_hz)
        if self._machine.touch is not None:
            oldest = min(oldest, self._machine.touch.first - round(KEEP_S * self._rate_hz))
        while self._kept and self._kept[0][0] + len(self._kept[0][1]) <= oldest:
            self._kept.popleft()

    def _on_end(self, touch: Touch, end: int, reason: str) -> None:
        if not reason:
            self._found.append(self._cut(touch, end))
            return
        zero = self._machine.zero
        if touch.peak_N >= max(LIST_FLOOR_N, HOLD_SD * zero.noise_N):
            end_s = self._time_of(end) - touch.waiting * self._machine.frame_s
            self._found.append(Contact(touch.start_s, end_s, touch.peak_N, reason))

    def _time_of(self, position: int) -> float:
        first, rows = self._kept[-1]
        index = min(max(position - 1 - first, 0), len(rows) - 1)
        return float(rows[index, TIME])

    def _cut(self, touch: Touch, end: int) -> Hold | Contact:
        """Apply the definitions to the readings of a contact that is over."""
        readings = self._readings(touch, end)
        time_s, force_N = readings.time_s, readings.force_N
        onset = refine.find_onset(readings, touch.body_peak_N)
        inside = force_N[readings.begin :]
        level_N = refine.find_level(inside, touch.base_N, touch.body_peak_N)
        resting_N = max(touch.base_N, touch.means_N[-1])
        is_free = resting_N < refine.RESTING_SHARE * level_N
        half_N = 0.5 * level_N if is_free else 0.5 * (level_N + touch.base_N)
        release_s = refine.find_release(time_s, force_N, half_N)
        why = self._why_no_hold(touch, inside, time_s[readings.begin :], half_N, release_s)
        end_s = release_s if release_s is not None else float(time_s[-1])
        if not why and _is_beyond_range(readings, half_N):
            why = "the converter stood at its end nearly all the time, so no hold"
        if why:
            return Contact(onset.at_s, end_s, touch.peak_N, why)
        self._holds += 1
        held = (time_s >= onset.at_s) & (time_s <= end_s)
        return Hold(
            number=self._holds,
            force=refine.block_of(readings, onset.at_s - refine.BEFORE_S, *self._calibration),
            onset_s=onset.at_s,
            release_s=release_s,
            level_N=level_N,
            baseline_N=onset.baseline_N,
            noise_N=onset.noise_N,
            u_zero_N=self._u_zero(touch),
            settling_s=self._settling_s,
            lost=int(readings.rows[held, MISSING].sum()),
            onset_sure=onset.is_sure and touch.sure,
        )

    def _u_zero(self, touch: Touch) -> float:
        """Combine the noise of the zero with what it drifted by during the hold [N].

        The drift is a rectangle from nothing to what is left after the release beyond noise.
        """
        zero = self._machine.zero
        before_N, left_N = (mean_N - touch.base_N for mean_N in touch.means_N[-2:])
        if 0.0 < left_N < before_N:
            # still letting go: carry that on for a moment
            left_N *= (left_N / before_N) ** round(TAIL_S / self._machine.frame_s)
        if abs(left_N) > zero.touch_N:
            return zero.u_N
        square = max(0.0, left_N**2 - zero.frame_noise_N**2)
        return math.hypot(zero.u_N, math.sqrt(square / 3.0))

    def _why_no_hold(
        self,
        touch: Touch,
        inside: Floats,
        time_s: Floats,
        half_N: float,
        release_s: float | None,
    ) -> str:
        """Return why a contact is no hold after all; empty if it is one."""
        least_N = max(HOLD_FLOOR_N, HOLD_SD * self._machine.zero.frame_noise_N)
        if touch.body_peak_N - touch.base_N < least_N:
            return f"lighter than {least_N:.0f} N, so no hold"
        over = np.flatnonzero(inside >= half_N)
        end_s = release_s if release_s is not None else float(time_s[-1])
        begin_s = float(time_s[over[0]]) if len(over) else end_s
        if end_s - begin_s < HOLD_S - 0.75 / self._rate_hz:
            return "shorter than 0.5 s, so no hold"
        return ""

    def _readings(self, touch: Touch, end: int) -> refine.Readings:
        start = max(0, min(touch.first, end) - round(KEEP_S * self._rate_hz))
        offset = max(start, self._kept[0][0])
        rows = np.vstack(
            [rows[max(0, offset - first) : max(0, end - first)] for first, rows in self._kept]
        )
        return refine.Readings(
            rows=rows,
            force_N=rows[:, FORCE] - self._machine.zero.zero_N,
            begin=max(0, touch.first - self._length - offset),
            quiet_from=max(0, touch.quiet_from - offset),
            base_N=touch.base_N,
            noise_N=self._machine.zero.noise_N,
            rate_hz=self._rate_hz,
        )

    def _hand_out(self) -> list[Hold | Contact]:
        found, self._found = self._found, []
        return found


def _is_beyond_range(readings: refine.Readings, half_N: float) -> bool:
    """Say whether hardly anything of a load was measured: a wire that came off looks so."""
    held = readings.rows[:, FLAGS][readings.force_N >= half_N]
    at_end = (held.astype(np.int64) & Flag.SATURATED) != 0
    return len(held) > 0 and float(np.mean(at_end)) > BEYOND_RANGE
