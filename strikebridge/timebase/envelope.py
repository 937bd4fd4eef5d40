"""The line under a cloud of delayed points: lower convex hull, edge above the middle."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line `y = offset + slope * x`.

    Attributes:
        offset: value at x = 0, in the unit of y.
        slope: rise per unit of x.
    """

    offset: float
    slope: float

    def at(self, x: float) -> float:
        """Give the value at x, in the unit of y."""
        return self.offset + self.slope * x


def lower_hull(points: Iterable[Point]) -> list[Point]:
    """Keep the points of the lower convex hull.

    Andrew, "Another efficient algorithm for convex hulls in two dimensions", Information
    Processing Letters 9 (1979), lower half only.

    Args:
        points: points with x strictly rising.

    Returns:
        Corners of the lower hull from left to right; the first and the last point always
        belong to it.
    """
    hull: list[Point] = []
    for x, y in points:
        while len(hull) >= 2:
            (x1, y1), (x2, y2) = hull[-2], hull[-1]
            if (x2 - x1) * (y - y1) > (y2 - y1) * (x - x1):
                break
            hull.pop()
        hull.append((x, y))
    return hull


def fit_envelope(points: Sequence[Point]) -> Line:
    """Fit the line that lies under all points and closest to them.

    Args:
        points: at least two points, x strictly rising.

    Returns:
        The edge of the lower hull above the middle of the x range. Taking the middle instead
        of the mean of x keeps the choice free from how densely each second is sampled.
    """
    middle = 0.5 * (points[0][0] + points[-1][0])
    corners = lower_hull(points)
    right = 1
    while corners[right][0] < middle:
        right += 1
    (x1, y1), (x2, y2) = corners[right - 1], corners[right]
    slope = (y2 - y1) / (x2 - x1)
    return Line(y1 - slope * x1, slope)


def doubt_of(points: Iterable[Point], line: Line) -> float:
    """Say how far the envelope may be off, from how far its supports lie above it.

    Args:
        points: lowest points of successive stretches.
        line: their envelope.

    Returns:
        Median height of the points above the line, in the unit of y: where most stretches
        touched it, this is small; where the fastest delivery was a stroke of luck, it is not.
    """
    offset, slope = line.offset, line.slope
    return max(0.0, median([y - offset - slope * x for x, y in points]))
