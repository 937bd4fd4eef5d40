"""Readings to newtons, with what is known about their doubt.

The certificate says reading = c0 + c1 F (+ c2 F^2); here that is solved for F, cell by cell,
and the cells are summed. The zero of the certificate is only where tracking begins: a rig that
was hung up after its calibration reads the weight of its pad, and the detector takes that away.
So the doubt of the zero is left out here (it is the detector's) and what remains grows with the
load.

Two parts stay apart. `u_own_N` is new with every sample: the step of the reading,
d / (2 sqrt 3) (JCGM 100:2008, 4.3.7). `u_common_N` is the same mistake in every sample of one
certificate: gain with its covariance, plates and gravity, and the shape of the curve. With
s = dr/dF = c1 + 2 c2 F and V the covariance of (c1, c2) (JCGM 100:2008, 5.2.2 and H.3):

    u_fit^2    = (V11 F^2 + 2 V12 F^3 + V22 F^4) / s^2
    u_shape    = u_shape_N min(1, 4 x),  x = |F| / largest calibrated load;  x^2 where x > 1
    u_common^2 = sum over cells of u_fit^2 + (u_relative F)^2 + u_shape^2

Where the certificate has the covariance between the gains of several cells, R, the sum over
cells is f' R f with f their forces (`platform.py`).

The shape (bend, hysteresis, repeatability) is nothing at zero, which is tracked, and whole from
a quarter of the range on (inference). Above the largest calibrated load nothing was seen of the
curve: a bend that could hide at that load grows with its square, hence x^2 there (inference).
"""

from __future__ import annotations

import copy
import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.certificate import CREEP
from strikebridge.errors import CalibrationError
from strikebridge.samples import Flag, Flags, Floats, ForceBlock, Quantity, TimedBlock
from strikebridge.units import POUND_KG, STANDARD_GRAVITY_M_PER_S2

if TYPE_CHECKING:
    from strikebridge.calibration.certificate import Certificate

BY_HAND = "by hand"
NEWTONS_PER_QUANTITY: dict[Quantity, float] = {
    Quantity.N: 1.0,
    Quantity.KG: STANDARD_GRAVITY_M_PER_S2,
    Quantity.G: STANDARD_GRAVITY_M_PER_S2 / 1000.0,
    Quantity.LB: POUND_KG * STANDARD_GRAVITY_M_PER_S2,
}
HIDDEN_BEND = 0.0005
"""Bend, as a share of the largest calibrated load, that a cheap cell may hide there (data-sheet
non-linearity of cheap bars 0.03 to 0.05 % of rated output; value from memory)."""
_BAD = np.uint16(Flag.BAD_WORD)
_FAR = np.uint16(Flag.EXTRAPOLATED)
_OVER = np.uint16(Flag.OVER_RATING)


