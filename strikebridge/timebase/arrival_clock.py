"""Time from arrivals alone: the envelope as axis, and lost samples told from late ones.

The model is a line `m(x) = a + b x` under the arrivals (x: sample number with the lost ones
counted), its period b and phase a refitted after every frame of about a second. The **lag** of
a sample is its arrival less m(x). What lags do:

=====================  ==============================================================
a late bunch, a stall  the lag jumps up and comes back down to nothing, all at once
a loss of k samples    the lag jumps up by k periods and stays
jitter, bunching       the lag dances between nothing and a usual height
rounded stamps         the same, up to the step of the rounding
another rate           the lag runs away, up or down
a count too many       the lag falls below zero and stays: no sample comes early
=====================  ==============================================================

Hence three rules, each with its threshold in periods, since a loss is a whole number of them:

1. **Late.** A lag above the usual height (`theta`) is held back, and what follows with it. When
   a lag is down again (under `floor`), it was only late. When the smallest lag since has not
   moved for a while, as many samples were lost as it holds periods. The wait is 3 periods, or
   twice the usual lag where samples come in bunches, never above 0.4 s or 4 periods.
2. **Up for long.** Where jitter is wider than a period a single loss hides in it; but then no
   lag comes down any more. Samples are not held for this; a run of lags above `floor` that is
   longer than ever (8 usual lags at least) ends as a loss at the sample that made it sure.
3. **Early.** A lag below minus 0.6 periods moves the model down to it at once; three times in
   short order, or losses that come too regularly, mean that the rate is another one, and the
   clock starts anew from there, with the numbers and times going on.

The times given out follow the model on a continuous chain of straight pieces, at most half as
steep and never more than half as steep again, so they rise whatever the model does; only at a
loss do they jump with it. Where stamps are rounded, the envelope lies half a step too low (they
are rounded to nearest, by common practice), and the times are raised by that.
"""

from __future__ import annotations

import math
from collections import deque
from enum import Enum, auto
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import CountBlock, Flag, TimedBlock
from strikebridge.timebase.arrival_model import (
    PHASE_LOST_US,
    REGULAR_SHARE,
    REGULAR_WITHIN,
    WINDOW_FRAMES,
    ArrivalModel,
    first_model,
    rounding_of,
)
from strikebridge.timebase.blocks import Batch, join, tail
from strikebridge.timebase.board_clock import FLOOR_U_US, UNKNOWN_U_US
from strikebridge.timebase.lag_tally import LagTally
from strikebridge.timebase.time_chain import TimeChain

if TYPE_CHECKING:
    from strikebridge.samples import Floats

START_SAMPLES = 12
START_US = 1_000_000
START_LIMIT_US = 2_000_000  # slower boards start on three samples rather than wait longer
MANY = 3  # losses within the window of the model that make its rate doubtful
STRIKES = 2.5  # early arrivals that mean another rate, ...
FORGIVEN = 0.25  # ... less these for each frame since
RATE_STEP = 0.002  # the stated rate moves only when it is off by more than this share
LOOK_AHEAD = 64  # samples looked at first when one is late
RECENT = 32  # arrivals kept to tell losses from another rate
GAP_BEFORE = np.uint16(Flag.GAP_BEFORE)


class _Sign(Enum):
    """Why a stretch of samples cannot simply be let go."""

    NONE = auto()
    EARLY = auto()
    LATE = auto()
    LONG = auto()


