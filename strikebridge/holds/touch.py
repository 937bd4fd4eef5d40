"""What the state table works on: one frame, the contact under way, and what screens may see."""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import fmean, median
from typing import TYPE_CHECKING

from strikebridge.holds.level import flat_frames
from strikebridge.holds.pull import MOVED_CEILING_N

if TYPE_CHECKING:
    from strikebridge.holds.table import State
    from strikebridge.holds.zero import ZeroTracker


@dataclass(frozen=True, slots=True)
class Watch:
    """The state of things for the live screen.

    Attributes:
        state: what the detector takes the rig to be doing.
        zero_N: zero to subtract from the calibrated force [N].
        noise_N: SD of a single reading at rest [N].
        u_zero_N: standard uncertainty of the zero [N].
        is_touched: True from the first touch to the release.
        is_holding: True once it counts as a hold, to the release.
        onset_s: when the contact under way began, to within a frame [s]; None without one.
        peak_N: largest force so far of the contact under way [N]; None without one.
        level_N: level so far of the hold under way [N]; None before it counts as one.
        pulls: pushes so far that read as pulls: the cell is mounted the wrong way round.
        pulled_s: when the last one ended [s]; None before.
    """

    state: State
    zero_N: float
    noise_N: float
    u_zero_N: float
    is_touched: bool
    is_holding: bool
    onset_s: float | None
    peak_N: float | None
    level_N: float | None
    pulls: int = 0
    pulled_s: float | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame as the state table sees it.

    Attributes:
        first, last: positions in the run of its first reading and of the one after it.
        start_s: time of its first reading [s].
        raw_N: mean force, zero not taken off [N].
        high_N: largest force, zero not taken off [N].
        within_var: variance inside the frame [N2].
        is_seen: False if all its readings are bridged.
    """

    first: int
    last: int
    start_s: float
    raw_N: float
    high_N: float
    within_var: float
    is_seen: bool = True


@dataclass(slots=True)
class Touch:
    """The contact under way.

    Attributes:
        first: position in the run of its first frame's first reading.
        quiet_from: position from which it was quiet before.
        start_s: time of the first frame [s].
        base_N: load there was before [N].
        sure: False where its beginning was not seen.
        means_N: frame means above zero [N].
        peak_N: largest reading above zero [N].
        body: frame from which it counts as a hold; None before.
        body_peak_N: largest frame mean from there on [N].
        still: the frame after the last second that lay as still as the empty rig, and its mean
            [N]; None where there was none.
        waiting: frames since it was last pressed.
        level_N: cached level; None when it must be worked out anew.
    """

    first: int
    quiet_from: int
    start_s: float
    base_N: float
    sure: bool = True
    means_N: list[float] = field(default_factory=list)
    peak_N: float = 0.0
    body: int | None = None
    body_peak_N: float = 0.0
    still: tuple[int, float] | None = None
    waiting: int = 0
    level_N: float | None = None

    def take(self, mean_N: float, high_N: float) -> None:
        """Take in a frame, above zero."""
        self.means_N.append(mean_N)
        self.peak_N = max(self.peak_N, high_N)
        if self.body is not None and mean_N > self.body_peak_N:
            self.body_peak_N = mean_N
            self.level_N = None

    def level(self) -> float:
        """Return the median of the frames above half of the peak [N], kept while it holds."""
        if self.level_N is None:
            self.level_N = self.level_now()
        return self.level_N

    def level_now(self) -> float:
        """Return that median as it is now [N], and keep nothing: for whoever only looks on."""
        half_N = 0.5 * (self.body_peak_N + self.base_N)
        return median([x for x in self.means_N[self.body :] if x > half_N])

    def look_for_still(self, zero: ZeroTracker) -> None:
        """Remember the last second that lay as still as the empty rig, as a moved ball does."""
        begin = len(self.means_N) - flat_frames(zero)
        if self.body is None or begin < self.body:
            return
        means_N = self.means_N[begin:]
        level_N = fmean(means_N)
        if abs(level_N) < MOVED_CEILING_N and zero.is_flat(means_N):
            self.still = (len(self.means_N), level_N)

    def still_level(self, zero: ZeroTracker) -> float | None:
        """Return the mean of the last second [N] if a ball that moved would lie like that."""
        count = flat_frames(zero)
        means_N = self.means_N[-count:]
        level_N = fmean(means_N)
        is_still = len(means_N) >= count and zero.could_tell_hand(level_N)
        return level_N if is_still and zero.is_flat(means_N) else None

    def plateau_end(self, slack_N: float) -> int:
        """Return the frame in which the rise may have begun: the last one near the level.

        Args:
            slack_N: how far above the level still counts as near [N].
        """
        limit_N = self.level() + slack_N
        end = len(self.means_N)
        while end > 1 and self.means_N[end - 1] > limit_N:
            end -= 1
        return max(1, end - 1)
