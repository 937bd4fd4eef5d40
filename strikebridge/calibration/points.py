"""Calibration points: loads, readings, and what is known of the plates that made the loads."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.calibration.plates import Source, Steps
from strikebridge.errors import FormatError

if TYPE_CHECKING:
    from strikebridge.samples import Floats


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table.

    Attributes:
        line: line number from 1.
        load: mass [kg] or force [N], as the table says.
        readings: reading of each cell.
        step: place value of the readings' last digit.
        tolerance_kg: half-width of what the mass may be off [kg], None where not said.
        direction: 1, -1 or 0.
        run: number of the walk.
        plates: names.
        time_s: when it was read [s], None where not said.
    """

    line: int
    load: float
    readings: tuple[float, ...]
    step: float
    tolerance_kg: float | None
    direction: int
    run: int
    plates: tuple[str, ...]
    time_s: float | None = None


@dataclass(frozen=True, slots=True)
class Points:
    """A table of calibration points.

    Attributes:
        rows: its lines.
        column: which column holds the load.
    """

    rows: tuple[Row, ...]
    column: Literal["mass_kg", "force_N"]

    @property
    def channels(self) -> int:
        """Number of cells."""
        return len(self.rows[0].readings)

    @property
    def readings(self) -> Floats:
        """Reading of each cell, shape (n, channels)."""
        return np.array([row.readings for row in self.rows])

    @property
    def time_s(self) -> Floats | None:
        """When each line was read [s], shape (n,); None where one does not say."""
        times = [row.time_s for row in self.rows if row.time_s is not None]
        return np.array(times) if len(times) == len(self.rows) else None

    @property
    def step(self) -> float:
        """Smallest step of the readings that their text shows."""
        return min(row.step for row in self.rows)

    @property
    def tolerances_kg(self) -> Floats:
        """Tolerance of each line's load [kg], 0 where not said, shape (n,)."""
        return np.array([row.tolerance_kg or 0.0 for row in self.rows])

    @property
    def has_plates(self) -> bool:
        """Say whether any line names its plates."""
        return any(row.plates for row in self.rows)

    def steps(self, gravity_m_per_s2: float) -> Steps:
        """Make steps of a walk.

        Args:
            gravity_m_per_s2: local gravity [m/s2], used where loads are masses.

        Returns:
            The steps; with several cells the readings added up.
        """
        per_load = gravity_m_per_s2 if self.column == "mass_kg" else 1.0
        return Steps(
            load_N=np.array([row.load for row in self.rows]) * per_load,
            reading=self.readings.sum(axis=1),
            direction=np.array([row.direction for row in self.rows], dtype=np.int64),
            run=np.array([row.run for row in self.rows], dtype=np.int64),
            plates=tuple(row.plates for row in self.rows),
            labels=tuple(f"line {row.line}" for row in self.rows),
        )

    def common(self, gravity_m_per_s2: float) -> tuple[Source, ...]:
        """Take the tolerances of loads whose plates are not named as errors common to all.

        How the loads err together is not known then. Two ways count: each by its whole
        tolerance in the same direction, and, where that is another way, all by the share that
        the tolerance of the largest load is of it, which no line through the points can see.

        Args:
            gravity_m_per_s2: local gravity [m/s2].

        Returns:
            Two sources at most, or none.
        """
        if self.has_plates or not self.tolerances_kg.any():
            return ()
        g = gravity_m_per_s2
        loads = np.array([row.load for row in self.rows])
        top = int(np.argmax(np.abs(loads)))
        together = Source("plates", self.tolerances_kg * g)
        in_gain = Source("plates by share", loads * (self.tolerances_kg[top] * g / loads[top]))
        if np.allclose(in_gain.effect_N, together.effect_N, rtol=0.01, atol=1e-6):
            return (together,)
        return together, in_gain

    def plates(self, gravity_m_per_s2: float) -> tuple[PlateRecord, ...]:
        """Work out the single plates from what lay on the cell together.

        Args:
            gravity_m_per_s2: local gravity [m/s2], used where loads are forces.

        Returns:
            The plates in the order of their first use.

        Raises:
            FormatError: the same plates are said to weigh different masses, or a plate weighs
                nothing.
        """
        names = list(dict.fromkeys(name for row in self.rows for name in row.plates))
        if not names:
            return ()
        per_kg = 1.0 if self.column == "mass_kg" else gravity_m_per_s2
        lies = np.array([[row.plates.count(name) for name in names] for row in self.rows])
        masses_kg = np.array([row.load for row in self.rows]) / per_kg
        solved_kg = np.linalg.lstsq(lies, masses_kg, rcond=None)[0]
        off_kg = np.abs(lies @ solved_kg - masses_kg)
        # of lines that contradict one another equally, the last one surprised the coach
        worst = int(np.flatnonzero(off_kg >= 0.999 * np.max(off_kg))[-1])
        if off_kg[worst] > max(1e-3, 0.005 * float(np.max(masses_kg))):
            row = self.rows[worst]
            on = "+".join(row.plates) or "no plate"
            msg = (
                f"Line {row.line}, column plates: {on} cannot weigh {masses_kg[worst]:g} kg"
                " if the other lines are right. Correct the mass or the names."
            )
            raise FormatError(msg, line=row.line, column="plates")
        if np.min(solved_kg) <= 0.0:
            name = names[int(np.argmin(solved_kg))]
            line = next(row.line for row in self.rows if name in row.plates)
            msg = f"Line {line}, column plates: {name} would weigh nothing. Correct its mass."
            raise FormatError(msg, line=line, column="plates")
        tolerances_kg = _plate_tolerances(lies, solved_kg, masses_kg, self.tolerances_kg)
        return tuple(
            PlateRecord(
                name, float(mass), float(tolerance), name.split("/")[0] if "/" in name else ""
            )
            for name, mass, tolerance in zip(names, solved_kg, tolerances_kg, strict=True)
        )


def _plate_tolerances(
    lies: Floats, masses_kg: Floats, loads_kg: Floats, tolerances_kg: Floats
) -> Floats:
    solved = np.asarray(np.linalg.lstsq(lies, tolerances_kg, rcond=None)[0], dtype=np.float64)
    is_sum = np.allclose(lies @ solved, tolerances_kg, rtol=1e-6, atol=1e-9)
    if is_sum and (np.all(solved > 1e-12) or not tolerances_kg.any()):
        return np.maximum(solved, 0.0)
    said_kg = np.unique(tolerances_kg[lies.any(axis=1)])
    if len(said_kg) == 1:
        # the same in every line: no sum of plates does that, so each plate is meant
        return np.full(lies.shape[1], said_kg[0])
    # tolerances that do not add up: each plate gets the widest share it was seen with
    shares = tolerances_kg / np.where(loads_kg > 0.0, loads_kg, math.inf)
    widest = np.max(np.where(lies > 0, shares[:, np.newaxis], 0.0), axis=0)
    return np.asarray(widest * masses_kg, dtype=np.float64)
