"""Pushes that read as pulls: a cell mounted the wrong way round, or a gain of the wrong sign.

Nobody can pull on a ball. A force that stays well below zero and wavers as a hand does is a
push with the sign turned; a ball that moved lies still instead, and not so far off.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.holds.zero import ZeroTracker

MOVED_CEILING_N = 150.0  # a ball that moves changes the zero by less
PULL_FLOOR_N = 25.0  # as much as the lightest hold
PULL_S = 0.5  # as long as the shortest
PULL_SD = 6.0  # of frame means
ENDS_S = 0.1  # left out on both sides of what lies at its level
SLOW_ENDS_S = 0.45  # where the filter takes 0.4 s


@dataclass(slots=True)
class PullTally:
    """Count the pulls.

    Attributes:
        count: pulls so far.
        last_s: when the last one ended [s]; None before.
    """

    count: int = 0
    last_s: float | None = None
    _means_N: list[float] = field(default_factory=list)

    def take(self, mean_N: float) -> None:
        """Take in a frame below zero, zero not taken off [N]; the zero follows after some."""
        self._means_N.append(mean_N)

    def end(self, at_s: float, zero: ZeroTracker, *, is_back: bool) -> None:
        """Note that the force is no longer below zero.

        Args:
            at_s: when [s].
            zero: zero and noise as they were while it was below.
            is_back: True where the force came back, False where the zero is about to follow.
        """
        if not self._means_N:
            return
        means_N, self._means_N = self._means_N, []
        if zero.is_young or len(means_N) * zero.frame_s < PULL_S:
            return
        depth_N = max(PULL_FLOOR_N, PULL_SD * zero.frame_noise_N)
        level_N = median(means_N) - zero.zero_N
        if level_N > -depth_N:
            return
        # on both sides the force is on its way
        low = [k for k, mean_N in enumerate(means_N) if mean_N - zero.zero_N < 0.8 * level_N]
        ends = round((ENDS_S if zero.length > 1 else SLOW_ENDS_S) / zero.frame_s)
        inside_N = means_N[low[0] + ends : low[-1] + 1 - ends]
        if len(inside_N) < 2 or max(inside_N) - zero.zero_N >= 0.5 * level_N:
            return
        is_too_far = is_back and level_N < -MOVED_CEILING_N
        if is_too_far or not zero.is_flat(inside_N):
            self.count += 1
            self.last_s = at_s
