"""Which plate does not fit to the others, the cell being the balance.

The system of `plates.py` with wide priors for every plate shows how they compare with one
another. A plate is a suspect if no gain exists at which it lies within its tolerance together
with the others, or if it stands out from them: the gap to its neighbour over the whole spread,
the ratio of Dixon (1950), Ann Math Stat 21:488. For n plates uniform in any interval the chance
of so large a ratio x at either end is 2 (1 - x)^(n - 2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from strikebridge.calibration.plates import hysteresis_column, lies_on
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.plates import Steps
    from strikebridge.samples import Floats

WIDE = 0.10
"""Prior SD of a plate's relative error in the comparison: club plates are within 5 %."""
BEND_PRIOR = 0.001
"""Prior SD of the cell's bend where plates are compared, as a share of the largest load (cheap
cells 0.03 to 0.05 %, value from memory; doubled)."""
LEAST_SUSPECT = 0.01
"""Relative error below which a plate that stands out is nobody's trouble (common practice, no
source: good club plates differ by that much)."""
DIXON_P = 0.018
"""Chance of standing out by luck, below which a plate is named."""
SURE = 3.0
"""Standard uncertainties by which two plates must be clear of their tolerances."""
CLEAR = 2.0
"""Standard uncertainties taken off a gap before it counts."""
LOST = 0.5
"""Share of the prior variance that must be gone before a difference counts as measured."""


