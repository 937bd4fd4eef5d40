"""Can the plates of a walk be told apart, and if not, which lift would help?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.fit import fit_curve
from strikebridge.calibration.plates import step_scatter
from strikebridge.calibration.suspects import compare_plates, confounded

if TYPE_CHECKING:
    from strikebridge.calibration.walk import WalkInput

SMALLEST_SCATTER = 1e-6
"""Least scatter of a step, as a share of the largest load; readings of a coarse scale may agree
to the last digit, which proves nothing."""


def plate_to_lift_again(walk: WalkInput) -> str | None:
    """Find a plate that has to be lifted once more, alone.

    Args:
        walk: the walk so far.

    Returns:
        Its name, None where all plates can be told apart.

    Raises:
        CalibrationError: the points do not carry a line yet.
    """
    if len(walk.plates) < 2:
        return None
    steps = walk.steps
    line = fit_curve(steps.load_N, steps.reading, 1)
    z_N = (steps.reading - line.coefficients[0]) / line.coefficients[1]
    least_N = SMALLEST_SCATTER * float(np.max(steps.load_N))
    scatter_N = max(step_scatter(steps, walk.plates, z_N, 1)[0], least_N)
    _, covariance = compare_plates(steps, walk.plates, z_N, scatter_N)
    pairs = confounded(walk.plates, covariance)
    alone = {names[0] for names in steps.plates if len(names) == 1}
    for one, other in pairs:
        for name in (one, other):
            if name not in alone:
                return name
    return None
