"""Spikes: readings that no hand can have made.

A reading (above 60 readings/s up to three in a row) is a spike when it leaves the line through
its neighbours by more than 8 SD of the noise, by more than twice what those neighbours differ
by, by more than the range of the three readings before and after (a hit, however short, takes a
converter four conversions up and down again, so its flanks show), and stands out of the
ordinary zig-zag of the readings before it, and by more than a share of the force there (less is
tremor, which a slow converter sees once in several swings). A converter that lost its place
needs some conversions to come back, so a reading just before a hole needs only to lie outside
of both neighbours. Two or three high readings in a row on an untouched ball are left alone:
that is what a tap looks like. A local maximum on a slope passes, because there the neighbours
differ. The decision looks at raw readings only, and at most `look` ahead.

What needs no more than the readings is found here, as a `Suspect`; what needs the noise and the
state of the detector is decided by `Machine.is_spike`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from strikebridge.samples import Floats, Ints

USUAL = 12  # readings whose zig-zag tells what is usual
SPIKE_SD = 8.0  # convention of the project for 'not noise'
SPIKE_FLOOR_N = 5.0  # smaller spikes cannot change a verdict
SPIKE_SHARE = 0.03  # of the force there; 60 readings a second show less of any tremor
SLOW_SPIKE_SHARE = 0.15  # where the converter sees a tremor once in several swings
AROUND = 3  # readings before and after that tell how much the force moves about there
HOLE_AFTER = 2  # conversions missing after a reading that make it suspect
TAP_CEILING_N = 5000.0  # no boxer's tap; two times the strongest hold asked for


@dataclass(frozen=True, slots=True)
class Suspect:
    """Readings that stand off the line through their neighbours, holes around them included.

    Attributes:
        begin, end: rows to be bridged, counted from the first row of the batch; they may lie
            partly outside of it.
        before_N: the reading at `begin` - 1 [N].
        after_N: the reading at `end` [N].
        off_N: least deviation from the line, sign kept [N].
        width: how many readings.
    """

    begin: int
    end: int
    before_N: float
    after_N: float
    off_N: float
    width: int

    def line_N(self, first: int, last: int) -> Floats:
        """Return the line at rows `first` to `last` - 1 of the batch [N]."""
        slope = (self.after_N - self.before_N) / (self.end - self.begin + 1)
        steps = np.arange(first - self.begin + 1, last - self.begin + 1, dtype=np.float64)
        return self.before_N + slope * steps


def suspects(raw_N: Floats, holes: Floats, origin: int, look: int) -> list[Suspect]:
    """Find readings that stand off the line through their neighbours.

    Args:
        raw_N: force as it came [N], bridged holes included, shape (n,).
        holes: 1 where a reading was bridged, shape (n,).
        origin: row that suspects are counted from.
        look: most readings in a row, and how far after each there is to see.

    Returns:
        The suspects, by their first reading.
    """
    at = np.flatnonzero(holes == 0.0) if holes.any() else np.arange(len(holes))
    if len(at) < 3:
        return []
    force = raw_N[at] if len(at) < len(raw_N) else raw_N
    # readings before the batch are looked at again only as far as they can matter to it
    begin = max(1, int(np.searchsorted(at, origin)) - look - 3)
    jump = force[begin:] - force[begin - 1 : -1]
    is_large = np.abs(jump, out=jump) > SPIKE_FLOOR_N
    large = np.flatnonzero(is_large) + begin
    if not len(large):
        return []  # as it is at rest and in a steady hold
    outstanding = large[jump[large - begin] > 3.0 * _usual(force, large)]
    found: list[Suspect] = []
    taken: set[int] = set()
    may_be = np.ones(len(outstanding), dtype=bool)
    if len(at) == len(raw_N):
        may_be = _may_stand_off(force, outstanding, look)
    for start, is_worth_it in zip(outstanding.tolist(), may_be.tolist(), strict=True):
        if not is_worth_it and start - 1 not in taken:
            continue
        before = start - 1
        while before in taken:
            before -= 1
        # no further than `look` rows ahead, whatever has come; the end of a hole always has
        stop = max(int(np.searchsorted(at, at[start] + look, side="right")), start + 2)
        stop = min(stop, len(at))
        quiet = [k for k in range(max(0, before - AROUND + 1), before) if k not in taken]
        for width in range(1, stop - start):
            chosen = [before, *range(start, start + width + 1)]
            around = force[[*quiet, before, *range(start + width, stop)]]
            suspect = _stands_off(
                (at[chosen] - origin).tolist(), force[chosen].tolist(), float(np.ptp(around))
            )
            if suspect is not None:
                taken.update(range(start, start + width))
                found.append(suspect)
                break
    return [s for s in found if s.end > 0]


def _usual(force_N: Floats, index: Ints) -> Floats:
    """Say how far the readings before some were apart, as a rule [N].

    Args:
        force_N: the readings [N], shape (n,).
        index: which ones; from 1.

    Returns:
        The square of the mean square root of the `USUAL` steps before each, or of as many as
        there are, so that one old spike does not hide a new one; 0 where there is none.
    """
    steps = index[:, np.newaxis] - np.arange(USUAL, 0, -1)
    roots = np.sqrt(np.abs(force_N[np.maximum(steps, 0)] - force_N[np.maximum(steps - 1, 0)]))
    usual: Floats = (roots.sum(axis=1) / np.minimum(index, USUAL)) ** 2
    return usual


def _may_stand_off(force_N: Floats, starts: Ints, look: int) -> NDArray[np.bool_]:
    """Leave out most of those that `_stands_off` would refuse, all at once.

    Args:
        force_N: the readings, none missing [N], shape (n,).
        starts: first of the readings in question, shape (m,).
        look: most readings in a row.

    Returns:
        False where up to `look` readings surely do not stand off, shape (m,).
    """
    may_be = starts + look >= len(force_N)  # the end is near: not looked at here
    near = np.minimum(starts, len(force_N) - 1 - look)
    before_N = force_N[near - 1]
    for width in range(1, look + 1):
        apart_N = force_N[near + width] - before_N
        inside = np.arange(1, width + 1)
        off_N = force_N[near[:, np.newaxis] + (inside - 1)] - before_N[:, np.newaxis]
        off_N -= apart_N[:, np.newaxis] * (inside / (width + 1))
        limit_N = np.maximum(SPIKE_FLOOR_N, 2.0 * np.abs(apart_N))
        # a little less, as rounding may differ
        may_be |= np.abs(off_N).min(axis=1) >= 0.999 * limit_N
    return may_be


def _stands_off(at: list[int], force_N: list[float], around_N: float) -> Suspect | None:
    """Make a suspect of the inner readings if they leave the line through the outer two.

    Args:
        at: rows of the readings.
        force_N: the readings [N]; the outer two are the neighbours.
        around_N: range of the readings before and after [N].
    """
    before_N, after_N = force_N[0], force_N[-1]
    apart_N = abs(after_N - before_N)
    slope = (after_N - before_N) / (at[-1] - at[0])
    off = [
        x - before_N - slope * (k - at[0]) for k, x in zip(at[1:-1], force_N[1:-1], strict=True)
    ]
    least_N = min(off, key=abs)
    limit_N = max(2.0 * apart_N, around_N)
    if len(off) == 1 and at[2] - at[1] > HOLE_AFTER:
        inside_N = force_N[1]
        outside_N = max(inside_N - max(before_N, after_N), min(before_N, after_N) - inside_N)
        limit_N = 0.0 if outside_N > 0.25 * apart_N else limit_N
    if min(off) < 0.0 < max(off) or abs(least_N) <= max(SPIKE_FLOOR_N, limit_N):
        return None
    return Suspect(
        begin=at[0] + 1,
        end=at[-1],
        before_N=before_N,
        after_N=after_N,
        off_N=least_N,
        width=len(off),
    )
