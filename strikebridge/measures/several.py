"""Measures of several reps together: two sides compared, and a set from first to last.

They rest on one measure of each rep (a peak, as a rule) with its doubts apart. Two things
decide how sure they are: how well each rep was measured, and how much the athlete varies from
rep to rep, which only the reps themselves can tell. What all reps of one certificate have in
common, a gain that is 1 % too high, say, cancels in both, as they are ratios.
"""

from __future__ import annotations

import math
from itertools import combinations
from statistics import fmean, median, variance
from typing import TYPE_CHECKING

from strikebridge.measures.coverage import normal_coverage
from strikebridge.samples import MeasureValue, Status

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

FEWEST_REPS = 3  # of a set, for a slope that one odd rep does not decide
SEN_EFFICIENCY = 3.0 / math.pi  # of a median slope beside least squares, for normal scatter
VERSION = 1


def asymmetry(lead: Sequence[MeasureValue], rear: Sequence[MeasureValue]) -> MeasureValue:
    """Compare the two sides of an athlete.

    *Definition*: (mean of lead - mean of rear) / the larger of the two x 100; above zero where
    the lead hand is the stronger. Only for reps of the same punch position, distance and ball.

    *Uncertainty*: of each mean, the scatter of its reps where there are two or more (no less
    than how well they were measured), propagated by the derivatives; degrees of freedom by
    Welch and Satterthwaite (JCGM 100:2008, G.4.1). Common parts shift all reps of a certificate
    together. With a single rep on a side its scatter is unknown, and the value is coarse.

    *Reference*: percentage difference with a sign, the simplest of nine published formulas
    (Bishop, Read, Chavda, Turner 2016, Strength Cond J); to be called real only beyond the
    error of the test, see `is_real`.

    Args:
        lead: one measure of each rep of the lead hand, in one unit.
        rear: the same measure of the reps of the rear hand.

    Returns:
        Asymmetry [%]; withheld where a side is missing or has no strength.
    """
    sides = [[one for one in side if one.value is not None] for side in (lead, rear)]
    reps = [*sides[0], *sides[1]]
    if not all(sides):
        return _withheld("asymmetry", "%", "both hands are needed")
    if len({one.unit for one in reps}) > 1:
        return _withheld("asymmetry", "%", "the two hands were measured in different units")
    means = [_mean(side) for side in sides]
    if min(means) <= 0.0:
        return _withheld("asymmetry", "%", "one of the two hands did not push")

    def of_values(values: Sequence[float]) -> float:
        left, right = fmean(values[: len(sides[0])]), fmean(values[len(sides[0]) :])
        return 100.0 * (left - right) / max(left, right)

    largest = max(means)
    doubts: list[tuple[float, float]] = []
    for side, other in ((0, 1), (1, 0)):
        # the larger one also stands below the line
        share = means[other] / largest if means[side] == largest else 1.0
        u, dof = _doubt_of_mean(sides[side])
        doubts.append((100.0 * share * u / largest, dof))
    u_own = math.hypot(*(u for u, _ in doubts))
    parts = sum(u**4 / dof for u, dof in doubts)
    is_single = min(len(side) for side in sides) == 1
    return _value(
        "asymmetry",
        "%",
        of_values([_sure(one) for one in reps]),
        (u_own, _common(of_values, reps), u_own**4 / parts if parts > 0.0 else math.inf),
        coarse="one rep on a side does not tell how much the athlete varies"
        if is_single
        else "",
    )


def is_real(value: MeasureValue) -> bool:
    """Say whether a difference lies beyond its own uncertainty, so that it may be called one.

    Args:
        value: an asymmetry or a drop-off.
    """
    return value.value is not None and value.u95 is not None and abs(value.value) > value.u95


