"""Measures of the peak and of the way up to it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.measures.passages import first_passage
from strikebridge.measures.rules import HOLE, early_window, timed
from strikebridge.measures.table import Estimate, Outcome, Withheld, measure
from strikebridge.samples import Flag

if TYPE_CHECKING:
    from strikebridge.measures.view import View

PEAK_RFD_HZ = 500.0
PEAK_RFD_S = 0.020
SWING_TOP_SDS = 2.5  # the largest of the few dozen swings of a hold, in their SD


def _saturated(view: View) -> str:
    span = slice(view.index_from(view.onset_s), view.index_past(view.end_s))
    if np.any(view.hold.force.flags[span] & np.uint16(Flag.SATURATED)):
        return "the converter stood at its end: the true force was higher"
    return ""


@measure("peak_force", "N", 1)
def peak_force(view: View) -> Outcome:
    """Find the largest force.

    Definition: the largest force above the tracked zero between onset and release, averaged
    over no more than the settling time, less the excess expected of a maximum of noise.

    Uncertainty: noise and the doubt of its excess, zero, resolution; what filter, averaging and
    sampling may have missed, from the curvature of the top (rectangular); swings too quick for
    the filter, 2.5 times their SD: the usual 1.7 % at 10 Hz, and those seen in the hold at
    their own frequency; creep, or what the certificate leaves of it (rectangular); certificate.

    Reference: Maffiuletti et al. 2016 for the lightly averaged maximum (value from memory); the
    noise rule is our own, see `strikebridge.measures.peaks`.
    """
    peak = view.peak
    hidden_N = SWING_TOP_SDS * view.hidden_swings(peak.averaged) * peak.value_N
    return Estimate(
        value=peak.value_N,
        normal=(
            peak.u_noise_N,
            view.hold.u_zero_N,
            view.own_at(peak.time_s) / math.sqrt(peak.averaged),
            hidden_N / math.sqrt(3.0),
        ),
        rectangular=(peak.missed_N / math.sqrt(3.0), view.creep_N(peak.value_N)),
        common=view.common_at(peak.time_s),
        coarse=_saturated(view),
    )


@measure("time_to_peak", "s", 1)
def time_to_peak(view: View) -> Outcome:
    """Find how long the rise to the peak took.

    Definition: from the onset to the middle of the samples that make the peak.

    Uncertainty: onset; sampling; the filter's delay; the stretch around the peak over which
    noise alone may have picked another sample (rectangular).

    Reference: Comfort et al. 2019, Strength Cond J 41(2):57-79 (value from memory).
    """
    # a top that is flat within the noise may carry its largest sample anywhere on it
    flat_N = view.peak.largest_N - 2.0 * view.peak.u_noise_N - view.peak.excess_N
    span = slice(view.index_from(view.onset_s), view.index_past(view.end_s))
    time_s = view.time_s[span][view.force_N[span] >= flat_N]
    spread_s = float(time_s[-1] - time_s[0]) if view.hold.noise_N > 0.0 else 0.0
    return timed(
        view,
        Estimate(
            value=view.peak.time_s - view.onset_s,
            normal=(view.filter_u_s, view.period_s / math.sqrt(12.0)),
            rectangular=(view.u_onset_s, spread_s / math.sqrt(12.0)),
        ),
    )


@measure("time_to_90", "s", 1)
def time_to_90(view: View) -> Outcome:
    """Find how long the rise to 90 % of the peak took.

    Definition: from the onset to the first passage of 90 % of the peak, interpolated between
    the two samples.

    Uncertainty: onset; the filter's delay; noise and peak doubt divided by the slope there, at
    most half the time itself.

    Reference: common practice, no source.
    """
    reached_s = first_passage(view.time_s, view.force_N, view.onset_s, 0.9 * view.peak.value_N)
    if reached_s is None:
        return Withheld("the force never reached 90 % of the peak; the noise is too large")
    value = reached_s - view.onset_s
    force_doubt_N = math.hypot(view.hold.noise_N, 0.9 * view.peak.u_noise_N)
    slope_N_per_s = abs(view.slope_at(reached_s))
    # a slope of nothing would make the doubt endless; no time is doubted by more than itself
    crossing_s = min(0.5 * value, force_doubt_N / max(slope_N_per_s, 1e-9))
    return timed(
        view,
        Estimate(
            value=value,
            normal=(view.filter_u_s, crossing_s),
            rectangular=(view.u_onset_s,),
        ),
    )


def _rfd(view: View, window_s: float) -> Outcome:
    """Find the mean rate of force development over a window from the onset."""
    judged = early_window(view, window_s)
    if isinstance(judged, Withheld):
        return judged
    end_s = view.onset_s + window_s
    start_slope = view.slope_at(view.onset_s + 0.5 * view.settling_s)
    end_slope = view.slope_at(end_s)
    smear_N = 0.5 * view.settling_s * abs(end_slope)
    return Estimate(
        value=(view.force_at(end_s) - view.force_at(view.onset_s)) / window_s,
        normal=(
            math.sqrt(2.0) * view.hold.noise_N / window_s,
            math.hypot(view.own_at(view.onset_s), view.own_at(end_s)) / window_s,
        ),
        rectangular=(
            abs(end_slope - start_slope) * view.u_onset_s / window_s,
            smear_N / math.sqrt(3.0) / window_s,
        ),
        common=abs(view.common_at(end_s) - view.common_at(view.onset_s)) / window_s,
        coarse=judged,
    )


@measure("rfd_50", "N/s", 1)
def rfd_50(view: View) -> Outcome:
    """Find the rate of force development over the first 50 ms.

    Definition: (F(t0 + 0.050 s) - F(t0)) / 0.050 s, F interpolated between samples.

    Uncertainty: noise and resolution at both ends; onset times the difference of the slopes at
    both ends; what the filter smears, up to half its settling times the slope at the end;
    certificate.

    Reference: Maffiuletti et al. 2016, Eur J Appl Physiol 116:1091-1116.
    """
    return _rfd(view, 0.050)


@measure("rfd_100", "N/s", 1)
def rfd_100(view: View) -> Outcome:
    """Find the rate of force development over the first 100 ms.

    Definition: (F(t0 + 0.100 s) - F(t0)) / 0.100 s, F interpolated between samples.

    Uncertainty: as of the first 50 ms.

    Reference: Maffiuletti et al. 2016, Eur J Appl Physiol 116:1091-1116.
    """
    return _rfd(view, 0.100)


@measure("rfd_150", "N/s", 1)
def rfd_150(view: View) -> Outcome:
    """Find the rate of force development over the first 150 ms.

    Definition: (F(t0 + 0.150 s) - F(t0)) / 0.150 s, F interpolated between samples.

    Uncertainty: as of the first 50 ms.

    Reference: Maffiuletti et al. 2016, Eur J Appl Physiol 116:1091-1116.
    """
    return _rfd(view, 0.150)


@measure("rfd_200", "N/s", 1)
def rfd_200(view: View) -> Outcome:
    """Find the rate of force development over the first 200 ms.

    Definition: (F(t0 + 0.200 s) - F(t0)) / 0.200 s, F interpolated between samples.

    Uncertainty: as of the first 50 ms.

    Reference: Maffiuletti et al. 2016, Eur J Appl Physiol 116:1091-1116.
    """
    return _rfd(view, 0.200)


@measure("rfd_250", "N/s", 1)
def rfd_250(view: View) -> Outcome:
    """Find the rate of force development over the first 250 ms.

    Definition: (F(t0 + 0.250 s) - F(t0)) / 0.250 s, F interpolated between samples.

    Uncertainty: as of the first 50 ms.

    Reference: Maffiuletti et al. 2016, Eur J Appl Physiol 116:1091-1116.
    """
    return _rfd(view, 0.250)


@measure("peak_rfd", "N/s", 1)
def peak_rfd(view: View) -> Outcome:
    """Find the steepest 20 ms of the rise.

    Definition: the largest (F(t + 0.020 s) - F(t)) / 0.020 s with t from the onset on and
    t + 0.020 s up to the release. Needs 500 readings a second.

    Uncertainty: noise and resolution at both ends, and the lift of a maximum of noise (as much
    again); the filter flattens the steepest part, up to the difference to a window longer by
    the settling; certificate.

    Reference: Moir et al. 2019 (PubMed 30988839), who prefer the windows from the onset.
    """
    if view.rate_hz < PEAK_RFD_HZ:
        return Withheld(f"it takes {PEAK_RFD_HZ:.0f} readings a second at least")
    starts = slice(view.index_from(view.onset_s), view.index_past(view.end_s))
    value, at_s = _steepest(view, starts, PEAK_RFD_S)
    longer, _ = _steepest(view, starts, PEAK_RFD_S + view.settling_s)
    u_noise = math.sqrt(2.0) * view.hold.noise_N / PEAK_RFD_S
    u_common = abs(view.common_at(at_s + PEAK_RFD_S) - view.common_at(at_s)) / PEAK_RFD_S
    u_resolution = math.sqrt(2.0) * view.own_at(at_s) / PEAK_RFD_S
    return Estimate(
        value=value,
        normal=(u_noise, u_noise, u_resolution),
        rectangular=(abs(value - longer) / math.sqrt(3.0),),
        common=u_common,
        coarse=HOLE if view.has_hole(at_s, at_s + PEAK_RFD_S) else "",
    )


def _steepest(view: View, starts: slice, span_s: float) -> tuple[float, float]:
    starts_s = view.time_s[starts]
    ends_N = np.interp(starts_s + span_s, view.time_s, view.force_N)
    slopes = (ends_N - view.force_N[starts]) / span_s
    index = int(np.argmax(slopes))
    return float(slopes[index]), float(starts_s[index])
