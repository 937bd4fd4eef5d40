"""What a cell still gives way by while a load stays on it: what is known, and what was seen.

A walk reads each load some ten seconds after it came, on top of what the cell still gives way
under the loads before it; a hold is read at once. So a gain from a walk is off by creep,
however well the points fit. Creep is taken to grow with the logarithm of time and to add up
over all changes of the load (Boltzmann's superposition; value from memory):

    g(t)  = ln(1 + t / 1 s) / ln(1 + STEP_S / 1 s)
    B_i   = sum over j up to i of (F_j - F_(j-1)) g(read_i - came_j)  -  F_i g(HOLD_S)

With a creep of the share c, step i reads c B_i newtons more than a hold would. How large c is
hides mostly in the slope and in the loop of hysteresis, so what is known of cheap cells,
`LEAST_CREEP` to `MOST_CREEP` of the load, either way, is weighed with the little that the
readings say of it. The curve is not corrected for it.

Where the walk shows creep it counts instead, if it is more. Where one load was read more than
once without being changed, the last reading less the first is creep (with the drift of those
seconds, which nothing tells apart from it). It grows with the load, so one share is fitted to
all such stays by least squares through zero; the force may be off by anything up to it, which
is why it enters as a half-width (inference).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.budget import rectangular_u
from strikebridge.calibration.plates import hysteresis_column, lies_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.plates import Steps
    from strikebridge.samples import Floats


STEP_S = 15.0
"""Pace of a walk: to lift a plate, to wait until it is stable, to read (common practice, no
source). Where a table does not say its times they were this far apart."""
HOLD_S = 2.0
"""How long a hold has lasted when it is read."""
WARMTH = 0.0001
"""Share of the largest load by which the zero may drift in half a walk (0.02 to 0.05 % of rated
output in 10 K, value from memory of data sheets; the kit stands in one room)."""
FEWEST_DOF = 5
"""Steps beyond all that is free before the readings are asked how much they crept."""
LEAST_CREEP, MOST_CREEP = 0.0002, 0.001
"""Creep of cheap cells over the time of a step, share of the load (0.03 to 0.1 % in the first
half minute, value from memory of data sheets; good ones 0.03 % in half an hour)."""


def grown(since_s: Floats) -> Floats:
    """Say how much of the creep over the time of a step is there.

    Args:
        since_s: time since the load came [s], shape (n,); before it nothing has grown.

    Returns:
        g(t), 0 at once and 1 after `STEP_S`, shape (n,).
    """
    shares: Floats = np.log1p(np.maximum(since_s, 0.0)) / math.log1p(STEP_S)
    return shares


def beyond_hold_N(load_N: Floats, came_s: Floats, read_s: Floats) -> Floats:
    """Say how much longer each step of a walk has crept than a hold, as a load.

    Args:
        load_N: loads in the order in which they lay on the cell [N], shape (n,).
        came_s: when each came [s], shape (n,).
        read_s: when each was read [s], shape (n,).

    Returns:
        Newtons for a creep of the whole load; times the share is what it reads more [N],
        shape (n,).
    """
    changes_N = np.diff(load_N, prepend=0.0)
    crept_N = grown(read_s[:, np.newaxis] - came_s) @ changes_N
    beyond_N: Floats = crept_N - load_N * grown(np.array([HOLD_S]))
    return beyond_N


def step_times(count: int, read_s: Floats | None) -> tuple[Floats, Floats]:
    """Guess when the load of each line of a table came.

    Args:
        count: lines of the table.
        read_s: when each was read [s], shape (n,); None where that is not known.

    Returns:
        When each came and when it was read [s]: half way from one reading to the next.
    """
    if read_s is None:
        read_s = STEP_S * np.arange(1.0, count + 1.0)
    before_s = np.concatenate([[read_s[0] - STEP_S], read_s[:-1]])
    return (before_s + read_s) / 2.0, read_s


def hidden_creep_u(beyond_N: float) -> float:
    """Standard uncertainty for a creep of which only the usual size is known.

    Args:
        beyond_N: what a creep of the whole load would do [N].

    Returns:
        Root mean square of a share that lies anywhere between the least and the most [N].
    """
    squares = LEAST_CREEP**2 + LEAST_CREEP * MOST_CREEP + MOST_CREEP**2
    return math.sqrt(squares / 3.0) * abs(beyond_N)


def likely_share(
    steps: Steps, plates: Sequence[PlateRecord], z_N: Floats, beyond_N: Floats
) -> float:
    """Say how large the share likely is: what is known of cells, weighed with the readings.

    Of the history of the loads only that speaks which neither a curve, nor a loop of
    hysteresis, nor a plate could say: above all how the empty cell comes back. What a drift
    could feign of it is counted.

    Args:
        steps: the walk.
        plates: the plates, none where only loads are known.
        z_N: readings in newtons, shape (n,).
        beyond_N: how much longer each step has crept than a hold [N], shape (n,).

    Returns:
        Root mean square of the share; that of `hidden_creep_u` where the walk is too short.
    """
    known = hidden_creep_u(1.0)
    x = steps.load_N / float(np.max(np.abs(steps.load_N)))
    curve = x[:, np.newaxis] ** np.arange(3)
    columns = np.hstack([curve, hysteresis_column(steps), lies_on(steps, plates)])
    dof = len(x) - int(np.linalg.matrix_rank(columns)) - 1
    leave = np.eye(len(x)) - columns @ np.linalg.pinv(columns, rcond=1e-10)
    slow_N, left_N = leave @ beyond_N, leave @ z_N
    squares = float(slow_N @ slow_N)
    if dof < FEWEST_DOF or squares <= 1e-6 * float(beyond_N @ beyond_N):
        return known
    seen = float(slow_N @ left_N) / squares
    rest_N = left_N - seen * slow_N
    drift_N = WARMTH * float(np.max(np.abs(steps.load_N))) * np.linspace(-1.0, 1.0, len(x))
    # a scatter of few degrees of freedom is itself unsure: the variance of Student's t
    u_seen = math.hypot(
        math.sqrt(float(rest_N @ rest_N) / (dof - 2) / squares),
        rectangular_u(float(slow_N @ drift_N) / squares),
    )
    if abs(seen) > 2.5 * math.hypot(known, u_seen):
        return math.hypot(seen, u_seen)
    trust = known**2 / (known**2 + u_seen**2)
    return math.hypot(trust * seen, math.sqrt(trust) * u_seen)


def creep_share(steps: Steps, time_s: Floats | None) -> float:
    """Find how much readings moved under loads that stayed.

    Args:
        steps: the walk, in the order in which it was done.
        time_s: when each step was read [s], rising, shape (n,); None where that is not known.

    Returns:
        Share of the load; with two stays or more its own doubt is added. 0 where no load
        stayed.
    """
    if time_s is None or len(np.unique(steps.load_N)) < 2:
        return 0.0
    slope = float(np.polyfit(steps.load_N, steps.reading, 1)[0])
    stays = [(a, b) for a, b in _stays(steps) if time_s[b] > time_s[a]]
    if not stays or slope == 0.0:
        return 0.0
    load_N = np.array([steps.load_N[a] for a, _ in stays])
    moved_N = np.array([steps.reading[b] - steps.reading[a] for a, b in stays]) / slope
    squares = float(load_N @ load_N)
    share = float(load_N @ moved_N) / squares
    if len(stays) < 2:
        return abs(share)
    left_N = moved_N - share * load_N
    u_share = math.sqrt(float(left_N @ left_N) / (len(stays) - 1) / squares)
    return math.hypot(share, u_share)


def _stays(steps: Steps) -> list[tuple[int, int]]:
    """Find first and last index of each run of steps in which nothing was changed."""
    found = []
    first = 0
    for i in range(1, len(steps) + 1):
        if i < len(steps) and _is_same(steps, first, i):
            continue
        if i - 1 > first and steps.load_N[first] > 0.0:
            found.append((first, i - 1))
        first = i
    return found


def _is_same(steps: Steps, a: int, b: int) -> bool:
    is_load = steps.load_N[a] == steps.load_N[b] and steps.plates[a] == steps.plates[b]
    is_way = steps.direction[a] == steps.direction[b]
    return bool(is_load and is_way and steps.run[a] == steps.run[b])
