"""How near a cell is to what it is made for; the alarm that goes by its rating.

A cell of 2 mV/V stands at its rated load where an HX711 shows half of its range: the converter
warns of nothing, it saturates near 195 % (data sheet: +-0.5 AVDD / gain), and past its safe
load (usually 150 % of the rating, value from memory) a cell stays bent. So the alarm goes by
the rating. Each cell of a platform is looked at by itself, by the load since the zero of its
certificate: what hangs on it counts.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Event

if TYPE_CHECKING:
    from strikebridge.samples import ForceBlock

WARN_SHARE = 0.8
"""Share of the rating from which the wall warns; our own convention."""
STOP_SHARE = 1.0
IN_A_ROW = 2
"""Readings over the rating, one behind the other, that make an overload: a lone one is a
glitch, a load shows in each of the four conversions that the filter spreads it over."""


def rated(cell_N: float, at_us: int) -> Event:
    """Write a rating given by hand as the event that a recording keeps.

    Args:
        cell_N: rated load of one cell [N].
        at_us: when, on the stream's clock [us].

    Returns:
        The event; `rating_of` reads it back.
    """
    return Event("rated", at_us, {"cell_N": cell_N})


def rating_of(event: Event) -> float | None:
    """Read a `rated` event.

    Args:
        event: as `rated` wrote it.

    Returns:
        Rated load of one cell [N], None where there is no such number.
    """
    cell_N = event.detail.get("cell_N")
    is_number = isinstance(cell_N, (int, float)) and math.isfinite(cell_N) and cell_N > 0.0
    return float(cell_N) if is_number and cell_N is not None else None


class Strain(StrEnum):
    """What is to be said now."""

    FINE = ""
    NEAR = "near the rating"
    OVER = "over the rating"


class RatingWatch:
    """Watch the cells against their rating, block by block.

    Attributes:
        rating_N: rated load of one cell [N].
        strain: how it stands now.
        most_N: largest load of one cell in the overload under way, or in the last one [N].
    """

    def __init__(self, rating_N: float) -> None:
        """Begin without a load.

        Args:
            rating_N: rated load of one cell [N], above 0.
        """
        self.rating_N = rating_N
        self.strain = Strain.FINE
        self.most_N = 0.0
        self._over = 0  # readings over the rating without one below it

    def feed(self, block: ForceBlock) -> bool:
        """Look at the next samples.

        Args:
            block: calibrated force, zero not tracked.

        Returns:
            True if an overload began in it; the same overload is told once, until the load has
            fallen below the warning.
        """
        loads_N = np.fmax.reduce(np.abs(block.cells_N), axis=1)
        if self.strain is Strain.FINE and not (loads_N >= WARN_SHARE * self.rating_N).any():
            self._over = 0
            return False
        has_begun = False
        for load_N in loads_N[np.isfinite(loads_N)].tolist():
            has_begun |= self._look(load_N)
        return has_begun

    def _look(self, load_N: float) -> bool:
        is_over = load_N > STOP_SHARE * self.rating_N
        self._over = self._over + 1 if is_over else 0
        if self.strain is Strain.OVER:
            if load_N < WARN_SHARE * self.rating_N:
                self.strain = Strain.FINE
            self.most_N = max(self.most_N, load_N)
            return False
        if self._over >= IN_A_ROW:
            self.strain = Strain.OVER
            self.most_N = load_N
            return True
        is_near = load_N >= WARN_SHARE * self.rating_N
        self.strain = Strain.NEAR if is_near else Strain.FINE
        return False
