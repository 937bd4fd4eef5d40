"""What the fitted curve leaves out: a bend of a higher power, an excess of scatter, hysteresis.

All in newtons, so that it stands beside the plates and the scatter in the budget of a walk.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.apply import HIDDEN_BEND
from strikebridge.calibration.budget import rectangular_u
from strikebridge.calibration.plates import fit_jointly, hysteresis_column, lies_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.plates import JointFit, Source, Steps
    from strikebridge.samples import Floats


def hidden_bend(
    steps: Steps, z_N: Floats, sources: Sequence[Source], joint: JointFit, scatter_N: float
) -> tuple[float, Floats]:
    """Say how much the curve may bend beyond its degree.

    Args:
        steps: the walk.
        z_N: readings in newtons, shape (n,).
        sources: errors that recur.
        joint: the fit with the plates.
        scatter_N: SD of a step [N].

    Returns:
        What one power more would add at the largest load, root mean square [N], and the change
        of beta per newton of such a bend, shape (q,).
    """
    top_N = float(np.max(np.abs(steps.load_N)))
    order = len(joint.beta)
    column = (steps.load_N / top_N) ** order
    # a parabola b x^2 leaves its chord by b / 4; what may hide is rectangular
    hidden_N = rectangular_u(4.0 * HIDDEN_BEND * top_N)
    change: Floats = joint.weights @ column
    if len(np.unique(steps.load_N)) < order + 1:
        return hidden_N, change
    more = fit_jointly(steps.load_N, z_N, sources, order, scatter_N)
    size_N = float(more.beta[order])
    u_N = math.sqrt(more.covariance(scatter_N)[order, order])
    if abs(size_N) > 2.5 * math.hypot(hidden_N, u_N):
        return math.hypot(size_N, u_N), change
    # the walk and what is known of cheap cells, weighed by their variances
    trust = hidden_N**2 / (hidden_N**2 + u_N**2)
    return math.hypot(trust * size_N, math.sqrt(trust) * u_N), change


def excess_N(
    steps: Steps, z_N: Floats, joint: JointFit, sources: Sequence[Source], scatter_N: float
) -> float:
    """Estimate what the residuals hold beyond scatter, plates and the loop of hysteresis.

    Args:
        steps: the walk.
        z_N: readings in newtons, shape (n,).
        joint: the fit with the plates.
        sources: errors that recur.
        scatter_N: SD of a step [N].

    Returns:
        Its SD [N]; 0 where there is no more than expected, or nothing left to see it by.
    """
    n, q = len(steps), len(joint.beta)
    loop = hysteresis_column(steps)
    dof = n - q - loop.shape[1]
    if dof <= 0:
        return 0.0
    x = steps.load_N / float(np.max(np.abs(steps.load_N)))
    # what the curve and the loop of hysteresis leave
    leave = np.eye(n) - x[:, np.newaxis] ** np.arange(q) @ joint.weights
    left = leave @ loop
    leave -= left @ np.linalg.pinv(left) @ leave
    # by moments, in the directions that the plates leave sharp: chi squared less its
    # expectation, over what a unit of excess variance would add to it
    effects = np.array([one.effect_N for one in sources]).reshape(len(sources), n)
    sharp = np.linalg.inv(scatter_N**2 * np.eye(n) + effects.T @ effects / 3.0)
    residual = leave @ z_N
    more = float(residual @ sharp @ residual) - dof
    return math.sqrt(max(more, 0.0) / float(np.trace(leave.T @ sharp @ leave)))


def half_loop_N(steps: Steps, plates: Sequence[PlateRecord], z_N: Floats) -> float:
    """Measure the loop of hysteresis, with a parabola and every plate free.

    Args:
        steps: the walk.
        plates: the plates, none where only loads are known.
        z_N: readings in newtons, shape (n,).

    Returns:
        Half its widest opening [N]; 0 where the walk went one way.
    """
    loop = hysteresis_column(steps)
    if loop.shape[1] == 0:
        return 0.0
    x = steps.load_N / float(np.max(np.abs(steps.load_N)))
    columns = np.hstack([loop, x[:, np.newaxis] ** np.arange(3), lies_on(steps, plates)])
    return abs(float((np.linalg.pinv(columns, rcond=1e-10) @ z_N)[0]))
