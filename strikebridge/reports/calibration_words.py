"""What a calibration is worth, in words for a coach: fit, doubt, what to do about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.calibration.budget import combined_u, coverage_factor
from strikebridge.samples import Quantity
from strikebridge.units import ForceUnit, from_newtons, show_doubt, show_force

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import BudgetTerm
    from strikebridge.calibration.document import ScaleError
    from strikebridge.calibration.platform import Platform
    from strikebridge.calibration.walk import Walk

ADVICE: dict[str, str] = {
    "plates": "weigh them on a trade scale, or borrow competition plates",
    "gravity": "say where the club is: --latitude and --elevation-m",
    "resolution": "the readings come in coarse steps; give all the digits that the board sends",
    "lack of fit": "lift more different loads, up to the hardest push; six carry a curve",
    "hysteresis": "load the cell to its top three times first, then go up and down twice",
    "creep": "wait longer at each step, until the reading stands still",
    "readings": "lift the same loads once more; see that nothing sways or leans",
    "one reading": "see that nothing sways while a step is read; keep motors and phones away",
}
"""What helps against each term of a budget, largest first; our own practice, no source."""
QUANTITY_WORDS = {Quantity.COUNT: "counts", Quantity.UNKNOWN: "units"}


def fit_words(result: Walk, quantity: Quantity) -> str:
    """Say what the readings do under load.

    Args:
        result: the walk.
        quantity: what the readings are.

    Returns:
        One sentence.
    """
    fit = result.fit
    unit = QUANTITY_WORDS.get(quantity, quantity.value)
    curve = "Straight line" if fit.degree == 1 else "Curve of degree 2"
    low_N, high_N = result.range_N
    points = len(fit.residuals)
    return (
        f"{curve} through {points} points from {low_N:.0f} to {high_N:.0f} N:"
        f" {fit.slope(0.0):.6g} {unit} a newton, {fit.coefficients[0]:.6g} at no load,"
        f" {abs(fit.residual_sd / fit.slope(0.0)):.2g} N scatter."
    )


def platform_lines(platform: Platform) -> list[str]:
    """Say what the cells of a platform do.

    Args:
        platform: what was found out.

    Returns:
        Lines: one for the walk, one a cell.
    """
    relative = platform.relative_covariance
    top_N, scatter_N = platform.range_N[1], platform.scatter_N
    cells = len(platform.gains_N)
    lines = [f"Gains of {cells} cells, up to {top_N:.0f} N, {scatter_N:.2g} N scatter."]
    for i, gain_N in enumerate(platform.gains_N):
        percent = 100.0 * float(relative[i, i]) ** 0.5
        lines.append(
            f"cell {i + 1}: {gain_N:.6g} N a reading, u {percent:.2g} %,"
            f" {platform.zeros[i]:.6g} at no load"
        )
    return lines


def worth_words(terms: Sequence[BudgetTerm], force_N: float, unit: ForceUnit) -> str:
    """Say what a force is worth.

    Args:
        terms: every doubt of that force.
        force_N: the force [N].
        unit: the coach's unit.

    Returns:
        One sentence with value, ± and share.
    """
    u95_N = coverage_factor(terms) * combined_u(terms)
    return (
        f"A force of {show_force(force_N, u95_N, unit)} {unit} is known to ±"
        f" {show_doubt(u95_N, unit)} {unit} ({100.0 * u95_N / force_N:.2g} %), 95 times in 100."
    )


def budget_lines(budget: Sequence[BudgetTerm], unit: ForceUnit) -> list[str]:
    """Draw up the budget as a table.

    Args:
        budget: the terms, largest first.
        unit: the coach's unit.

    Returns:
        Lines: the term, its standard uncertainty, its share of the whole (of the squares, which
        is how doubts add), and whether it is the same in every force or new in each.
    """
    whole = combined_u(budget) ** 2
    decimals = 2 if unit is ForceUnit.N else 3
    lines = [f"{'doubt':<20}{'u':>9}   {'share':>6}   in every force"]
    for term in budget:
        size = f"{from_newtons(term.u_N, unit):.{decimals}f} {unit.value}"
        same = "the same" if term.common else "its own"
        lines.append(f"{term.term:<20}{size:>11} {term.u_N**2 / whole:>6.0%}   {same}")
    return lines


def advice_words(budget: Sequence[BudgetTerm]) -> str:
    """Say what would help most.

    Args:
        budget: the terms, largest first.

    Returns:
        One sentence, empty where there is no doubt at all.
    """
    if not budget:
        return ""
    largest = budget[0]
    share = largest.u_N**2 / combined_u(budget) ** 2
    what = f"Most of the doubt is {largest.term}" if share > 0.5 else "No doubt stands out"
    helps = ADVICE.get(largest.term, "")
    return f"{what}: {helps}." if share > 0.5 and helps else f"{what}."


def scale_words(error: ScaleError) -> str:
    """Say how far a scale is off.

    Args:
        error: what was found.

    Returns:
        One sentence, such as `This scale reads 1.8 ± 0.3 % low.`
    """
    percent, u95 = 100.0 * abs(error.share), 100.0 * error.u95
    if abs(error.share) <= error.u95:
        return f"This scale reads right within ± {u95:.2g} %."
    way = "high" if error.share > 0.0 else "low"
    return f"This scale reads {percent:.2g} ± {u95:.1g} % {way}; the certificate mends that."
