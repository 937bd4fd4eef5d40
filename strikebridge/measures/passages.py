"""When a force passes a level, interpolated between samples."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats


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