def drop_off(reps: Sequence[tuple[int, MeasureValue]]) -> MeasureValue:
    """Find how the reps of a set changed from one to the next.

    *Definition*: median of the slopes between all pairs of reps / median of the reps x 100;
    below zero where the athlete tires. A rep that was left out leaves its place empty.

    *Uncertainty*: scatter of the reps about the line (n - 2 degrees of freedom), no less than
    how well they were measured, over the spread of their places as in least squares, widened
    by the efficiency of a median slope (3 / pi for normal scatter). With three reps there is
    one degree of freedom, and the interval is as wide as that deserves.

    *Reference*: Theil 1950; Sen 1968, J Am Stat Assoc 63:1379-1389.

    Args:
        reps: place in the set, rising, and one measure of that rep, in one unit.

    Returns:
        Change [% a rep]; withheld where there are fewer than three reps.
    """
    kept = [(place, one) for place, one in reps if one.value is not None]
    places, values = [float(place) for place, _ in kept], [_sure(one) for _, one in kept]
    if len(kept) < FEWEST_REPS:
        return _withheld("drop_off", "%", f"{FEWEST_REPS} reps are needed")
    if len({one.unit for _, one in kept}) > 1:
        return _withheld("drop_off", "%", "the reps were measured in different units")
    if median(values) <= 0.0:
        return _withheld("drop_off", "%", "the reps have no strength to lose")

    def of_values(values: Sequence[float]) -> float:
        return 100.0 * median_slope(places, values) / median(values)

    slope, middle = median_slope(places, values), fmean(places)
    offset = median(y - slope * x for x, y in zip(places, values, strict=True))
    left = sum((y - offset - slope * x) ** 2 for x, y in zip(places, values, strict=True))
    measured = fmean((one.u_own or 0.0) ** 2 for _, one in kept)
    scatter = max(left / (len(kept) - 2), measured)
    spread = sum((x - middle) ** 2 for x in places)
    u_own = 100.0 * math.sqrt(scatter / spread / SEN_EFFICIENCY) / median(values)
    common = _common(of_values, [one for _, one in kept])
    return _value("drop_off", "%", of_values(values), (u_own, common, len(kept) - 2.0))


def median_slope(places: Sequence[float], values: Sequence[float]) -> float:
    """Take the median of the slopes between all pairs of points (Theil, Sen).

    Args:
        places: rising.
        values: as many.

    Returns:
        Slope, in units of the values a place.
    """
    points = list(zip(places, values, strict=True))
    return median((y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in combinations(points, 2))


def _mean(side: Sequence[MeasureValue]) -> float:
    return fmean(_sure(one) for one in side)


def _sure(one: MeasureValue) -> float:
    return 0.0 if one.value is None else one.value


def _doubt_of_mean(side: Sequence[MeasureValue]) -> tuple[float, float]:
    """Find the own uncertainty of a mean of reps, and its degrees of freedom."""
    measured = fmean((one.u_own or 0.0) ** 2 for one in side)
    if len(side) == 1:
        return math.sqrt(measured), math.inf
    seen = variance(_sure(one) for one in side)
    return math.sqrt(max(seen, measured) / len(side)), len(side) - 1.0


def _common(
    of_values: Callable[[Sequence[float]], float], reps: Sequence[MeasureValue]
) -> float:
    """Find what a value owes to the certificates: all reps of one shifted together."""
    values = [_sure(one) for one in reps]
    plain, squares = of_values(values), 0.0
    for certificate in {one.certificate for one in reps}:
        shifted = [
            value + (one.u_common or 0.0) * (one.certificate == certificate)
            for value, one in zip(values, reps, strict=True)
        ]
        squares += (of_values(shifted) - plain) ** 2
    return math.sqrt(squares)


def _value(
    name: str, unit: str, value: float, doubt: tuple[float, float, float], *, coarse: str = ""
) -> MeasureValue:
    u_own, u_common, dof = doubt
    total = math.hypot(u_own, u_common)
    if u_own > 0.0:
        dof *= (total / u_own) ** 4  # the common part has its degrees of freedom elsewhere
    return MeasureValue(
        name=name,
        value=value,
        unit=unit,
        u_own=u_own,
        u_common=u_common,
        dof=dof,
        coverage=normal_coverage(dof),
        status=Status.COARSE if coarse else Status.OK,
        reason=coarse,
        version=VERSION,
    )


def _withheld(name: str, unit: str, reason: str) -> MeasureValue:
    return MeasureValue(
        name, None, unit, None, None, status=Status.WITHHELD, reason=reason, version=VERSION
    )
