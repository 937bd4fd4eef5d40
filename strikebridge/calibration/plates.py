"""Plates as what they are: few objects, each with one unknown error that comes back.

A step of the walk loads the cell with some of the plates. If plate p is off by d_p, every step
with p on it is off by g d_p: the errors of the steps are not independent, and averaging does
not wash them out. So the fit is done together with the plates. With z the reading in newtons
(divided by a first slope), X the powers of the load and D the effect in newtons of each source
of error at its limit,

    z = X b + D k + e,    k uniform in [-1, 1] (variance 1/3),    e of variance s^2.

The best linear estimate of b (generalised least squares) weighs the steps by s^2 I + D D'/3;
its covariance splits into what the readings' scatter and what each source contributes. An error
common to all plates moves every load by the same share and looks like a gain: no fit can see
it, and here it stays whole in its source, because k keeps its prior.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.samples import Floats, Ints

DIRECTION_WORDS: dict[int, Literal["up", "down", ""]] = {1: "up", -1: "down", 0: ""}


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """The steps of a plate walk on one cell.

    Attributes:
        load_N: load by the plates' faces [N], shape (n,).
        reading: mean reading, shape (n,).
        direction: 1 loading, -1 unloading, 0 not said, shape (n,).
        run: number of the walk, shape (n,).
        plates: names of the plates on the cell, one tuple a step.
        labels: what to call a step in a message, such as `line 7`.
    """

    load_N: Floats
    reading: Floats
    direction: Ints
    run: Ints
    plates: tuple[tuple[str, ...], ...]
    labels: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.load_N)


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """One error that recurs.

    Attributes:
        name: words for the budget.
        effect_N: what it does to the load of each step at its limit [N], shape (n,).
    """

    name: str
    effect_N: Floats


@dataclass(frozen=True, slots=True, eq=False)
class JointFit:
    """A curve fitted together with the plates.

    Attributes:
        beta: z = beta0 + beta1 x (+ beta2 x^2), z in newtons, x = load / largest load.
        from_readings: covariance of beta for a scatter of 1 N^2; times the scatter's variance.
        from_sources: change of beta when each source stands at its limit, shape (sources, q).
        weights: matrix K of beta = K z, shape (q, n).
    """

    beta: Floats
    from_readings: Floats
    from_sources: Floats
    weights: Floats

    def covariance(self, scatter_N: float) -> Floats:
        """Put together what the readings and the sources contribute.

        Args:
            scatter_N: SD of a single step that is no plate's doing [N].

        Returns:
            Covariance of beta [N^2], shape (q, q).
        """
        from_sources = self.from_sources.T @ self.from_sources / 3.0
        whole: Floats = scatter_N**2 * self.from_readings + from_sources
        return whole


def plate_sources(
    steps: Steps, plates: Sequence[PlateRecord], gravity_m_per_s2: float
) -> list[Source]:
    """List the errors of the plates; those of one make are one error.

    Args:
        steps: the walk.
        plates: the plates.
        gravity_m_per_s2: local gravity [m/s2].

    Returns:
        One source for each make and for each plate without a make, tolerance 0 left out.
    """
    effects: dict[str, Floats] = {}
    for plate, share in zip(plates, lies_on(steps, plates).T, strict=True):
        if plate.tolerance_kg > 0.0:
            name = f"plates of make {plate.make}" if plate.make else f"plate {plate.name}"
            effect_N = share * plate.tolerance_kg * gravity_m_per_s2
            effects[name] = effects.get(name, np.zeros(len(steps))) + effect_N
    return [Source(name, effect_N) for name, effect_N in effects.items()]


def fit_jointly(
    load_N: Floats, z_N: Floats, sources: Sequence[Source], degree: int, scatter_N: float
) -> JointFit:
    """Fit the curve with the steps weighed by what is known of the plates.

    Args:
        load_N: loads [N], shape (n,).
        z_N: readings in newtons, shape (n,).
        sources: errors that recur.
        degree: 1, 2 or 3.
        scatter_N: SD of a single step that is no plate's doing [N], above 0.

    Returns:
        The fit.
    """
    x = load_N / float(np.max(np.abs(load_N)))
    powers = x[:, np.newaxis] ** np.arange(degree + 1)
    effects = np.array([source.effect_N for source in sources]).reshape(len(sources), len(x)).T
    # each source is one more unknown with one more observation: 0 with variance 1/3
    top = np.hstack([powers, effects]) / scatter_N
    bottom = np.hstack(
        [np.zeros((len(sources), degree + 1)), math.sqrt(3.0) * np.eye(len(sources))]
    )
    solve = np.linalg.pinv(np.vstack([top, bottom]), rcond=1e-14)
    weights = solve[: degree + 1, : len(x)] / scatter_N
    return JointFit(
        beta=weights @ z_N,
        from_readings=weights @ weights.T,
        from_sources=(weights @ effects).T,
        weights=weights,
    )


def step_scatter(
    steps: Steps, plates: Sequence[PlateRecord], z_N: Floats, degree: int
) -> tuple[float, int]:
    """Estimate the scatter of the steps with every plate and the hysteresis free.

    Args:
        steps: the walk.
        plates: the plates, none where only loads are known.
        z_N: readings in newtons, shape (n,), more than the curve has coefficients.
        degree: of the curve.

    Returns:
        SD of a step [N] and its degrees of freedom; with none left for it, the scatter about
        the curve alone, which then holds the plates' errors too.
    """
    x = steps.load_N / float(np.max(np.abs(steps.load_N)))
    curve = x[:, np.newaxis] ** np.arange(degree + 1)
    free = np.hstack([curve, hysteresis_column(steps), lies_on(steps, plates)])
    columns = free if np.linalg.matrix_rank(free) < len(steps) else curve
    solution, _, rank, _ = np.linalg.lstsq(columns, z_N, rcond=None)
    residual = z_N - columns @ solution
    dof = len(steps) - int(rank)
    return math.sqrt(float(residual @ residual) / dof), dof


def hysteresis_column(steps: Steps) -> Floats:
    """Shape of a hysteresis loop over the steps.

    Args:
        steps: the walk.

    Returns:
        Column of 4 x (1 - x) signed by direction, shape (n, 1); no column, shape (n, 0), where
        the walk did not go both ways.
    """
    if not {-1, 1} <= set(steps.direction.tolist()):
        return np.zeros((len(steps), 0))
    x = steps.load_N / float(np.max(np.abs(steps.load_N)))
    column: Floats = (4.0 * x * (1.0 - x) * -steps.direction)[:, np.newaxis]
    return column


def lies_on(steps: Steps, plates: Sequence[PlateRecord]) -> Floats:
    """Say which plate lies on the cell in which step.

    Args:
        steps: the walk.
        plates: the plates.

    Returns:
        1 where it does, else 0, shape (n, plates).
    """
    return np.array(
        [[float(names.count(plate.name)) for plate in plates] for names in steps.plates]
    ).reshape(len(steps), len(plates))
