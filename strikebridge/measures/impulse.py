"""Impulses: the area between the force and its baseline."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.measures.rules import NO_ONSET, early_window
from strikebridge.measures.table import Estimate, Outcome, Withheld, measure

if TYPE_CHECKING:
    from strikebridge.measures.view import View


def integral_above(view: View, from_s: float, to_s: float) -> tuple[float, float]:
    """Integrate the force above the baseline by the trapezoid rule.

    Args:
        view: the hold.
        from_s: start [s].
        to_s: end [s]; both ends are interpolated between samples.

    Returns:
        Impulse [N.s], and the common standard uncertainty of it [N.s].
    """
    inside = slice(
        int(view.time_s.searchsorted(from_s, side="right")),
        int(view.time_s.searchsorted(to_s, side="left")),
    )
    nodes_s = np.concatenate(([from_s], view.time_s[inside], [to_s]))
    force_N = np.concatenate(
        ([view.force_at(from_s)], view.force_N[inside], [view.force_at(to_s)])
    )
    common_N = np.concatenate(
        (
            [view.common_at(from_s)],
            view.hold.force.u_common_N[inside],
            [view.common_at(to_s)],
        )
    )
    # baseline and force share the certificate; what the baseline holds of it cancels
    common_N -= view.common_at(float(view.time_s[0]))
    impulse = float(np.trapezoid(force_N - view.hold.baseline_N, nodes_s))
    return impulse, abs(float(np.trapezoid(common_N, nodes_s)))


def _impulse(view: View, window_s: float) -> Outcome:
    """Find the impulse of a window from the onset."""
    judged = early_window(view, window_s)
    if isinstance(judged, Withheld):
        return judged
    end_s = view.onset_s + window_s
    value, common = integral_above(view, view.onset_s, end_s)
    end_N = abs(view.force_at(end_s) - view.hold.baseline_N)
    return Estimate(
        value=value,
        normal=(
            view.mean_noise_N(window_s * view.rate_hz) * window_s,
            view.hold.u_zero_N * window_s,
            view.own_at(end_s) * math.sqrt(window_s * view.period_s),
        ),
        rectangular=(
            end_N * view.u_onset_s,
            0.5 * view.settling_s * end_N / math.sqrt(3.0),
        ),
        common=common,
        coarse=judged,
    )


@measure("impulse_100", "N.s", 1)
def impulse_100(view: View) -> Outcome:
    """Find the impulse of the first 100 ms.

    Definition: trapezoid of F - baseline from t0 to t0 + 0.100 s.

    Uncertainty: noise, zero, resolution over the window; onset and the filter's delay, each
    times the force at the end of the window; certificate.

    Reference: Dos'Santos et al. 2017, J Strength Cond Res 31:3463-3473, for the window.
    """
    return _impulse(view, 0.100)


@measure("impulse_200", "N.s", 1)
def impulse_200(view: View) -> Outcome:
    """Find the impulse of the first 200 ms.

    Definition: trapezoid of F - baseline from t0 to t0 + 0.200 s.

    Uncertainty: as of the first 100 ms.

    Reference: Dos'Santos et al. 2017, J Strength Cond Res 31:3463-3473, for the window.
    """
    return _impulse(view, 0.200)


@measure("impulse_hold", "N.s", 1)
def impulse_hold(view: View) -> Outcome:
    """Find the impulse of the whole hold.

    Definition: trapezoid of F - baseline from t0 to the release.

    Uncertainty: noise and zero over the hold; the ends, a sample period and half a settling
    times the level; certificate.

    Reference: definition of impulse; the limits of integration are our own convention.
    """
    if not view.hold.onset_sure:
        return NO_ONSET
    if view.hold.release_s is None:
        return Withheld("the release was not seen")
    seconds = view.end_s - view.onset_s
    value, common = integral_above(view, view.onset_s, view.end_s)
    level_N = view.hold.level_N
    return Estimate(
        value=value,
        normal=(
            view.mean_noise_N(seconds * view.rate_hz) * seconds,
            view.hold.u_zero_N * seconds,
            view.own_at(view.peak.time_s) * math.sqrt(seconds * view.period_s),
            level_N * view.filter_u_s,
            0.5 * level_N * view.period_s / math.sqrt(3.0),
        ),
        common=common,
    )
