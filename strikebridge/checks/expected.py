"""What a reference must read if nothing has moved since the calibration.

Plates that lay on the cell during the calibration carry the same errors now as then. Where they
lay on it by themselves, the calibration has seen what just these plates read above the empty
cell, and that is what they must read again: their errors, gravity and the shape of the curve
are the same on both sides and cancel. What is left is how well a step repeats,

    u^2 = s^2 (1 / n + 1 / m + 2)

with s the SD of a step within its group, n the steps with these plates, m those with none, and
2 for putting them on and taking them off once more.

Every other reference (another plate, a hanging scale, a resistor) is compared in newtons, with
all that is common in the certificate and all that is not known of the reference. Gravity alone
cancels there, the rig being in the same place, unless the reference is a force.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.budget import rectangular_u, step_u
from strikebridge.calibration.certificate import BudgetTerm
from strikebridge.checks.history import Way
from strikebridge.errors import CheckError
from strikebridge.samples import TimedBlock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Floats

CLUB_TOLERANCE = 0.05
"""Half-width, as a share of its face, of a club plate of which nothing is known (common
practice, no source: they are off by several percent)."""
FEWEST_DOF = 3
"""Degrees of freedom below which the scatter about the whole curve says more."""


@dataclass(frozen=True, slots=True)
class Reference:
    """What the gain is checked with.

    Attributes:
        way: plate, scale, shunt or none.
        load_N: what it weighs, pulls or simulates [N]; 0 for none.
        words: what to call it.
        terms: what is not known of that load.
        is_mass: True where gravity made the load, so that it cancels against the calibration's.
        plates: names of plates of the certificate that it is made of; empty for all others.
    """

    way: Way
    load_N: float = 0.0
    words: str = ""
    terms: tuple[BudgetTerm, ...] = ()
    is_mass: bool = False
    plates: tuple[str, ...] = ()


UNCHECKED = Reference(Way.NONE)
"""No reference: the gain stays unchecked."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What the certificate says that the reference reads.

    Attributes:
        force_N: force above zero, by the certificate [N].
        terms: doubts of that.
        is_same: True where the error of the plates cancelled.
    """

    force_N: float
    terms: tuple[BudgetTerm, ...]
    is_same: bool = False


def plate_reference(
    certificate: Certificate, mass_kg: float, tolerance_kg: float | None
) -> Reference:
    """Take a plate that was not part of the calibration.

    Args:
        certificate: the certificate, whose gravity is used.
        mass_kg: mass on its face [kg], above 0.
        tolerance_kg: half-width of what is known of it [kg]; None for a club plate.

    Returns:
        The reference.
    """
    half_kg = CLUB_TOLERANCE * mass_kg if tolerance_kg is None else tolerance_kg
    g = certificate.gravity_m_per_s2
    term = BudgetTerm("plate", rectangular_u(half_kg * g), shape="rectangular")
    words = f"plate of {mass_kg:g} ± {half_kg:g} kg"
    return Reference(Way.PLATE, mass_kg * g, words, (term,), is_mass=True)


def known_plates(certificate: Certificate, names: Sequence[str]) -> Reference:
    """Take plates that the calibration was made with.

    Args:
        certificate: the certificate.
        names: of the plates, each as often as it lies on.

    Returns:
        The reference.

    Raises:
        CheckError: the certificate knows no such plate.
    """
    plates = {plate.name: plate for plate in certificate.plates}
    unknown = [name for name in names if name not in plates]
    if unknown or not names:
        there = ", ".join(plates) or "none"
        msg = (
            f"The certificate {certificate.id} knows no plate {' or '.join(unknown)}; it was"
            f" made with: {there}. Name one of these, or give the plate's mass in kg."
        )
        raise CheckError(msg)
    g = certificate.gravity_m_per_s2
    mass_kg = sum(plates[name].mass_kg for name in names)
    terms = tuple(
        BudgetTerm(
            f"plate {name}", rectangular_u(plates[name].tolerance_kg * g), shape="rectangular"
        )
        for name in names
    )
    words = f"plate {'+'.join(names)} of {mass_kg:g} kg, from the calibration"
    return Reference(Way.PLATE, mass_kg * g, words, terms, is_mass=True, plates=tuple(names))


def scale_reference(certificate: Certificate, mass_kg: float, u_kg: float) -> Reference:
    """Take a pull along the punch, read off a hanging scale.

    Args:
        certificate: the certificate, whose gravity is used.
        mass_kg: what the scale shows while it is pulled [kg], above 0.
        u_kg: half-width of what is known of that [kg]: its error, and the eye that reads it.

    Returns:
        The reference.
    """
    g = certificate.gravity_m_per_s2
    term = BudgetTerm("scale", rectangular_u(u_kg * g), shape="rectangular")
    words = f"pull of {mass_kg:g} ± {u_kg:g} kg on the scale"
    return Reference(Way.SCALE, mass_kg * g, words, (term,), is_mass=True)


def shunt_reference(load_N: float, half_N: float = 0.0) -> Reference:
    """Take a resistor across one arm of the bridge, which simulates a load.

    Args:
        load_N: the load it simulates [N], above 0.
        half_N: half-width of what is known of that [N].

    Returns:
        The reference.
    """
    term = BudgetTerm("resistor", rectangular_u(half_N), shape="rectangular")
    return Reference(Way.SHUNT, load_N, f"resistor that simulates {load_N:g} N", (term,))


def force_of(calibration: Calibration, reading: Sequence[float]) -> tuple[float, float]:
    """Turn one reading into a force above the certificate's zero.

    Args:
        calibration: how readings become newtons.
        reading: one a cell.

    Returns:
        The force and its common uncertainty [N].

    Raises:
        CalibrationError: another number of cells than the certificate has.
    """
    block = TimedBlock(
        np.zeros(1, dtype=np.int64),
        np.zeros(1),
        np.array([reading]),
        np.zeros(1, dtype=np.uint16),
        1.0,
    )
    force = calibration.feed(block)
    return float(force.force_N[0]), float(force.u_common_N[0])


def expect(certificate: Certificate, reference: Reference) -> Expected:
    """Say what the certificate expects of a reference.

    Args:
        certificate: the certificate.
        reference: what is put on.

    Returns:
        The expected force above zero with its doubts.
    """
    calibration = Calibration.from_certificate(certificate)
    same = _same_plates(certificate, calibration, reference)
    if same is not None:
        return same
    u_N = _u_common_N(certificate, calibration, reference.load_N)
    if reference.is_mass:
        of_gravity = certificate.u_gravity_m_per_s2 / certificate.gravity_m_per_s2
        u_N = math.sqrt(max(0.0, u_N**2 - (of_gravity * reference.load_N) ** 2))
    largest = certificate.budget[0] if certificate.budget else None
    shape = "normal" if largest is None else largest.shape
    term = BudgetTerm("certificate", u_N, shape=shape, dof=certificate.dof_common)
    return Expected(reference.load_N, (term, *reference.terms))


def _u_common_N(certificate: Certificate, calibration: Calibration, load_N: float) -> float:
    # the load shared evenly by the cells
    share_N = load_N / len(certificate.cells)
    reading = [
        float(np.polynomial.polynomial.polyval(share_N, cell.coefficients))
        for cell in certificate.cells
    ]
    return force_of(calibration, reading)[1]


def _same_plates(
    certificate: Certificate, calibration: Calibration, reference: Reference
) -> Expected | None:
    wanted = sorted(reference.plates)
    points = certificate.points if wanted else ()
    on = [point.readings for point in points if sorted(point.plates) == wanted]
    empty = [point.readings for point in points if not point.plates and point.force_N == 0.0]
    cells = len(certificate.cells)
    if not on or not empty or any(len(readings) != cells for readings in (*on, *empty)):
        return None
    loaded_N = np.array([force_of(calibration, readings)[0] for readings in on])
    empty_N = np.array([force_of(calibration, readings)[0] for readings in empty])
    repeat_N, dof = _repeat(certificate, loaded_N, empty_N)
    u_N = repeat_N * math.sqrt(1.0 / len(on) + 1.0 / len(empty) + 2.0)
    term = BudgetTerm("putting them on again", u_N, dof=dof)
    return Expected(float(loaded_N.mean() - empty_N.mean()), (term,), is_same=True)


def _repeat(
    certificate: Certificate, loaded_N: Floats, empty_N: Floats
) -> tuple[float, float | None]:
    """SD of a step of the calibration [N] and its degrees of freedom, None for infinity."""
    dof = len(loaded_N) + len(empty_N) - 2
    squares = sum(float(np.sum((group - group.mean()) ** 2)) for group in (loaded_N, empty_N))
    cells = certificate.cells
    about_curve_N = math.hypot(*(cell.residual_sd / cell.coefficients[1] for cell in cells))
    least_N = math.hypot(*(step_u(certificate.step) / cell.coefficients[1] for cell in cells))
    if dof < FEWEST_DOF:
        # what the curve left of all steps; plates and bends are in it, so it is rather too much
        return max(about_curve_N, least_N), cells[0].dof
    return max(math.sqrt(squares / dof), least_N), float(dof)
