"""What the lags of one frame did: the fastest sample, the usual height, the longest stay."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats
    from strikebridge.timebase.envelope import Point


class LagTally:
    """A tally over one frame, and over the run of lags above the floor that is under way.

    How high and how long a run went counts as usual only once it has come down again: until
    then it may be a loss, and a loss must not teach the clock to overlook the next one.

    Attributes:
        fill: samples of the frame so far.
        low: its fastest sample, (x, y).
        got: the same as it came: without the inferred losses in x, not shifted in y.
        height_us: largest lag [us].
        stay_us: longest run [us].
        run_us: arrival at which the run under way began [us], None where there is none.
        run_low_us: smallest lag in it [us].
    """

    def __init__(self) -> None:
        """Start with an empty frame and no run."""
        self.run_us: float | None = None
        self.run_low_us = math.inf
        self._run_high_us = 0.0
        self._run_stay_us = 0.0
        self.start_frame()

    def start_frame(self) -> None:
        """Begin a frame; a run goes on across its edge."""
        self.fill = 0
        self.low: Point = (0.0, 0.0)
        self.got: Point = (0.0, 0.0)
        self._low_us = math.inf
        self.height_us = 0.0
        self.stay_us = 0.0

    def count_calm(
        self, x: Floats, y: Floats, lag: Floats, ends: tuple[int, float], lost: int
    ) -> None:
        """Count samples in of which none is in a run.

        Args:
            x: their numbers, shape (n,).
            y: their arrivals [us], shape (n,).
            lag: their lags [us], shape (n,).
            ends: index of the smallest lag, and the largest lag [us].
            lost: how many losses are counted in x.
        """
        fastest, highest_us = ends
        self.fill += len(x)
        self._take_low(x, y, lag, fastest, lost)
        self.end_run(highest_us)

    def count(self, x: Floats, y: Floats, lag: Floats, runs: Floats, lost: int) -> None:
        """Count samples in.

        Args:
            x: their numbers, shape (n,).
            y: their arrivals [us], shape (n,).
            lag: their lags [us], shape (n,).
            runs: arrival at which each one's run began, infinite outside runs [us], at least n
                long.
            lost: how many losses are counted in x.
        """
        self.fill += len(x)
        self._take_low(x, y, lag, int(lag.argmin()), lost)
        stays = y - runs[: len(lag)]  # minus infinity outside runs
        outside = np.flatnonzero(np.isinf(stays))
        begin = 0
        if len(outside):
            begin = int(outside[-1]) + 1
            self._run_stay_us = max(self._run_stay_us, float(stays[:begin].max()))
            self.end_run(float(lag[:begin].max()))
        if begin < len(lag):
            self.run_us = float(runs[len(lag) - 1])
            self.run_low_us = min(self.run_low_us, float(lag[begin:].min()))
            self._run_high_us = max(self._run_high_us, float(lag[begin:].max()))
            self._run_stay_us = float(stays[-1])

    def _take_low(self, x: Floats, y: Floats, lag: Floats, fastest: int, lost: int) -> None:
        lag_us = float(lag[fastest])
        if lag_us < self._low_us:
            self._low_us = lag_us
            self.low = (float(x[fastest]), float(y[fastest]))
            self.got = (self.low[0] - lost, self.low[1])

    def low_of_run(self, lag: Floats, began: int, at: int) -> float:
        """Give the smallest lag of a run among `lag` up to the sample at `at` [us].

        A drift of the phase enters a run from below and keeps its smallest lag down; only a
        step, which is a loss, lifts all of it.

        Args:
            lag: lags of the samples that come next [us], shape (n,).
            began: index at which the run began; 0 also where it began before.
            at: index of the sample in question.
        """
        low = float(lag[began : at + 1].min())
        return min(low, self.run_low_us) if began == 0 else low

    def end_run(self, height_us: float = 0.0) -> None:
        """Take a run that came down as usual.

        Args:
            height_us: largest lag of what came with it [us].
        """
        self.height_us = max(self.height_us, self._run_high_us, height_us)
        self.stay_us = max(self.stay_us, self._run_stay_us)
        self.run_us, self.run_low_us = None, math.inf
        self._run_high_us = self._run_stay_us = 0.0

    def take_loss(self, lost_us: float, rest_us: float) -> None:
        """End a run that turned out to be a loss.

        Args:
            lost_us: what of its lags was loss [us].
            rest_us: how far the model was shifted besides [us].
        """
        self._run_high_us = max(0.0, self._run_high_us - lost_us)
        self._run_stay_us = 0.0
        self.end_run()
        self.shift(rest_us)

    def shift(self, by_us: float) -> None:
        """Move the fastest sample along with the model [us]."""
        self.low = (self.low[0], self.low[1] + by_us)

    def renumber(self, lost: int) -> None:
        """Go back to the fastest sample as it came, with `lost` added to its number."""
        self.low = (self.got[0] + lost, self.got[1])
        self.end_run()