LEAST_DOF = 3
"""Degrees of freedom below which one bad step cannot be told from the others."""
POINT_P = 0.01
"""Chance of so odd a step by luck, below which it is named."""
LEAST_POINT = 0.0025
"""Share of the largest load below which an odd step does no harm."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """Something that does not fit to the rest.

    Attributes:
        kind: `plate` or `point`.
        name: which.
        off_kg: by how much it is off [kg], against the others.
        chance: chance of that by luck, 0 to 1.
    """

    kind: str
    name: str
    off_kg: float
    chance: float


def compare_plates(
    steps: Steps, plates: Sequence[PlateRecord], z_N: Floats, scatter_N: float
) -> tuple[Floats, Floats]:
    """Compare the plates with one another, the cell being the balance.

    Args:
        steps: the walk.
        plates: the plates, at least one.
        z_N: readings in newtons, shape (n,).
        scatter_N: SD of a step [N], above 0.

    Returns:
        Relative error of each plate, shape (k,), and their covariance; only differences mean
        something, the mean is the gain's.
    """
    top_N = float(np.max(np.abs(steps.load_N)))
    x = steps.load_N / top_N
    masses = np.array([plate.mass_kg for plate in plates])
    weight_N = lies_on(steps, plates) * (masses * top_N / _top_kg(steps, plates))
    columns = np.hstack(
        [
            x[:, np.newaxis] ** np.arange(2),
            hysteresis_column(steps),
            x[:, np.newaxis] ** 2,
            weight_N,
        ]
    )
    known = 1 + len(plates)
    priors = np.array([BEND_PRIOR * top_N, *[WIDE] * len(plates)])
    bottom = np.hstack([np.zeros((known, columns.shape[1] - known)), np.diag(1.0 / priors)])
    solve = np.linalg.pinv(np.vstack([columns / scatter_N, bottom]), rcond=1e-14)
    errors = (solve[:, : len(x)] / scatter_N) @ (z_N - steps.load_N)
    covariance = solve @ solve.T
    k = len(plates)
    return errors[-k:], covariance[-k:, -k:]


def confounded(plates: Sequence[PlateRecord], covariance: Floats) -> list[tuple[str, str]]:
    """Find plates that the walk cannot tell apart.

    Args:
        plates: the plates.
        covariance: from `compare_plates`.

    Returns:
        Pairs of names.
    """
    limit = LOST * 2.0 * WIDE**2
    return [
        (plates[i].name, plates[j].name)
        for i, j in combinations(range(len(plates)), 2)
        if _contrast(covariance, i, j) > limit
    ]


def suspect_plates(
    plates: Sequence[PlateRecord], errors: Floats, covariance: Floats
) -> list[Suspect]:
    """Name the plate that does not fit to the others.

    Args:
        plates: the plates.
        errors: relative errors from `compare_plates`.
        covariance: their covariance.

    Returns:
        The suspect, or nothing; one at a time, because a second one is judged better once the
        first was weighed.
    """
    k = len(plates)
    if k < 3 or confounded(plates, covariance):
        return []
    # each plate against the mean of the others; the common error, a gain, cancels
    against = np.eye(k) * k / (k - 1.0) - 1.0 / (k - 1.0)
    off = against @ errors
    u_off = np.sqrt(np.diag(against @ covariance @ against.T))
    widths = np.array([plate.tolerance_kg / plate.mass_kg for plate in plates])
    found = []
    for i, plate in enumerate(plates):
        chance = min(
            _chance_of_tolerance(errors, u_off, widths, i), _chance_of_gap(errors, u_off, i)
        )
        if chance < DIXON_P:
            found.append(Suspect("plate", plate.name, float(off[i]) * plate.mass_kg, chance))
    # of several that would each restore agreement the least likely is named
    return sorted(found, key=lambda suspect: suspect.chance)[:1]


def disagreeing_pair(
    plates: Sequence[PlateRecord], errors: Floats, covariance: Floats
) -> float | None:
    """Say by how much two plates contradict each other where there is no third to judge.

    Args:
        plates: the plates.
        errors: relative errors from `compare_plates`.
        covariance: their covariance.

    Returns:
        Relative difference, None where they agree within tolerance or where there are not two.
    """
    if len(plates) != 2 or confounded(plates, covariance):
        return None
    room = sum(plate.tolerance_kg / plate.mass_kg for plate in plates)
    room = room if room > 0.0 else LEAST_SUSPECT
    difference = float(errors[0] - errors[1])
    clear = room + SURE * math.sqrt(_contrast(covariance, 0, 1))
    return difference if abs(difference) > clear else None


def _chance_of_tolerance(errors: Floats, u_off: Floats, widths: Floats, i: int) -> float:
    # Gains (relative shifts) at which all others lie within tolerance; does any suit plate i?
    if not widths.all():
        return 1.0
    rest = np.delete(np.arange(len(errors)), i)
    room = widths[rest] + 2.0 * u_off[rest]
    low = float(np.max(errors[rest] - room))
    high = float(np.min(errors[rest] + room))
    if low > high:
        return 1.0  # the others contradict one another even without it
    away = float(max(low - errors[i], errors[i] - high) - widths[i])
    return math.erfc(max(away, 0.0) / u_off[i] / math.sqrt(2.0)) if away > 0.0 else 1.0


def _chance_of_gap(errors: Floats, u_off: Floats, i: int) -> float:
    n = len(errors)
    if n < 4:
        return 1.0  # of three, two always stand close together
    others = _shrunk(np.delete(errors, i), np.delete(u_off, i))
    gap = float(max(np.min(others) - errors[i], errors[i] - np.max(others)))
    clear = gap - CLEAR * float(u_off[i])
    if clear <= LEAST_SUSPECT:
        return 1.0
    ratio = clear / (clear + float(np.ptp(others)))
    return float(2.0 * (1.0 - ratio) ** (n - 2))


def _shrunk(errors: Floats, u: Floats) -> Floats:
    # A small plate is measured poorly; its noise is not a spread of plates. True spread by
    # moments (DerSimonian and Laird 1986, Control Clin Trials 7:177), each error drawn to the
    # weighted mean by what of it is noise.
    weight = 1.0 / u**2
    mean = np.average(errors, weights=weight)
    excess = float(weight @ (errors - mean) ** 2) - (len(errors) - 1.0)
    scale = float(np.sum(weight) - np.sum(weight**2) / np.sum(weight))
    true_variance = max(excess / scale, 0.0)
    shrunk: Floats = mean + (errors - mean) * true_variance / (true_variance + u**2)
    return shrunk


def _contrast(covariance: Floats, i: int, j: int) -> float:
    return float(covariance[i, i] + covariance[j, j] - 2.0 * covariance[i, j])


def _top_kg(steps: Steps, plates: Sequence[PlateRecord]) -> float:
    masses = np.array([plate.mass_kg for plate in plates])
    return float(np.max(lies_on(steps, plates) @ masses))


def suspect_points(steps: Steps, plates: Sequence[PlateRecord], z_N: Floats) -> list[Suspect]:
    """Name a single step that does not fit to the rest.

    Each step is judged by the curve through the others (externally studentised residual,
    Cook and Weisberg, Residuals and Influence in Regression, 1982), with the plates free, and
    its chance is multiplied by the number of steps (Bonferroni).

    Args:
        steps: the walk.
        plates: the plates, none where only loads are known.
        z_N: readings in newtons, shape (n,).

    Returns:
        The worst step, or nothing.
    """
    top_N = float(np.max(np.abs(steps.load_N)))
    x = steps.load_N / top_N
    columns = np.hstack(
        [x[:, np.newaxis] ** np.arange(3), hysteresis_column(steps), lies_on(steps, plates)]
    )
    return odd_step(columns, z_N, steps.labels, top_N)


def odd_step(
    columns: Floats, z_N: Floats, labels: Sequence[str], top_N: float
) -> list[Suspect]:
    """Name the step that does not follow a linear model as the others do.

    Args:
        columns: the model, shape (n, unknowns).
        z_N: what it is to explain, in newtons, shape (n,).
        labels: what to call each step; rows beyond them are what is known beforehand and are
            not judged.
        top_N: largest load [N].

    Returns:
        The worst step, or nothing.
    """
    hat = columns @ np.linalg.pinv(columns, rcond=1e-10)
    room = 1.0 - np.diag(hat)
    dof = round(float(np.sum(room)))
    if dof < LEAST_DOF:
        return []
    residual = z_N - hat @ z_N
    # a step that alone fixes a parameter cannot be judged
    is_judged = (room > 0.05) & (np.arange(len(z_N)) < len(labels))
    deleted_N = np.where(is_judged, residual / np.maximum(room, 0.05), 0.0)
    rss = float(residual @ residual)
    rest = np.maximum(rss - residual * deleted_N, 1e-300) / (dof - 1)
    t = deleted_N * np.sqrt(np.maximum(room, 0.05) / rest)
    worst = int(np.argmax(np.abs(t)))
    chance = min(1.0, 2.0 * len(labels) * float(special.stdtr(dof - 1, -abs(t[worst]))))
    if chance > POINT_P or abs(deleted_N[worst]) < LEAST_POINT * top_N:
        return []
    off_kg = float(deleted_N[worst]) / STANDARD_GRAVITY_M_PER_S2
    return [Suspect("point", labels[worst], off_kg, chance)]


def step_warning(suspect: Suspect) -> str:
    """Say what does not fit, how likely that is by luck, and what to do.

    Args:
        suspect: a plate or a step.

    Returns:
        Two sentences for the coach.
    """
    if suspect.kind == "plate":
        what, advice = f"Plate {suspect.name}", "Weigh it, or walk again without it."
    else:
        is_line = suspect.name.startswith("line")
        name = f"the step in {suspect.name}" if is_line else suspect.name
        what, advice = name[0].upper() + name[1:], "Do that step again."
    return (
        f"{what} is off by {suspect.off_kg:+.3g} kg against the rest"
        f" (by luck: {max(suspect.chance, 1e-6):.2g}). {advice}"
    )
