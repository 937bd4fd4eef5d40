"""A hold made ready to be measured: what several measures need, found once.

Landmarks follow one another: onset (from the detector), peak, level, release (from the
detector), start of the let-go, hold window. The doubts that recur are found here too: where the
onset lies, and what the converter's filter smears.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from strikebridge.measures.peaks import Peak, find_peak
from strikebridge.samples import Flag, Floats, Hold, Prescription

UNKNOWN_SETTLING_PERIODS = 4.0
RESOLVED_SWINGS = 6.0  # readings a swing that show how fast it is
HOLES = np.uint16(Flag.GAP_BEFORE | Flag.BAD_WORD | Flag.RESTARTED)


@dataclass(frozen=True, slots=True)
class MeasureSettings:
    """Limits of the definitions; our own conventions, changeable.

    Attributes:
        settle_after_peak_s: from reaching the level or the peak to the hold window [s].
        peak_near_level_s: a peak later than this after 90 % of the level does not delay the
            hold window [s].
        leave_before_end_s: from the hold window to the let-go or the prescribed end [s].
        shortest_window_s: a shorter hold window is not used [s].
        let_go_share: the let-go starts below this share of the force just before it.
        sound_latency_s: how long the go tone takes to reach the ear, subtracted from reaction
            [s].
        start_rule_s: nobody reacts sooner (start rule of athletics, value from memory) [s].
        swing_share: SD of the swings of a held human force / its mean, used for what a slow
            converter cannot show; 1.7 % is the lowest found (Taylor, Christou, Enoka 2003, J
            Neurophysiol 90:1350-1361).
        tremor_part: how much of their variance is tremor; slow swings dominate (Dideriksen et
            al. 2012, PMC3378401), so a half would be plenty for most, and this is for all.
        swing_hz: where those slow swings are fastest (inference) [Hz].
        tremor_hz: physiological tremor lies about 8 to 12 Hz (value from memory) [Hz].
        like_share: tops that differ by less than this share may change places in the filter.
        creep_share: most that a cell may creep or lag in a hold, share of the load; data sheets
            of cheap bars give 0.03 to 0.05 % of the rated output for each (value from memory).
    """

    settle_after_peak_s: float = 0.3
    peak_near_level_s: float = 0.8
    leave_before_end_s: float = 0.1
    shortest_window_s: float = 0.5
    let_go_share: float = 0.8
    sound_latency_s: float = 0.0
    start_rule_s: float = 0.100
    swing_share: float = 0.017
    tremor_part: float = 0.8
    swing_hz: float = 2.0
    tremor_hz: float = 10.0
    like_share: float = 0.02
    creep_share: float = 0.001


DEFAULT_SETTINGS = MeasureSettings()


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


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A hold with its landmarks.

    Attributes:
        hold: the hold.
        prescription: what was asked for.
        settings: limits of the definitions.
        period_s: time between samples [s].
        settling_s: time the converter's filter needs, four periods where unknown [s].
        end_s: the release, or the last sample where none was seen [s].
        peak: the peak.
        let_go: how the hold ended.
        window: the hold window, None where it is too short.
        u_onset_s: standard uncertainty of the onset, rectangular [s].
    """

    hold: Hold
    prescription: Prescription
    settings: MeasureSettings
    period_s: float
    settling_s: float
    end_s: float
    peak: Peak
    let_go: LetGo
    window: Window | None
    u_onset_s: float
    time_s: Floats = field(repr=False)
    force_N: Floats = field(repr=False)

    @property
    def rate_hz(self) -> float:
        """Real sampling rate [1/s]."""
        return self.hold.force.rate_hz

    @property
    def onset_s(self) -> float:
        """Onset t0 [s]."""
        return self.hold.onset_s

    @property
    def filter_u_s(self) -> float:
        """Doubt of a time because the filter's delay is only known to half the settling [s]."""
        return 0.5 * self.settling_s / math.sqrt(3.0)

    def swings(self) -> tuple[float, float]:
        """Find how much and how fast this hold swung, as far as the board shows it.

        Returns:
            SD of the swings / mean, noise taken off, and their frequency [Hz]. For sines of
            frequency f, T apart, the mean square change is 2 (1 - cos 2 pi f T) times the
            variance. A board too slow to tell is given the fastest there are.
        """
        window = self.window
        if window is None or window.mean_N <= 0.0:
            return 0.0, self.settings.tremor_hz
        variance = window.sd_N**2 - self.hold.noise_N**2
        if variance <= 0.0:
            return 0.0, self.settings.tremor_hz
        step_variance = max(0.0, window.step_N**2 - 2.0 * self.hold.noise_N**2)
        turn = math.acos(1.0 - min(1.0, 0.5 * step_variance / variance))
        seen_hz = turn / (2.0 * math.pi * self.period_s)
        is_slow = self.rate_hz < RESOLVED_SWINGS * self.settings.tremor_hz
        return (
            math.sqrt(variance) / window.mean_N,
            self.settings.tremor_hz if is_slow else min(seen_hz, self.settings.tremor_hz),
        )

    def hidden_swings(self, averaged: int = 1) -> float:
        """Find what the board and averaging hide of the swings, as an SD / mean.

        The usual swings, slow ones and tremor, and those that were seen, at the frequency they
        had.

        Args:
            averaged: number of samples averaged.

        Returns:
            Share of the mean force, 0 or more.
        """
        seen_share, seen_hz = self.swings()
        settings = self.settings
        slow = self.hidden_share(settings.swing_hz, averaged)
        tremor = self.hidden_share(settings.tremor_hz, averaged)
        part = settings.tremor_part
        usual = settings.swing_share * math.hypot(
            math.sqrt(1.0 - part) * slow, math.sqrt(part) * tremor
        )
        hidden = min(0.9, self.hidden_share(seen_hz, averaged))
        own = max(0.0, seen_share - settings.swing_share) * hidden / (1.0 - hidden)
        return math.hypot(usual, own)

    def hidden_share(self, swing_hz: float, averaged: int = 1) -> float:
        """Find the share of swings that the board and averaging hide.

        All act like an average: the settling; the samples averaged; and the gap between
        samples: a top half a period off loses what an average over sqrt 3 periods would cost.

        Args:
            swing_hz: their frequency [Hz].
            averaged: number of samples averaged.

        Returns:
            Share, 0 to 1.2.
        """
        span_s2 = self.settling_s**2 + (averaged**2 + 2.0) * self.period_s**2
        return 1.0 - float(np.sinc(swing_hz * math.sqrt(span_s2)))

    def creep_N(self, force_N: float) -> float:
        """Standard uncertainty for creep and lag of the cell under a load, rectangular [N]."""
        return self.settings.creep_share * abs(force_N) / math.sqrt(3.0)

    def force_at(self, at_s: float) -> float:
        """Interpolate the force [N] at a time [s]."""
        return float(np.interp(at_s, self.time_s, self.force_N))

    def common_at(self, at_s: float) -> float:
        """Interpolate the common standard uncertainty of the force [N] at a time [s]."""
        return float(np.interp(at_s, self.time_s, self.hold.force.u_common_N))

    def own_at(self, at_s: float) -> float:
        """Interpolate the force's own standard uncertainty (resolution) [N] at a time [s]."""
        return float(np.interp(at_s, self.time_s, self.hold.force.u_own_N))

    def slope_at(self, at_s: float) -> float:
        """Find the steepness of the force around a time [N/s].

        The chord over one settling (two periods at least), so that neither the noise nor a
        single step of the converter decides.
        """
        half_s = max(0.5 * self.settling_s, self.period_s)
        rise_N = self.force_at(at_s + half_s) - self.force_at(at_s - half_s)
        return rise_N / (2.0 * half_s)

    def mean_noise_N(self, count: float) -> float:
        """Noise of a mean of samples [N]; those within one settling count as one."""
        per_settling = max(1.0, self.settling_s * self.rate_hz)
        return self.hold.noise_N / math.sqrt(max(1.0, count / per_settling))

    def has_hole(self, from_s: float, to_s: float) -> bool:
        """Say whether samples are missing or bridged in a span of time [s]."""
        first, last = np.searchsorted(self.time_s, [from_s, to_s + 1.5 * self.period_s])
        return bool(np.any(self.hold.force.flags[first:last] & HOLES))

    def index_from(self, at_s: float) -> int:
        """Find the first sample at or after a time [s]."""
        return int(np.searchsorted(self.time_s, at_s - 1e-9))

    def index_past(self, at_s: float) -> int:
        """Find the index after the last sample at or before a time [s]."""
        return int(np.searchsorted(self.time_s, at_s + 1e-9, side="right"))


