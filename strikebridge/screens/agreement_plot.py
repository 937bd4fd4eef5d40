"""The picture of two days compared: difference over mean, athlete by athlete.

After Bland and Altman (1986, Lancet i:307-310): the bias as a line, the limits between which
95 % of differences are expected as dashed ones, each with its figure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.axes import ticks
from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import (
    Area,
    Ink,
    Mark,
    Page,
    PageItem,
    Shape,
    Stroke,
    with_words,
)
from strikebridge.screens.items import Align, Box
from strikebridge.screens.plot_model import Axis
from strikebridge.screens.rig_layout import RigFrame
from strikebridge.units import from_newtons

if TYPE_CHECKING:
    from strikebridge.retesting import Retested
    from strikebridge.units import ForceUnit

NEWTONS = "N"
CAP = 0.020
ROOM = 0.15  # of the span, round the points


def agreement_page(
    found: Retested, title: str, unit: ForceUnit, size: tuple[float, float]
) -> Page:
    """Decide the picture.

    Args:
        found: the report.
        title: exercise and what else it is of.
        unit: the coach's unit.
        size: width and height [px].
    """
    the = RigFrame(*size)

    def shown(value: float) -> float:
        return from_newtons(value, unit) if found.unit == NEWTONS else value

    name = unit.value if found.unit == NEWTONS else found.unit
    bland = found.agreement
    means = [shown(value) for value in bland.means]
    differences = [shown(value) for value in bland.differences]
    low, high = (shown(value) for value in bland.limits)
    bias = shown(bland.bias)
    box = the.box(0.16, 0.86, 0.08, 0.86)
    across = _axis(min(means), max(means), box.x, box.right)
    up = _axis(min(low, *differences), max(high, *differences), box.bottom, box.y)
    cap_px = the.cap(CAP)
    ends = bland.interval(bland.bias, bland.u_bias)
    upper, lower = (up.place(shown(end)) for end in (max(ends), min(ends)))
    items: list[PageItem] = [
        parts.bold(title, the.box(0.02, 0.09), the.cap(0.036)),
        parts.plain(
            f"last test - first, {name}, over the mean of both; the band is how well the bias "
            "is known",
            the.box(0.095, 0.14),
            cap_px,
            is_quiet=True,
        ),
        Area(((box.x, upper), (box.right, upper), (box.right, lower), (box.x, lower))),
        Stroke(box.x, box.bottom, box.right, box.bottom, Ink.QUIET),
        Stroke(box.x, box.y, box.x, box.bottom, Ink.QUIET),
    ]
    for value, words, ink in (
        (high, "upper limit", Ink.DASHED),
        (bias, "bias", Ink.STRONG),
        (low, "lower limit", Ink.DASHED),
    ):
        y = up.place(value)
        items.append(Stroke(box.x, y, box.right, y, ink))
        where = Box(box.right + cap_px, y - 1.2 * cap_px, 0.12 * size[0], 2.4 * cap_px)
        items.append(parts.plain(f"{words} {value:+.1f}", where, cap_px))
    items += _figures(across, up, box, cap_px)
    items += [
        Mark(across.place(mean), up.place(difference), 0.9 * cap_px, Shape.ROUND)
        for mean, difference in zip(means, differences, strict=True)
    ]
    foot = f"mean of both tests, {name}"
    below = the.box(0.925, 0.975, 0.08, 0.86)
    items.append(parts.plain(foot, below, cap_px, align=Align.CENTRE, is_quiet=True))
    return with_words(tuple(items))


def _axis(low: float, high: float, at_low: float, at_high: float) -> Axis:
    room = ROOM * (high - low) or 1.0
    return Axis(low - room, high + room, at_low, at_high)


def _figures(across: Axis, up: Axis, box: Box, cap_px: float) -> list[PageItem]:
    items: list[PageItem] = []
    for value in ticks(up.low, up.high, 6):
        y = up.place(value)
        items.append(Stroke(box.x - 0.5 * cap_px, y, box.x, y, Ink.QUIET))
        where = Box(box.x - 6.0 * cap_px, y - cap_px, 5.0 * cap_px, 2.0 * cap_px)
        words = f"{value:+g}" if value else "0"
        items.append(parts.plain(words, where, cap_px, align=Align.RIGHT, is_quiet=True))
    for value in ticks(across.low, across.high, 7):
        x = across.place(value)
        items.append(Stroke(x, box.bottom, x, box.bottom + 0.5 * cap_px, Ink.QUIET))
        where = Box(x - 3.0 * cap_px, box.bottom + 0.7 * cap_px, 6.0 * cap_px, 2.0 * cap_px)
        items.append(
            parts.plain(f"{value:g}", where, cap_px, align=Align.CENTRE, is_quiet=True)
        )
    return items
