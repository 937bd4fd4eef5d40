"""The points of a walk as the table that `calibrate --points` reads."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from strikebridge.calibration.document import DIRECTION_WORDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.walk_view import TakenPoint


def points_table(points: Sequence[TakenPoint], plates: Sequence[PlateRecord]) -> str:
    """Write points as a table.

    Args:
        points: the points, oldest first.
        plates: the plates.

    Returns:
        CSV with a header; a plate of a make is written `make/name`.
    """
    channels = len(points[0].readings) if points else 1
    cells = ["reading"] if channels == 1 else [f"reading_{i + 1}" for i in range(channels)]
    names = {one.name: f"{one.make}/{one.name}" if one.make else one.name for one in plates}
    tolerances = {one.name: one.tolerance_kg for one in plates}
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["mass_kg", *cells, "tolerance_kg", "direction", "run", "plates", "time_s"])
    for point in points:
        on = point.lift.plates
        writer.writerow(
            [
                f"{point.mass_kg:.9g}",
                *(f"{reading:.10g}" for reading in point.readings),
                f"{sum(tolerances[name] for name in on):.9g}",
                DIRECTION_WORDS[point.lift.direction],
                max(point.lift.run, 1),
                "+".join(names[name] for name in on),
                f"{point.time_s:.3f}",
            ]
        )
    return text.getvalue()