class ArrivalClock:
    """Times from arrivals."""

    def __init__(self, nominal_rate_hz: float | None) -> None:
        """Start with nothing known.

        Args:
            nominal_rate_hz: rate to state where the arrivals give none [1/s].
        """
        self._stated_hz = 0.0  # 0: not yet
        self._nominal_hz = nominal_rate_hz
        self._held: CountBlock | None = None
        self._model: ArrivalModel | None = None
        self._lost = 0  # inferred so far: numbers given out are this much ahead of those got
        self._origin_number = 0
        self._origin_us = 0
        self._chain = TimeChain()
        self._tally = LagTally()
        self._cleared = 0  # next samples known to be only late
        self._count = 0
        self._losses: deque[int] = deque(maxlen=6)  # sample count at each of the last losses
        self._recent: deque[int] = deque(maxlen=RECENT)
        self._rounding_us = 0  # of all stamps since the start of the model
        self._strikes = 0.0

    @property
    def rate_hz(self) -> float | None:
        """Real sampling rate [1/s], None until known."""
        return self._stated_hz or None

    def feed(self, block: CountBlock) -> list[TimedBlock]:
        """Time one block.

        Args:
            block: readings without ticks, at least one.

        Returns:
            All that is decided by now.
        """
        if block.ticks_us is not None:
            raise ValueError("the stream had no board ticks and now has some")
        return self._advance(block if self._held is None else join([self._held, block]))

    def finish(self) -> list[TimedBlock]:
        """Decide what is still held and let it go."""
        if self._held is None:
            return []
        return self._advance(self._held, is_final=True)

    def to_stream_s(self, at_us: int) -> tuple[float, float]:
        """Map a moment of the host's clock onto the time axis, which is that clock's own.

        Args:
            at_us: host monotonic clock since the start of the stream [us].

        Returns:
            Time [s] and its standard uncertainty [s]: how far the envelope may be off.
        """
        model = self._model
        if model is None:
            return at_us / 1e6, UNKNOWN_U_US / 1e6
        rounding_us = model.coarseness_us / math.sqrt(12.0)
        return at_us / 1e6, math.hypot(FLOOR_U_US, model.doubt_us(), rounding_us) / 1e6

    def _advance(self, block: CountBlock, *, is_final: bool = False) -> list[TimedBlock]:
        """Go as far as the samples allow; keep the rest."""
        size = len(block)
        batch = Batch(block, np.empty(size, np.int64), np.empty(size))
        cuts: list[int] = [0]
        rates = [self._stated_hz]
        at = 0
        while at < size:
            model = self._model or self._begin(block, at, is_final=is_final)
            if model is None:
                break
            if self._stated_hz != rates[-1]:
                cuts.append(at)
                rates.append(self._stated_hz)
            taken = self._step(model, batch, at, is_final=is_final)
            if taken is None:
                break
            at += taken
        batch.number_to(at, self._lost)
        self._held = tail(block, at)
        flags = block.flags
        if batch.gaps:
            flags = flags.copy()
            flags[batch.gaps] |= GAP_BEFORE
        done = batch.time_us[:at]  # what lies behind it was never written
        time_s = np.divide(done, 1e6, out=done)
        return [
            TimedBlock(batch.number[a:b], time_s[a:b], block.counts[a:b], flags[a:b], rate)
            for (a, b), rate in zip(pairwise([*cuts, at]), rates, strict=True)
            if b > a
        ]

    def _begin(self, block: CountBlock, at: int, *, is_final: bool) -> ArrivalModel | None:
        """Make a first model from the samples from `at` on, if there are enough."""
        arrived = block.arrived_us[at:]
        passed = arrived - arrived[0]
        size = max(START_SAMPLES, int(np.searchsorted(passed, START_US)) + 1)
        size = min(size, max(3, int(np.searchsorted(passed, START_LIMIT_US)) + 1))
        if size > len(arrived):
            if not is_final:
                return None
            size = len(arrived)
        number = block.number[at : at + size]
        x = (number - number[0]).astype(np.float64)
        y = passed[:size].astype(np.float64)
        rate_hz = self._stated_hz or self._nominal_hz or 1.0
        rounding = rounding_of(passed[:size])
        model = first_model(x, y, rounding, 1e6 / rate_hz)
        self._model = model
        self._origin_number = int(number[0]) + self._lost
        self._origin_us = int(arrived[0])
        self._stated_hz = 1e6 / model.period_us
        self._strikes, self._cleared = 0.0, 0
        self._losses.clear()
        self._rounding_us = rounding
        self._tally.end_run()
        self._tally.start_frame()
        self._chain.restart(self._origin_us)
        self._chain.jump(model, 0.0)
        return model

    def _step(
        self, model: ArrivalModel, batch: Batch, at: int, *, is_final: bool
    ) -> int | None:
        """Deal with the samples from `at` to the end of the frame or to the first oddity.

        Returns:
            How many were decided; None to wait for more samples.
        """
        stop = min(len(batch.block), at + model.frame - self._tally.fill)
        x, y = self._coordinates(batch, at, stop)
        lag = model.period_us * x
        lag += model.offset_us
        np.subtract(y, lag, out=lag)
        fastest, highest_us = int(lag.argmin()), float(lag[lag.argmax()])
        taken, sign = len(lag), _Sign.NONE
        if lag[fastest] >= -model.early_us and highest_us <= model.floor_us:
            self._tally.count_calm(x, y, lag, (fastest, highest_us), self._lost)
        else:
            taken, sign, runs = self._scan(model, lag, y)
            if taken:
                self._tally.count(x[:taken], y[:taken], lag[:taken], runs, self._lost)
        if taken:
            self._accept(batch, at, x[:taken])
            if self._tally.fill >= model.frame:
                self._end_frame(model, float(x[taken - 1]))
            return taken
        if sign is _Sign.EARLY:
            self._pull_down(model, float(lag[0]))
            return 0
        if sign is _Sign.LONG:
            low = min(self._tally.run_low_us, float(lag[0]))
            self._lose(model, batch, at, low)
            return 0
        return self._judge(model, batch, at, is_final=is_final)

    def _coordinates(self, batch: Batch, start: int, stop: int) -> tuple[Floats, Floats]:
        """Count samples and microseconds from the model's origin."""
        return batch.coordinates(
            start, stop, (self._origin_number - self._lost, self._origin_us)
        )

    def _scan(self, model: ArrivalModel, lag: Floats, y: Floats) -> tuple[int, _Sign, Floats]:
        """Find the first sample that is early, unusually late, or late for too long.

        Returns:
            How many samples come before it, what it is, and for each sample the arrival at
            which its run of lags above the floor began, infinite where it is in none.
        """
        found = [(len(lag), _Sign.NONE)]
        early = lag < -model.early_us
        if early.any():
            found.append((int(early.argmax()), _Sign.EARLY))
        late = lag > model.theta_us
        late[: self._cleared] = False
        if late.any():
            found.append((int(late.argmax()), _Sign.LATE))
        is_high = lag > model.floor_us
        index = np.arange(len(lag))
        began = np.maximum.accumulate(np.where(is_high, -1, index)) + 1
        runs = y[np.minimum(began, len(lag) - 1)]
        if self._tally.run_us is not None:
            runs[began == 0] = self._tally.run_us
        long = is_high & (y - runs >= model.long_us)
        long[: self._cleared] = False
        for at in np.flatnonzero(long).tolist():
            if self._tally.low_of_run(lag, int(began[at]), at) >= model.hidden_us:
                found.append((at, _Sign.LONG))
                break
        runs[~is_high] = np.inf
        taken, sign = min(found, key=lambda pair: pair[0])
        return taken, sign, runs

    def _accept(self, batch: Batch, at: int, x: Floats) -> None:
        """Give times to samples that are counted into the frame."""
        taken = len(x)
        arrived_us = batch.block.arrived_us[at : at + taken]
        self._chain.times_us(x, batch.time_us[at : at + taken])
        self._recent.extend(arrived_us[-RECENT:].tolist())
        if self._rounding_us > 1 and not batch.are_rounded_to(self._rounding_us):
            # one odd stamp shows that they are finer than they looked
            self._rounding_us = rounding_of(arrived_us - self._origin_us, self._rounding_us)
        self._cleared = max(0, self._cleared - taken)
        self._count += taken

    def _judge(
        self, model: ArrivalModel, batch: Batch, at: int, *, is_final: bool
    ) -> int | None:
        """Tell whether the unusually late sample at `at` is late, or follows lost ones.

        Returns:
            0 once that is known, None to wait for more samples.
        """
        size = len(batch.block)
        ahead = LOOK_AHEAD
        while True:
            stop = min(size, at + ahead)
            x, y = self._coordinates(batch, at, stop)
            low = np.minimum.accumulate(y - (model.offset_us + model.period_us * x))
            lost = np.floor((low - 0.5 * model.coarseness_us) / model.period_us + 0.3)
            fell = np.concatenate(([True], lost[1:] < lost[:-1]))
            since = y[np.maximum.accumulate(np.where(fell, np.arange(len(y)), 0))]
            ripe = (y - since >= model.wait_us) | (y - y[0] >= model.limit_us)
            caught_up = int((low <= model.loss_us).argmax())
            decided = int(ripe.argmax())
            if low[-1] <= model.loss_us and not (ripe.any() and decided < caught_up):
                self._cleared = caught_up + 1
                return 0
            if ripe.any() or (is_final and stop == size):
                self._lose(model, batch, at, float(low[decided] if ripe.any() else low[-1]))
                return 0
            if stop == size:
                return None
            ahead *= 4

    def _lose(self, model: ArrivalModel, batch: Batch, at: int, lag_us: float) -> None:
        """Count samples as lost before the one at `at`, whose lag will stay."""
        lost = model.lost_in(lag_us)
        self._losses.append(self._count)
        if self._is_other_rate(model):
            self._model = None
            return
        if self._are_many(model) and model.explain_without_losses(self._lost):
            self._losses.clear()
            self._tally.renumber(self._lost)
            return
        batch.number_to(at, self._lost)
        self._lost += lost
        batch.gaps.append(at)
        rest_us = lag_us - lost * model.period_us
        is_known = (
            model.usual_us > 0.5 * model.period_us and lost * model.period_us < PHASE_LOST_US
        )
        if is_known:
            # the phase went on; that no lag of so few reached the line yet proves nothing
            rest_us = min(rest_us, 0.0)
        model.shift(rest_us)
        if lost * model.period_us > PHASE_LOST_US:
            model.forget()
        self._tally.take_loss(lost * model.period_us, rest_us)
        self._chain.jump(
            model, float(batch.block.number[at] + self._lost - self._origin_number)
        )

    def _pull_down(self, model: ArrivalModel, lag_us: float) -> None:
        """Bring the line down to a sample that came before it; often means another rate."""
        self._strikes += 1
        if self._strikes >= STRIKES:
            self._model = None
            return
        model.shift(lag_us)
        self._tally.shift(lag_us)
        self._tally.end_run()

    def _are_many(self, model: ArrivalModel) -> bool:
        """Say whether there were losses enough in the window to doubt the rate."""
        window = WINDOW_FRAMES * model.frame
        return sum(self._count - count <= window for count in self._losses) >= MANY

    def _is_other_rate(self, model: ArrivalModel) -> bool:
        """Say whether so many losses so soon are better explained by a slower board."""
        losses = self._losses
        if len(losses) < 4 or self._count - losses[-4] > RECENT or len(self._recent) < RECENT:
            return False
        spacing = np.diff(np.array(self._recent))
        typical = float(np.median(spacing))
        alike = np.abs(spacing - typical) <= REGULAR_WITHIN * typical
        if typical <= 0.0 or float(alike.mean()) < REGULAR_SHARE:
            return len(losses) == 6 and self._count - losses[0] <= 2 * RECENT
        tolerance = 0.04 + model.rounding_us / model.period_us
        return abs(float(spacing[alike].mean()) / model.period_us - 1.0) > tolerance

    def _end_frame(self, model: ArrivalModel, x: float) -> None:
        """Fit the model anew and let the times follow it from the sample after x."""
        tally = self._tally
        model.rounding_us = self._rounding_us
        model.refit(tally.low, tally.got, tally.height_us, tally.stay_us)
        tally.start_frame()
        self._strikes = max(0.0, self._strikes - FORGIVEN)
        self._chain.go_on(model, x + 1.0)
        rate_hz = 1e6 / model.period_us
        if abs(rate_hz / self._stated_hz - 1.0) > RATE_STEP:
            self._stated_hz = rate_hz
