"""The line under the arrivals, and the thresholds that follow from the scatter above it."""

from __future__ import annotations

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
FRAME_LEAST, FRAME_MOST = 8, 128  # samples; at high rates a short window follows drift better
FIT_LEAST = 4  # points below which the first estimate is better than a fit
REGULAR_SHARE = 0.6  # of the spacings alike: there is no bunching, the odd ones are losses
REGULAR_WITHIN = 0.15  # of the median: alike
PHASE_LOST_US = 3e6  # after so long a gap old points say nothing of the phase


@dataclass(slots=True)
class ArrivalModel:
    """Where arrivals lie if they are not late; x counts samples, y is in microseconds.

    Attributes:
        offset_us: envelope at x = 0 [us].
        period_us: sampling period [us].
        rounding_us: largest step of which all arrivals are multiples [us], 0 if there is none.
        frame: samples after which it is fitted next.
        heights_us: largest lag of each of the last frames [us].
        runs_us: longest stay above `floor_us` in each of the last frames [us].
        points: fastest arrival of each of the last frames, (x, y).
        usual_us: usual largest lag [us].
        floor_us: lag below which a sample counts as not late [us].
        theta_us: lag above which a sample is unusually late [us].
        early_us: how far below the line an arrival refutes it [us].
        wait_us: how long a lag must stay to be a loss [us].
        limit_us: longest wait for a decision [us].
        long_us: how long all lags must stay above `floor_us` to be a loss that jitter hid [us].
    """

    offset_us: float
    period_us: float
    rounding_us: int
    frame: int
    heights_us: deque[float]
    runs_us: deque[float] = field(default_factory=lambda: deque([0.0], maxlen=8))
    points: deque[Point] = field(default_factory=lambda: deque(maxlen=WINDOW_FRAMES))
    usual_us: float = 0.0
    floor_us: float = 0.0
    theta_us: float = 0.0
    early_us: float = 0.0
    wait_us: float = 0.0
    limit_us: float = 0.0
    long_us: float = 0.0

    def __post_init__(self) -> None:
        """Derive the thresholds."""
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

    def refit(self, low: Point, height_us: float, run_us: float) -> None:
        """Take a finished frame in.

        Args:
            low: the frame's fastest sample, (x, y).
            height_us: its largest lag [us].
            run_us: its longest stay above `floor_us` [us].
        """
        self.points.append(low)
        self.heights_us.append(height_us)
        self.runs_us.append(run_us)
        if len(self.points) >= FIT_LEAST:
            line = fit_envelope(list(self.points))
            if line.slope > 0.0:
                self.offset_us, self.period_us = line.offset, line.slope
        self.frame = min(full_frame(self.period_us), self.frame + self.frame // 2)
        self.set_thresholds()

    def set_thresholds(self) -> None:
        """Derive all thresholds from period, scatter, rounding and age of the model."""
        period = self.period_us
        self.usual_us = median(self.heights_us)
        span = self.points[-1][0] - self.points[0][0] if self.points else 0.0
        # a line over a short span is known no better than to a share of the scatter at its ends
        doubt = min(self.usual_us, period) * min(1.0, self.frame / max(span, self.frame))
        # and where few samples come without delay, the lowest of a frame dances itself
        doubt += self.doubt_us() if len(self.points) >= FIT_LEAST else 0.0
        coarse = self.coarseness_us
        self.floor_us = 0.7 * period + coarse + doubt
        self.theta_us = max(self.floor_us, 1.3 * self.usual_us + 0.3 * period)
        self.early_us = 0.6 * period + 0.5 * coarse + doubt
        self.limit_us = max(0.4e6, 4.0 * period)
        self.wait_us = min(max(3.0 * period, 2.0 * self.usual_us + period), self.limit_us)
        self.long_us = max(4.0 * period, 8.0 * self.usual_us, 1.5 * max(self.runs_us))

    def doubt_us(self) -> float:
        """Say how far the envelope itself may be off [us]."""
        points = list(self.points)
        if not points:
            return self.usual_us
        return doubt_of(points, Line(self.offset_us, self.period_us))


def full_frame(period_us: float) -> int:
    """Give the samples of a frame once the model has settled."""
    return max(FRAME_LEAST, min(FRAME_MOST, round(FRAME_S * 1e6 / period_us)))


def rounding_of(arrived_us: Ints) -> int:
    """Find the largest step of which all differences of stamps are multiples [us]."""
    return int(np.gcd.reduce(np.diff(arrived_us)))


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
    is_rounding = 0.0 < height <= 1.5 * rounding_us
    numbered = None if is_rounding else _number_by_spacing(x, y)
    if numbered is not None:
        line, height = _envelope(numbered, y)
        # until the first loss both ways of numbering agree
        line = Line(min(0.0, float((y - line.slope * x).min())), line.slope)
    if not line.slope > 0.0:
        line, height = Line(0.0, fallback_us), 0.0
    first_frame = max(4, len(x) // 4)
    heights = deque([height], maxlen=8)
    return ArrivalModel(line.offset, line.slope, rounding_us, first_frame, heights)


def _number_by_spacing(x: Floats, y: Floats) -> Floats | None:
    """Number samples by their spacing where that is regular; None where it is not.

    A spacing of several periods is a loss, unless shorter ones follow that make up for it: then
    it was a delay. Short ones that nothing went before are bunching.
    """
    spacing = np.diff(y) / np.diff(x)
    typical = float(np.median(spacing)) if len(spacing) else 0.0
    alike = np.abs(spacing - typical) <= REGULAR_WITHIN * typical
    if typical <= 0.0 or alike.mean() < REGULAR_SHARE:
        return None
    typical = float(spacing[alike].mean())
    known = np.diff(x).astype(np.int64).tolist()
    steps = [round(step) for step in (np.diff(y) / typical).tolist()]
    owed = 0
    for i in reversed(range(len(steps))):
        surplus = steps[i] - known[i] - owed
        owed = max(0, -surplus)
        steps[i] = known[i] + max(0, surplus)
    if owed > 1:
        return None
    return np.concatenate(([0.0], np.cumsum(steps, dtype=np.float64)))


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
