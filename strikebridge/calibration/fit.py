"""A polynomial through calibration points: coefficients, covariance, and whether it is enough.

Least squares for reading = c0 + c1 F (+ c2 F^2). Loads are divided by the largest before
solving by QR, because in newtons the columns 1, F, F^2 differ by so many powers of ten that the
condition number passes 1e13; the coefficients are scaled back exactly afterwards. The
covariance is s^2 (X'WX)^-1 with s^2 = residual sum of squares / degrees of freedom
(JCGM 100:2008, H.3).

Lack of fit: where loads repeat, the scatter among repeats (pure error) needs no model. What the
model leaves beyond it is compared by an F test (Draper and Smith, Applied Regression Analysis;
NIST/SEMATECH e-Handbook 4.6.1). R squared near one proves nothing: a straight line through the
NIST load-cell data has 0.99999 and is refused by F = 215.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from strikebridge.errors import CalibrationError

if TYPE_CHECKING:
    from strikebridge.samples import Floats

LOADS_FOR_A_CURVE = 6
"""Different loads below which a bend is not trusted, however well it fits."""
REFUSED_P = 0.01
"""Chance below which a straight line is refused, and above which a bend is not worth having."""


@dataclass(frozen=True, slots=True)
class LackOfFit:
    """Test of a curve against the scatter of repeats.

    Attributes:
        F: lack-of-fit mean square over pure-error mean square.
        dof: degrees of freedom of both.
        p: chance of so large an F if the curve were right.
    """

    F: float
    dof: tuple[int, int]
    p: float


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A fitted curve.

    Attributes:
        coefficients: c0, c1 (, c2), powers of the load, unscaled.
        covariance: their covariance matrix, same order.
        residual_sd: SD about the curve [reading]; with weights, of a reading of weight 1.
        dof: degrees of freedom.
        r_squared: share of the variance explained.
        lack_of_fit: the test, None where no load repeats or no load is left for it.
        residuals: reading less curve, shape (n,).
    """

    coefficients: Floats
    covariance: Floats
    residual_sd: float
    dof: int
    r_squared: float
    lack_of_fit: LackOfFit | None
    residuals: Floats

    @property
    def degree(self) -> int:
        """Degree of the curve."""
        return len(self.coefficients) - 1

    @property
    def u(self) -> Floats:
        """Standard uncertainties of the coefficients."""
        sd: Floats = np.sqrt(np.diag(self.covariance))
        return sd

    def predict(self, load: float) -> tuple[float, float]:
        """Compute the curve at a load.

        Args:
            load: the load.

        Returns:
            The reading expected and its standard uncertainty, covariances included.
        """
        powers = load ** np.arange(self.degree + 1)
        return float(powers @ self.coefficients), math.sqrt(powers @ self.covariance @ powers)

    def slope(self, load: float) -> float:
        """Compute the curve's slope at a load [reading per load]."""
        powers = np.arange(1, self.degree + 1)
        return float((powers * load ** (powers - 1.0)) @ self.coefficients[1:])

    def invert(self, reading: float) -> float:
        """Find the load that gives a reading.

        Args:
            reading: the reading.

        Returns:
            The load; beyond the vertex of a curve a value that still grows with the reading.
        """
        c0, c1, c2 = (*self.coefficients, 0.0)[:3]
        root = math.sqrt(max(c1 * c1 + 4.0 * c2 * (reading - c0), 0.0))
        return float(2.0 * (reading - c0) / (c1 + math.copysign(root, c1)))


