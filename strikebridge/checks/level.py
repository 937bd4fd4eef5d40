"""The mean of a stretch in which the rig was still, and what that mean is worth.

Readings that follow one another know of each other: mains hum, wander of the zero, a filter
that runs over several conversions. So the doubt of the mean is not SD / sqrt(n). The stretch is
cut into pieces of half a second, whose means are all but independent, and the doubt is that of
their mean (batch means: Law and Kelton, Simulation Modeling and Analysis, value from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats

PIECE_S = 0.5
FEWEST_PIECES = 4


@dataclass(frozen=True, slots=True)
class Level:
    """Mean of a still stretch.

    Attributes:
        reading: mean reading of each cell.
        u: standard uncertainty of each mean, of the same unit.
        dof: degrees of freedom of `u`.
        noise: SD of a single reading of each cell about the means of the pieces.
        n: readings in it.
        start_s: begin of the stretch [s].
        end_s: its end [s].
    """

    reading: tuple[float, ...]
    u: tuple[float, ...]
    dof: int
    noise: tuple[float, ...]
    n: int
    start_s: float
    end_s: float


def level_of(time_s: Floats, readings: Floats) -> Level | None:
    """Take the mean of a stretch.

    Args:
        time_s: times of good readings [s], shape (n,), rising.
        readings: the readings, shape (n, channels).

    Returns:
        The level; None where fewer than four pieces of half a second hold two readings each.
    """
    if len(time_s) < 2 * FEWEST_PIECES:
        return None
    start_s, end_s = float(time_s[0]), float(time_s[-1])
    pieces = min(round((end_s - start_s) / PIECE_S), len(time_s) // 2)
    pieces = max(FEWEST_PIECES, pieces)
    along = (time_s - start_s) / (end_s - start_s)
    which = np.minimum((along * pieces).astype(int), pieces - 1)
    parts = [readings[which == i] for i in range(pieces)]
    parts = [part for part in parts if len(part) > 1]
    if len(parts) < FEWEST_PIECES:
        return None
    means = np.array([part.mean(axis=0) for part in parts])
    left: Floats = np.concatenate([part - part.mean(axis=0) for part in parts])
    noise = np.sqrt((left**2).sum(axis=0) / (len(left) - len(parts)))
    u = means.std(axis=0, ddof=1) / math.sqrt(len(parts))
    return Level(
        reading=tuple(map(float, readings.mean(axis=0))),
        u=tuple(map(float, u)),
        dof=len(parts) - 1,
        noise=tuple(map(float, noise)),
        n=len(readings),
        start_s=start_s,
        end_s=end_s,
    )
