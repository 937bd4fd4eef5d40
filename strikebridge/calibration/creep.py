"""What a cell still gives way by while a load stays on it, seen in points that carry time.

Where one load was read more than once without being changed, the last reading less the first is
creep (with the drift of those seconds, which nothing tells apart from it). It grows with the
load, so one share is fitted to all such stays by least squares through zero. A walk reads some
seconds after each lift, a hold comes at once and lasts its own time: the force may be off by
anything up to that share, which is why it enters as a half-width (inference).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.calibration.plates import Steps
    from strikebridge.samples import Floats


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