def look(
    hold: Hold, prescription: Prescription, settings: MeasureSettings = DEFAULT_SETTINGS
) -> View:
    """Find the landmarks of a hold.

    Args:
        hold: the hold as the detector cut it out; at least two samples from onset to end.
        prescription: what was asked for.
        settings: limits of the definitions.

    Returns:
        The view that every measure looks at.
    """
    block = hold.force
    period_s = 1.0 / block.rate_hz
    settling_s = hold.settling_s
    if settling_s is None:
        settling_s = UNKNOWN_SETTLING_PERIODS * period_s
    end_s = float(block.time_s[-1]) if hold.release_s is None else hold.release_s
    peak = find_peak(hold, settling_s, end_s)
    let_go = _find_let_go(hold, end_s, settings)
    return View(
        hold=hold,
        prescription=prescription,
        settings=settings,
        period_s=period_s,
        settling_s=settling_s,
        end_s=end_s,
        peak=peak,
        let_go=let_go,
        window=_find_window(hold, peak, let_go, prescription, settings),
        u_onset_s=_onset_doubt(hold, peak, period_s),
        time_s=block.time_s,
        force_N=block.force_N,
    )


def first_passage(
    time_s: Floats, force_N: Floats, from_s: float, level_N: float
) -> float | None:
    """Find when the force first reaches a level at or after a time.

    Args:
        time_s: times [s], shape (n,).
        force_N: force [N], shape (n,).
        from_s: start of the search [s].
        level_N: the level [N].

    Returns:
        The time, interpolated between the two samples [s]; None if it never does.
    """
    first = int(np.searchsorted(time_s, from_s - 1e-9))
    above = np.flatnonzero(force_N[first:] >= level_N)
    if len(above) == 0:
        return None
    index = first + int(above[0])
    if index == first:
        return float(time_s[index])
    low_N, high_N = float(force_N[index - 1]), float(force_N[index])
    share = (level_N - low_N) / (high_N - low_N)
    return float(time_s[index - 1] + share * (time_s[index] - time_s[index - 1]))


