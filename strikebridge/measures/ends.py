"""Measures of the two ends of a hold: how it snapped in, how it let go, how soon it came."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.measures.coverage import coverage_factor
from strikebridge.measures.passages import first_passage, last_fall
from strikebridge.measures.rules import LOWEST_TIMES_HZ, NO_ONSET, TOO_SLOW, timed
from strikebridge.measures.table import Estimate, Outcome, Withheld, measure

if TYPE_CHECKING:
    from strikebridge.measures.view import View

SNAP_S = 0.200
SNAP_SEARCH_S = 1.0
RESOLVED_PERIODS = 2.0
TOO_CLOSE = "too close to call: nobody can say whether that was a false start"


@measure("snap_share", "%", 1)
def snap_share(view: View) -> Outcome:
    """Find how much of the early peak was there after a fifth of a second.

    Definition: (F(t0 + 0.200 s) - baseline) / (P - baseline) x 100, P = largest F from t0 to
    t0 + 1.0 s.

    Uncertainty: noise of both; onset times the slope at 0.2 s; what the filter smears, up to
    half its settling times that slope (rectangular). Zero and the certificate's gain cancel.

    Reference: our own convention.
    """
    span = slice(view.index_from(view.onset_s), view.index_past(view.onset_s + SNAP_SEARCH_S))
    height_N = float(view.force_N[span].max()) - view.hold.baseline_N
    at_s = view.onset_s + SNAP_S
    slope = abs(view.slope_at(at_s)) * 100.0 / height_N
    noise = 100.0 * view.hold.noise_N / height_N
    value = 100.0 * (view.force_at(at_s) - view.hold.baseline_N) / height_N
    return timed(
        view,
        Estimate(
            value=value,
            normal=(noise, noise * value / 100.0),
            rectangular=(
                slope * view.u_onset_s,
                slope * 0.5 * view.settling_s / math.sqrt(3.0),
            ),
        ),
    )


@measure("let_go_time", "s", 1)
def let_go_time(view: View) -> Outcome:
    """Find how fast the athlete let go.

    Definition: from 90 % to 10 % of the level just before letting go (mean F over 0.6 to
    0.25 s before the release). A time below two sample periods or one settling cannot be told
    from any other below it: then half of that limit stands for it, rectangular from nothing to
    all.

    Uncertainty: a sample period at both ends (rectangular), and what the filter smears.

    Reference: our own convention.
    """
    if view.hold.release_s is None:
        return Withheld("the let-go was not seen")
    level_N = view.let_go.level_N
    start_s = last_fall(view.time_s, view.force_N, view.end_s, 0.9 * level_N)
    if start_s is None:
        return Withheld("the let-go cannot be told from the hold")
    end_s = _first_below(view, view.end_s, 0.1 * level_N)
    if end_s is None:
        return Withheld("the force never came down to a tenth")
    limit_s = max(RESOLVED_PERIODS * view.period_s, view.settling_s)
    if end_s - start_s < limit_s:
        return Estimate(
            value=0.5 * limit_s,
            rectangular=(0.5 * limit_s / math.sqrt(3.0),),
            coarse=f"under {1000.0 * limit_s:.0f} ms, too quick for this board",
        )
    return Estimate(
        value=end_s - start_s,
        normal=(view.filter_u_s,),
        rectangular=(view.period_s * math.sqrt(2.0 / 3.0),),
    )


def _first_below(view: View, from_s: float, level_N: float) -> float | None:
    return first_passage(view.time_s, -view.force_N, from_s, -level_N)


@measure("reaction", "s", 1)
def reaction(view: View) -> Outcome:
    """Find how soon after the go the force rose.

    Definition: t0 - go, less the converter's delay (half its settling) and the stated latency
    of the sound. Coarse where it cannot be told on which side of 0.100 s it lies.

    Uncertainty: onset; the clock mapping of the go and the latency of its tone; the
    converter's delay, known to itself (rectangular).

    Reference: the start rule of athletics for the 0.100 s below which nobody can react (value
    from memory).
    """
    go_s = view.hold.go_s
    if go_s is None:
        return Withheld("there was no go signal")
    if not view.hold.onset_sure:
        return NO_ONSET
    if view.rate_hz < LOWEST_TIMES_HZ:
        return TOO_SLOW
    sound_s = view.settings.sound_latency_s + view.hold.sound_latency_s
    delay_s = 0.5 * view.settling_s + sound_s
    found = Estimate(
        value=view.onset_s - go_s - delay_s,
        normal=(view.hold.u_go_s,),
        rectangular=(view.u_onset_s, view.filter_u_s),
    )
    coverage, _ = coverage_factor(found.normal, found.rectangular, 0.0, math.inf)
    limit_s = view.settings.start_rule_s
    is_close = abs(found.value - limit_s) <= coverage * found.u_own
    return replace(found, coarse=TOO_CLOSE if is_close else "")