class Calibration:
    """Turn timed readings into forces; holds no state, so any block size gives the same.

    Attributes:
        id: id of the certificate, `by hand`, or None where readings already are forces.
        rating_N: what the rig is rated for, the ratings of its cells added up [N], or None.
        cell_rating_N: what one cell is rated for [N], infinity where nobody said.
        quantity: what the readings must be, or None where nothing was said.
        channels: cells it knows, or None where any number will do.
        dof_common: effective degrees of freedom of the common part.
        has_creep: True where the common part holds the creep of the cell, so that a hold need
            not count it again.
        certificate: the certificate itself, or None.
    """

    def __init__(
        self, certificate: Certificate | None, gain_N_per_reading: float, zero: float
    ) -> None:
        """Prepare; use one of the class methods instead.

        Args:
            certificate: the certificate, or None for a plain gain.
            gain_N_per_reading: plain gain [N/reading], unused with a certificate.
            zero: reading of the unloaded cell, unused with a certificate.
        """
        self.certificate = certificate
        self.id: str | None = None
        self.quantity: Quantity | None = None
        self.channels: int | None = None
        self.rating_N: float | None = None
        self.dof_common = math.inf
        self.has_creep = False
        self._is_curved = False
        self.cell_rating_N = math.inf
        self._high_N = math.inf
        self._u_relative = 0.0
        self._u_shape_N = 0.0
        self._u_common_per_N = 0.0
        self._u_own_N = 0.0
        self._u_own_block: Floats = np.empty(0)
        self._zero: Floats = np.array([zero])
        self._gain: Floats = np.array([gain_N_per_reading])
        self._slope: Floats = 1.0 / self._gain
        self._bend: Floats = np.zeros(1)
        self._covariance: Floats = np.zeros((1, 3, 3))
        self._between: Floats | None = None
        if certificate is not None:
            self._take(certificate)
        self._zero_alone, self._gain_alone = float(self._zero[0]), float(self._gain[0])

    def _take(self, certificate: Certificate) -> None:
        cells = certificate.cells
        self.id = certificate.id
        self.quantity = certificate.quantity
        self.channels = len(cells)
        self.dof_common = math.inf if certificate.dof_common is None else certificate.dof_common
        self.has_creep = any(
            term.term == CREEP and term.u_N > 0.0 for term in certificate.budget
        )
        if certificate.rating_N is not None:
            self.cell_rating_N = certificate.rating_N
            self.rating_N = certificate.rating_N * len(cells)
        self._high_N = max(map(abs, certificate.range_N))
        self._u_relative = certificate.u_relative
        self._u_shape_N = certificate.u_shape_N
        self._zero = np.array([cell.coefficients[0] for cell in cells])
        self._slope = np.array([cell.coefficients[1] for cell in cells])
        self._bend = np.array([(*cell.coefficients, 0.0)[2] for cell in cells])
        self._is_curved = bool(self._bend.any())
        self._gain = 1.0 / self._slope
        self._covariance = np.zeros((len(cells), 3, 3))
        for matrix, cell in zip(self._covariance, cells, strict=True):
            size = len(cell.coefficients)
            matrix[:size, :size] = cell.covariance
        if certificate.between_cells:
            self._between = np.array(certificate.between_cells)
        steps_N = certificate.step / (2.0 * math.sqrt(3.0)) * self._gain
        self._u_own_N = math.sqrt(float(steps_N @ steps_N))
        # for one straight cell gain and plates are proportional to the load
        self._u_common_per_N = math.hypot(
            math.sqrt(self._covariance[0, 1, 1]) / float(self._slope[0]),
            certificate.u_relative,
        )

    @classmethod
    def from_certificate(
        cls, certificate: Certificate, quantity: Quantity | None = None
    ) -> Calibration:
        """Use a certificate.

        Args:
            certificate: the certificate.
            quantity: what the board's readings are, or None where that is not yet known.

        Raises:
            CalibrationError: the certificate is for readings of another kind.
        """
        if quantity is not None and quantity is not certificate.quantity:
            msg = (
                f"The certificate {certificate.id} is for readings in {certificate.quantity},"
                f" this board sends {quantity}. Choose the certificate of this board, or"
                " calibrate it."
            )
            raise CalibrationError(msg)
        return cls(certificate, 1.0, 0.0)

    @classmethod
    def by_hand(cls, gain_N_per_count: float, zero_counts: float = 0.0) -> Calibration:
        """Use a plain gain that is taken as exact; each cell has the same.

        Args:
            gain_N_per_count: newtons a count; negative where counts fall under load.
            zero_counts: reading of the unloaded cell, where the tracking of zero begins.

        Raises:
            CalibrationError: the gain is zero, or one of the two is not a finite number.
        """
        if gain_N_per_count == 0.0 or not math.isfinite(gain_N_per_count):
            msg = (
                f"A gain of {gain_N_per_count:g} N per count turns no reading into a force."
                " Give a number other than zero."
            )
            raise CalibrationError(msg)
        if not math.isfinite(zero_counts):
            msg = f"A zero of {zero_counts:g} counts is no reading. Give a finite number."
            raise CalibrationError(msg)
        plain = cls(None, gain_N_per_count, zero_counts)
        plain.id = BY_HAND
        return plain

    @classmethod
    def of_quantity(cls, quantity: Quantity) -> Calibration:
        """Take readings that already are forces or masses at their word.

        Args:
            quantity: N, kg, g or lb; masses become the weight standard gravity gives them.

        Raises:
            CalibrationError: raw counts, or a unit that is not known.
        """
        if quantity is Quantity.COUNT:
            msg = (
                "The readings are raw counts, which are no force yet. Give a certificate, or"
                " a gain in newtons per count."
            )
            raise CalibrationError(msg)
        if quantity is Quantity.UNKNOWN:
            msg = (
                "The unit of the readings is not known."
                " Say whether the board sends N, kg, g or lb, or give a certificate."
            )
            raise CalibrationError(msg)
        plain = cls(None, NEWTONS_PER_QUANTITY[quantity], 0.0)
        plain.quantity = quantity
        return plain

    def rated(self, cell_rating_N: float) -> Calibration:
        """Give the same calibration with another rating.

        Args:
            cell_rating_N: what one cell is rated for [N].

        Returns:
            A new one; this one is unchanged.
        """
        other = copy.copy(self)
        other.cell_rating_N = cell_rating_N
        other.rating_N = cell_rating_N * (self.channels or 1)
        return other

    def feed(self, block: TimedBlock) -> ForceBlock:
        """Calibrate one block.

        Args:
            block: readings with times, shape (n, channels).

        Returns:
            The forces; NaN where the reading was a glitch.

        Raises:
            CalibrationError: the board sends another number of cells than were calibrated.
        """
        channels = block.counts.shape[1]
        if self.channels is not None and channels != self.channels:
            self._refuse_channels(channels)
        alone = self._feed_one(block) if block.counts.shape == (1, 1) else None
        return self._feed_many(block) if alone is None else alone

    def _feed_many(self, block: TimedBlock) -> ForceBlock:
        channels = block.counts.shape[1]
        if self._is_curved:
            cells_N = self._solve(block.counts)
        else:
            cells_N = (block.counts - self._zero) * self._gain
        flags = block.flags
        if np.count_nonzero(flags):
            cells_N[(flags & _BAD) != 0] = np.nan
        force_N = cells_N[:, 0] if channels == 1 else cells_N.sum(axis=1)
        size_N = np.abs(force_N)
        # fmax passes over NaN without a warning; an empty block has no largest force
        most_N = np.fmax.reduce(size_N, initial=0.0)
        u_common_N = size_N * self._u_common_per_N
        if self._is_curved or channels > 1:
            u_common_N = self._u_common(cells_N, size_N)
        if self._u_shape_N > 0.0:
            shape_N = self._u_shape_N * np.fmin(size_N * (4.0 / self._high_N), 1.0)
            u_common_N = np.sqrt(u_common_N**2 + shape_N**2)
        if most_N > self._high_N:
            u_common_N, flags = self._widen(size_N, u_common_N, flags)
        if channels > 1:
            most_N = np.fmax.reduce(np.abs(cells_N), axis=None, initial=0.0)
        if most_N > self.cell_rating_N:
            is_over = (np.abs(cells_N) > self.cell_rating_N).any(axis=1)
            flags = np.where(is_over, flags | _OVER, flags)
        return ForceBlock(
            block.number,
            block.time_s,
            force_N,
            cells_N,
            self._own(len(force_N)),
            u_common_N,
            flags,
            block.rate_hz,
            self.id,
            self.dof_common,
        )

    def _feed_one(self, block: TimedBlock) -> ForceBlock | None:
        """Calibrate a reading that came alone, as they do live, at a fraction of the cost.

        Returns:
            What `feed` would say of it; None where it takes a closer look.
        """
        force_N = (float(block.counts[0, 0]) - self._zero_alone) * self._gain_alone
        size_N = abs(force_N)
        if (
            self._is_curved
            or block.flags[0]
            or not size_N <= min(self._high_N, self.cell_rating_N)
        ):
            return None
        u_common_N = size_N * self._u_common_per_N
        if self._u_shape_N > 0.0:
            shape_N = self._u_shape_N * min(size_N * (4.0 / self._high_N), 1.0)
            u_common_N = math.sqrt(u_common_N * u_common_N + shape_N * shape_N)
        cells_N = np.array(((force_N,),))
        return ForceBlock(
            block.number,
            block.time_s,
            cells_N[:, 0],
            cells_N,
            self._own(1),
            np.array((u_common_N,)),
            block.flags,
            block.rate_hz,
            self.id,
            self.dof_common,
        )

    def _solve(self, counts: Floats) -> Floats:
        # The root that tends to the straight line as the bend goes to 0, without cancellation.
        # Past the vertex no force gives such a reading: the root is held at 0, so the force
        # still grows with the reading, far above the calibrated range and flagged so.
        rise = counts - self._zero
        inside = np.maximum(self._slope**2 + 4.0 * self._bend * rise, 0.0)
        forces_N: Floats = (
            2.0 * rise / (self._slope + np.copysign(np.sqrt(inside), self._slope))
        )
        return forces_N

    def _u_common(self, cells_N: Floats, size_N: Floats) -> Floats:
        variance: Floats
        if self._between is not None:
            variance = np.sum((cells_N @ self._between) * cells_N, axis=1)
        else:
            slope = self._slope + 2.0 * self._bend * cells_N
            v = self._covariance
            variance = np.sum(
                cells_N**2
                * (v[:, 1, 1] + cells_N * (2.0 * v[:, 1, 2] + cells_N * v[:, 2, 2]))
                / slope**2,
                axis=1,
            )
        # rounding can leave a tiny negative where the two coefficients all but cancel
        u_N: Floats = np.sqrt(np.maximum(variance, 0.0) + (self._u_relative * size_N) ** 2)
        return u_N

    def _widen(self, size_N: Floats, u_common_N: Floats, flags: Flags) -> tuple[Floats, Flags]:
        u_bend_N = max(self._u_shape_N, HIDDEN_BEND * self._high_N)
        over = np.fmax(size_N / self._high_N, 1.0)
        u_N: Floats = np.sqrt(u_common_N**2 + u_bend_N**2 * (over**4 - 1.0))
        return u_N, np.where(size_N > self._high_N, flags | _FAR, flags)

    def _own(self, n: int) -> Floats:
        # nobody writes into an array that was handed on, so equal lengths share one
        if len(self._u_own_block) != n:
            self._u_own_block = np.full(n, self._u_own_N)
        return self._u_own_block

    def _refuse_channels(self, channels: int) -> None:
        msg = (
            f"The board sends {channels} cells, the certificate {self.id} is for"
            f" {self.channels}. Choose the certificate of this board, or calibrate it."
        )
        raise CalibrationError(msg)
