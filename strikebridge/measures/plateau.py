"""Measures of what came before the rise and of the hold itself."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from strikebridge.glance import Trace
from strikebridge.measures.bricks import LEFT_OUT_S, band, share_inside
from strikebridge.measures.rules import LOWEST_TIMES_HZ, NO_ONSET, SLOW_ONSET
from strikebridge.measures.table import Estimate, Outcome, Withheld, measure
from strikebridge.samples import Effort

if TYPE_CHECKING:
    from strikebridge.measures.view import View
    from strikebridge.measures.window import Window

PRELOAD_S = 0.5
PRELOAD_LEAST_S = 0.2
STEADINESS_SAMPLES = 20
SWING_PERIOD_S = 0.2  # swings this far apart count as independent in the doubt of a slope
MOST_DOUBT_PERCENT = 50.0  # u95 of a share beyond which it would say nothing (common practice)
ALONG_AN_EDGE = "the force ran along an edge of the band: this kit cannot tell in from out"
TOO_SHORT = Withheld("the hold was too short: there is no steady half second to look at")


@measure("preload", "N", 1)
def preload(view: View) -> Outcome:
    """Find the load that lay on the pad before the rise.

    Definition: mean F above the tracked zero over the 0.5 s before t0, at least 0.2 s of it.

    Uncertainty: noise, zero, resolution, certificate.

    Reference: Comfort et al. 2019, Strength Cond J 41(2):57-79, for minimal pre-tension (value
    from memory); the half second is our own convention.
    """
    if not view.hold.onset_sure:
        return NO_ONSET
    first, stop = view.index_from(view.onset_s - PRELOAD_S), view.index_from(view.onset_s)
    count = stop - first
    if count < max(1.0, PRELOAD_LEAST_S * view.rate_hz - 1.0):
        return Withheld("there are too few readings before the rise")
    block = view.hold.force
    return Estimate(
        value=float(view.force_N[first:stop].mean()),
        normal=(
            view.mean_noise_N(count),
            view.hold.u_zero_N,
            float(block.u_own_N[first:stop].mean()) / math.sqrt(count),
        ),
        common=float(block.u_common_N[first:stop].mean()),
    )


def _edge_doubt_N(view: View, window: Window) -> float:
    """Find how far the mean moves when both ends of the window move within their doubt [N].

    An end is known to a settling (a period at least). Moving one by that much exchanges so much
    of the window for force that differs by the slope over half the window, and by the swings.
    """
    end_s = max(view.settling_s, view.period_s) / math.sqrt(3.0)
    sloping_N = abs(window.slope_N_per_s) * end_s / math.sqrt(2.0)
    swinging_N = window.sd_N * math.sqrt(2.0) * end_s / window.seconds
    return math.hypot(sloping_N, swinging_N)


@measure("hold_mean", "N", 1)
def hold_mean(view: View) -> Outcome:
    """Find the mean force of the hold.

    Definition: mean F over the hold window: from 0.3 s after reaching 90 % of the level or the
    peak, but not past mid-hold, to 0.1 s before the let-go or the prescribed end.

    Uncertainty: noise (readings within one settling count as one), zero, resolution; the ends
    of the window, known to a settling, and its start to which of several like tops is the peak;
    creep, or what the certificate leaves of it (rectangular); certificate.

    Reference: common practice, no source, for the mean of a plateau; the window is our own
    convention.
    """
    window = view.window
    if window is None:
        return TOO_SHORT
    block, span = view.hold.force, slice(window.first, window.stop)
    return Estimate(
        value=window.mean_N,
        normal=(
            view.mean_noise_N(window.count),
            view.hold.u_zero_N,
            float(block.u_own_N[span].mean()) / math.sqrt(window.count),
            _edge_doubt_N(view, window),
        ),
        rectangular=(window.u_start_N, view.creep_N(window.mean_N)),
        common=float(block.u_common_N[span].mean()),
    )


@measure("steadiness", "%", 1)
def steadiness(view: View) -> Outcome:
    """Find how much the force swings about its trend.

    Definition: coefficient of variation: SD (n - 1) of F about its least-squares line over the
    hold window / hold mean x 100. At least 20 samples.

    Uncertainty: what noise adds to the SD (rectangular); what swings quicker than the filter
    would add; zero. The certificate's gain cancels.

    Reference: Galganski, Fuglevand, Enoka 1993, J Neurophysiol 69:2108-2115 (value from
    memory); detrending after Tracy, described in PLoS Comput Biol 2021, 1008707, Fig. 9.
    """
    window = view.window
    if window is None:
        return TOO_SHORT
    if window.count < STEADINESS_SAMPLES:
        return Withheld(f"there are fewer than {STEADINESS_SAMPLES} readings in the hold")
    own_N = math.sqrt(max(0.0, window.sd_N**2 - view.hold.noise_N**2))
    value = 100.0 * window.sd_N / window.mean_N
    hidden = 100.0 * view.hidden_swings()
    return Estimate(
        value=value,
        normal=(hidden, value * view.hold.u_zero_N / window.mean_N),
        rectangular=(100.0 * (window.sd_N - own_N) / window.mean_N / math.sqrt(3.0),),
    )


@measure("sag", "%/s", 1)
def sag(view: View) -> Outcome:
    """Find how fast the hold fades.

    Definition: slope of the least-squares line of F over the hold window / hold mean x 100;
    negative = falling.

    Uncertainty: noise; the athlete's own swings, of which those 0.2 s apart count as
    independent, since they tilt the line by chance; zero. The certificate's gain cancels.

    Reference: least-squares slope; the window is our own convention.
    """
    window = view.window
    if window is None:
        return TOO_SHORT
    value = 100.0 * window.slope_N_per_s / window.mean_N
    # a line through n independent points over T has the slope SD s sqrt(12 / n) / T
    tilt = 100.0 * math.sqrt(12.0) / window.seconds / window.mean_N
    swings = max(3.0, window.seconds / SWING_PERIOD_S)
    return Estimate(
        value=value,
        normal=(
            view.mean_noise_N(window.count) * tilt,
            window.sd_N / math.sqrt(swings) * tilt,
            value * view.hold.u_zero_N / window.mean_N,
        ),
    )


@measure("held_time", "s", 1)
def held_time(view: View) -> Outcome:
    """Find how long the athlete held.

    Definition: from t0 to the start of the let-go, the last time before the release that F is
    above 0.8 of its mean over 0.6 to 0.25 s before the release. Coarse under 60 readings a
    second, as the onset is.

    Uncertainty: onset; sampling at the let-go (rectangular); the filter's delay.

    Reference: our own convention.
    """
    if not view.hold.onset_sure:
        return NO_ONSET
    if view.hold.release_s is None:
        seconds = view.end_s - view.onset_s
        return Withheld(f"the let-go was not seen; held for {seconds:.1f} s at least")
    return Estimate(
        value=view.let_go.start_s - view.onset_s,
        normal=(view.filter_u_s,),
        rectangular=(view.u_onset_s, view.period_s / math.sqrt(3.0)),
        coarse=SLOW_ONSET if view.rate_hz < LOWEST_TIMES_HZ else "",
    )


@measure("hold_quality", "%", 1)
def hold_quality(view: View) -> Outcome:
    """Find the share of the prescribed time in which the force was where it should be.

    Definition: share of the prescribed seconds, the first half second left out, in which F is
    inside the band: the prescribed band, or within 10 % of the hold's level for a maximal hold.
    Time not held counts as outside. `strikebridge.measures.bricks` gives the same by the
    second.

    Uncertainty: half the difference between the shares in a band widened and narrowed by the
    standard uncertainty of a reading; a sample period at both ends. Common part: half the
    difference between the shares in the band moved up and down by the common uncertainty, for a
    prescribed band; for a maximal hold it cancels. Where the two come to more than half of all
    time, nothing is said.

    Reference: our own convention.
    """
    prescription, hold = view.prescription, view.hold
    if prescription.hold_s is None:
        return Withheld("no time was prescribed")
    if prescription.hold_s <= LEFT_OUT_S:
        return Withheld(f"the prescribed time is no longer than {LEFT_OUT_S} s")
    edges_N = band(prescription, hold.level_N)
    if edges_N is None:
        return Withheld("no band was prescribed")
    trace, seconds = Trace(view.time_s, view.force_N), prescription.hold_s

    def share(lower_N: float, upper_N: float) -> float:
        edges = (edges_N[0] + lower_N, edges_N[1] + upper_N)
        return 100.0 * share_inside(trace, view.onset_s, view.let_go.start_s, seconds, edges)

    own_N = math.hypot(hold.noise_N, hold.u_zero_N, view.own_at(view.peak.time_s))
    common_N = view.common_at(0.5 * (view.onset_s + view.end_s))
    own = 0.5 * (share(-own_N, own_N) - share(own_N, -own_N))
    common = 0.0
    if prescription.effort is Effort.SUBMAXIMAL:
        common = 0.5 * abs(share(-common_N, -common_N) - share(common_N, common_N))
    if 2.0 * math.hypot(own, common) > MOST_DOUBT_PERCENT:
        return Withheld(ALONG_AN_EDGE)
    return Estimate(
        value=share(0.0, 0.0),
        normal=(own, 100.0 * view.period_s / math.sqrt(3.0) / (seconds - LEFT_OUT_S)),
        common=common,
        coarse="" if hold.onset_sure else NO_ONSET.reason,
    )
