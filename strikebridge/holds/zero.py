"""The zero of the untouched rig and the noise about it, followed frame by frame.

The zero is a mean over up to the last second at rest: short enough for the drift of a warming
board and for creep after a load, long enough that its noise is small. The noise is taken from
what changes inside a frame and from frame to frame, never from the spread about the zero, so
drift does not count. Mains ripple counts in the noise of a frame (it is what a threshold on
frames has to bear) but is taken out of the noise of a single reading when a hold is cut out.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from statistics import fmean, median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

FOLLOW_S = 1.0  # averaging time of the zero at rest
NOISE_S = 5.0  # averaging time of the noise
FIRST_FRAMES = 40  # so many are judged by their median, later ones by a running mean
NOISE_CAP = 36.0  # times the variance so far: one glitch counts as 6 SD at most
LOOK_BACK_S = 0.3  # a slow rise has pulled on the zero before it was noticed; undo that much
TOUCH_FLOOR_N = 4.0  # nobody means a push this light; wander of cheap boards stays below
TOUCH_SD = 6.0  # of frame means: one false alarm in a session would be too many
CREEP_SHARE = 0.003  # of the last load, allowed on top right after it, gone in CREEP_S
CREEP_S = 20.0
FLAT_FLOOR_N = 0.3  # an empty rig may creep this much while its new level is looked at
HAND_WAVER = 0.025  # least waver of a resting hand, share of its force ...
HAND_WAVER_FLOOR_N = 0.5  # ... and at least this
SLOW_S = 0.2  # waver of a hand is slow: look at means this long


@dataclass(slots=True)
class ZeroTracker:
    """Follow zero and noise.

    Attributes:
        frame_s: duration of a frame [s].
        length: readings per frame.
        zero_N: the zero, in the calibration's own newtons [N].
        frames: frames in the mean, at most FOLLOW_S long; 0 = no zero yet.
        extra_u_N: doubt beyond noise, from an undecided level [N].
        rest_frames: frames at rest ever seen since the zero was last set.
    """

    frame_s: float
    length: int
    zero_N: float = 0.0
    frames: int = 0
    extra_u_N: float = 0.0
    rest_frames: int = 0
    noise_frames: int = 0
    _sample_var: float = 0.0
    _frame_var: float = 0.0
    _last: float | None = None
    _first: list[tuple[float, float]] = field(default_factory=list)
    _past: deque[float] = field(default_factory=deque)
    _load_N: float = 0.0
    _since_load_s: float = 0.0

    def follow(self, mean_N: float, within_var: float) -> None:
        """Take in a frame at rest.

        Args:
            mean_N: its mean force [N].
            within_var: variance inside the frame [N2].
        """
        self.learn_noise(mean_N, within_var)
        self.frames = min(self.frames + 1, max(1, round(FOLLOW_S / self.frame_s)))
        self.rest_frames += 1
        self.zero_N += (mean_N - self.zero_N) / self.frames
        self.extra_u_N *= 1.0 - 1.0 / (self.frames + 1)
        self._since_load_s += self.frame_s
        self._past.append(self.zero_N)
        if len(self._past) > max(1, round(LOOK_BACK_S / self.frame_s)):
            self._past.popleft()

    def follow_many(
        self, means_N: Sequence[float], within_vars: Sequence[float], plain: Sequence[bool]
    ) -> int:
        """Take in frames at rest up to the first that is none, to the same end as `follow`.

        A board stands untouched most of the time, so this is where a long recording is spent;
        one loop without a call in it is several times as fast.

        Args:
            means_N: mean force of each frame [N].
            within_vars: variance inside each [N2].
            plain: False where a frame has to be looked at more closely, whatever it holds.

        Returns:
            How many were taken in.
        """
        last = self._last
        if last is None or self.noise_frames <= FIRST_FRAMES:
            return 0  # the noise is still being learned
        most = max(1, round(NOISE_S / self.frame_s))
        follow = max(1, round(FOLLOW_S / self.frame_s))
        remembered = max(1, round(LOOK_BACK_S / self.frame_s))
        zero_N, frame_var, sample_var = self.zero_N, self._frame_var, self._sample_var
        noise_frames, frames, extra_u_N = self.noise_frames, self.frames, self.extra_u_N
        since_s, load_N, past = self._since_load_s, self._load_N, self._past
        frame_s, length = self.frame_s, self.length
        taken = 0
        for mean_N, within_var, is_plain in zip(means_N, within_vars, plain, strict=True):
            touch_N = TOUCH_SD * (1.0 + 4.0 / noise_frames) * math.sqrt(frame_var)
            touch_N = touch_N if touch_N > TOUCH_FLOOR_N else TOUCH_FLOOR_N
            if since_s < CREEP_S:
                touch_N += load_N * CREEP_SHARE * (1.0 - since_s / CREEP_S)
            off_N = mean_N - zero_N
            if not is_plain or not -touch_N <= off_N <= touch_N:
                break
            change = 0.5 * (mean_N - last) ** 2
            sample = within_var if length > 1 else change
            noise_frames = noise_frames + 1 if noise_frames < most else most
            gain = 1.0 / noise_frames
            cap = NOISE_CAP * (frame_var + 1e-4)
            frame_var += gain * ((change if change < cap else cap) - frame_var)
            cap = NOISE_CAP * (sample_var + 1e-4)
            sample_var += gain * ((sample if sample < cap else cap) - sample_var)
            frames = frames + 1 if frames < follow else frames
            zero_N += off_N / frames
            extra_u_N *= 1.0 - 1.0 / (frames + 1)
            since_s += frame_s
            past.append(zero_N)
            last = mean_N
            taken += 1
        while len(past) > remembered:
            past.popleft()
        self.zero_N, self._frame_var, self._sample_var = zero_N, frame_var, sample_var
        self.noise_frames, self.frames, self.extra_u_N = noise_frames, frames, extra_u_N
        self._since_load_s = since_s
        self._last = last
        self.rest_frames += taken
        return taken

    def learn_noise(self, mean_N: float, within_var: float) -> None:
        """Take in the noise of a frame.

        Args:
            mean_N: its mean force [N].
            within_var: variance inside the frame [N2].
        """
        if self._last is not None:
            change = 0.5 * (mean_N - self._last) ** 2
            sample = within_var if self.length > 1 else change
            most = max(1, round(NOISE_S / self.frame_s))
            self.noise_frames = min(self.noise_frames + 1, most)
            if self.noise_frames <= FIRST_FRAMES:
                # one glitch in the first second must not deafen the detector for minutes
                self._first.append((change, sample))
                self._frame_var = median(x for x, _ in self._first) / _middle_of_chi2(1)
                dof = max(1, self.length - 1)
                self._sample_var = median(x for _, x in self._first) / _middle_of_chi2(dof)
            else:
                gain = 1.0 / self.noise_frames
                self._frame_var += gain * (_capped(change, self._frame_var) - self._frame_var)
                self._sample_var += gain * (
                    _capped(sample, self._sample_var) - self._sample_var
                )
        self._last = mean_N

    def leave_rest(self) -> None:
        """Note that somebody touches: undo what a slow beginning has pulled the zero by."""
        if self._past:
            self.zero_N = self._past[0]
        self._last = None
        self._past.clear()

    def return_to_rest(self, load_N: float) -> None:
        """Note that the load is off: follow faster for a while, for creep.

        Args:
            load_N: level of the load that was taken off [N].
        """
        self.frames = min(self.frames, max(1, round(0.2 / self.frame_s)))
        self._load_N = load_N
        self._since_load_s = 0.0
        self._last = None

    def step_to(self, level_N: float, frames: int) -> None:
        """Set the zero anew.

        Args:
            level_N: new zero [N].
            frames: frames it is the mean of.
        """
        self.zero_N = level_N
        self.frames = max(1, min(frames, round(FOLLOW_S / self.frame_s)))
        self.rest_frames = frames
        self.extra_u_N = 0.0
        self._last = None
        self._past.clear()

    def forget_noise(self) -> None:
        """Start the noise anew; what was learned was not noise of the empty rig."""
        self.noise_frames = 0
        self._first.clear()
        self._sample_var = self._frame_var = 0.0
        self._last = None

    @property
    def noise_N(self) -> float:
        """SD of a single reading at rest [N]."""
        return math.sqrt(self._sample_var)

    @property
    def frame_noise_N(self) -> float:
        """SD of a frame mean at rest [N]."""
        return math.sqrt(self._frame_var)

    @property
    def u_N(self) -> float:
        """Standard uncertainty of the zero [N]."""
        mean = self.frame_noise_N / math.sqrt(max(1, self.frames))
        return math.hypot(mean * (1.0 + 2.0 / max(1, self.noise_frames)), self.extra_u_N)

    @property
    def is_young(self) -> bool:
        """True until the rig has been seen at rest for a second in all."""
        return self.rest_frames * self.frame_s < 1.0

    @property
    def touch_N(self) -> float:
        """Force above (or below) zero that counts as touched [N]."""
        unsure = 1.0 + 4.0 / max(1, self.noise_frames)
        touch_N = max(TOUCH_FLOOR_N, TOUCH_SD * unsure * math.sqrt(self._frame_var))
        if self._since_load_s < CREEP_S:
            touch_N += self._load_N * CREEP_SHARE * (1.0 - self._since_load_s / CREEP_S)
        return touch_N

    def is_flat(self, means_N: Sequence[float]) -> bool:
        """Say whether a level is no noisier than the empty rig.

        Args:
            means_N: frame means, a second or more [N].

        Returns:
            True if neither quick noise nor slow waver exceeds that of the empty rig (by the
            factors 1.5 and 2, with a floor).
        """
        noise = self.frame_noise_N
        group = max(1, round(SLOW_S / self.frame_s))
        slow = [
            fmean(means_N[k : k + group]) for k in range(0, len(means_N) - group + 1, group)
        ]
        slow_limit = max(FLAT_FLOOR_N, 2.0 * noise / math.sqrt(group))
        quick_limit = max(FLAT_FLOOR_N, 1.5 * noise)
        return sd(slow) <= slow_limit and sd(means_N) <= quick_limit

    def could_tell_hand(self, level_N: float) -> bool:
        """Say whether the waver of a hand of this force would stand out of the noise.

        Args:
            level_N: force above zero [N].

        Returns:
            True if even a very quiet hand would waver three times more than the noise lets
            slow means differ.
        """
        group = max(1, round(SLOW_S / self.frame_s))
        slow = max(0.1 * FLAT_FLOOR_N, self.frame_noise_N / math.sqrt(group))
        return max(HAND_WAVER_FLOOR_N, HAND_WAVER * abs(level_N)) > 3.0 * slow


def _middle_of_chi2(dof: int) -> float:
    """Return the median of a mean square of `dof` normal values (Wilson and Hilferty, 1931)."""
    return float((1.0 - 2.0 / (9.0 * dof)) ** 3)


def _capped(square: float, var: float) -> float:
    return min(square, NOISE_CAP * (var + 1e-4))


def sd(values: Sequence[float]) -> float:
    """Return the standard deviation (n - 1) of at least two values, else 0, same unit."""
    if len(values) < 2:
        return 0.0
    middle = fmean(values)
    return math.sqrt(sum((x - middle) ** 2 for x in values) / (len(values) - 1))
