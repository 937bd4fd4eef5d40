"""The smallest step of readings, as far as they show it.

Counts are whole numbers. A scale that reports kilograms writes so many places, often in steps
of 1, 2 or 5 of the last one; a number on its way through the program has no places, so they are
found again from the values.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from strikebridge.samples import Floats

COARSEST: dict[Quantity, float] = {
    Quantity.KG: 0.1,
    Quantity.G: 100.0,
    Quantity.LB: 0.2,
    Quantity.N: 1.0,
    Quantity.UNKNOWN: 1.0,
}
"""No scale of use here is coarser; round plates alone would let any step seem possible."""
FINEST = 1e-6
LADDER = (1.0, 0.5, 0.2)


class Resolution:
    """Find the smallest step of readings.

    Attributes:
        step: the step by all readings so far.
    """

    def __init__(self, quantity: Quantity) -> None:
        """Begin with the coarsest step.

        Args:
            quantity: what the readings are; that of counts is 1 and stays so.
        """
        self._is_known = quantity is Quantity.COUNT
        self._place = 1.0 if self._is_known else COARSEST[quantity]
        self._rung = 0

    @property
    def step(self) -> float:
        """Smallest step by all readings so far."""
        return self._place * LADDER[self._rung]

    def feed(self, readings: Floats) -> None:
        """Take readings.

        Args:
            readings: any number of them, any shape.
        """
        while not self._is_known and self.step > FINEST and not self._fits(readings):
            self._rung += 1
            if self._rung == len(LADDER):
                self._rung, self._place = 0, self._place / 10.0

    def _fits(self, readings: Floats) -> bool:
        steps = readings / self.step
        # decimal numbers are not whole in binary; the step itself is far above that
        return bool(np.all(np.abs(steps - np.round(steps)) < 1e-3))
