"""The stretch of stable readings whose mean becomes a point."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.steadiness import FEWEST
from strikebridge.calibration.walk_view import TakenPoint

if TYPE_CHECKING:
    from strikebridge.calibration.frames import Frame
    from strikebridge.calibration.lifts import Lift

TAKE_S = 3.0
"""Length of the mean [s]: 30 readings of a slow board."""


class Stretch:
    """Collect readings for one mean."""

    def __init__(self, frame_s: float) -> None:
        """Begin.

        Args:
            frame_s: length of a frame [s].
        """
        self._frame_s = frame_s
        self._frames: list[Frame] = []

    def add(self, frame: Frame) -> None:
        """Take a frame.

        Args:
            frame: stable readings.
        """
        self._frames.append(frame)

    @property
    def share(self) -> float:
        """How much of the mean there is, 0 to 1; at least `FEWEST` readings make one."""
        if not self._frames:
            return 0.0
        count = sum(len(frame.time_s) for frame in self._frames)
        long_s = float(self._frames[-1].time_s[-1] - self._frames[0].time_s[0])
        # a mean of n readings spans n - 1 periods
        span_s = TAKE_S - self._frame_s - long_s / max(count - 1, 1)
        return min(1.0, long_s / span_s, count / FEWEST)

    def point(self, number: int, lift: Lift, mass_kg: float, came_s: float) -> TakenPoint:
        """Make the point.

        Args:
            number: 1 for the first.
            lift: what lay on the cell.
            mass_kg: mass on the plates' faces [kg].
            came_s: when the load came [s].

        Returns:
            The point, not judged yet.
        """
        readings = np.concatenate([frame.readings for frame in self._frames])
        time_s = np.concatenate([frame.time_s for frame in self._frames])
        middle_s = float(time_s[0] + time_s[-1]) / 2.0
        sums = readings.sum(axis=1)
        per_s = float(
            np.polynomial.Polynomial.fit(time_s - middle_s, sums, 1).convert().coef[-1]
        )
        return TakenPoint(
            number=number,
            lift=lift,
            mass_kg=mass_kg,
            readings=tuple(map(float, readings.mean(axis=0))),
            sd=float(sums.std(ddof=1)),
            count=len(readings),
            time_s=middle_s,
            came_s=came_s,
            moved=per_s * max(middle_s - came_s, 0.0),
        )
