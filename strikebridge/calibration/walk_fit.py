"""The line through the points of a walk under way, and whether a point fits to the others.

This is the quick judgement while the coach still stands at the rig: a plate forgotten, a wrong
one, a hand on the rig. What the points are worth is found out at the end (`walk_analysis.py`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.walk_view import TakenPoint, WalkLine

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord

SOUND_CELL = 0.004
"""Share of the largest load that creep, hysteresis and drift of a sound cheap cell may add up
to within a walk (data sheets 0.03 to 0.1 % each, value from memory; doubled)."""
NOISE_SIGMA = 5.0
OTHER_GAIN = 0.2
"""Share by which the gain of one cell of a platform may differ from the mean of all: cheap
cells are sold with 10 % (value from memory of data sheets); doubled."""
LEAST_ALLOWED_KG = 0.02
"""Below this nobody should be asked (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Anchor:
    """A load that was seen while exercising: no point, but a hold for the line.

    Attributes:
        mass_kg: mass on the plates' faces [kg].
        reading: reading, sum of the cells.
    """

    mass_kg: float
    reading: float


def line_through(pairs: Sequence[Anchor | TakenPoint]) -> WalkLine | None:
    """Lay the straight line of least squares.

    Args:
        pairs: masses and readings.

    Returns:
        The line, None with fewer than two different masses or where readings do not change.
    """
    masses = np.array([pair.mass_kg for pair in pairs])
    readings = np.array([pair.reading for pair in pairs])
    if len(np.unique(masses)) < 2:
        return None
    away_kg = masses - np.mean(masses)
    per_kg = float(away_kg @ readings) / float(away_kg @ away_kg)
    if per_kg == 0.0:
        return None
    return WalkLine(float(np.mean(readings)) - per_kg * float(np.mean(masses)), per_kg)


def with_residuals(points: Sequence[TakenPoint]) -> tuple[tuple[TakenPoint, ...], bool]:
    """Measure how far each point lies from the line through all of them.

    Args:
        points: the points.

    Returns:
        The points with their residuals, and whether there is a line.
    """
    line = line_through(points)
    if line is None:
        return tuple(points), False
    return tuple(
        replace(point, residual_kg=line.mass_kg(point.reading) - point.mass_kg)
        for point in points
    ), True


def judge_point(
    point: TakenPoint,
    others: Sequence[Anchor | TakenPoint],
    plates: Sequence[PlateRecord],
) -> TakenPoint:
    """Say at once whether a point fits to what was taken before.

    Args:
        point: the new point.
        others: the points before it, and what was seen while exercising.
        plates: all plates.

    Returns:
        The point with what may be explained of its residual, and a remark where that is not
        enough.
    """
    line = line_through(others)
    if line is None:
        return point
    top_kg = max(other.mass_kg for other in others)
    on_kg = sum(plate.tolerance_kg for plate in plates if plate.name in point.lift.plates)
    all_kg = sum(plate.tolerance_kg for plate in plates)
    noise_kg = abs(point.sd / line.per_kg) / math.sqrt(point.count)
    explained_kg = [
        on_kg,
        all_kg * point.mass_kg / top_kg,
        SOUND_CELL * top_kg,
        NOISE_SIGMA * noise_kg,
        OTHER_GAIN * point.mass_kg if point.lift.cell else 0.0,
    ]
    allowed_kg = max(sum(explained_kg), LEAST_ALLOWED_KG)
    seen_kg = line.mass_kg(point.reading)
    off_kg = seen_kg - point.mass_kg
    if abs(off_kg) <= allowed_kg:
        return replace(point, residual_kg=off_kg, allowed_kg=allowed_kg)
    what = ", ".join(point.lift.plates) or "nothing"
    remark = (
        f"This does not fit: {seen_kg:.2f} kg where {point.mass_kg:g} kg should lie, which is"
        f" {off_kg:+.2f} kg off; plates and cell explain {allowed_kg:.2f} kg."
        f" There should be {what} on the cell."
    )
    return replace(point, residual_kg=off_kg, allowed_kg=allowed_kg, remark=remark)


def creep_share(points: Sequence[TakenPoint]) -> float:
    """Say how far readings still move under a load, as a share of it.

    A point is taken some seconds after its load came, a hold is read at once: what the reading
    moved in between, at the pace seen while the point was taken, is what the two may differ by.
    One share is fitted to all points of loading by least squares through zero.

    Args:
        points: the points.

    Returns:
        Share of the load, 0 while it cannot be told.
    """
    line = line_through(points)
    loaded = [one for one in points if one.lift.direction > 0 and one.mass_kg > 0.0]
    if line is None or not loaded:
        return 0.0
    masses_kg = np.array([one.mass_kg for one in loaded])
    moved_kg = np.array([one.moved for one in loaded]) / line.per_kg
    return abs(float(masses_kg @ moved_kg) / float(masses_kg @ masses_kg))
