"""The course of a walk: what is planned, how far it has come, what was taken."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.creep import beyond_hold_N
from strikebridge.calibration.lifts import Lift, Stage, mass_kg, plan_walk
from strikebridge.calibration.plates import Steps
from strikebridge.calibration.telling_apart import plate_to_lift_again
from strikebridge.calibration.walk import WalkInput
from strikebridge.calibration.walk_fit import creep_share
from strikebridge.calibration.walk_setup import WalkCall
from strikebridge.errors import CalibrationError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.walk_setup import WalkSetup
    from strikebridge.calibration.walk_view import TakenPoint


class Course:
    """Keep the place in the plan, and the points.

    Attributes:
        points: the points so far, oldest first.
        levels: reading of each step behind us.
        at: index of the step under way.
        total: steps planned.
    """

    def __init__(self, setup: WalkSetup) -> None:
        """Begin at the first step.

        Args:
            setup: what the walk is made with.
        """
        self._setup = setup
        self._lifts: list[Lift] = []
        self._cells = 0
        self.points: list[TakenPoint] = []
        self.levels: list[float] = []
        self.at = 0
        self.know_cells(1)

    def know_cells(self, cells: int) -> None:
        """Plan for so many cells; before the first step only.

        Args:
            cells: cells under the platform.
        """
        if cells == self._cells:
            return
        self._cells = cells
        setup = self._setup
        planned = plan_walk(
            setup.plates, runs=setup.runs, exercises=setup.exercises, cells=cells
        )
        self._lifts = list(setup.lifts or planned)

    @property
    def total(self) -> int:
        """Steps planned."""
        return len(self._lifts)

    @property
    def is_over(self) -> bool:
        """Say whether all steps are done."""
        return self.at == len(self._lifts)

    @property
    def lift(self) -> Lift:
        """The step under way; the last one where all are done."""
        return self._lifts[min(self.at, len(self._lifts) - 1)]

    @property
    def before(self) -> Lift | None:
        """The step before, None at the first."""
        return self._lifts[self.at - 1] if self.at else None

    @property
    def is_another_load(self) -> bool:
        """Say whether plates have to be moved for the step under way."""
        before = () if self.before is None else self.before.plates
        return set(before) != set(self.lift.plates)

    @property
    def change_kg(self) -> float:
        """What that changes of the load [kg]."""
        before = () if self.before is None else self.before.plates
        return self.mass_kg(self.lift.plates) - self.mass_kg(before)

    @property
    def is_first_walk_done(self) -> bool:
        """Say whether the first walk up and down is complete."""
        ahead = self._lifts[self.at :]
        is_open = any(lift.stage is Stage.WALK and lift.run <= 1 for lift in ahead)
        return bool(self.points) and not is_open

    def mass_kg(self, names: Sequence[str]) -> float:
        """Add up what the plates' faces say [kg].

        Args:
            names: which plates.
        """
        return mass_kg(names, self._setup.plates)

    def go_on(self, reading: float) -> None:
        """Take the next step; where plates cannot be told apart, plan one more lift first.

        Args:
            reading: reading of the step that is done.
        """
        self.levels.append(reading)
        self.at += 1
        if not self.is_over or not self.points or self._cells > 1:
            return  # the sum of several cells compares no plates
        try:
            name = plate_to_lift_again(self.walk_input(0.0))
        except CalibrationError:
            return  # the end will say what is wrong with the points
        if name is not None:
            self._lifts.append(Lift(Stage.EXTRA, (name,), 1, self.points[-1].lift.run))

    def go_back(self) -> None:
        """Take the last step back, and its point."""
        self.at -= 1
        self.levels.pop()
        if self.lift.is_point:
            self.points.pop()

    def load_call(self) -> WalkCall:
        """Say which plates are to lie on the cell, by their numbers."""
        plates = self._setup.plates
        on = [str(i) for i, plate in enumerate(plates, 1) if plate.name in self.lift.plates]
        detail: dict[str, str | float | int | None] = {
            "step": self.at + 1,
            "plates": "+".join(on),
            "mass_kg": self.mass_kg(self.lift.plates),
        }
        if self.lift.cell:
            detail["cell"] = self.lift.cell
        return WalkCall("load", detail)

    def walk_input(self, step: float) -> WalkInput:
        """Give the points as a finished walk, for `analyse_walk`.

        Args:
            step: smallest step of the readings.

        Returns:
            The walk, sums of the cells.
        """
        points, gravity = self.points, self._setup.gravity
        used = {name for point in points for name in point.lift.plates}
        steps = Steps(
            load_N=np.array([point.mass_kg for point in points]) * gravity.value_m_per_s2,
            reading=np.array([point.reading for point in points]),
            direction=np.array([point.lift.direction for point in points], dtype=np.int64),
            run=np.array([point.lift.run for point in points], dtype=np.int64),
            plates=tuple(point.lift.plates for point in points),
            labels=tuple(point.label for point in points),
        )
        kept = tuple(plate for plate in self._setup.plates if plate.name in used)
        beyond_N = beyond_hold_N(
            steps.load_N,
            np.array([point.came_s for point in points]),
            np.array([point.time_s for point in points]),
        )
        return WalkInput(
            steps,
            kept,
            gravity,
            step=step,
            creep=creep_share(points),
            beyond_hold_N=beyond_N,
        )
