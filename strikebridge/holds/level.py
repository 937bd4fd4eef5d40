"""A load off the zero that is no rise: is it a hand, or a zero that has moved?

A hand wavers and a ball that moved lies still. So the last second of frames is looked at, or
three where noise would hide the waver of a quiet hand.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from statistics import fmean
from typing import TYPE_CHECKING

from strikebridge.holds.pull import MOVED_CEILING_N

if TYPE_CHECKING:
    from strikebridge.holds.zero import ZeroTracker

FLAT_S = 1.0
SLOW_FLAT_S = 1.5  # on boards of about 10 a second, whose filter hides more of the waver
FLAT_UNSURE_S = 3.0
LOWERED_S = 0.3
SURE_ZERO_S = 3.0
TURNED_S = 6.0  # longer than the usual hold: it may be one with the sign turned


def frames_in(seconds: float, zero: ZeroTracker) -> int:
    """Count the frames of some time, one at least."""
    return max(1, round(seconds / zero.frame_s))


def flat_frames(zero: ZeroTracker) -> int:
    """Count the frames that a level must lie still."""
    return frames_in(FLAT_S if zero.length > 1 else SLOW_FLAT_S, zero)


@dataclass(slots=True)
class Level:
    """The frames of a load that is being looked at.

    Attributes:
        means_N: the last of them, zero not taken off [N].
        count: how many there were in all.
    """

    means_N: deque[float] = field(default_factory=deque)
    count: int = 0

    def drop(self) -> None:
        """Begin anew."""
        self.means_N.clear()
        self.count = 0

    def take(self, mean_N: float, zero: ZeroTracker, *, is_load: bool) -> None:
        """Take in a frame and forget what is too long ago.

        Args:
            mean_N: its mean force [N].
            zero: zero and noise.
            is_load: True for a load, which may be a hand whose waver takes longer to see.
        """
        self.means_N.append(mean_N)
        self.count += 1
        most = flat_frames(zero)
        if is_load and not self._could_tell(zero):
            most = frames_in(FLAT_UNSURE_S, zero)
        while len(self.means_N) > most:
            self.means_N.popleft()

    def is_moved_zero(self, zero: ZeroTracker) -> bool:
        """Say whether a load is a zero that has moved up."""
        if len(self.means_N) < flat_frames(zero):
            return False
        enough = flat_frames(zero) if self._could_tell(zero) else frames_in(FLAT_UNSURE_S, zero)
        return self.count >= enough and zero.is_flat(list(self.means_N))

    def is_lowered_zero(self, zero: ZeroTracker) -> bool:
        """Say whether a level below zero is a zero that has moved down, or was too high."""
        is_young = zero.is_young
        enough = frames_in(LOWERED_S, zero) if is_young else flat_frames(zero)
        if len(self.means_N) < enough:
            return False
        if self.count >= frames_in(FLAT_UNSURE_S if is_young else TURNED_S, zero):
            return True
        # a stream may begin with a hand on the ball, which was then taken for its zero
        is_new = zero.rest_frames < frames_in(SURE_ZERO_S, zero)
        is_near = fmean(self.means_N) - zero.zero_N > -MOVED_CEILING_N
        return (is_new or is_near) and zero.is_flat(list(self.means_N))

    def _could_tell(self, zero: ZeroTracker) -> bool:
        return zero.could_tell_hand(fmean(self.means_N) - zero.zero_N)
