"""From single doubts to one plus-minus (JCGM 100:2008, the GUM).

Terms that do not know of each other add as squares; k comes from the effective degrees of
freedom (Welch and Satterthwaite, GUM G.4.1). Where one rectangular term is more than half of
the whole, the sum is no longer bell-shaped and k = 2 says more doubt than there is: then k is
that of the rectangle convolved with a normal distribution for the rest (JCGM 101:2008, 9.2).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from scipy import special

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import BudgetTerm

COVERAGE = 0.95
DOMINANT_SHARE = 0.5
"""Share of the whole standard uncertainty from which a rectangular term dominates."""


def rectangular_u(half_width: float) -> float:
    """Standard uncertainty of something known to lie within plus or minus a half-width.

    Args:
        half_width: half-width a of the interval.

    Returns:
        a / sqrt 3 (GUM 4.3.7).
    """
    return half_width / math.sqrt(3.0)


def step_u(step: float) -> float:
    """Standard uncertainty of a reading that moves in steps.

    Args:
        step: smallest step d.

    Returns:
        d / (2 sqrt 3) (GUM F.2.2.1).
    """
    return step / (2.0 * math.sqrt(3.0))


def combined_u(terms: Sequence[BudgetTerm]) -> float:
    """Add independent terms.

    Args:
        terms: the terms.

    Returns:
        Root of the sum of squares, in the terms' unit (GUM 5.1.2).
    """
    return math.hypot(*(term.u_N for term in terms)) if terms else 0.0


def effective_dof(terms: Sequence[BudgetTerm]) -> float:
    """Say how well the combined uncertainty itself is known.

    Args:
        terms: the terms.

    Returns:
        u_c^4 / sum(u_i^4 / nu_i) (GUM G.4.1); infinity where nothing was estimated.
    """
    doubt = sum(term.u_N**4 / term.dof for term in terms if term.dof is not None)
    return combined_u(terms) ** 4 / doubt if doubt > 0.0 else math.inf


def t_factor(dof: float, coverage: float = COVERAGE) -> float:
    """Quantile of Student's t for a two-sided interval.

    Args:
        dof: degrees of freedom, not necessarily whole; infinity: normal distribution.
        coverage: wanted coverage probability.

    Returns:
        k (GUM table G.2).
    """
    upper = 0.5 + coverage / 2.0
    if math.isinf(dof):
        return float(special.ndtri(upper))
    return float(special.stdtrit(dof, upper))


def convolved_factor(half_width: float, u_rest: float, coverage: float = COVERAGE) -> float:
    """Coverage factor of a rectangular plus an independent normal error.

    Args:
        half_width: half-width a of the rectangular error, above 0.
        u_rest: standard deviation s of the normal error, 0 or more.
        coverage: wanted coverage probability.

    Returns:
        k such that the sum lies within k sqrt(a^2/3 + s^2) with that probability.
    """
    whole = math.hypot(rectangular_u(half_width), u_rest)
    if u_rest < 1e-6 * half_width:
        return coverage * half_width / whole
    # The covered share rises with q; the root lies below the two quantiles laid end to end.
    low, high = 0.0, half_width + u_rest * t_factor(math.inf, coverage)
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        if _share_within(middle, half_width, u_rest) < coverage:
            low = middle
        else:
            high = middle
    return high / whole


def coverage_factor(terms: Sequence[BudgetTerm], coverage: float = COVERAGE) -> float:
    """Choose k, for 95 % unless said otherwise.

    Args:
        terms: all terms of the combined uncertainty.
        coverage: wanted coverage probability.

    Returns:
        k from the convolved distribution where a rectangular term dominates, else Student's t
        for the effective degrees of freedom.
    """
    whole = combined_u(terms)
    rectangles = [term for term in terms if term.shape == "rectangular"]
    widest = max(rectangles, key=lambda term: term.u_N, default=None)
    if widest is None or widest.u_N <= DOMINANT_SHARE * whole:
        return t_factor(effective_dof(terms), coverage)
    rest = [term for term in terms if term is not widest]
    # few degrees of freedom widen the rest as they widen a t interval
    stretch = t_factor(effective_dof(rest), coverage) / t_factor(math.inf, coverage)
    half_width = widest.u_N * math.sqrt(3.0)
    u_rest = combined_u(rest) * stretch
    reach = convolved_factor(half_width, u_rest, coverage) * math.hypot(widest.u_N, u_rest)
    return reach / whole


def largest_first(terms: Sequence[BudgetTerm]) -> tuple[BudgetTerm, ...]:
    """Order a budget for reading; terms of nothing are left out.

    Args:
        terms: the terms.

    Returns:
        Those above 0, largest first.
    """
    kept = [term for term in terms if term.u_N > 0.0]
    return tuple(sorted(kept, key=lambda term: -term.u_N))


def _share_within(q: float, half_width: float, s: float) -> float:
    # P(|R + N| <= q) = [G(q + a) - G(q - a)] / a - 1 with G(x) = integral of Phi(x / s)
    def integral(x: float) -> float:
        z = x / s
        density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
        return s * (z * float(special.ndtr(z)) + density)

    return (integral(q + half_width) - integral(q - half_width)) / half_width - 1.0
