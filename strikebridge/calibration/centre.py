"""Where on a platform the force acts: the centre of pressure, with its doubt.

With f_k the force of cell k at the place p_k, the centre is P = sum(f_k p_k) / F. A relative
error e_k of a cell's gain moves it by f_k (p_k - P) e_k / F, so an error that all cells share,
as that of the plates mostly is, moves it not at all. By the law of propagation (JCGM 100:2008,
5.2.2), for each direction, with j_k = (p_k - P) / F:

    u^2 = (j f)' R (j f) + sum of j_k^2 u_k^2,

R the relative covariance of the gains, u_k what is each cell's own (noise, resolution, zero).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats

LEAST_FORCE = 10.0
"""Least force, in multiples of its own doubt, for which a centre is given: below it the
quotient is no longer close to linear, and the formula would be too kind."""


@dataclass(frozen=True, slots=True)
class Centre:
    """A centre of pressure.

    Attributes:
        x_mm: across [mm].
        y_mm: along [mm].
        u_x_mm: standard uncertainty of `x_mm` [mm].
        u_y_mm: standard uncertainty of `y_mm` [mm].
    """

    x_mm: float
    y_mm: float
    u_x_mm: float
    u_y_mm: float


def centre_of_pressure(
    cells_N: Floats, places_mm: Floats, relative_covariance: Floats, u_own_N: Floats
) -> Centre | None:
    """Find where the force acts.

    Args:
        cells_N: force of each cell [N], shape (n,).
        places_mm: where each cell stands, x and y [mm], shape (n, 2).
        relative_covariance: of the gains of the cells, shape (n, n).
        u_own_N: standard uncertainty of each cell that is its own [N], shape (n,).

    Returns:
        The centre, None where the force is too small to have one.
    """
    force_N = float(np.sum(cells_N))
    if not abs(force_N) > LEAST_FORCE * math.sqrt(float(u_own_N @ u_own_N)):
        return None
    centre = cells_N @ places_mm / force_N
    arms = (places_mm - centre).T / force_N
    doubts = [
        math.sqrt(
            max(float((arm * cells_N) @ relative_covariance @ (arm * cells_N)), 0.0)
            + float((arm * u_own_N) @ (arm * u_own_N))
        )
        for arm in arms
    ]
    return Centre(float(centre[0]), float(centre[1]), doubts[0], doubts[1])
