"""What a walk found out, as plain values for JSON and as a certificate."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.apply import NEWTONS_PER_QUANTITY
from strikebridge.calibration.budget import combined_u, coverage_factor, effective_dof
from strikebridge.calibration.certificate import (
    CREEP,
    Cell,
    Certificate,
    PointRecord,
    check_certificate,
)
from strikebridge.calibration.creep import beyond_hold_N, creep_share, step_times
from strikebridge.calibration.gravity import STANDARD
from strikebridge.calibration.plates import DIRECTION_WORDS
from strikebridge.calibration.walk import WalkInput
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.errors import CalibrationError, FormatError
from strikebridge.samples import Quantity
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from strikebridge.calibration.gravity import Gravity
    from strikebridge.calibration.plates import Steps
    from strikebridge.calibration.points import Points
    from strikebridge.calibration.walk import Walk


def walk_of_points(points: Points, gravity: Gravity = STANDARD) -> WalkInput:
    """Make a walk of a table.

    Args:
        points: the table.
        gravity: local gravity; of no effect where loads are given in newtons.

    Returns:
        The walk.

    Raises:
        FormatError: the same plates are said to weigh different masses.
    """
    g = gravity.value_m_per_s2
    tolerances = points.tolerances_kg.any()
    steps = points.steps(g)
    beyond_N = beyond_hold_N(steps.load_N, *step_times(len(steps), points.time_s))
    return WalkInput(
        steps=steps,
        plates=points.plates(g),
        gravity=gravity if points.column == "mass_kg" or tolerances else None,
        common=points.common(g),
        step=points.step,
        creep=creep_share(steps, points.time_s),
        beyond_hold_N=beyond_N if points.column == "mass_kg" else None,
    )


def calibrate_points(
    points: Points,
    *,
    degree: int | None = None,
    gravity: Gravity = STANDARD,
    at: Sequence[float] = (),
) -> dict[str, object]:
    """Calibrate from a table.

    Args:
        points: the table.
        degree: 1 or 2, None to let the points decide.
        gravity: local gravity.
        at: readings to turn into forces.

    Returns:
        The document of `calibrate --points --json`: no NaN, no infinity.

    Raises:
        FormatError: the table does not carry the fit; names the column.
    """
    walk = walk_of_points(points, gravity)
    return walk_document(walk, analyse_points(points, walk, degree), at)


def analyse_points(points: Points, walk: WalkInput, degree: int | None = None) -> Walk:
    """Analyse the walk of a table.

    Args:
        points: the table.
        walk: the walk that `walk_of_points` made of it.
        degree: 1 or 2, None to let the points decide.

    Returns:
        What it found out.

    Raises:
        FormatError: the table does not carry the fit; names lines and column.
    """
    try:
        return analyse_walk(walk, degree)
    except CalibrationError as error:
        last = points.rows[-1].line
        msg = f"Lines up to {last}, column {points.column}: {error}"
        raise FormatError(msg, line=last, column=points.column) from error


def walk_document(walk: WalkInput, result: Walk, at: Sequence[float] = ()) -> dict[str, object]:
    """Write down what a walk found out.

    Args:
        walk: the walk.
        result: what it found out.
        at: readings to turn into forces.

    Returns:
        Plain values. `hysteresis` and `repeatability` are shares of the span of the readings;
        `covariance` and `u` come from the scatter of the readings, plates and gravity stand in
        the budget, which is drawn up at the largest load.
    """
    fit, lack = result.fit, result.fit.lack_of_fit
    forces = [(reading, *result.at(reading)) for reading in at]
    warnings = [*result.warnings]
    warnings += [
        f"The reading {reading:g} lies above the largest calibrated load: {force_N:.0f} N is"
        " extrapolated."
        for reading, force_N, _, _ in forces
        if force_N > result.range_N[1] * (1.0 + 1e-9)
    ]
    return {
        "degree": fit.degree,
        "coefficients": [
            {"value": float(value), "u": float(u)}
            for value, u in zip(fit.coefficients, fit.u, strict=True)
        ],
        "covariance": fit.covariance.tolist(),
        "residual_sd": fit.residual_sd,
        "dof": fit.dof,
        "r_squared": fit.r_squared,
        "lack_of_fit": None
        if lack is None
        else {"F": lack.F, "dof": list(lack.dof), "p": lack.p},
        "hysteresis": hysteresis(walk.steps),
        "repeatability": repeatability(walk.steps),
        "range_N": list(result.range_N),
        "suspects": [
            {suspect.kind: suspect.name, "off_kg": suspect.off_kg, "chance": suspect.chance}
            for suspect in result.suspects
        ],
        "warnings": warnings,
        "budget": [
            {"term": term.term, "u_N": term.u_N, "common": term.common}
            for term in result.budget()
        ],
        "at": [
            {"reading": reading, "force_N": force_N, "u95_N": k * u_N}
            for reading, force_N, u_N, k in forces
        ],
    }


@dataclass(frozen=True, slots=True)
class ScaleError:
    """How far a scale that names its own unit is off.

    Attributes:
        share: what it reads more than it should, as a share; below 0 it reads low.
        u95: expanded uncertainty of that share.
    """

    share: float
    u95: float


def scale_error(walk: WalkInput, result: Walk, quantity: Quantity) -> ScaleError | None:
    """Hold a scale's own unit against the plates.

    Masses against masses need no gravity, so its doubt falls out; and a scale is held against
    the plates as they lie, so what a hold would have crept less does not enter.

    Args:
        walk: the walk.
        result: what it found out.
        quantity: what the readings are.

    Returns:
        The error of its gain over the calibrated range; None for readings in no unit.
    """
    if quantity not in NEWTONS_PER_QUANTITY:
        return None
    newtons = NEWTONS_PER_QUANTITY[quantity]
    is_mass = walk.gravity is not None and quantity is not Quantity.N
    if walk.gravity is not None and is_mass:
        newtons *= walk.gravity.value_m_per_s2 / STANDARD_GRAVITY_M_PER_S2
    top_N = result.top_N
    chord = (result.fit.predict(top_N)[0] - result.fit.predict(0.0)[0]) / top_N
    resting = replace(result, from_creep=np.zeros_like(result.from_creep))
    terms = [
        term
        for term in resting.terms_at(top_N, above_zero=True)
        if not (is_mass and term.term == "gravity")
    ]
    u95 = coverage_factor(terms) * combined_u(terms) / top_N
    return ScaleError(chord * newtons - 1.0, u95)


def walk_certificate(walk: WalkInput, result: Walk, made_at: str) -> Certificate:
    """Make a certificate for one cell; `msgspec.structs.replace` adds board, rating and who.

    Args:
        walk: the walk.
        result: what it found out.
        made_at: when, RFC 3339 with offset.

    Returns:
        The certificate.

    Raises:
        CalibrationError: the curve cannot be inverted over the calibrated loads.
    """
    terms = result.terms_at(result.top_N, above_zero=True)
    shared = {"gravity", *(source.name for source in result.sources)}
    shapes = {"lack of fit", "hysteresis", CREEP}
    u_shared_N = combined_u([term for term in terms if term.term in shared])
    # inside the range the shape is worst in the middle, where the loop is open
    middle = result.terms_at(0.5 * result.top_N, above_zero=True)
    u_shape_N = max(
        combined_u([term for term in where if term.term in shapes]) for where in (terms, middle)
    )
    dof = effective_dof(terms)
    steps = walk.steps
    certificate = Certificate(
        made_at=made_at,
        cells=(
            Cell(
                coefficients=tuple(map(float, result.fit.coefficients)),
                covariance=tuple(tuple(row) for row in result.fit.covariance.tolist()),
                residual_sd=result.fit.residual_sd,
                dof=float(result.dof),
            ),
        ),
        range_N=(min(0.0, result.range_N[0]), result.range_N[1]),
        step=walk.step,
        u_relative=u_shared_N / result.top_N,
        u_shape_N=math.hypot(u_shape_N, result.scatter_N),
        dof_common=None if math.isinf(dof) else dof,
        coverage=coverage_factor(terms),
        gravity_m_per_s2=(walk.gravity or STANDARD).value_m_per_s2,
        u_gravity_m_per_s2=(walk.gravity or STANDARD).u_m_per_s2,
        plates=walk.plates,
        points=tuple(_point(steps, i) for i in range(len(steps))),
        budget=result.budget(),
        note=" ".join(result.warnings),
    )
    check_certificate(certificate)
    return certificate


def hysteresis(steps: Steps) -> float | None:
    """Say how far unloading reads from loading.

    Args:
        steps: the walk.

    Returns:
        Largest difference at one load within one run, as a share of the readings' span; None
        where no load was reached from both sides.
    """

    def openings(indices: list[int]) -> list[float]:
        up = [steps.reading[i] for i in indices if steps.direction[i] > 0]
        down = [steps.reading[i] for i in indices if steps.direction[i] < 0]
        return [abs(float(np.mean(down) - np.mean(up)))] if up and down else []

    return _largest_share(steps, lambda i: (steps.load_N[i], steps.run[i]), openings)


def repeatability(steps: Steps) -> float | None:
    """Say how well a load reads the same again.

    Args:
        steps: the walk.

    Returns:
        Largest spread of readings of one load reached from one side, as a share of the
        readings' span; None where no load was repeated so.
    """

    def spreads(indices: list[int]) -> list[float]:
        again = [float(steps.reading[i]) for i in indices]
        return [max(again) - min(again)] if len(again) > 1 else []

    return _largest_share(steps, lambda i: (steps.load_N[i], steps.direction[i]), spreads)


def _largest_share(
    steps: Steps,
    key: Callable[[int], tuple[float, int]],
    widths: Callable[[list[int]], list[float]],
) -> float | None:
    groups: dict[tuple[float, int], list[int]] = {}
    for i in range(len(steps)):
        groups.setdefault(key(i), []).append(i)
    found = [width for indices in groups.values() for width in widths(indices)]
    span = float(np.ptp(steps.reading))
    return max(found) / span if found and span > 0.0 else None


def _point(steps: Steps, i: int) -> PointRecord:
    return PointRecord(
        force_N=float(steps.load_N[i]),
        readings=(float(steps.reading[i]),),
        plates=steps.plates[i],
        direction=DIRECTION_WORDS[int(steps.direction[i])],
        run=int(steps.run[i]),
    )
