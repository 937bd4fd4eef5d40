"""Is the reading stable? Scaled by the noise, and patient with creep only as far as need be.

Over the last two seconds (eight readings at least) three things are asked:

- does it still move: the means of the two halves may differ by no more than their noise, or by
  `CREEP` of the load, because a loaded cell gives way for minutes and nobody waits for that;
- does it swing: means of eighths, their common slope taken away, may spread by no more than
  their noise, or by `SWING` of the load;
- are there readings at all, and none of them at the converter's end.

The noise is that of neighbouring readings (half the mean square of their differences, von
Neumann 1941, Ann Math Stat 12:367), which neither drift nor a swinging plate inflates.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats

WINDOW_S = 2.0
FEWEST = 8
"""Readings that the window holds at least, be the board as slow as it may."""
LONGEST_S = 20.0
"""Older readings are forgotten: ten windows, or enough for two readings in five seconds."""
NEW_S = 0.3
"""Length of the newest stretch, whose mean is the reading now [s]."""
CREEP = 2e-4
"""Share of the load by which the reading may still move in a second. Cheap cells creep by 0.03
to 0.1 % of the load in their first half minute (value from memory of data sheets)."""
SWING = 1e-3
"""Share of the load over which a swinging plate may still move the reading: its mean is taken
over several swings."""
MOST_SETTLING_S = 25.0
"""A reading that is not stable by then never will be: something touches or swings."""
MOVE_SIGMA = 6.0
"""Standard deviations of the difference of two half means: noise of real boards is not quite
white (inference)."""
SWING_SIGMA = 8.0
"""The same for the spread of eight means, of white noise 2.8 on average."""


@dataclass(frozen=True, slots=True)
class Look:
    """What the newest readings look like; sums of the cells, in the board's quantity.

    Attributes:
        reading: mean of the newest readings.
        noise: SD of a single reading.
        is_steady: whether it is stable.
        reason: why not, in words; empty if it is.
    """

    reading: float
    noise: float
    is_steady: bool
    reason: str


class Steadiness:
    """Keep the newest readings and judge them."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._time_s: Floats = np.empty(0)
        self._value: Floats = np.empty(0)

    def restart(self) -> None:
        """Forget the readings: the load changes, or the stream was broken."""
        self._time_s = np.empty(0)
        self._value = np.empty(0)

    def feed(self, time_s: Floats, value: Floats) -> None:
        """Take readings.

        Args:
            time_s: their times [s], shape (n,), rising.
            value: the readings, sum of the cells, shape (n,).
        """
        self._time_s = np.concatenate([self._time_s, time_s])
        self._value = np.concatenate([self._value, value])
        old = int(np.searchsorted(self._time_s, self._time_s[-1] - LONGEST_S))
        self._time_s, self._value = self._time_s[old:], self._value[old:]

    @property
    def now(self) -> float | None:
        """Mean of the newest readings, None where there are none."""
        if not len(self._value):
            return None
        new = self._time_s > self._time_s[-1] - NEW_S
        return float(np.mean(self._value[new]))

    def look(self, load: float, step: float) -> Look | None:
        """Judge the newest readings.

        Args:
            load: size of the load, in readings, that creep and swing are compared with.
            step: smallest step of the readings.

        Returns:
            What they look like, None while there are too few to say.
        """
        if len(self._value) < FEWEST or self._time_s[-1] - self._time_s[0] < WINDOW_S:
            return None
        begin = int(np.searchsorted(self._time_s, self._time_s[-1] - WINDOW_S))
        begin = min(begin, len(self._value) - FEWEST)
        value = self._value[begin:]
        n = len(value)
        # where a coarse scale says one value only, its step is all that is known of its noise
        differences = np.diff(value)
        noise = float(np.sqrt(np.mean(differences**2) / 2.0))
        noise = max(noise, step / np.sqrt(12.0))
        moved = abs(float(np.mean(value[n - n // 2 :]) - np.mean(value[: n // 2])))
        swing = _swing(value)
        is_moving = moved > max(MOVE_SIGMA * 2.0 * noise / np.sqrt(n), CREEP * load, step)
        is_swinging = swing > max(SWING_SIGMA * noise / np.sqrt(n / 8.0), SWING * load, step)
        reason = ""
        if is_moving or is_swinging:
            reason = "it swings" if is_swinging and swing > moved else "it still moves"
        now = self.now
        return Look(float(value[-1]) if now is None else now, float(noise), not reason, reason)


def _swing(value: Floats) -> float:
    means = np.array([float(np.mean(part)) for part in np.array_split(value, 8)])
    place = np.arange(8.0) - 3.5
    slope = float(place @ means) / float(place @ place)
    return float(np.ptp(means - slope * place))
