"""The plan of a plate walk: what lies on the cell, step after step.

Zero first; then the cell is loaded to the top and relieved a few times, because a cell that has
rested reads a little differently the first time (ISO 376 loads three times before it measures;
twice is what a coach has time for: common practice, no source). Then the walk itself: up plate
by plate, down plate by plate, and once more, where there is time, with the plates in the other
order, which makes other loads in between: a curve needs six. Under a
platform on several cells each has a gain of its own: the heaviest plate then lies over one cell
after the other, and is taken off in between, because moving it changes no sum.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.errors import CalibrationError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord

EXERCISES = 2
RUNS = 2
MOST_PLATES = 12
"""More plates make no better calibration, only a longer one."""


class Stage(StrEnum):
    """What a step is for."""

    ZERO = "zero"  # the empty cell, before anything
    EXERCISE = "exercise"  # up to the top and off again; no point is taken
    WALK = "walk"  # a point of the calibration
    EXTRA = "extra"  # one more point, to tell two plates apart


@dataclass(frozen=True, slots=True)
class Lift:
    """One step: what is to lie on the cell.

    Attributes:
        stage: what it is for.
        plates: names of the plates on the cell, in the order they were put on.
        direction: 1 loading, -1 unloading, 0 neither.
        run: number of the walk up and down, from 1; 0 before the walk.
        cell: over which cell of a platform the plates lie, from 1; 0 for its middle.
    """

    stage: Stage
    plates: tuple[str, ...]
    direction: int = 0
    run: int = 0
    cell: int = 0

    @property
    def is_point(self) -> bool:
        """Say whether the reading of this step is a point of the calibration."""
        return self.stage in (Stage.WALK, Stage.EXTRA)


def check_plates(plates: Sequence[PlateRecord], rating_kg: float | None = None) -> None:
    """Refuse plates that no walk can be made with.

    Args:
        plates: the plates as the coach declares them.
        rating_kg: what the rig is rated for [kg], None where it was not said.

    Raises:
        CalibrationError: says which plate, and what to do.
    """
    if not plates:
        msg = "No plates were named. Name at least two, such as --plate A=20 --plate B=10."
        raise CalibrationError(msg)
    if len(plates) > MOST_PLATES:
        msg = f"{len(plates)} plates are more than a walk needs. Choose up to {MOST_PLATES}."
        raise CalibrationError(msg)
    names = [plate.name for plate in plates]
    for plate in plates:
        if names.count(plate.name) > 1:
            msg = f"Two plates are called {plate.name}. Give each a name of its own."
            raise CalibrationError(msg)
        if not plate.name or any(mark in plate.name + plate.make for mark in '+/,="\n'):
            msg = (
                f"{plate.name!r} will not do as the name of a plate or of its make. Use"
                " letters, digits and spaces."
            )
            raise CalibrationError(msg)
        if not 0.01 <= plate.mass_kg <= 1000.0:
            msg = f"Plate {plate.name} cannot weigh {plate.mass_kg:g} kg. Correct its mass."
            raise CalibrationError(msg)
        if not 0.0 <= plate.tolerance_kg <= 0.5 * plate.mass_kg:
            msg = (
                f"Plate {plate.name} cannot be off by {plate.tolerance_kg:g} kg. Give the"
                " tolerance in kilograms, such as 20±0.4."
            )
            raise CalibrationError(msg)
    total_kg = sum(plate.mass_kg for plate in plates)
    if rating_kg is not None and total_kg > rating_kg:
        msg = (
            f"The plates weigh {total_kg:g} kg, the cell is rated for {rating_kg:g} kg. Leave"
            " plates out: a cell that was loaded above its rating is bent for good."
        )
        raise CalibrationError(msg)


def plan_walk(
    plates: Sequence[PlateRecord],
    *,
    runs: int = RUNS,
    exercises: int = EXERCISES,
    cells: int = 1,
) -> tuple[Lift, ...]:
    """Plan the steps of a walk.

    Args:
        plates: the plates in the order they are put on.
        runs: walks up and down, at least 1; every second one has the plates in reverse order.
        exercises: how often the cell is loaded to the top beforehand, at least 1.
        cells: cells under the platform, 1 where there is none.

    Returns:
        The steps.
    """
    names = tuple(plate.name for plate in plates)
    lifts = [Lift(Stage.ZERO, ())]
    for _ in range(exercises):
        lifts += [Lift(Stage.EXERCISE, names, 1), Lift(Stage.EXERCISE, (), -1)]
    for run in range(1, runs + 1):
        order = names if run % 2 else names[::-1]
        heights = range(len(order) + 1)
        lifts += [Lift(Stage.WALK, order[:height], 1, run) for height in heights]
        lifts += [Lift(Stage.WALK, order[:height], -1, run) for height in heights[-2::-1]]
        heaviest = max(plates, key=lambda plate: plate.mass_kg).name
        for cell in range(1, cells + 1) if cells > 1 else ():
            lifts.append(Lift(Stage.WALK, (heaviest,), 1, run, cell))
            lifts.append(Lift(Stage.WALK, (), -1, run))
    return tuple(lifts)


def mass_kg(names: Sequence[str], plates: Sequence[PlateRecord]) -> float:
    """Add up what the plates' faces say.

    Args:
        names: which plates.
        plates: all plates.

    Returns:
        Their mass [kg].
    """
    return sum(plate.mass_kg for plate in plates if plate.name in names)


def what_to_do(before: Sequence[str], after: Sequence[str], cell: int = 0) -> str:
    """Say in one sentence how to come from one step to the next.

    Args:
        before: names of the plates on the cell now.
        after: names of the plates that are to be on it.
        cell: over which cell of a platform, 0 for its middle.

    Returns:
        The sentence.
    """
    on = [name for name in after if name not in before]
    off = [name for name in before if name not in after]
    if not after and len(off) > 1:
        return "Take everything off the cell."
    if on and off:
        return f"Take off {_listed(off)}, put on {_listed(on)}."
    if on:
        return f"Put {_listed(on)} on{f', right over cell {cell}' if cell else ''}."
    if off:
        return f"Take {_listed(off)} off."
    return "Leave the cell as it is." if after else "Leave the cell empty."


def _listed(names: Sequence[str]) -> str:
    words = "plate" if len(names) == 1 else "plates"
    if len(names) == 1:
        return f"{words} {names[0]}"
    return f"{words} {', '.join(names[:-1])} and {names[-1]}"
