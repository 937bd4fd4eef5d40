"""Where the force was inside its band, second by second: one definition, live and afterwards.

Hold quality is the share, in %, of the prescribed seconds in which the force is inside the
band: the prescribed band of a submaximal hold; within 10 % of the hold's own median for a
maximal one. The first half second is left out, and time that was not held counts as outside. A
brick is the same share within one prescribed second.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Effort

if TYPE_CHECKING:
    from strikebridge.glance import Trace
    from strikebridge.samples import Floats, Prescription

LEFT_OUT_S = 0.5  # the rise itself; our own convention
MAXIMAL_BAND = 0.10  # of the hold median; our own convention


def band(prescription: Prescription, level_N: float) -> tuple[float, float] | None:
    """Find the edges that the force is to stay between.

    Args:
        prescription: what was asked for.
        level_N: median of the hold [N]; used for a maximal hold only.

    Returns:
        Lower and upper edge [N], or None for a submaximal hold without a band.
    """
    if prescription.effort is Effort.SUBMAXIMAL:
        return prescription.band_N
    return (1.0 - MAXIMAL_BAND) * level_N, (1.0 + MAXIMAL_BAND) * level_N


def bricks(
    trace: Trace,
    onset_s: float,
    until_s: float,
    prescription: Prescription,
    level_N: float,
) -> tuple[float, ...]:
    """Give the share of each prescribed second in which the force was inside the band.

    Args:
        trace: force above the tracked zero; may reach beyond the hold on both sides.
        onset_s: start of the hold on the trace's axis [s].
        until_s: where holding ended, or the newest sample while it lasts [s].
        prescription: what was asked for.
        level_N: median of the hold, or of what there is of it so far [N].

    Returns:
        One share, 0 to 1, for each prescribed second, also those not reached yet (0). A last
        brick may stand for part of a second, the first one stands for its second half. Empty
        without a prescribed time, and for a submaximal hold without a band.
    """
    edges_N = band(prescription, level_N)
    if prescription.hold_s is None or edges_N is None:
        return ()
    starts_s, ends_s = brick_edges(prescription.hold_s)
    inside_s = seconds_inside(
        trace, onset_s + starts_s, np.minimum(onset_s + ends_s, until_s), edges_N
    )
    lengths_s = ends_s - starts_s
    # a prescription of a bare half second leaves a first brick without length
    shares = np.divide(inside_s, lengths_s, out=np.zeros_like(inside_s), where=lengths_s > 0.0)
    return tuple(float(share) for share in np.minimum(shares, 1.0))


def brick_edges(hold_s: float) -> tuple[Floats, Floats]:
    """Cut the prescribed time into seconds, without the first half second.

    Args:
        hold_s: prescribed time [s].

    Returns:
        Starts and ends, seconds from onset, shape (bricks,) each.
    """
    count = max(1, math.ceil(hold_s - 1e-9))
    seconds = np.arange(count + 1, dtype=np.float64)
    seconds[-1] = hold_s
    counted_s = np.maximum(seconds, min(LEFT_OUT_S, hold_s))
    return counted_s[:-1], counted_s[1:]


def seconds_inside(
    trace: Trace, from_s: Floats, to_s: Floats, edges_N: tuple[float, float]
) -> Floats:
    """Add up the time inside the band within each span.

    A sample stands for the time from half way to the one before it to half way to the next.

    Args:
        trace: force against time.
        from_s: starts of the spans [s], shape (spans,).
        to_s: ends of the spans [s], shape (spans,); one before its start is an empty span.
        edges_N: lower and upper edge of the band [N], both inside.

    Returns:
        Seconds inside, shape (spans,).
    """
    time_s = trace.time_s
    if len(time_s) < 2:
        return np.zeros(len(from_s))
    cell_edges_s = np.empty(len(time_s) + 1)
    cell_edges_s[1:-1] = 0.5 * (time_s[1:] + time_s[:-1])
    cell_edges_s[0] = time_s[0] - 0.5 * (time_s[1] - time_s[0])
    cell_edges_s[-1] = time_s[-1] + 0.5 * (time_s[-1] - time_s[-2])
    is_inside = (trace.force_N >= edges_N[0]) & (trace.force_N <= edges_N[1])
    running_s = np.zeros(len(cell_edges_s))
    np.cumsum(np.where(is_inside, np.diff(cell_edges_s), 0.0), out=running_s[1:])
    at_end = np.interp(np.maximum(to_s, from_s), cell_edges_s, running_s)
    inside_s: Floats = at_end - np.interp(from_s, cell_edges_s, running_s)
    return inside_s


def share_inside(
    trace: Trace, onset_s: float, until_s: float, hold_s: float, edges_N: tuple[float, float]
) -> float:
    """Give the share of the whole prescribed time spent inside the band.

    Args:
        trace: force above the tracked zero.
        onset_s: start of the hold [s].
        until_s: where holding ended [s].
        hold_s: prescribed time, above 0.5 [s].
        edges_N: edges of the band [N].

    Returns:
        Share from 0 to 1.
    """
    starts_s, ends_s = brick_edges(hold_s)
    ends_on_axis_s = np.minimum(onset_s + ends_s, until_s)
    inside_s = seconds_inside(trace, onset_s + starts_s, ends_on_axis_s, edges_N)
    return min(1.0, float(inside_s.sum()) / (hold_s - LEFT_OUT_S))