def last_fall(time_s: Floats, force_N: Floats, until_s: float, level_N: float) -> float | None:
    """Find when the force last falls through a level before a time.

    Args:
        time_s: times [s], shape (n,).
        force_N: force [N], shape (n,).
        until_s: end of the search [s]; the crossing may end in the sample after it.
        level_N: the level [N].

    Returns:
        The time, interpolated [s]; `until_s` if the force is still above there; None if it was
        never above.
    """
    stop = int(np.searchsorted(time_s, until_s + 1e-9, side="right"))
    above = np.flatnonzero(force_N[:stop] >= level_N)
    if len(above) == 0:
        return None
    index = int(above[-1])
    if index + 1 >= len(force_N) or float(force_N[index + 1]) >= level_N:
        return until_s
    high_N, low_N = float(force_N[index]), float(force_N[index + 1])
    share = (high_N - level_N) / (high_N - low_N)
    return min(until_s, float(time_s[index] + share * (time_s[index + 1] - time_s[index])))


def _find_let_go(hold: Hold, end_s: float, settings: MeasureSettings) -> LetGo:
    time_s, force_N = hold.force.time_s, hold.force.force_N
    before = (time_s >= max(hold.onset_s, end_s - 0.6)) & (time_s <= end_s - 0.25)
    level_N = float(force_N[before].mean()) if before.any() else hold.level_N
    if hold.release_s is None:
        return LetGo(end_s, level_N)
    start_s = last_fall(time_s, force_N, end_s, settings.let_go_share * level_N)
    return LetGo(end_s if start_s is None else max(start_s, hold.onset_s), level_N)


def _find_window(
    hold: Hold,
    peak: Peak,
    let_go: LetGo,
    prescription: Prescription,
    settings: MeasureSettings,
) -> Window | None:
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


def _onset_doubt(hold: Hold, peak: Peak, period_s: float) -> float:
    """Find the standard uncertainty of the onset [s].

    The crossing lies somewhere within a sample period, or the hole that is there; and it is
    late by what the first rise needs to climb to the threshold of 5 SD (2 N at least). Both
    only have limits.
    """
    threshold_N = max(5.0 * hold.noise_N, 2.0)
    tenth_N = hold.baseline_N + max(0.1 * (peak.value_N - hold.baseline_N), threshold_N)
    tenth_s = first_passage(hold.force.time_s, hold.force.force_N, hold.onset_s, tenth_N)
    climb_s = period_s if tenth_s is None else max(tenth_s - hold.onset_s, 0.0)
    late_s = climb_s * threshold_N / (tenth_N - hold.baseline_N)
    return math.hypot(period_s + _hole_at(hold, period_s), late_s) / math.sqrt(3.0)


def _hole_at(hold: Hold, period_s: float) -> float:
    """Find how long the readings are missing among which the onset lies [s]."""
    index = int(np.searchsorted(hold.force.time_s, hold.onset_s))
    missing = (hold.force.flags & np.uint16(Flag.BAD_WORD)) != 0
    first = stop = index
    while first > 0 and missing[first - 1]:
        first -= 1
    while stop < len(missing) and missing[stop]:
        stop += 1
    return (stop - first) * period_s
