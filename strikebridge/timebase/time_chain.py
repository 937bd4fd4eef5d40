"""The times given out: a chain of straight pieces that follows the model and always rises."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats
    from strikebridge.timebase.arrival_model import ArrivalModel

SLOWEST, FASTEST = (
    0.5,
    1.5,
)  # periods a sample; bounds of a piece that catches up with the model
STEP_LEAST = 0.5  # periods between two samples where the times jump


class TimeChain:
    """Times on the stream's axis from sample numbers on the model's."""

    def __init__(self) -> None:
        """Start before the first sample."""
        self._origin_us = 0
        self._last_us: float | None = None
        self._piece = (0.0, 0.0, 0.0)  # x and time at its start, microseconds a sample

    def restart(self, origin_us: int) -> None:
        """Count the model's microseconds from another moment [us]."""
        self._origin_us = origin_us

    def times_us(self, x: Floats, time_us: Floats) -> None:
        """Give times to the next samples.

        Args:
            x: their numbers, shape (n,), at least one.
            time_us: filled with their times from the start of the stream [us], shape (n,).
        """
        start_x, start_us, slope_us = self._piece
        np.subtract(x, start_x, out=time_us)
        time_us *= slope_us
        time_us += start_us
        time_us += self._origin_us
        self._last_us = float(time_us[-1])

    def jump(self, model: ArrivalModel, x: float) -> None:
        """Go on at the model itself from sample x, but after whatever came before."""
        time_us = model.at(x) + model.raise_us
        if self._last_us is not None:
            earliest_us = self._last_us - self._origin_us + STEP_LEAST * model.period_us
            time_us = max(time_us, earliest_us)
        self._aim(model, x, time_us)

    def go_on(self, model: ArrivalModel, x: float) -> None:
        """Begin the next piece at sample x where the last one ends."""
        start_x, start_us, slope_us = self._piece
        self._aim(model, x, start_us + slope_us * (x - start_x))

    def _aim(self, model: ArrivalModel, x: float, time_us: float) -> None:
        """Lay a piece that meets the model after a frame, if its bounds let it."""
        period_us = model.period_us
        slope_us = (model.at(x + model.frame) + model.raise_us - time_us) / model.frame
        slope_us = min(max(slope_us, SLOWEST * period_us), FASTEST * period_us)
        self._piece = (x, time_us, slope_us)
