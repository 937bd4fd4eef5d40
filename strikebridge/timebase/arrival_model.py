"""The line under the arrivals, and the thresholds that follow from the scatter above it."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.timebase.envelope import Line, Point, doubt_of, fit_envelope

if TYPE_CHECKING:
    from strikebridge.samples import Floats, Ints

WINDOW_FRAMES = 16  # points of the envelope
FRAME_S = 1.0
FRAME_LEAST, FRAME_MOST = 8, 256  # samples; at high rates a short window follows drift better
HOPELESS = 10.0  # periods of usual lag beyond which no loss hidden in it is inferred any more
WINDOW_MOST = 2048.0  # samples
CALM_FRAME = 512  # samples; where jitter is under a period fewer points do for the window
FIT_LEAST = 4  # points below which the first estimate is better than a fit
REGULAR_SHARE = 0.6  # of the spacings alike: there is no bunching, the odd ones are losses
REGULAR_WITHIN = 0.15  # of the median: alike
WHOLE_WITHIN = 0.3  # periods; a loss is a whole number of them, give or take the jitter
PERIOD_LEAST_US = 1.0  # stamps are no finer; only a clock that stands still comes here
PHASE_LOST_US = 3e6  # after so long a gap old points say nothing of the phase


@dataclass(slots=True)
class ArrivalModel:
    """Where arrivals lie if they are not late; x counts samples, y is in microseconds.

    Attributes:
        offset_us: envelope at x = 0 [us].
        period_us: sampling period [us].
        rounding_us: step to which the arrivals were rounded [us], 0 if there is none.
        frame: samples after which it is fitted next.
        heights_us: largest lag of each of the last frames [us].
        runs_us: longest stay above `floor_us` in each of the last frames [us].
        start: samples that the first estimate rested on.
        span: samples that the estimate rests on.
        points: fastest arrival of each of the last frames, (x, y).
        got: the same points as they came: numbered without the inferred losses, not shifted.
        usual_us: usual largest lag [us].
        floor_us: lag below which a sample counts as not late [us].
        loss_us: smallest lag that may be a loss if it stays [us].
        hidden_us: the same where jitter hides it [us].
        theta_us: lag above which a sample is unusually late [us].
        early_us: how far below the line an arrival refutes it [us].
        wait_us: how long a lag must stay to be a loss [us].
        limit_us: longest wait for a decision [us].
        long_us: how long all lags must stay above `hidden_us` to be such a loss [us].
    """

    offset_us: float
    period_us: float
    rounding_us: int
    frame: int
    heights_us: deque[float]
    start: float
    runs_us: deque[float] = field(default_factory=lambda: deque([0.0], maxlen=8))
    points: deque[Point] = field(default_factory=lambda: deque(maxlen=WINDOW_FRAMES))
    span: float = 0.0
    got: deque[Point] = field(default_factory=lambda: deque(maxlen=WINDOW_FRAMES))
    usual_us: float = 0.0
    floor_us: float = 0.0
    loss_us: float = 0.0
    hidden_us: float = 0.0
    theta_us: float = 0.0
    early_us: float = 0.0
    wait_us: float = 0.0
    limit_us: float = 0.0
    long_us: float = 0.0

    def __post_init__(self) -> None:
        """Derive the thresholds."""
        self.span = max(self.start, float(self.frame))
        self.set_thresholds()

    @property
    def coarseness_us(self) -> float:
        """How much of the scatter is rounding of the stamps [us]."""
        return min(float(self.rounding_us), self.usual_us)

    @property
    def raise_us(self) -> float:
        """How far the truth lies above the envelope of stamps rounded to nearest [us]."""
        return 0.5 * self.coarseness_us

    def at(self, x: float) -> float:
        """Give the model's arrival of sample x [us]."""
        return self.offset_us + self.period_us * x

    def lost_in(self, lag_us: float) -> int:
        """Count the periods in a lag that stays.

        The smallest of a few lags lies a little above the truth more often than below, so the
        count is taken down from 0.7 periods, not from half.
        """
        return int((lag_us - 0.5 * self.coarseness_us) / self.period_us + 0.3)

    def shift(self, by_us: float) -> None:
        """Move the line and its support, after a proof that the phase is another."""
        self.offset_us += by_us
        for i, (x, y) in enumerate(self.points):
            self.points[i] = (x, y + by_us)

    def refit(self, low: Point, got: Point, height_us: float, run_us: float) -> None:
        """Take a finished frame in.

        Args:
            low: the frame's fastest sample, (x, y).
            got: the same as it came.
            height_us: its largest lag [us].
            run_us: its longest stay above `floor_us` [us].
        """
        self.points.append(low)
        self.got.append(got)
        oldest = low[0] - WINDOW_MOST
        while len(self.points) > FIT_LEAST and self.points[0][0] < oldest:
            self.points.popleft()
            self.got.popleft()
        self.heights_us.append(height_us)
        self.runs_us.append(run_us)
        reach = self.points[-1][0] - self.points[0][0]
        if len(self.points) >= FIT_LEAST and reach >= 1.5 * self.start:
            line = fit_envelope(self.points)
            self.offset_us, self.period_us = line.offset, max(line.slope, PERIOD_LEAST_US)
        self.span = max(self.span, reach)
        self.set_thresholds()
        most = CALM_FRAME if self.usual_us < self.period_us else FRAME_MOST
        full = max(FRAME_LEAST, min(most, round(FRAME_S * 1e6 / self.period_us)))
        self.frame = min(full, self.frame + self.frame // 2)

    def set_thresholds(self) -> None:
        """Derive all thresholds from period, scatter, rounding and age of the model."""
        period = self.period_us
        self.usual_us = median(self.heights_us)
        # a line over a short span is known no better than to a share of the scatter at its ends
        doubt = min(self.usual_us, period) * min(1.0, self.frame / self.span)
        # and where few samples come without delay, the lowest of a frame dances itself
        dance = self.doubt_us() if len(self.points) >= FIT_LEAST else 0.0
        doubt += dance
        coarse = self.coarseness_us
        self.floor_us = 0.4 * period + coarse + doubt
        self.loss_us = 0.7 * period + coarse + doubt
        # A host that polls at about a multiple of the period lets the last lag of its bunches
        # creep between nothing and one period; only beyond that it is a loss.
        share = 0.92 if self.usual_us > period else 0.7
        self.hidden_us = max(self.loss_us, share * period + coarse + dance)
        self.theta_us = max(self.loss_us, 1.3 * self.usual_us + 0.15 * period)
        self.early_us = 0.6 * period + 0.5 * coarse + doubt
        self.limit_us = max(0.4e6, 4.0 * period)
        stay = 1.5 * max(self.runs_us)
        self.wait_us = min(max(3.0 * period, 2.0 * self.usual_us + period, stay), self.limit_us)
        self.long_us = max(4.0 * period, 8.0 * self.usual_us, stay)
        if self.usual_us > HOPELESS * period or dance > 0.3 * period:
            self.long_us = math.inf

    def forget(self) -> None:
        """Drop the points, which say nothing of the phase any more; the period stays."""
        self.points.clear()
        self.got.clear()

    def explain_without_losses(self, lost: int) -> bool:
        """See whether another rate explains the points better than the losses of late do.

        Losses are a staircase; another rate is a slope. Where the points as they came lie on a
        line to within half a period, there were no losses. A host that polls lifts them by up
        to a period all by itself.

        Args:
            lost: what to add to the numbers as they came, now.

        Returns:
            True where it does; the model is that line then.
        """
        if len(self.got) < FIT_LEAST:
            return False
        points = [(x + lost, y) for x, y in self.got]
        line = fit_envelope(points)
        highest = max(y - line.at(x) for x, y in points)
        most = 1.05 if self.usual_us > self.period_us else 0.5
        if not line.slope > 0.0 or highest > most * line.slope:
            return False
        self.offset_us, self.period_us = line.offset, line.slope
        self.points = deque(points, maxlen=WINDOW_FRAMES)
        self.set_thresholds()
        return True

    def doubt_us(self) -> float:
        """Say how far the envelope itself may be off [us]."""
        if not self.points:
            return self.usual_us
        return doubt_of(self.points, Line(self.offset_us, self.period_us))


def rounding_of(passed_us: Ints, before_us: int = 0) -> int:
    """Find the decimal step to which stamps were rounded.

    Args:
        passed_us: stamps less the first one of the stream [us], shape (n,).
        before_us: step of the stamps before these [us], 0 if there are none.

    Returns:
        Largest power of ten [us] of which all are multiples; 0 where all are alike. Other
        steps are those of a host that looks at fixed intervals, or of the board itself.
    """
    if before_us and not (passed_us % before_us).any():
        return before_us  # a remainder is quicker than a common divisor
    common = math.gcd(before_us, int(np.gcd.reduce(passed_us)))
    step = 1
    while common and common % (10 * step) == 0:
        step *= 10
    return step if common else 0


def first_model(x: Floats, y: Floats, rounding_us: int, fallback_us: float) -> ArrivalModel:
    """Estimate the model from the first second or so.

    Where most spacings are alike there is no bunching: the odd ones are losses or delays, and
    are numbered as such. Else, and where rounding explains the odd ones, the envelope of all is
    taken and nothing is thought lost.

    Args:
        x: sample numbers from the first, shape (n,).
        y: arrivals from the first [us], shape (n,).
        rounding_us: step of the stamps [us].
        fallback_us: period to take if the stamps give none [us].

    Returns:
        A model whose line lies under the samples before the first loss.
    """
    line, height = _envelope(x, y)
    numbered = _number_by_spacing(x, y, rounding_us if height <= 2.0 * rounding_us else 0)
    if numbered is not None:
        line, height = _envelope(numbered, y)
        # until the first loss both ways of numbering agree
        line = Line(min(0.0, float((y - line.slope * x).min())), line.slope)
    if not line.slope > 0.0:
        line, height = Line(0.0, fallback_us), 0.0
    first_frame = max(4, len(x) // 4)
    heights = deque([height], maxlen=8)
    start = float(len(x))
    return ArrivalModel(line.offset, line.slope, rounding_us, first_frame, heights, start)


def _number_by_spacing(x: Floats, y: Floats, rounding_us: int) -> Floats | None:
    """Number samples by their spacing where that is regular; None where it is not.

    A spacing of several periods is a loss, unless shorter ones follow that make up for it: then
    it was a delay. Short ones that nothing went before, and long ones that are no whole number
    of periods, are bunching.

    Args:
        x: sample numbers, shape (n,).
        y: arrivals [us], shape (n,).
        rounding_us: step of rounding that could explain all the scatter [us], else 0. It makes
            equal spacings out of unequal ones; only a single odd one is still taken for a loss.
    """
    known = np.diff(x)
    spacing = np.diff(y) / known
    typical = float(np.median(spacing)) if len(spacing) else 0.0
    alike = np.abs(spacing - typical) <= REGULAR_WITHIN * typical
    if typical <= 0.0 or alike.mean() < REGULAR_SHARE:
        return None
    if rounding_us > 0.1 * typical and len(alike) - int(alike.sum()) > 1:
        return None
    steps = np.diff(y) / float(spacing[alike].mean()) - known
    owed = 0.0
    for i in reversed(range(len(steps))):
        surplus = float(steps[i]) - owed
        owed = max(0.0, -surplus) if surplus < -WHOLE_WITHIN else 0.0
        if surplus > WHOLE_WITHIN and abs(surplus - round(surplus)) > WHOLE_WITHIN:
            return None
        steps[i] = max(0, round(surplus))
    if owed > 0.0 and steps.any():
        return None
    return np.concatenate(([0.0], np.cumsum(known + steps)))


def _envelope(x: Floats, y: Floats) -> tuple[Line, float]:
    """Lay a line under the points; also give the largest height above it [us]."""
    if len(x) < 2:
        return Line(0.0, 0.0), 0.0
    flat = y - x * (y[-1] / x[-1])
    edges = np.linspace(0, len(x), min(len(x), 8) + 1).astype(np.int64).tolist()
    lows = [a + int(flat[a:b].argmin()) for a, b in pairwise(edges)]
    line = fit_envelope([(float(x[i]), float(y[i])) for i in lows])
    above = y - (line.offset + line.slope * x)
    lowest = float(above.min())
    return Line(line.offset + lowest, line.slope), float(above.max()) - lowest
