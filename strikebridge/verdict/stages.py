"""A rise in two goes: a touch and then the push, or a hit, a release and another hit.

The rise runs from 10 % of its early peak P to the final passage of 80 %. It stalled where the
force paused (slope under a tenth of the steepest) or fell, in either case for longer than 0.15
s.

- P is the largest force within a second of the onset, or the level of the hold where that is
  more: after a long touch the push comes later than a second.
- The passage of 80 % is not final if within that second the force fell below that for longer
  than 0.15 s, or below half of what it had reached, and then came up again by a tenth of P at
  least; plain swings of the plateau through 80 % are no second rise.
- A rise of many seconds is steered, and wavers: there a stall must also take a tenth of it.
- A slope is that of a line through a few neighbours, as few as keep the noise well below the
  limit. A pause counts with the samples those lines lie on, else fitting would shorten it.
- A fall is looked for in a running mean of 25 ms; it lasts until the force is back where it
  came from, and is deeper than the noise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats, Hold
    from strikebridge.verdict.limits import Limits

SHORTEST_LINE_S = 0.025
LONGEST_LINE_S = 0.100


@dataclass(frozen=True, slots=True)
class Stage:
    """A stall on the way up.

    Attributes:
        seconds: how long it lasted [s].
        share: height at which it lay, as a share of the early peak.
        is_double: True where the force had fallen below half of what it had reached.
    """

    seconds: float
    share: float
    is_double: bool


def find_stage(hold: Hold, limits: Limits) -> Stage | None:
    """Find the longest stall of a rise.

    Args:
        hold: the hold; its onset must be sure.
        limits: limits of the verdict.

    Returns:
        The longest pause or fall that is longer than allowed, or None for a rise in one go.
    """
    block = hold.force
    time_s, above_N = block.time_s, block.force_N - hold.baseline_N
    first, last = _rise(hold, above_N, limits)
    if last - first < 2:
        return None
    height_N = _height_N(hold, above_N, limits)
    rise_N, noise_N = _smoothed(above_N, (first, last), hold)
    pause = _longest_pause(hold, above_N, (first, last), limits)
    least_fall_N = max(limits.fall_share * height_N, 4.0 * noise_N)
    fall = _longest_fall(rise_N, least_fall_N)
    start, stop = max(pause, fall, key=lambda span: span[1] - span[0])
    seconds = float(time_s[first + stop] - time_s[first + start])
    climb_s = float(time_s[last] - time_s[first])
    if seconds <= max(limits.pause_s, limits.pause_rise_share * climb_s):
        return None
    reached_N = np.maximum.accumulate(rise_N)
    dropped = (rise_N < limits.drop_share * reached_N) & (reached_N - rise_N > 5.0 * noise_N)
    share = float(np.median(rise_N[start : stop + 1])) / height_N
    return Stage(seconds, share, bool(dropped.any()))


def _height_N(hold: Hold, above_N: Floats, limits: Limits) -> float:
    time_s = hold.force.time_s
    early = (time_s >= hold.onset_s) & (time_s <= hold.onset_s + limits.rise_s)
    return max(float(above_N[early].max()), hold.level_N - hold.baseline_N)


def _smoothed(above_N: Floats, rise: tuple[int, int], hold: Hold) -> tuple[Floats, float]:
    """Average over a few neighbours, so that noise neither raises a maximum nor digs a hole."""
    half = int(0.5 * SHORTEST_LINE_S * hold.force.rate_hz)
    width = 2 * half + 1
    around_N = _around(above_N, rise, half)
    smooth_N = np.convolve(around_N, np.full(width, 1.0 / width), "valid")
    return smooth_N, hold.noise_N / width**0.5


def _around(above_N: Floats, rise: tuple[int, int], half: int) -> Floats:
    """Take the rise and some neighbours on both sides, the outermost again where none are."""
    first, last = rise
    return above_N.take(np.arange(first - half, last + half + 1), mode="clip")


def _rise(hold: Hold, above_N: Floats, limits: Limits) -> tuple[int, int]:
    """Find the samples at which the rise first reaches 10 % and finally passes 80 %."""
    time_s = hold.force.time_s
    height_N = _height_N(hold, above_N, limits)
    onset = int(np.searchsorted(time_s, hold.onset_s))
    first = onset + _first(above_N[onset:] >= limits.first_share * height_N)
    last = onset + _first(above_N[onset:] >= limits.last_share * height_N)
    return first, _final_passage(hold, above_N, last, limits)


def _final_passage(hold: Hold, above_N: Floats, last: int, limits: Limits) -> int:
    """Find the sample of the final passage of 80 %, from that of the first one."""
    time_s = hold.force.time_s
    height_N = _height_N(hold, above_N, limits)
    early_end = int(np.searchsorted(time_s, hold.onset_s + limits.rise_s, side="right"))
    part_N = above_N[last:early_end]
    # an early hit may be higher than the push that follows
    again_N = limits.last_share * min(height_N, hold.level_N - hold.baseline_N)
    longest = limits.pause_s * hold.force.rate_hz
    for start, stop in reversed(_runs(part_N < again_N)):
        low_N = float(part_N[start : stop + 1].min())
        is_hit = low_N < limits.drop_share * float(part_N[: start + 1].max())
        if stop - start + 2 <= longest and not is_hit:
            continue
        # the release is a fall without a rise after it
        climb_N = max(again_N, low_N + limits.climb_share * height_N)
        if (above_N[last + stop :] >= climb_N).any():
            return last + start + _first(above_N[last + start :] >= again_N)
    return last


def _first(where: np.ndarray) -> int:
    return int(np.argmax(where))


def _longest_pause(
    hold: Hold, above_N: Floats, rise: tuple[int, int], limits: Limits
) -> tuple[int, int]:
    """Find the longest run of slopes under a tenth of the steepest, in samples of the rise."""
    first, last = rise
    rate_hz = hold.force.rate_hz
    climbed_N = float(above_N[last] - above_N[first])
    slowest_limit = limits.pause_slope_share * climbed_N * rate_hz / (last - first)
    half = _half_line(hold.noise_N, rate_hz, slowest_limit)
    about = np.arange(-half, half + 1, dtype=np.float64)
    part = np.correlate(_around(above_N, rise, half), about) * rate_hz / float(about @ about)
    runs = _runs(part < limits.pause_slope_share * float(part.max()))
    if not runs:
        return 0, 0
    start, stop = max(runs, key=lambda run: run[1] - run[0])
    return max(0, start - half), min(last - first, stop + half)


def _half_line(noise_N: float, rate_hz: float, limit_N_per_s: float) -> int:
    """Find how many neighbours a slope needs on each side for a noise of 1/3 of a limit."""
    half = max(1, round(0.5 * SHORTEST_LINE_S * rate_hz))
    longest = max(half, round(0.5 * LONGEST_LINE_S * rate_hz))
    while half < longest:
        weight = math.sqrt(half * (half + 1.0) * (2.0 * half + 1.0) / 3.0)
        if noise_N * rate_hz / weight <= limit_N_per_s / 3.0:
            break
        half += 1
    return half


def _longest_fall(rise_N: Floats, least_N: float) -> tuple[int, int]:
    """Find the longest time from a maximum until it is reached again, in rise samples."""
    reached_N = np.maximum.accumulate(rise_N)
    longest = (0, 0)
    for start, stop in _runs(rise_N < reached_N):
        deep = float((reached_N[start : stop + 1] - rise_N[start : stop + 1]).max()) >= least_N
        if deep and stop - start + 2 > longest[1] - longest[0]:
            longest = (start - 1, min(len(rise_N) - 1, stop + 1))
    return longest


def _runs(where: np.ndarray) -> list[tuple[int, int]]:
    """List first and last index of each run of True."""
    edges = np.diff(np.concatenate(([0], where.astype(np.int8), [0])))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return list(zip(starts.tolist(), stops.tolist(), strict=True))
