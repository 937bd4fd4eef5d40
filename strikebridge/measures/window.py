"""How a hold ended, and the hold window: what is looked at when a hold itself is measured."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.measures.passages import first_passage, last_fall

if TYPE_CHECKING:
    from strikebridge.measures.peaks import Peak
    from strikebridge.measures.settings import MeasureSettings
    from strikebridge.samples import Floats, Hold, Prescription


@dataclass(frozen=True, slots=True)
class LetGo:
    """How the hold ended.

    Attributes:
        start_s: last time before the release above 0.8 of the level before it; the end of the
            samples where no release was seen [s].
        level_N: mean force over 0.6 to 0.25 s before the release [N].
    """

    start_s: float
    level_N: float


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """The samples of the hold window and the straight line through them.

    Attributes:
        first: index of the first sample.
        stop: index after the last one.
        mean_N: mean force [N].
        slope_N_per_s: slope of the least-squares line [N/s].
        sd_N: SD about that line, n - 1 in the denominator [N].
        step_N: root mean square of the change from sample to sample about that line [N].
        seconds: length of the window [s].
        u_start_N: doubt of the mean because another of several like tops may be the peak, which
            moves the start of the window; rectangular [N].
    """

    first: int
    stop: int
    mean_N: float
    slope_N_per_s: float
    sd_N: float
    step_N: float
    seconds: float
    u_start_N: float

    @property
    def count(self) -> int:
        """Number of samples."""
        return self.stop - self.first


def find_let_go(hold: Hold, end_s: float, settings: MeasureSettings) -> LetGo:
    """Find where the let-go starts.

    Args:
        hold: the hold.
        end_s: the release, or the last sample where none was seen [s].
        settings: limits of the definitions.

    Returns:
        How the hold ended.
    """
    time_s, force_N = hold.force.time_s, hold.force.force_N
    before = (time_s >= max(hold.onset_s, end_s - 0.6)) & (time_s <= end_s - 0.25)
    level_N = float(force_N[before].mean()) if before.any() else hold.level_N
    if hold.release_s is None:
        return LetGo(end_s, level_N)
    start_s = last_fall(time_s, force_N, end_s, settings.let_go_share * level_N)
    return LetGo(end_s if start_s is None else max(start_s, hold.onset_s), level_N)


def find_window(
    hold: Hold,
    peak: Peak,
    let_go: LetGo,
    prescription: Prescription,
    settings: MeasureSettings,
) -> Window | None:
    """Find the hold window and fit a line to it.

    Args:
        hold: the hold.
        peak: its peak.
        let_go: how it ended.
        prescription: what was asked for.
        settings: limits of the definitions.

    Returns:
        The window, None where it is too short.
    """
    time_s, force_N = hold.force.time_s, hold.force.force_N
    reached_s = first_passage(time_s, force_N, hold.onset_s, 0.9 * hold.level_N)
    if reached_s is None:
        return None
    after_s = settings.settle_after_peak_s
    latest_s = 0.5 * (hold.onset_s + let_go.start_s)
    is_near = reached_s < peak.time_s <= reached_s + settings.peak_near_level_s
    start_s = min((peak.time_s if is_near else reached_s) + after_s, latest_s)
    end_s = let_go.start_s
    if prescription.hold_s is not None:
        end_s = min(end_s, hold.onset_s + prescription.hold_s)
    end_s -= settings.leave_before_end_s
    if end_s - start_s < settings.shortest_window_s - 1e-9:
        return None
    first = int(np.searchsorted(time_s, start_s - 1e-9))
    stop = int(np.searchsorted(time_s, end_s + 1e-9, side="right"))
    if stop - first < 3:
        return None
    window = _fit_line(time_s, force_N, (first, stop), end_s - start_s)
    moved_N = 0.0
    for top_s in (reached_s, _last_like_top(hold, peak, reached_s, settings)):
        other = int(np.searchsorted(time_s, min(top_s + after_s, latest_s) - 1e-9))
        if other < stop:
            moved_N = max(moved_N, abs(window.mean_N - float(force_N[other:stop].mean())))
    return replace(window, u_start_N=moved_N / math.sqrt(3.0))


def _last_like_top(
    hold: Hold, peak: Peak, reached_s: float, settings: MeasureSettings
) -> float:
    """Find the last sample near the level that may have been the peak, the filter apart [s]."""
    time_s, force_N = hold.force.time_s, hold.force.force_N
    near = (time_s >= reached_s) & (time_s <= reached_s + settings.peak_near_level_s)
    like_N = (1.0 - settings.like_share) * peak.value_N
    like = np.flatnonzero(near & (force_N >= like_N))
    return float(time_s[like[-1]]) if len(like) else reached_s


def _fit_line(time_s: Floats, force_N: Floats, span: tuple[int, int], seconds: float) -> Window:
    first, stop = span
    about_s = time_s[first:stop] - time_s[first:stop].mean()
    mean_N = float(force_N[first:stop].mean())
    about_N = force_N[first:stop] - mean_N
    slope_N_per_s = float(about_s @ about_N) / float(about_s @ about_s)
    residual_N = about_N - slope_N_per_s * about_s
    sd_N = math.sqrt(float(residual_N @ residual_N) / (stop - first - 1))
    step_N = math.sqrt(float(np.mean(np.diff(residual_N) ** 2)))
    return Window(first, stop, mean_N, slope_N_per_s, sd_N, step_N, seconds, 0.0)
