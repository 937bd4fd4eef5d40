"""An invented hand that puts plates on the simulated cell and takes them off, as it is told.

The rig lies flat. The hand hears which plates are to lie on the cell, takes a second or two for
each, and the load settles with a small swing. Each plate is off by an error of its own that
follows from the seed. The cell reads a little more on the way down than on the way up. All
figures are plausible (common practice, no source) and known exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.units import STANDARD_GRAVITY_M_PER_S2

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.samples import Floats

FEWEST_S, MOST_S = 0.8, 1.6  # to see what is asked for and take the first plate
A_PLATE_S = 0.7  # for each further plate
LAY_DOWN_S = 0.3
SWING = 0.02  # of what changes
SWING_HZ = 3.0
SWING_FADES_S = 0.4
LOOP = 2e-4  # half the opening of the hysteresis, share of all plates


@dataclass(frozen=True, slots=True)
class Lay:
    """A change of the load.

    Attributes:
        at_s: when, on the board's clock [s].
        before_N: load before it [N].
        after_N: load after it [N].
    """

    at_s: float
    before_N: float
    after_N: float


class SimulatedHand:
    """Put plates on and take them off.

    Attributes:
        cell: over which cell of a platform the plates lie, from 1; 0 for its middle.
    """

    def __init__(self, seed: int, plates_off: float) -> None:
        """Begin with an empty cell.

        Args:
            seed: the plates' errors and the hand's pace follow from it.
            plates_off: half-width of a plate's error, share of its mass.
        """
        self._draw = np.random.default_rng([seed, 7])
        self._seed = seed
        self._off = plates_off
        self._masses_kg: dict[int, float] = {}
        self._on: frozenset[int] = frozenset()
        self._lay = Lay(-1.0, 0.0, 0.0)
        self.cell = 0

    def error(self, number: int) -> float:
        """Say by what share of its mass a plate is off.

        Args:
            number: of the plate, from 1.
        """
        return float(np.random.default_rng([self._seed, 11, number]).uniform(-1, 1)) * self._off

    def hear(self, kind: str, at_s: float, detail: Mapping[str, object]) -> None:
        """Hear what is called out.

        Args:
            kind: `plate` or `load`; everything else means nothing.
            at_s: when, on the board's clock [s].
            detail: of `plate`: number and mass_kg; of `load`: plates, as `1+3`, and cell.
        """
        if kind == "plate":
            number, mass_kg = detail.get("number"), detail.get("mass_kg")
            if isinstance(number, int) and isinstance(mass_kg, (int, float)):
                self._masses_kg[number] = float(mass_kg)
        elif kind == "load":
            numbers = frozenset(
                int(word) for word in str(detail.get("plates", "")).split("+") if word.isdigit()
            )
            if numbers != self._on:
                moved = len(numbers ^ self._on)
                pause_s = self._draw.uniform(FEWEST_S, MOST_S) + A_PLATE_S * (moved - 1)
                before_N = float(self.load_N(np.array([at_s]))[0])
                self._lay = Lay(at_s + pause_s, before_N, self._weight_N(numbers))
                self._on = numbers
                cell = detail.get("cell", 0)
                if numbers and isinstance(cell, int):
                    self.cell = cell

    def load_N(self, time_s: Floats) -> Floats:
        """Give the load on the cell.

        Args:
            time_s: board clock [s], shape (n,).

        Returns:
            Load as the cell feels it [N], shape (n,).
        """
        lay = self._lay
        since_s = time_s - lay.at_s
        done = np.clip(since_s / LAY_DOWN_S, 0.0, 1.0)
        done = done * done * (3.0 - 2.0 * done)
        after_s = np.maximum(since_s - LAY_DOWN_S, 0.0)
        swing = SWING * np.exp(-after_s / SWING_FADES_S)
        swing *= np.sin(2.0 * np.pi * SWING_HZ * after_s)
        change_N = lay.after_N - lay.before_N
        load_N: Floats = lay.before_N + change_N * (done + swing)
        return load_N

    def _weight_N(self, numbers: frozenset[int]) -> float:
        true_kg = {n: kg * (1.0 + self.error(n)) for n, kg in self._masses_kg.items()}
        top_kg = sum(true_kg.values())
        on_kg = sum(true_kg[n] for n in numbers if n in true_kg)
        share = on_kg / top_kg if top_kg > 0.0 else 0.0
        is_less = len(numbers) < len(self._on)
        loop = LOOP * 4.0 * share * (1.0 - share) * (1.0 if is_less else -1.0)
        return (on_kg + loop * top_kg) * STANDARD_GRAVITY_M_PER_S2
