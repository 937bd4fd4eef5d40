"""A hold made ready to be measured: what several measures need, found once.

Landmarks follow one another: onset (from the detector), peak, level, release (from the
detector), start of the let-go, hold window. The doubts that recur are found here too: where the
onset lies, and what the converter's filter smears.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.measures.passages import first_passage
from strikebridge.measures.peaks import Peak, find_peak
from strikebridge.measures.settings import DEFAULT_SETTINGS, MeasureSettings
from strikebridge.measures.window import LetGo, Window, find_let_go, find_window
from strikebridge.samples import Flag, Floats, Hold

if TYPE_CHECKING:
    from strikebridge.samples import Ints, Prescription

UNKNOWN_SETTLING_PERIODS = 4.0
RESOLVED_SWINGS = 6.0  # readings a swing that show how fast it is
HOLES = np.uint16(Flag.GAP_BEFORE | Flag.BAD_WORD | Flag.RESTARTED)


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
        holes: indices of samples that are bridged or follow a gap, rising.
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
    holes: Ints = field(repr=False)
    _places: dict[float, tuple[int, float]] = field(default_factory=dict, repr=False)

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
        """Standard uncertainty for creep and lag that the certificate does not hold [N]."""
        return self.settings.creep_share * abs(force_N) / math.sqrt(3.0)

    def force_at(self, at_s: float) -> float:
        """Interpolate the force [N] at a time [s]."""
        return self._between(at_s, self.force_N)

    def common_at(self, at_s: float) -> float:
        """Interpolate the common standard uncertainty of the force [N] at a time [s]."""
        return self._between(at_s, self.hold.force.u_common_N)

    def own_at(self, at_s: float) -> float:
        """Interpolate the force's own standard uncertainty (resolution) [N] at a time [s]."""
        return self._between(at_s, self.hold.force.u_own_N)

    def _between(self, at_s: float, values: Floats) -> float:
        """Interpolate as `numpy.interp` does, which is made for many times and not for one."""
        place = self._places.get(at_s)
        if place is None:
            # the last sample at or before that time, and how long before [s]
            index = int(self.time_s.searchsorted(at_s, side="right")) - 1
            place = index, at_s - float(self.time_s[max(0, index)])
            self._places[at_s] = place
        index, since_s = place
        if index < 0 or index + 1 == len(values) or since_s == 0.0:
            return float(values[max(0, index)])
        low, high = float(values[index]), float(values[index + 1])
        period_s = float(self.time_s[index + 1]) - float(self.time_s[index])
        return (high - low) / period_s * since_s + low

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
        if not len(self.holes):
            return False
        first, last = np.searchsorted(self.time_s, [from_s, to_s + 1.5 * self.period_s])
        return bool(((self.holes >= first) & (self.holes < last)).any())

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
    let_go = find_let_go(hold, end_s, settings)
    return View(
        hold=hold,
        prescription=prescription,
        settings=settings,
        period_s=period_s,
        settling_s=settling_s,
        end_s=end_s,
        peak=peak,
        let_go=let_go,
        window=find_window(hold, peak, let_go, prescription, settings),
        u_onset_s=_onset_doubt(hold, peak, period_s),
        time_s=block.time_s,
        force_N=block.force_N,
        holes=np.flatnonzero(block.flags & HOLES),
    )


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
