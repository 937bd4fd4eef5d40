"""From standard uncertainties to a 95 % interval, and the uncertainty of a difference.

Two rules decide the coverage factor k. Where a single doubt that only has limits (a rectangular
term) makes up more than half of the combined u, k comes from the distribution of that rectangle
convolved with a normal one for all the rest (JCGM 101:2008). Everywhere else k is the quantile
of the t distribution at the effective degrees of freedom (Welch-Satterthwaite, JCGM 100:2008,
G.4), cut down to a whole number, and 2 where there are more than 60.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.samples import MeasureValue

MANY_DOF = 60.0
NORMAL_COVERAGE = 2.0
PROBABILITY = 0.95
NEAR_COVERAGE = 1.65  # between a bare rectangle and a bare normal; every solution is near
ROOT_2, ROOT_2_PI = math.sqrt(2.0), math.sqrt(2.0 * math.pi)
NEWTON_STEPS = 6  # four are enough for ten digits of any mixture


def effective_dof(u_own: float, u_common: float, dof_common: float) -> float:
    """Combine the degrees of freedom of both parts (Welch-Satterthwaite, JCGM 100 G.4.1).

    Args:
        u_own: part with many degrees of freedom.
        u_common: part that comes from the certificate, same unit.
        dof_common: degrees of freedom of that part, at least 1.

    Returns:
        Effective degrees of freedom, infinity where the common part has no weight.
    """
    if u_common == 0.0 or math.isinf(dof_common):
        return math.inf
    return math.hypot(u_own, u_common) ** 4 / (u_common**4 / dof_common)


def normal_coverage(dof: float) -> float:
    """Find k for 95 % at some degrees of freedom: 2 above 60, else the t quantile."""
    if dof > MANY_DOF:
        return NORMAL_COVERAGE
    from scipy.special import stdtrit  # noqa: PLC0415 - see warm_up

    return float(stdtrit(max(1.0, math.floor(dof)), 0.5 + PROBABILITY / 2.0))


def convolved_coverage(u_rectangular: float, u_rest: float) -> float:
    """Find k for 95 % of a rectangle convolved with a normal distribution.

    With half-width a and normal SD s the chance of lying inside -x to x is
    (s / a) (G((x + a) / s) - G((x - a) / s)) - 1 where G(z) = z Phi(z) + phi(z). It is solved
    for x by Newton's rule; the derivative is (Phi((x + a) / s) - Phi((x - a) / s)) / a. Without
    a normal part k is 0.95 sqrt 3 = 1.645.

    Args:
        u_rectangular: standard uncertainty of the rectangle, above 0.
        u_rest: standard uncertainty of the rest, same unit.

    Returns:
        Half-width of the 95 % interval / combined standard uncertainty.
    """
    half_width = u_rectangular * math.sqrt(3.0)
    total = math.hypot(u_rectangular, u_rest)
    if u_rest < 1e-9 * u_rectangular:
        return PROBABILITY * math.sqrt(3.0)
    x = NEAR_COVERAGE * total
    for _ in range(NEWTON_STEPS):
        upper, lower = (x + half_width) / u_rest, (x - half_width) / u_rest
        phi_upper, phi_lower = _phi(upper), _phi(lower)
        g_upper = upper * phi_upper + _density(upper)
        g_lower = lower * phi_lower + _density(lower)
        inside = u_rest / half_width * (g_upper - g_lower) - 1.0
        step = (inside - PROBABILITY) * half_width / (phi_upper - phi_lower)
        if x - step == x:
            break
        x -= step
    return x / total


def _phi(z: float) -> float:
    """Give the normal distribution function at z."""
    return 0.5 * math.erfc(-z / ROOT_2)


def _density(z: float) -> float:
    return math.exp(-0.5 * z * z) / ROOT_2_PI


def coverage_factor(
    normal: tuple[float, ...], rectangular: tuple[float, ...], common: float, dof_common: float
) -> tuple[float, float]:
    """Choose k for a value with its list of doubts.

    Args:
        normal: standard uncertainties treated as normal.
        rectangular: standard uncertainties of doubts that only have limits.
        common: part of the certificate.
        dof_common: its degrees of freedom.

    Returns:
        k and the effective degrees of freedom.
    """
    u_own = math.hypot(*normal, *rectangular)
    dof = effective_dof(u_own, common, dof_common)
    largest = max(rectangular, default=0.0)
    if largest > 0.5 * math.hypot(u_own, common):
        rest = math.sqrt(max(0.0, u_own**2 - largest**2) + common**2)
        return convolved_coverage(largest, rest), dof
    return normal_coverage(dof), dof


def difference(a: MeasureValue, b: MeasureValue) -> tuple[float, float]:
    """Subtract two values of one measure and leave out what is common to both.

    Values of one certificate are wrong together: a gain 1 % high makes both 1 % high, so of the
    common parts only their difference stays. Values of different certificates are taken as
    independent.

    Args:
        a: the one.
        b: the other, in the same unit.

    Returns:
        a - b and its expanded uncertainty (95 %), both in the unit of the values.

    Raises:
        ValueError: when a value is withheld or the units differ.
    """
    if a.unit != b.unit:
        raise ValueError(f"Cannot subtract {b.unit} from {a.unit}: the units differ.")
    if a.value is None or b.value is None or a.u_own is None or b.u_own is None:
        raise ValueError("Cannot subtract: one of the two values is withheld.")
    common_a, common_b = a.u_common or 0.0, b.u_common or 0.0
    if a.certificate is not None and a.certificate == b.certificate:
        u_common = abs(common_a - common_b)
    else:
        u_common = math.hypot(common_a, common_b)
    # Two rectangles add to something peaked, for which the smaller k of one is too small.
    coverage = max(a.coverage, b.coverage, NORMAL_COVERAGE)
    return a.value - b.value, coverage * math.hypot(a.u_own, b.u_own, u_common)
