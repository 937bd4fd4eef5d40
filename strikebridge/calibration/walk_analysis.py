"""From the steps of a walk to what it is worth: fit, comparison of the plates, budget."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from strikebridge.calibration.budget import step_u
from strikebridge.calibration.creep import likely_share
from strikebridge.calibration.curve_shape import excess_N, half_loop_N, hidden_bend
from strikebridge.calibration.fit import (
    LOADS_FOR_A_CURVE,
    REFUSED_P,
    Fit,
    bend_p,
    check_enough,
    choose_degree,
    fit_curve,
)
from strikebridge.calibration.plates import (
    JointFit,
    Source,
    Steps,
    fit_jointly,
    plate_sources,
    step_scatter,
)
from strikebridge.calibration.suspects import (
    Suspect,
    compare_plates,
    confounded,
    disagreeing_pair,
    step_warning,
    suspect_plates,
    suspect_points,
)
from strikebridge.calibration.walk import Walk, WalkInput
from strikebridge.errors import CalibrationError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.samples import Floats

LEAST_R_SQUARED = 0.5
"""Below it the line says nothing about the load (a live cell has 0.999)."""
MOSTLY_PLATES = (
    "The plates, not the cell, are most of the doubt: weigh them on a trade scale, or use"
    " competition plates."
)


def analyse_walk(walk: WalkInput, degree: int | None = None) -> Walk:
    """Fit a walk, compare its plates and draw up its budget.

    Args:
        walk: the walk.
        degree: 1 or 2, None to let the points decide.

    Returns:
        What it found out.

    Raises:
        CalibrationError: too few points or loads, or readings that do not follow the loads.
    """
    steps = walk.steps
    check_enough(steps.load_N, degree or 1)
    first = fit_curve(steps.load_N, steps.reading, 1)
    if not first.r_squared > LEAST_R_SQUARED:
        msg = (
            f"The readings do not follow the loads (R squared {first.r_squared:.2f})."
            " Check the wiring, and that the plates hang on the cell alone."
        )
        raise CalibrationError(msg)
    # one newton a newton from here on: plates and scatter are then in newtons
    z_N = (steps.reading - first.coefficients[0]) / first.coefficients[1]
    floor_N = max(
        step_u(walk.step) / abs(float(first.coefficients[1])),
        1e-9 * float(np.max(np.abs(steps.load_N))),
    )
    suspects, warnings, plates = _judge_plates(walk, z_N, floor_N)
    sources = list(walk.common)
    if walk.gravity is not None:
        sources += plate_sources(steps, plates, walk.gravity.value_m_per_s2)
    chosen = degree or _choose(walk, z_N, sources, floor_N)
    plain = fit_curve(steps.load_N, steps.reading, chosen)
    scatter_N, dof = step_scatter(steps, plates, z_N, chosen)
    scatter_N = max(scatter_N, floor_N)
    joint = fit_jointly(steps.load_N, z_N, sources, chosen, scatter_N)
    fit = _with_plates(plain, first, joint, steps, (scatter_N, dof)) if plates else plain
    if fit.slope(0.0) * fit.slope(float(np.max(steps.load_N))) <= 0.0:
        msg = (
            "The fitted curve turns back within the loads, so a reading would mean two forces."
            " Fit a straight line (degree 1), or look at the points again."
        )
        raise CalibrationError(msg)
    bend_N, next_joint = hidden_bend(steps, z_N, sources, joint, scatter_N)
    result = Walk(
        fit=fit,
        joint=joint,
        sources=tuple(sources),
        top_N=float(np.max(np.abs(steps.load_N))),
        range_N=(float(np.min(steps.load_N)), float(np.max(steps.load_N))),
        scatter_N=scatter_N,
        dof=dof,
        bend_N=bend_N,
        next_joint=next_joint,
        excess_N=excess_N(steps, z_N, joint, sources, scatter_N),
        hysteresis_N=half_loop_N(steps, plates, z_N),
        u_gravity=walk.gravity.u_relative if walk.gravity is not None else 0.0,
        step_N=walk.step / abs(float(first.coefficients[1])),
        creep=walk.creep,
        from_creep=joint.weights @ walk.longer_N,
        likely_creep=likely_share(steps, plates, z_N, walk.longer_N),
        suspects=tuple(suspects),
    )
    return replace(result, warnings=(*warnings, *_remarks(walk, result)))


def _judge_plates(
    walk: WalkInput, z_N: Floats, floor_N: float
) -> tuple[list[Suspect], list[str], tuple[PlateRecord, ...]]:
    plates = list(walk.plates)
    suspects: list[Suspect] = []
    warnings: list[str] = []
    if len(plates) > 1:
        scatter_N = max(step_scatter(walk.steps, plates, z_N, 1)[0], floor_N)
        errors, covariance = compare_plates(walk.steps, plates, z_N, scatter_N)
        for one, other in confounded(plates, covariance):
            warnings.append(
                f"Plates {one} and {other} cannot be told apart:"
                f" lift {one} once more without {other}."
            )
        difference = disagreeing_pair(plates, errors, covariance)
        if difference is not None:
            warnings.append(
                f"Plates {plates[0].name} and {plates[1].name} contradict each other by"
                f" {abs(difference) * 100:.1f} %; a third plate would show which one is wrong."
            )
        kept = list(range(len(plates)))
        while found := suspect_plates(
            [plates[i] for i in kept], errors[kept], covariance[np.ix_(kept, kept)]
        ):
            suspects += found
            kept = [i for i in kept if plates[i].name != found[0].name]
    if not suspects:
        suspects = suspect_points(walk.steps, walk.plates, z_N)
    warnings += [step_warning(suspect) for suspect in suspects]
    widened = [_widened(plate, suspects) for plate in plates]
    return suspects, warnings, tuple(widened)


def _widened(plate: PlateRecord, suspects: Sequence[Suspect]) -> PlateRecord:
    # what a plate was caught at counts as its tolerance, and as nobody else's
    for suspect in suspects:
        if suspect.kind == "plate" and suspect.name == plate.name:
            tolerance_kg = max(plate.tolerance_kg, abs(suspect.off_kg))
            return msgspec.structs.replace(plate, tolerance_kg=tolerance_kg, make="")
    return plate


def _choose(walk: WalkInput, z_N: Floats, sources: Sequence[Source], floor_N: float) -> int:
    load_N = walk.steps.load_N
    if choose_degree(load_N, z_N) == 1 or not walk.plates:
        return choose_degree(load_N, z_N)
    # the bend must also be more than the plates can feign
    scatter_N, dof = step_scatter(walk.steps, walk.plates, z_N, 2)
    scatter_N = max(scatter_N, floor_N)
    joint = fit_jointly(load_N, z_N, sources, 2, scatter_N)
    bend = fit_curve(load_N, z_N, 2)
    seen = replace(
        bend, coefficients=joint.beta, covariance=joint.covariance(scatter_N), dof=dof
    )
    return 2 if bend_p(seen) < REFUSED_P else 1


def _with_plates(
    plain: Fit, first: Fit, joint: JointFit, steps: Steps, scatter: tuple[float, int]
) -> Fit:
    # the joint fit in the units of the reading; R squared and lack of fit are the plain one's
    scatter_N, dof = scatter
    degree = plain.degree
    c0, c1 = first.coefficients
    back = float(np.max(np.abs(steps.load_N))) ** -np.arange(degree + 1.0)
    coefficients = joint.beta * c1 * back
    coefficients[0] += c0
    powers = steps.load_N[:, np.newaxis] ** np.arange(degree + 1)
    return replace(
        plain,
        coefficients=coefficients,
        covariance=joint.from_readings * (scatter_N * c1) ** 2 * np.outer(back, back),
        residual_sd=scatter_N * abs(float(c1)),
        dof=dof,
        residuals=steps.reading - powers @ coefficients,
    )


def _remarks(walk: WalkInput, result: Walk) -> list[str]:
    remarks = []
    lack = result.fit.lack_of_fit
    if lack is not None and lack.p < REFUSED_P and not walk.plates:
        few = len(np.unique(walk.steps.load_N)) < LOADS_FOR_A_CURVE
        advice = "Use at least six different loads." if few else "Look at the points again."
        remarks.append(
            f"The curve of degree {result.fit.degree} does not follow the points"
            f" (lack of fit F = {lack.F:.3g}, chance {lack.p:.2g}). {advice}"
        )
    if walk.gravity is not None and not result.sources:
        remarks.append(
            "No tolerance was given: the plates count as exact, and their doubt is missing in"
            " every plus-minus. Add the column tolerance_kg."
        )
    if walk.common:
        remarks.append(
            "Which plates lay on the cell was not said, so their errors count as one that is"
            " common to all steps. The column plates would tell them apart."
        )
    terms = result.budget()
    if terms and terms[0].term == "plates" and terms[0].u_N > 0.005 * result.top_N:
        remarks.append(MOSTLY_PLATES)
    return remarks
