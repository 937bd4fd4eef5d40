"""The certificate: what a calibration found out.

It is kept as one JSON document (`certificate_file.py`), readable by a person, with the name and
version of its schema and a hash of its content. The id is the beginning of that hash: a
recording and every result name it, so a newer calibration never changes what an old recording
meant.

The fit is reading = c0 + c1 F (+ c2 F^2), a reading as a function of the load, because the load
is what was set and the reading what scattered; it is inverted for use (`apply.py`).
"""

from __future__ import annotations

import hashlib
import json
import math
from datetime import datetime
from typing import Literal

import msgspec
import numpy as np

from strikebridge.errors import CalibrationError
from strikebridge.samples import Quantity
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2

ID_DIGITS = 12
"""Hexadecimal digits of the id: 48 bits, no chance meeting among one club's certificates."""

CREEP = "creep"
"""Term of the budget for what a walk reads otherwise than a hold because the cell gives way."""
OF_PLATFORMS = ("between_cells", "places_mm")
RECALIBRATE = "Calibrate again, or take the file from a backup"


class Cell(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The fitted curve of one cell.

    Attributes:
        coefficients: c0 [reading], c1 [reading/N] and, for degree 2, c2 [reading/N^2].
        covariance: their covariance matrix from the scatter of the readings, same order.
        residual_sd: SD of the readings about the curve [reading].
        dof: degrees of freedom of that SD; None means infinitely many (nothing was estimated).
    """

    coefficients: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    residual_sd: float = 0.0
    dof: float | None = None

    @property
    def degree(self) -> int:
        """Degree of the curve, 1 or 2."""
        return len(self.coefficients) - 1


class PlateRecord(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One plate that lay on the cell.

    Attributes:
        name: what the coach calls it.
        mass_kg: mass on its face [kg].
        tolerance_kg: half-width of the interval its mass lies in [kg].
        make: plates of one make share their error; empty for a plate of its own.
    """

    name: str
    mass_kg: float
    tolerance_kg: float
    make: str = ""


class PointRecord(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One step of the plate walk.

    Attributes:
        force_N: load [N].
        readings: mean reading of each cell.
        plates: names of the plates on the cell.
        direction: `up`, `down` or empty where it was not said.
        run: number of the walk up and down, from 1.
    """

    force_N: float
    readings: tuple[float, ...]
    plates: tuple[str, ...] = ()
    direction: Literal["up", "down", ""] = ""
    run: int = 1


class BudgetTerm(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One source of doubt, as it was at the largest calibrated load.

    Attributes:
        term: plain words.
        u_N: standard uncertainty [N].
        common: True where the error is the same in every reading of this certificate.
        shape: `normal` or `rectangular`.
        dof: degrees of freedom, None for infinitely many.
    """

    term: str
    u_N: float
    common: bool = True
    shape: Literal["normal", "rectangular"] = "normal"
    dof: float | None = None


class Certificate(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A calibration of one board with its cells.

    Attributes:
        made_at: when, RFC 3339 with offset.
        made_by: who; may be empty.
        board: what the board said of itself, in words.
        address: where it was plugged in.
        quantity: what its readings are.
        cells: one fitted curve a channel.
        range_N: smallest and largest calibrated load [N].
        rating_N: rated load of one cell [N], None where it was not said.
        step: smallest step of a reading (1 for counts).
        u_relative: relative standard uncertainty common to all loads (plates, gravity).
        u_shape_N: standard uncertainty of the curve's shape (lack of fit, hysteresis, creep,
            repeatability) at the largest calibrated load [N].
        dof_common: effective degrees of freedom of the common part, None for infinitely many.
        coverage: factor k that makes the common part an expanded uncertainty of 95 %.
        gravity_m_per_s2: local gravity that turned plates into newtons [m/s2].
        u_gravity_m_per_s2: its standard uncertainty [m/s2].
        plates: the plates that were used.
        points: the steps that were taken.
        budget: where the uncertainty comes from, largest first.
        note: anything the coach wants to keep.
        between_cells: relative covariance of the gains of several cells, plates included, one
            row a cell; empty for one cell, and where the cells share one gain.
        places_mm: where each cell stands, x and y [mm]; empty where it was not said.
    """

    made_at: str
    made_by: str = ""
    board: str = ""
    address: str = ""
    quantity: Quantity = Quantity.COUNT
    cells: tuple[Cell, ...]
    range_N: tuple[float, float]
    rating_N: float | None = None
    step: float = 1.0
    u_relative: float = 0.0
    u_shape_N: float = 0.0
    dof_common: float | None = None
    coverage: float = 2.0
    gravity_m_per_s2: float = STANDARD_GRAVITY_M_PER_S2
    u_gravity_m_per_s2: float = 0.0
    plates: tuple[PlateRecord, ...] = ()
    points: tuple[PointRecord, ...] = ()
    budget: tuple[BudgetTerm, ...] = ()
    note: str = ""
    between_cells: tuple[tuple[float, ...], ...] = ()
    places_mm: tuple[tuple[float, float], ...] = ()

    @property
    def content_sha256(self) -> str:
        """SHA-256 of the canonical content, 64 hexadecimal digits."""
        return hashlib.sha256(_canonical(self)).hexdigest()

    @property
    def id(self) -> str:
        """Name of the certificate: the beginning of its hash."""
        return self.content_sha256[:ID_DIGITS]


def plain_certificate(
    gain_N_per_reading: float,
    zero_reading: float,
    *,
    made_at: str,
    range_N: tuple[float, float],
    u_relative: float = 0.0,
    channels: int = 1,
) -> Certificate:
    """Make a straight-line certificate without a plate walk, for a board whose gain is known.

    `msgspec.structs.replace` adds what else is known (board, rating, quantity).

    Args:
        gain_N_per_reading: newtons a step of the reading; negative where it falls under load.
        zero_reading: reading of the unloaded cell.
        made_at: when the gain became known, RFC 3339 with offset.
        range_N: smallest and largest load for which it is known [N].
        u_relative: relative standard uncertainty of the gain.
        channels: cells of this same gain and zero.

    Returns:
        The certificate.

    Raises:
        CalibrationError: the gain is zero or something is not a finite number.
    """
    if gain_N_per_reading == 0.0 or not math.isfinite(gain_N_per_reading):
        msg = (
            f"A gain of {gain_N_per_reading:g} N per reading turns no reading into a force."
            " Give a gain that is a number other than zero."
        )
        raise CalibrationError(msg)
    cell = Cell((zero_reading, 1.0 / gain_N_per_reading), ((0.0, 0.0), (0.0, 0.0)))
    certificate = Certificate(
        made_at=made_at, range_N=range_N, u_relative=u_relative, cells=(cell,) * channels
    )
    check_certificate(certificate)
    return certificate


def plain_values(certificate: Certificate) -> dict[str, object]:
    """Give the content that the hash is of, as plain values.

    Args:
        certificate: the certificate.

    Returns:
        A new dict of strings, numbers, lists and dicts.
    """
    # once through the types, so that a caller's whole number 500 and the file's 500.0 are one
    typed = msgspec.convert(msgspec.to_builtins(certificate), Certificate)
    plain: dict[str, object] = msgspec.to_builtins(typed)
    # what only platforms have is left out elsewhere: older certificates keep their hash
    return {key: value for key, value in plain.items() if value or key not in OF_PLATFORMS}


def check_certificate(certificate: Certificate) -> None:
    """Refuse figures that no calibration can have.

    Args:
        certificate: the certificate.

    Raises:
        CalibrationError: says which figure is impossible.
    """
    if not certificate.cells:
        _refuse("it describes no cell")
    if not _is_moment(certificate.made_at):
        _refuse("its date is not of the form 2026-03-01T18:30:00+01:00")
    low_N, high_N = certificate.range_N
    if not (math.isfinite(low_N) and math.isfinite(high_N) and low_N < high_N):
        _refuse("its range of loads does not rise")
    doubts = {
        "step": certificate.step,
        "u_relative": certificate.u_relative,
        "u_shape_N": certificate.u_shape_N,
        "coverage": certificate.coverage,
        "gravity_m_per_s2": certificate.gravity_m_per_s2,
        "u_gravity_m_per_s2": certificate.u_gravity_m_per_s2,
        "rating_N": 0.0 if certificate.rating_N is None else certificate.rating_N,
    }
    for name, value in doubts.items():
        if not (math.isfinite(value) and value >= 0.0):
            _refuse(f"its {name} is {value}")
    for number, cell in enumerate(certificate.cells, start=1):
        _check_cell(cell, f"cell {number}", (min(low_N, 0.0), high_N))
    _check_platform(certificate)
    _check_lists(certificate)


def _check_cell(cell: Cell, which: str, range_N: tuple[float, float]) -> None:
    size = len(cell.coefficients)
    if size not in (2, 3):
        _refuse(f"{which} has {size} coefficients instead of 2 or 3")
    if len(cell.covariance) != size or any(len(row) != size for row in cell.covariance):
        _refuse(f"the covariance of {which} is not {size} by {size}")
    figures = [
        *cell.coefficients,
        cell.residual_sd,
        *(v for row in cell.covariance for v in row),
    ]
    if not all(map(math.isfinite, figures)):
        _refuse(f"{which} holds a figure that is not a number")
    if any(cell.covariance[i][i] < 0.0 for i in range(size)) or cell.residual_sd < 0.0:
        _refuse(f"{which} has a negative variance")
    slopes = np.polynomial.polynomial.polyval(
        np.array(range_N), np.polynomial.polynomial.polyder(np.array(cell.coefficients))
    )
    if not (np.all(slopes > 0.0) or np.all(slopes < 0.0)):
        _refuse(f"the reading of {which} does not change steadily with the load")


def _check_platform(certificate: Certificate) -> None:
    cells, between = len(certificate.cells), certificate.between_cells
    if between and (len(between) != cells or any(len(row) != cells for row in between)):
        _refuse(f"the covariance between its cells is not {cells} by {cells}")
    if certificate.places_mm and len(certificate.places_mm) != cells:
        _refuse(f"it has {len(certificate.places_mm)} places for {cells} cells")
    figures = [value for row in (*between, *certificate.places_mm) for value in row]
    if not all(map(math.isfinite, figures)):
        _refuse("a covariance between its cells or a place is not a number")
    if any(between[i][i] < 0.0 for i in range(len(between))):
        _refuse("a cell has a negative variance")


def _check_lists(certificate: Certificate) -> None:
    figures = [
        *(value for p in certificate.points for value in (p.force_N, *p.readings)),
        *(value for p in certificate.plates for value in (p.mass_kg, p.tolerance_kg)),
        *(term.u_N for term in certificate.budget),
        *(dof for dof in _all_dof(certificate) if dof is not None),
    ]
    if not all(map(math.isfinite, figures)):
        _refuse("a point, a plate or a term of its budget is not a number")
    if any(dof is not None and dof <= 0.0 for dof in _all_dof(certificate)):
        _refuse("it has no degrees of freedom left")


def _all_dof(certificate: Certificate) -> list[float | None]:
    return [
        certificate.dof_common,
        *(cell.dof for cell in certificate.cells),
        *(term.dof for term in certificate.budget),
    ]


def _refuse(why: str) -> None:
    msg = f"The certificate cannot be used: {why}. {RECALIBRATE}."
    raise CalibrationError(msg)


def _is_moment(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def _canonical(certificate: Certificate) -> bytes:
    # keys sorted, no spaces, shortest round-trip floats: one content, one text
    return json.dumps(
        plain_values(certificate), sort_keys=True, separators=(",", ":"), allow_nan=False
    ).encode()
