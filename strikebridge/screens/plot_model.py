"""The plot of a plate walk: points, line and residuals, decided without a window.

Above lie the readings against the masses with the line through them: on that scale every
calibration looks perfect. So the larger half below shows how far each point lies off the line,
in kilograms, enlarged as far as the points allow, with a stem for what plates, noise and a
sound cell may explain of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.axes import tick_step, ticks
from strikebridge.screens.figure import Ink, Mark, PageItem, Panel, Shape, Stroke
from strikebridge.screens.items import Align, Box, Words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.walk_view import TakenPoint, WalkView

UPPER = 0.40  # share of the plot's height for points and line
GAP = 0.09  # between the two, for the title of the lower one
LEFT = 0.13  # share of the width for the figures of the axis
BOTTOM = 0.13  # share of the height for those of the masses
LEAST_RESIDUAL_KG = 0.02  # below this nobody should look for anything
EMPTY = "here the points will stand, and how far each is off the line"
LOWER_TITLE = "off the line, enlarged   ▲ loading   ▽ unloading   + does not fit"
FEWEST_TICKS = 3


@dataclass(frozen=True, slots=True)
class Axis:
    """A straight scale.

    Attributes:
        low: value at `at_low`.
        high: value at `at_high`.
        at_low: place of the low end [px].
        at_high: place of the high end [px].
    """

    low: float
    high: float
    at_low: float
    at_high: float

    def place(self, value: float) -> float:
        """Find the place of a value [px], kept within the axis."""
        share = (value - self.low) / (self.high - self.low)
        return self.at_low + min(1.0, max(0.0, share)) * (self.at_high - self.at_low)


def plot(view: WalkView, box: Box, cap_px: float, top_kg: float) -> list[PageItem]:
    """Draw up the plot.

    Args:
        view: the walk.
        box: where [px].
        cap_px: height of a capital in the figures [px].
        top_kg: largest mass that is to lie on the cell [kg], above 0.

    Returns:
        The items; only grounds and axes before the first point.
    """
    inner_w, inner_h = box.w * (1.0 - LEFT), box.h * (1.0 - BOTTOM)
    left = box.x + box.w * LEFT
    upper = Box(left, box.y, inner_w, inner_h * UPPER)
    top = box.y + inner_h * (UPPER + GAP)
    lower = Box(left, top, inner_w, box.y + inner_h - top)
    margin = 0.04 * inner_w
    across = Axis(0.0, top_kg, left + margin, box.x + box.w - margin)
    items: list[PageItem] = [Panel(upper), Panel(lower)]
    if not view.points and view.line is None:
        return [_title(EMPTY, Box(left, box.y, inner_w, 2.4 * cap_px), 1.2 * cap_px)]
    items += _masses(across, upper, lower, cap_px)
    items += _above(view, upper, across, cap_px)
    items += _below(view.points, lower, across, cap_px)
    if view.load_kg is not None and 0.0 < view.load_kg < 1.02 * top_kg:
        at = across.place(view.load_kg)
        items.append(Stroke(at, upper.y + 2.2 * cap_px, at, upper.bottom, Ink.DASHED))
    return items


def _masses(across: Axis, upper: Box, lower: Box, cap_px: float) -> list[PageItem]:
    items: list[PageItem] = []
    values = ticks(0.0, across.high, 5)
    wide = 0.95 * (across.place(values[1]) - across.place(values[0]))
    for value in values:
        at = across.place(value)
        items.append(Stroke(at, lower.bottom, at, lower.bottom + 0.5 * cap_px, Ink.QUIET))
        begin, end = at - wide / 2.0, at + wide / 2.0
        align = Align.CENTRE if end <= upper.right else Align.RIGHT
        end = min(end, upper.right)  # the last figure stays within the plot
        box = Box(begin, lower.bottom + 0.8 * cap_px, end - begin, 1.7 * cap_px)
        items.append(Words(f"{value:g} kg", box, cap_px, align, is_quiet=True, is_bold=False))
    return items


def _above(view: WalkView, box: Box, across: Axis, cap_px: float) -> list[PageItem]:
    """Points and line."""
    title = "readings over the weight on the cell, and the line through them"
    items: list[PageItem] = [_title(title, Box(box.x, box.y, box.w, 1.9 * cap_px), cap_px)]
    readings = [point.reading for point in view.points]
    line = view.line
    if line is not None:
        readings += [line.zero, line.zero + line.per_kg * across.high]
    if not readings or max(readings) == min(readings):
        return items
    low, high = min(readings), max(readings)
    # readings that fall under load are drawn falling
    up = Axis(low, high, box.bottom - 0.08 * box.h, box.y + 2.2 * cap_px)
    if line is not None:
        end = line.zero + line.per_kg * across.high
        items.append(
            Stroke(
                across.place(0.0), up.place(line.zero), across.place(across.high), up.place(end)
            )
        )
    items += [
        Mark(across.place(point.mass_kg), up.place(point.reading), cap_px, shape_of(point))
        for point in view.points
    ]
    return items


def residual_span_kg(points: Sequence[TakenPoint]) -> float:
    """Say how far the lower plot reaches to either side [kg].

    Args:
        points: the points so far.

    Returns:
        A little more than the largest residual; what may be explained counts only as far as it
        does not squeeze the points together.
    """
    largest = max((abs(point.residual_kg) for point in points), default=0.0)
    allowed = max((point.allowed_kg for point in points), default=0.0)
    return max(1.25 * largest, min(1.1 * allowed, 4.0 * largest), LEAST_RESIDUAL_KG)


def _below(
    points: Sequence[TakenPoint], box: Box, across: Axis, cap_px: float
) -> list[PageItem]:
    """Residuals, enlarged."""
    if not points:
        return []
    span_kg = residual_span_kg(points)
    up = Axis(-span_kg, span_kg, box.bottom - 0.04 * box.h, box.y + 0.04 * box.h)
    title = Box(box.x, box.y - 2.1 * cap_px, box.w, 1.9 * cap_px)
    items: list[PageItem] = [_title(LOWER_TITLE, title, cap_px)]
    step_kg = tick_step(2.0 * span_kg, FEWEST_TICKS + 2)
    places = max(0, -math.floor(math.log10(step_kg) + 1e-9))
    for value in ticks(-span_kg, span_kg, FEWEST_TICKS + 2):
        at = up.place(value)
        ink = Ink.STRONG if value == 0.0 else Ink.QUIET
        items.append(Stroke(box.x, at, box.right, at, ink))
        label = Box(box.x - 0.147 * box.w, at - 0.95 * cap_px, 0.135 * box.w, 1.9 * cap_px)
        sign = "" if value == 0.0 else "+"
        words = f"{value:{sign}.{places}f} kg"
        items.append(Words(words, label, cap_px, Align.RIGHT, is_quiet=True, is_bold=False))
    for point in points:
        at = across.place(point.mass_kg)
        reach = min(point.allowed_kg, span_kg)
        items.append(Stroke(at, up.place(-reach), at, up.place(reach), Ink.QUIET))
    items += [
        Mark(
            across.place(point.mass_kg),
            up.place(point.residual_kg),
            1.4 * cap_px,
            shape_of(point),
        )
        for point in points
    ]
    return items


def shape_of(point: TakenPoint) -> Shape:
    """Choose the mark of a point: by its direction, or a cross where it does not fit."""
    if point.remark:
        return Shape.CROSS
    return {1: Shape.UP, -1: Shape.DOWN}.get(point.lift.direction, Shape.ROUND)


def _title(text: str, box: Box, cap_px: float) -> Words:
    return Words(text, box, cap_px, is_quiet=True, is_bold=False)
