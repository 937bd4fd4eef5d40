"""The plot of an athlete's sessions: a trend, what is only scatter about it, phases and bouts.

Each session is a point with the doubt of its measuring. The band about the trend is as wide as
the typical error each way: two sessions of three lie in it while nothing changes, so that the
eye does not take scatter for news. Under the plot stands which plan was done, where it changes;
a bout is a session of the plan `fight-day`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from statistics import median
from typing import TYPE_CHECKING

from strikebridge.axes import ticks
from strikebridge.progress.score import DAY_S, measured
from strikebridge.progress.trend import WEEK_DAYS
from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Area, Ink, Line, Mark, PageItem, Shape, Stroke
from strikebridge.screens.items import Align, Box
from strikebridge.screens.plot_model import Axis
from strikebridge.units import ForceUnit, from_newtons

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.progress.score import Score
    from strikebridge.records import Standing

NEWTONS = "N"
BOUT = "fight-day"
LEFT = 0.085  # of the width: figures of the axis
BOTTOM = 0.17  # of the height: days, phases
TOP = 0.07
FIGURES = 6
LETTER = 0.85  # width of a letter in capitals' heights, on average
DAYS = 4
LEAST_DAYS = 7.0  # across the plot
ROOM = 0.12  # of the span of the values, above and below them


@dataclass(frozen=True, slots=True)
class Course:
    """What is drawn, in the unit that is shown.

    Attributes:
        days: days since the first session [d], shape (n,).
        values: one score each, shape (n,).
        u95: doubt of the measuring, shape (n,).
        line: value of the trend on the first and on the last day, None with too few sessions.
        band: half-width of the typical error.
        unit: as it is written.
    """

    days: tuple[float, ...]
    values: tuple[float, ...]
    u95: tuple[float, ...]
    line: tuple[float, float] | None
    band: float
    unit: str


def course_of(standing: Standing, unit: ForceUnit) -> Course:
    """Take from a standing what is drawn.

    Args:
        standing: one athlete in one exercise.
        unit: the coach's unit, for forces.
    """
    found = standing.overview
    scores, days = found.run.scores, found.run.days
    is_force = scores[0].unit == NEWTONS

    def shown(value: float) -> float:
        return from_newtons(value, unit) if is_force else value

    values = tuple(shown(score.value) for score in scores)
    line = None
    if found.trend is not None:
        slope = shown(found.trend.value) / WEEK_DAYS
        base = median(value - slope * day for day, value in zip(days, values, strict=True))
        line = base + slope * days[0], base + slope * days[-1]
    return Course(
        days=days,
        values=values,
        u95=tuple(shown(measured(score).u95) for score in scores),
        line=line,
        band=found.error.share * sum(values) / len(values),
        unit=unit.value if is_force else scores[0].unit,
    )


def trend_plot(
    standing: Standing, plans: Mapping[str, str], box: Box, cap_px: float, unit: ForceUnit
) -> list[PageItem]:
    """Draw up the plot.

    Args:
        standing: one athlete in one exercise.
        plans: id of a session -> name of its plan.
        box: where [px].
        cap_px: height of a capital in the figures [px].
        unit: the coach's unit.

    Returns:
        The items.
    """
    course = course_of(standing, unit)
    inner = Box(
        box.x + LEFT * box.w,
        box.y + TOP * box.h,
        (1.0 - LEFT) * box.w,
        (1.0 - TOP - BOTTOM) * box.h,
    )
    margin = 0.04 * inner.w
    span = max(course.days[-1], LEAST_DAYS)
    across = Axis(0.0, span, inner.x + margin, inner.right - margin)
    up = _upright(course, inner)
    items = _scatter(course, across, up)
    items += _figures(up, inner, box, cap_px, course.unit)
    scores = standing.overview.run.scores
    items += _days(scores, across, inner, cap_px)
    items += _phases(scores, plans, across, (inner, box.bottom), cap_px)
    return items + _points(course, across, up, cap_px)


def _upright(course: Course, inner: Box) -> Axis:
    low = min(value - u95 for value, u95 in zip(course.values, course.u95, strict=True))
    high = max(value + u95 for value, u95 in zip(course.values, course.u95, strict=True))
    middle = course.line or (sum(course.values) / len(course.values),)
    low, high = min(low, *middle) - course.band, max(high, *middle) + course.band
    room = ROOM * (high - low) or 1.0
    return Axis(low - room, high + room, inner.bottom, inner.y)


def _scatter(course: Course, across: Axis, up: Axis) -> list[PageItem]:
    """Draw the band, and the trend in it."""
    if course.line is None:
        level = sum(course.values) / len(course.values)
        ends = ((across.low, level), (across.high, level))
    else:
        first, last = course.line
        ends = ((course.days[0], first), (course.days[-1], last))
    upper = [(across.place(day), up.place(value + course.band)) for day, value in ends]
    lower = [(across.place(day), up.place(value - course.band)) for day, value in ends]
    items: list[PageItem] = [Area((*upper, *reversed(lower)))]
    if course.line is not None:
        (x1, y1), (x2, y2) = ((across.place(day), up.place(value)) for day, value in ends)
        items.append(Stroke(x1, y1, x2, y2, Ink.DASHED))
    return items


def _figures(up: Axis, inner: Box, box: Box, cap_px: float, unit: str) -> list[PageItem]:
    items: list[PageItem] = [
        Stroke(inner.x, inner.bottom, inner.right, inner.bottom, Ink.QUIET),
    ]
    for value in ticks(up.low, up.high, FIGURES):
        y = up.place(value)
        if y > inner.bottom - cap_px or y < inner.y + cap_px:
            continue
        items.append(Stroke(inner.x - 0.5 * cap_px, y, inner.x, y, Ink.QUIET))
        where = Box(box.x, y - cap_px, inner.x - box.x - cap_px, 2.0 * cap_px)
        items.append(parts.plain(f"{value:g}", where, cap_px, align=Align.RIGHT, is_quiet=True))
    head = Box(box.x, box.y, box.w, 2.0 * cap_px)
    words = f"{unit}, mean of the best three of a session; the band is what a session varies by"
    return [*items, parts.plain(words, head, cap_px, is_quiet=True)]


def _days(scores: Sequence[Score], across: Axis, inner: Box, cap_px: float) -> list[PageItem]:
    items: list[PageItem] = []
    wide = (across.at_high - across.at_low) / DAYS
    for number in range(DAYS + 1):
        day = across.low + number * (across.high - across.low) / DAYS
        x = across.place(day)
        at = scores[0].at + timedelta(seconds=day * DAY_S)
        items.append(Stroke(x, inner.bottom, x, inner.bottom + 0.5 * cap_px, Ink.QUIET))
        left = min(max(x - wide / 2.0, inner.x), inner.right - 0.96 * wide)
        where = Box(left, inner.bottom + 0.6 * cap_px, 0.96 * wide, 2.0 * cap_px)
        align = Align.RIGHT if number == DAYS else Align.CENTRE if number else Align.LEFT
        if number in (0, DAYS) or number % 2 == 0:
            local = at.astimezone()
            year = f" {local.year}" if number in (0, DAYS) else ""
            words = f"{local.day} {local:%b}{year}"
            items.append(parts.plain(words, where, cap_px, align=align, is_quiet=True))
    return items


def _phases(
    scores: Sequence[Score],
    plans: Mapping[str, str],
    across: Axis,
    place: tuple[Box, float],
    cap_px: float,
) -> list[PageItem]:
    """Name the plan where it changes, and mark each bout."""
    inner, bottom = place
    days = [(score.at - scores[0].at).total_seconds() / DAY_S for score in scores]
    named = [plans.get(score.session, "") for score in scores]
    starts = [
        (day, plan)
        for place, (day, plan) in enumerate(zip(days, named, strict=True))
        if plan and (place == 0 or named[place - 1] != plan)
    ]
    items: list[PageItem] = []
    top = inner.bottom + 2.9 * cap_px
    ends = [across.place(day) for day, _ in starts[1:]] + [inner.right]
    for (day, plan), end in zip(starts, ends, strict=True):
        x = across.place(day)
        items.append(Stroke(x, top, x, bottom, Ink.QUIET))
        where = Box(x + 0.5 * cap_px, top, end - x - cap_px, 2.0 * cap_px)
        if where.w > LETTER * len(plan) * cap_px:
            items.append(parts.plain(plan, where, cap_px))
    bouts = [across.place(day) for day, plan in zip(days, named, strict=True) if plan == BOUT]
    free_from = inner.x
    for x in bouts:
        items.append(Stroke(x, inner.y, x, inner.bottom, Ink.STRONG))
        where = Box(x + 0.4 * cap_px, inner.y, 4.2 * cap_px, 1.9 * cap_px)
        if where.x >= free_from and where.right <= inner.right:
            items.append(parts.plain("bout", where, cap_px))
            free_from = where.right
    return items


def _points(course: Course, across: Axis, up: Axis, cap_px: float) -> list[PageItem]:
    """Draw each session with the doubt of its measuring; the best one points up."""
    items: list[PageItem] = []
    places = [
        (across.place(day), up.place(value))
        for day, value in zip(course.days, course.values, strict=True)
    ]
    if len(places) > 1:
        items.append(Line(tuple(places), Ink.QUIET))
    best = max(range(len(places)), key=lambda index: course.values[index])
    for index, (x, y) in enumerate(places):
        value, u95 = course.values[index], course.u95[index]
        items.append(Stroke(x, up.place(value - u95), x, up.place(value + u95), Ink.QUIET))
        shape = Shape.UP if index == best and len(places) > 1 else Shape.ROUND
        items.append(Mark(x, y, 1.1 * cap_px if shape is Shape.UP else 0.9 * cap_px, shape))
    return items
