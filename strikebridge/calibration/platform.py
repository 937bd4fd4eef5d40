"""Several cells under one platform: a gain for each, from plates moved from corner to corner.

Nobody knows how a platform shares a plate among its cells, but the shares add up to its weight.
With r_k the readings of the cells, each step is one equation

    W = g_1 r_1 + ... + g_n r_n - c  (+ what the plates are off),

linear in the gains g_k [N a reading] and the constant c. One plate on each corner in turn makes
the equations differ enough to be solved. As in `plates.py` the errors of the plates are further
unknowns with a known spread, so the best linear estimate weighs the steps by
s^2 I + D D' / 3, and its covariance splits into scatter and sources. The readings' noise stands
on the other side of the equation than in a textbook regression; it is some 1e-4 of them, and
what it bends the gains by is the square of that (errors in variables; Fuller, Measurement Error
Models, 1987, 1.1).

Used, a platform reads F = sum of g_k (r_k - z_k). What one cell's gain is wrong by, the others'
make up for, the more so the nearer the load stands to where the plates stood: the doubt of F
needs the covariances of the gains among each other, f' R f with f the forces of the cells and R
the relative covariance. The certificate keeps R.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.apply import HIDDEN_BEND
from strikebridge.calibration.budget import (
    combined_u,
    coverage_factor,
    largest_first,
    rectangular_u,
    step_u,
)
from strikebridge.calibration.certificate import CREEP, BudgetTerm
from strikebridge.calibration.creep import hidden_creep_u
from strikebridge.calibration.plates import plate_sources
from strikebridge.calibration.suspects import odd_step, step_warning
from strikebridge.errors import CalibrationError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.plates import Source
    from strikebridge.calibration.suspects import Suspect
    from strikebridge.calibration.walk import WalkInput
    from strikebridge.samples import Floats

LEAST_DIFFERENT = 0.03
"""Least share of the strongest by which the weakest combination of cells must have been loaded;
below it a gain hangs on scatter alone (corners in turn give 0.3 and more)."""

REPETITIONS = 30
"""The scatter settles to a hundredth of itself within ten."""


@dataclass(frozen=True, slots=True, eq=False)
class Platform:
    """What a walk over a platform found out.

    Attributes:
        zeros: mean reading of each cell without a load, shape (n,).
        u_zeros: their standard uncertainties, shape (n,).
        gains_N: newtons a reading of each cell, shape (n,).
        from_readings: relative covariance of the gains from scatter, shape (n, n).
        from_sources: relative change of the gains with each source at its limit, shape
            (sources, n).
        sources: errors that recur.
        from_creep: relative change of the gains by a creep of the whole load, shape (n,).
        shares: mean share of each cell in the loads of the walk, shape (n,).
        range_N: smallest and largest load [N].
        scatter_N: SD of a step [N].
        dof: its degrees of freedom.
        r_squared: share of the loads' variance that the cells explain.
        u_gravity: relative standard uncertainty of gravity.
        step: smallest step of a reading.
        suspects: what does not fit.
        warnings: sentences for the coach.
    """

    zeros: Floats
    u_zeros: Floats
    gains_N: Floats
    from_readings: Floats
    from_sources: Floats
    sources: tuple[Source, ...]
    from_creep: Floats
    shares: Floats
    range_N: tuple[float, float]
    scatter_N: float
    dof: int
    r_squared: float
    u_gravity: float
    step: float
    suspects: tuple[Suspect, ...]
    warnings: tuple[str, ...]

    @property
    def relative_covariance(self) -> Floats:
        """Relative covariance of the gains from scatter and plates, shape (n, n)."""
        whole: Floats = self.from_readings + self.from_sources.T @ self.from_sources / 3.0
        return whole

    def cells_at(self, readings: Floats) -> Floats:
        """Turn readings into the force of each cell.

        Args:
            readings: one a cell, shape (..., n).

        Returns:
            Forces [N], same shape.
        """
        forces_N: Floats = (readings - self.zeros) * self.gains_N
        return forces_N

    def terms_at(self, cells_N: Floats) -> list[BudgetTerm]:
        """List every doubt of a force, the zero left out, which is tracked in use.

        Args:
            cells_N: force of each cell [N], shape (n,).

        Returns:
            The terms, one for each source.
        """
        force_N = float(np.sum(cells_N))
        gains_N = math.sqrt(max(float(cells_N @ self.from_readings @ cells_N), 0.0))
        steps_N = step_u(self.step) * math.sqrt(float(self.gains_N @ self.gains_N))
        hidden_N = rectangular_u(4.0 * HIDDEN_BEND * self.range_N[1])
        dof = float(self.dof)
        terms = [
            BudgetTerm("readings", gains_N, dof=dof),
            BudgetTerm("one reading", self.scatter_N, common=False, dof=dof),
            BudgetTerm("gravity", abs(force_N) * self.u_gravity),
            BudgetTerm("resolution", steps_N, common=False),
            BudgetTerm("lack of fit", hidden_N),
            BudgetTerm(
                CREEP, hidden_creep_u(float(cells_N @ self.from_creep)), shape="rectangular"
            ),
        ]
        for source, change in zip(self.sources, self.from_sources, strict=True):
            half_N = abs(float(cells_N @ change))
            terms.append(BudgetTerm(source.name, rectangular_u(half_N), shape="rectangular"))
        return terms

    def at(self, readings: Floats) -> tuple[float, float, float]:
        """Turn the readings of one moment into a force.

        Args:
            readings: one a cell, shape (n,).

        Returns:
            Force [N], its standard uncertainty [N], coverage factor for 95 %.
        """
        cells_N = self.cells_at(readings)
        terms = self.terms_at(cells_N)
        return float(np.sum(cells_N)), combined_u(terms), coverage_factor(terms)

    def top_terms(self) -> list[BudgetTerm]:
        """List every doubt of the largest load, shared among the cells as in the walk."""
        return self.terms_at(self.shares * self.range_N[1])

    def budget(self) -> tuple[BudgetTerm, ...]:
        """Show where the doubt at the largest load comes from, largest first.

        Returns:
            The terms; several sources of plates are shown as one.
        """
        terms = self.top_terms()
        names = {source.name for source in self.sources}
        plates = [term for term in terms if term.term in names]
        shape = plates[0].shape if len(plates) == 1 else "normal"
        whole = BudgetTerm("plates", combined_u(plates), shape=shape)
        return largest_first([whole, *(term for term in terms if term.term not in names)])


def analyse_platform(walk: WalkInput, readings: Floats) -> Platform:
    """Find the gain of each cell of a platform.

    Args:
        walk: the steps, plates and gravity; its own readings are not looked at.
        readings: reading of each cell at each step, shape (m, n), n from 2.

    Returns:
        What was found out.

    Raises:
        CalibrationError: no step without a load, too few steps, or cells that were always
            loaded alike.
    """
    steps = walk.steps
    load_N, (count, cells) = steps.load_N, readings.shape
    is_empty = load_N == 0.0
    if not is_empty.any():
        msg = "No step is without a load: read the empty platform as well, with mass 0."
        raise CalibrationError(msg)
    if count < cells + 3:
        msg = (
            f"{count} steps are too few for {cells} cells and their doubt: it needs"
            f" {cells + 3}, the empty platform and one plate on each corner in turn, twice."
        )
        raise CalibrationError(msg)
    zeros = readings[is_empty].mean(axis=0)
    moved = readings - zeros
    scale = float(np.max(np.abs(moved))) or 1.0
    _check_different(moved[~is_empty] / scale)
    sources = [*walk.common]
    if walk.gravity is not None:
        sources += plate_sources(steps, walk.plates, walk.gravity.value_m_per_s2)
    design = np.hstack([moved / scale, -np.ones((count, 1))])
    scatter_N, dof = _scatter(design, sources, load_N)
    columns = _stacked(design, sources, scatter_N)
    weights = np.linalg.pinv(columns, rcond=1e-14)[: cells + 1, :count]
    theta = weights @ load_N
    gains_N = theta[:cells] / scale
    effects = np.array([source.effect_N for source in sources]).reshape(len(sources), count)
    covariance = scatter_N**2 * (weights @ weights.T)[:cells, :cells] / scale**2
    from_readings = covariance / np.outer(gains_N, gains_N)
    _check_felt(from_readings)
    forces_N = moved[~is_empty] * gains_N
    # a reading that says too much leaves the load behind
    known = np.concatenate([-load_N, np.zeros(len(sources))])
    suspects = odd_step(columns, known, steps.labels, float(np.max(load_N)))
    n_empty = int(np.count_nonzero(is_empty))
    left_N = load_N - design @ theta
    return Platform(
        zeros=zeros,
        # as many newtons of scatter for each cell; two readings say nothing of one alone
        u_zeros=scatter_N / np.abs(gains_N) / math.sqrt(cells * n_empty),
        gains_N=gains_N,
        from_readings=from_readings,
        from_sources=(weights @ effects.T)[:cells].T / scale / gains_N,
        sources=tuple(sources),
        from_creep=(weights @ walk.longer_N)[:cells] / scale / gains_N,
        shares=forces_N.sum(axis=0) / forces_N.sum(),
        range_N=(0.0, float(np.max(load_N))),
        scatter_N=scatter_N,
        dof=dof,
        r_squared=1.0 - float(left_N @ left_N) / float(np.var(load_N) * count),
        u_gravity=walk.gravity.u_relative if walk.gravity is not None else 0.0,
        step=walk.step,
        suspects=tuple(suspects),
        warnings=tuple(_remarks(walk, sources, suspects)),
    )


def _stacked(design: Floats, sources: Sequence[Source], scatter_N: float) -> Floats:
    # each source is one more unknown with one more observation: 0 with variance 1/3
    count, unknowns = design.shape
    effects = np.array([source.effect_N for source in sources]).reshape(len(sources), count).T
    prior = math.sqrt(3.0) * scatter_N * np.eye(len(sources))
    return np.vstack(
        [np.hstack([design, -effects]), np.hstack([np.zeros((len(sources), unknowns)), prior])]
    )


def _scatter(design: Floats, sources: Sequence[Source], load_N: Floats) -> tuple[float, int]:
    """Find what of the residuals is no plate's doing, and its degrees of freedom.

    What the plates may explain depends on the scatter and the other way round, so it is found
    by repetition: residual sum of squares over the steps less the trace of their hat matrix.
    """
    count, unknowns = design.shape
    left_N = load_N - design @ np.linalg.lstsq(design, load_N, rcond=None)[0]
    least_N = 1e-9 * float(np.max(load_N))
    scatter_N = max(math.sqrt(float(left_N @ left_N) / (count - unknowns)), least_N)
    known = np.concatenate([load_N, np.zeros(len(sources))])
    room = float(count - unknowns)
    for _ in range(REPETITIONS):
        columns = _stacked(design, sources, scatter_N)
        hat = columns @ np.linalg.pinv(columns, rcond=1e-14)
        left_N = (known - hat @ known)[:count]
        room = max(count - float(np.trace(hat[:count, :count])), 1.0)
        scatter_N = max(math.sqrt(float(left_N @ left_N) / room), least_N)
    return scatter_N, max(round(room), 1)


def _check_different(loaded: Floats) -> None:
    """Refuse loads that never told the cells apart."""
    cells = loaded.shape[1]
    values, combinations = np.linalg.svd(loaded, full_matrices=True)[1:]
    if len(values) == cells and values[-1] >= LEAST_DIFFERENT * values[0]:
        return
    weakest = np.abs(combinations[-1])
    one, other = sorted(int(i) + 1 for i in np.argsort(weakest)[-2:])
    msg = (
        f"Cells {one} and {other} cannot be told apart: they were always loaded alike, or one"
        " not at all. Put one plate on each corner in turn, right above the cell."
    )
    raise CalibrationError(msg)


def _check_felt(from_readings: Floats) -> None:
    for number, variance in enumerate(np.diag(from_readings), start=1):
        if not variance < 1.0 / 9.0:
            msg = (
                f"Cell {number} hardly felt any load. Check its wiring, and put a plate right"
                " above it."
            )
            raise CalibrationError(msg)


def _remarks(
    walk: WalkInput, sources: Sequence[Source], suspects: Sequence[Suspect]
) -> list[str]:
    remarks = [step_warning(suspect) for suspect in suspects]
    if walk.gravity is not None and not sources:
        remarks.append(
            "No tolerance was given: the plates count as exact, and their doubt is missing in"
            " every plus-minus. Add the column tolerance_kg."
        )
    return remarks