def fit_curve(
    load: Floats, reading: Floats, degree: int = 1, u_reading: Floats | None = None
) -> Fit:
    """Fit a line or a parabola by least squares.

    Args:
        load: loads, shape (n,).
        reading: readings, shape (n,).
        degree: 1 or 2.
        u_reading: standard uncertainty of each reading, shape (n,), all above 0; only their
            ratios matter. None: all alike.

    Returns:
        The fit.

    Raises:
        CalibrationError: too few points or too few different loads.
    """
    check_enough(load, degree)
    weight = np.ones(len(load)) if u_reading is None else np.min(u_reading) / u_reading
    scale = float(np.max(np.abs(load)))
    design = (load / scale)[:, np.newaxis] ** np.arange(degree + 1)
    q, r = np.linalg.qr(design * weight[:, np.newaxis])
    inverse = np.linalg.inv(r)
    scaled = inverse @ (q.T @ (reading * weight))
    residuals = reading - design @ scaled
    dof = len(load) - degree - 1
    rss = float(np.sum((residuals * weight) ** 2))
    back = scale ** -np.arange(degree + 1.0)
    covariance = rss / dof * (inverse @ inverse.T) * np.outer(back, back)
    centre = np.average(reading, weights=weight**2)
    total = float(np.sum(((reading - centre) * weight) ** 2))
    return Fit(
        coefficients=scaled * back,
        covariance=covariance,
        residual_sd=math.sqrt(rss / dof),
        dof=dof,
        r_squared=1.0 - rss / total if total > 0.0 else 0.0,
        lack_of_fit=_lack_of_fit(load, reading, weight, rss, degree),
        residuals=residuals,
    )


def choose_degree(load: Floats, reading: Floats) -> int:
    """Take a straight line unless the points refuse it.

    A parabola needs at least six different loads, a straight line that the test of lack of fit
    refuses (or, where no load repeats, nothing to say on that), and a bend that is not chance.

    Args:
        load: loads, shape (n,).
        reading: readings, shape (n,).

    Returns:
        1 or 2.
    """
    if len(np.unique(load)) < LOADS_FOR_A_CURVE:
        return 1
    refused = fit_curve(load, reading, 1).lack_of_fit
    if refused is not None and refused.p >= REFUSED_P:
        return 1
    curve = fit_curve(load, reading, 2)
    return 2 if bend_p(curve) < REFUSED_P else 1


def bend_p(curve: Fit) -> float:
    """Compute the chance of so large a bend if the truth were straight (two-sided t test).

    Args:
        curve: a fit of degree 2.

    Returns:
        The chance, 0 to 1.
    """
    if curve.u[2] == 0.0:
        return 1.0 if curve.coefficients[2] == 0.0 else 0.0
    t = abs(float(curve.coefficients[2] / curve.u[2]))
    return float(2.0 * special.stdtr(curve.dof, -t))


def check_enough(load: Floats, degree: int) -> None:
    """Refuse loads that do not carry a curve and its doubt.

    Args:
        load: loads, shape (n,).
        degree: of the curve.

    Raises:
        CalibrationError: too few points or too few different loads.
    """
    curve = "straight line" if degree == 1 else "curve of degree 2"
    different = len(np.unique(load))
    if different == 1:
        msg = (
            f"All loads are the same ({load[0]:g} N), which fixes no {curve}."
            " Put different plates on."
        )
        raise CalibrationError(msg)
    if different < degree + 1 or len(load) < degree + 2:
        msg = (
            f"{len(load)} points at {different} different loads are too few for a {curve} and"
            f" its doubt: it needs {degree + 2} points at {degree + 1} different loads."
            " Add another lift."
        )
        raise CalibrationError(msg)


def _lack_of_fit(
    load: Floats, reading: Floats, weight: Floats, rss: float, degree: int
) -> LackOfFit | None:
    groups, member = np.unique(load, return_inverse=True)
    pure_dof = len(load) - len(groups)
    lack_dof = len(groups) - degree - 1
    if pure_dof == 0 or lack_dof == 0:
        return None
    squares = weight**2
    means = np.bincount(member, squares * reading) / np.bincount(member, squares)
    pure = float(np.sum(squares * (reading - means[member]) ** 2))
    if pure <= 0.0:
        return None  # repeats that agree to the last digit hold no scatter to compare with
    ratio = max(rss - pure, 0.0) / lack_dof / (pure / pure_dof)
    return LackOfFit(
        ratio, (lack_dof, pure_dof), float(special.fdtrc(lack_dof, pure_dof, ratio))
    )
