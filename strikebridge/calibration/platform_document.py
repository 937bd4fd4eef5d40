"""What a walk over a platform found out, as plain values for JSON and as a certificate."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.budget import (
    combined_u,
    coverage_factor,
    effective_dof,
    t_factor,
)
from strikebridge.calibration.centre import centre_of_pressure
from strikebridge.calibration.certificate import (
    CREEP,
    Cell,
    Certificate,
    PointRecord,
    check_certificate,
)
from strikebridge.calibration.gravity import STANDARD
from strikebridge.calibration.plates import DIRECTION_WORDS
from strikebridge.calibration.platform import Platform, analyse_platform
from strikebridge.errors import CalibrationError, FormatError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.points import Points
    from strikebridge.calibration.walk import WalkInput
    from strikebridge.samples import Floats

Places = tuple[tuple[float, float], ...]


def analyse_platform_points(points: Points, walk: WalkInput) -> Platform:
    """Analyse the walk over a platform that a table holds.

    Args:
        points: the table, with the readings of several cells.
        walk: the walk that `walk_of_points` made of it.

    Returns:
        What it found out.

    Raises:
        FormatError: the table does not carry the gains; names lines and column.
    """
    try:
        return analyse_platform(walk, points.readings)
    except CalibrationError as error:
        last = points.rows[-1].line
        msg = f"Lines up to {last}, columns reading_1 to reading_{points.channels}: {error}"
        raise FormatError(msg, line=last, column="reading_1") from error


def platform_document(
    platform: Platform, readings: Floats, at: Sequence[Sequence[float]], places_mm: Places
) -> dict[str, object]:
    """Write down what was found out.

    Args:
        platform: what was found out.
        readings: readings of the cells at each step, shape (m, n).
        at: readings to turn into forces, each one a cell.
        places_mm: where each cell stands [mm], empty where nobody said.

    Returns:
        Plain values, with the keys of one cell's document; `coefficients` and `covariance` are
        null, because each cell has its own in `cells`, and residuals are in newtons.
    """
    relative = platform.relative_covariance
    found = []
    for row in at:
        force_N, u_N, k = platform.at(np.array(row))
        found.append(
            {"reading": list(row), "force_N": force_N, "u95_N": k * u_N}
            | centre_values(platform, np.array(row), places_mm)
        )
    return {
        "degree": 1,
        "coefficients": None,
        "covariance": None,
        "cells": [
            {
                "zero": {"value": float(zero), "u": float(u_zero)},
                "gain_N_per_reading": {
                    "value": float(gain_N),
                    "u": abs(float(gain_N)) * math.sqrt(float(relative[i, i])),
                },
            }
            for i, (zero, u_zero, gain_N) in enumerate(
                zip(platform.zeros, platform.u_zeros, platform.gains_N, strict=True)
            )
        ],
        "relative_covariance": relative.tolist(),
        "residual_sd": platform.scatter_N,
        "dof": platform.dof,
        "r_squared": platform.r_squared,
        "lack_of_fit": None,
        "hysteresis": None,
        "repeatability": None,
        "range_N": list(platform.range_N),
        "suspects": [
            {suspect.kind: suspect.name, "off_kg": suspect.off_kg, "chance": suspect.chance}
            for suspect in platform.suspects
        ],
        "warnings": list(platform.warnings),
        "budget": [
            {"term": term.term, "u_N": term.u_N, "common": term.common}
            for term in platform.budget()
        ],
        "at": found,
        "centres": [centre_values(platform, row, places_mm) for row in readings]
        if places_mm
        else None,
    }


def centre_values(
    platform: Platform, readings: Floats, places_mm: Places
) -> dict[str, list[float] | None]:
    """Find the centre of pressure of one moment.

    Args:
        platform: what was found out.
        readings: one a cell, shape (n,).
        places_mm: where each cell stands [mm], empty where nobody said.

    Returns:
        `centre_mm` and its `centre_u95_mm`, x and y; None both where the force is too small;
        empty without places.
    """
    if not places_mm:
        return {}
    # the scatter of a step is that of the sum; each cell has as many newtons of it
    noise_N = platform.scatter_N / math.sqrt(len(readings))
    own_N = np.hypot(noise_N, platform.u_zeros * np.abs(platform.gains_N))
    cells_N = platform.cells_at(readings)
    relative = platform.relative_covariance
    centre = centre_of_pressure(cells_N, np.array(places_mm), relative, own_N)
    if centre is None:
        return {"centre_mm": None, "centre_u95_mm": None}
    k = t_factor(float(platform.dof))
    return {
        "centre_mm": [centre.x_mm, centre.y_mm],
        "centre_u95_mm": [k * centre.u_x_mm, k * centre.u_y_mm],
    }


def platform_certificate(
    walk: WalkInput, platform: Platform, readings: Floats, places_mm: Places, made_at: str
) -> Certificate:
    """Make a certificate for several cells; `msgspec.structs.replace` adds the rest.

    Args:
        walk: the walk.
        platform: what it found out.
        readings: readings of the cells at each step, shape (m, n).
        places_mm: where each cell stands [mm], empty where nobody said.
        made_at: when, RFC 3339 with offset.

    Returns:
        The certificate. The doubt of the plates is in the covariance between the cells.
    """
    terms = platform.top_terms()
    dof = effective_dof(terms)
    relative = platform.relative_covariance
    slopes = 1.0 / platform.gains_N
    shape_N = combined_u([term for term in terms if term.term in ("lack of fit", CREEP)])
    steps = walk.steps
    certificate = Certificate(
        made_at=made_at,
        cells=tuple(
            Cell(
                coefficients=(float(platform.zeros[i]), float(slopes[i])),
                covariance=(
                    (float(platform.u_zeros[i] ** 2), 0.0),
                    (0.0, float(relative[i, i] * slopes[i] ** 2)),
                ),
                residual_sd=platform.scatter_N * abs(float(slopes[i])),
                dof=float(platform.dof),
            )
            for i in range(len(slopes))
        ),
        range_N=platform.range_N,
        step=walk.step,
        u_relative=platform.u_gravity,
        u_shape_N=math.hypot(shape_N, platform.scatter_N),
        dof_common=None if math.isinf(dof) else dof,
        coverage=coverage_factor(terms),
        gravity_m_per_s2=(walk.gravity or STANDARD).value_m_per_s2,
        u_gravity_m_per_s2=(walk.gravity or STANDARD).u_m_per_s2,
        plates=walk.plates,
        points=tuple(
            PointRecord(
                force_N=float(steps.load_N[i]),
                readings=tuple(map(float, readings[i])),
                plates=steps.plates[i],
                direction=DIRECTION_WORDS[int(steps.direction[i])],
                run=int(steps.run[i]),
            )
            for i in range(len(steps))
        ),
        budget=platform.budget(),
        note=" ".join(platform.warnings),
        between_cells=tuple(tuple(map(float, row)) for row in relative),
        places_mm=places_mm,
    )
    check_certificate(certificate)
    return certificate
