"""The pictures of the reports: a trend, a change beside its doubt, bars, curves.

A picture shows what stands in numbers beside it and never more. Words in it are short numbers
and days; names stand in the tables, where they can be broken.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.axes import ticks
from strikebridge.reports.drawing import (
    BAND,
    GRID,
    INK,
    QUIET,
    STRONG,
    TEXT_PT,
    Drawing,
    Scale,
    area,
    box,
    dot,
    line,
    stroke,
    words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from strikebridge.glance import Trace
    from strikebridge.reports.wording import Wording

ROOM_LEFT_PT = 26.0  # for three digits and a sign
ROOM_BOTTOM_PT = 12.0
ROOM_TOP_PT = 14.0
AXIS_TICKS = 4
BOUT_PT = 2.6  # half the width of the mark of a bout
DASHES = ("", "4 2", "1.5 1.5", "6 2 1.5 2")
"""Of curves laid over each other, in turn, so that they stay apart in grey."""
CURVE_COLOURS = (INK, STRONG, QUIET, "#7A4E00")
CURVE_POINTS = 240  # more cannot be seen at this size


@dataclass(frozen=True, slots=True)
class Point:
    """One test in a trend.

    Attributes:
        at: when.
        value_N: force [N].
        u95_N: expanded uncertainty of the measuring [N].
        is_bout: True on the day of a bout.
    """

    at: datetime
    value_N: float
    u95_N: float
    is_bout: bool = False


@dataclass(frozen=True, slots=True)
class Course:
    """What a trend picture shows.

    Attributes:
        title: exercise and hand.
        points: oldest first, at least one.
        line_N: force on the middle line at the first and at the last test [N], None without.
        band_N: half-width of the band, the typical error [N].
    """

    title: str
    points: tuple[Point, ...]
    line_N: tuple[float, float] | None
    band_N: float


def trend(
    course: Course,
    wording: Wording,
    days: tuple[datetime, datetime],
    size_pt: tuple[float, float],
) -> Drawing:
    """Draw the tests of an athlete over the days, with the band of the typical error.

    Args:
        course: the tests.
        wording: language and unit.
        days: first and last that the picture shows, the same for all beside each other.
        size_pt: width and height [pt].
    """
    width_pt, height_pt = size_pt
    points, plain = course.points, wording.plain
    reach = [plain(p.value_N + s * p.u95_N) for p in points for s in (-1.0, 1.0)]
    if course.line_N is not None:
        reach += [plain(at + s * course.band_N) for at in course.line_N for s in (-1.0, 1.0)]
    up = _upright(min(reach), max(reach), height_pt)
    first, last = (float(day.toordinal()) for day in days)
    if first == last:
        first, last = first - 1.0, last + 1.0  # one day stands in the middle
    across = Scale(first, last, ROOM_LEFT_PT + 8.0, width_pt - 12.0)
    parts = _axis(up, wording, width_pt)
    if course.line_N is not None and len(points) > 1:
        ends = [
            (across.at(float(at.toordinal())), value)
            for at, value in zip((points[0].at, points[-1].at), course.line_N, strict=True)
        ]
        edges = [(x, up.at(plain(v + course.band_N))) for x, v in ends]
        edges += [(x, up.at(plain(v - course.band_N))) for x, v in reversed(ends)]
        parts.insert(0, area(edges))
        parts.append(line([(x, up.at(plain(v))) for x, v in ends], colour=STRONG, dashes="4 2"))
    for point in points:
        x = across.at(float(point.at.toordinal()))
        low, high = (up.at(plain(point.value_N + s * point.u95_N)) for s in (-1.0, 1.0))
        parts += [stroke(x, low, x, high), dot(x, up.at(plain(point.value_N)))]
        if point.is_bout:
            base = height_pt - ROOM_BOTTOM_PT
            corners = [(x - BOUT_PT, base), (x + BOUT_PT, base), (x, base - 2.0 * BOUT_PT)]
            parts.append(area(corners, INK))
    parts += _days(days, across, wording, height_pt)
    parts.append(words(0.0, TEXT_PT, f"{course.title}, {wording.unit.value}", colour=INK))
    return Drawing(course.title, width_pt, height_pt, tuple(parts))


def change_bar(value: float, u95: float, span: float, title: str, *, is_real: bool) -> Drawing:
    """Draw a change as a mark with its interval, beside a line that stands for none.

    Args:
        value: the change.
        u95: half-width of its interval, same unit.
        span: what the ends stand for, same unit, above 0.
        title: the same in words.
        is_real: a filled mark in place of an open one.
    """
    width_pt, height_pt = 56.0, 9.0
    across = Scale(-span, span, 3.0, width_pt - 3.0)
    y = height_pt / 2.0
    zero = across.at(0.0)
    parts = (
        stroke(zero, 0.0, zero, height_pt, colour=QUIET, width_pt=0.6),
        stroke(across.at(value - u95), y, across.at(value + u95), y, width_pt=1.1),
        dot(across.at(value), y, is_filled=is_real),
    )
    return Drawing(title, width_pt, height_pt, parts)


def spark(values_N: Sequence[float], title: str) -> Drawing:
    """Draw how the tests went, small, without numbers.

    Args:
        values_N: oldest first [N], at least one.
        title: the same in words.
    """
    width_pt, height_pt = 60.0, 11.0
    low, high = min(values_N), max(values_N)
    room = max(high - low, 0.02 * abs(high), 1e-9)  # a steady athlete is a level line
    middle = (low + high) / 2.0
    up = Scale(middle - room / 2.0, middle + room / 2.0, height_pt - 2.5, 2.5)
    across = Scale(0.0, max(1.0, len(values_N) - 1.0), 3.0, width_pt - 3.0)
    places = [(across.at(float(i)), up.at(value)) for i, value in enumerate(values_N)]
    return Drawing(
        title,
        width_pt,
        height_pt,
        (line(places, width_pt=0.9), dot(*places[-1], radius_pt=1.8)),
    )


@dataclass(frozen=True, slots=True)
class RepBar:
    """One rep as a bar.

    Attributes:
        label: below it, such as the set and rep.
        value_N: force [N], None where it is withheld.
        u95_N: expanded uncertainty [N], None where it is not known.
    """

    label: str
    value_N: float | None
    u95_N: float | None


def bars(
    reps: Sequence[RepBar], title: str, wording: Wording, width_pt: float, height_pt: float
) -> Drawing:
    """Draw the reps of a session as bars with their doubt.

    Args:
        reps: in their order, at least one.
        title: what it shows.
        wording: language and unit.
        width_pt: width [pt].
        height_pt: height [pt].
    """
    tops = [
        wording.plain(rep.value_N + (rep.u95_N or 0.0))
        for rep in reps
        if rep.value_N is not None
    ]
    up = Scale(0.0, 1.04 * max([1.0, *tops]), height_pt - ROOM_BOTTOM_PT, ROOM_TOP_PT)
    parts = _axis(up, wording, width_pt)
    step = (width_pt - ROOM_LEFT_PT - 2.0) / len(reps)
    wide = min(18.0, 0.62 * step)
    labels_every = max(1, round(13.0 / step))
    for i, rep in enumerate(reps):
        x = ROOM_LEFT_PT + 2.0 + (i + 0.5) * step
        if rep.value_N is not None:
            y = up.at(wording.plain(rep.value_N))
            parts.append(box(x - wide / 2.0, y, wide, up.at_low - y, fill=BAND, edge=INK))
            if rep.u95_N is not None:
                low, high = (
                    up.at(wording.plain(rep.value_N + s * rep.u95_N)) for s in (-1.0, 1.0)
                )
                parts.append(stroke(x, low, x, high, width_pt=1.1))
        if i % labels_every == 0:
            parts.append(words(x, height_pt - 3.0, rep.label, anchor="middle"))
    parts.append(words(0.0, TEXT_PT, f"{title}, {wording.unit.value}", colour=INK))
    return Drawing(title, width_pt, height_pt, tuple(parts))


def curves(
    traces: Sequence[tuple[str, Trace]],
    title: str,
    wording: Wording,
    width_pt: float,
    height_pt: float,
) -> Drawing:
    """Lay the curves of several reps over each other.

    Args:
        traces: label and curve of each, time counted from its onset, at least one.
        title: what it shows.
        wording: language and unit.
        width_pt: width [pt].
        height_pt: height [pt].
    """
    top = max(wording.plain(float(trace.force_N.max())) for _, trace in traces)
    last_s = max(float(trace.time_s[-1]) for _, trace in traces)
    first_s = min(float(trace.time_s[0]) for _, trace in traces)
    up = Scale(0.0, 1.04 * max(1.0, top), height_pt - ROOM_BOTTOM_PT, ROOM_TOP_PT)
    room_right = 24.0
    across = Scale(
        first_s, max(last_s, first_s + 0.1), ROOM_LEFT_PT + 2.0, width_pt - room_right
    )
    parts = _axis(up, wording, width_pt - room_right)
    for i, (label, trace) in enumerate(traces):
        step = max(1, len(trace.time_s) // CURVE_POINTS)
        places = [
            (across.at(float(t)), up.at(wording.plain(float(f))))
            for t, f in zip(trace.time_s[::step], trace.force_N[::step], strict=True)
        ]
        colour = CURVE_COLOURS[i % len(CURVE_COLOURS)]
        dashes = DASHES[i % len(DASHES)]
        parts.append(line(places, colour=colour, dashes=dashes, width_pt=0.9))
        y = ROOM_TOP_PT + 5.0 + i * (TEXT_PT + 1.5)
        if y < height_pt - ROOM_BOTTOM_PT:
            ends = [(width_pt - room_right + 2.0, y - 2.3), (width_pt - 12.0, y - 2.3)]
            parts += [
                line(ends, colour=colour, dashes=dashes, width_pt=0.9),
                words(width_pt - 10.0, y, label),
            ]
    for second in ticks(across.low, across.high, 6):
        parts.append(
            words(across.at(second), height_pt - 3.0, wording.tick(second, 1), anchor="middle")
        )
    parts.append(words(width_pt - room_right + 4.0, height_pt - 3.0, "s"))
    parts.append(words(0.0, TEXT_PT, f"{title}, {wording.unit.value}", colour=INK))
    return Drawing(title, width_pt, height_pt, tuple(parts))


def _upright(low: float, high: float, height_pt: float) -> Scale:
    """Make a scale with some air, from zero where that costs less than half of the height."""
    air = 0.08 * (high - low) or 0.05 * abs(high) or 1.0
    bottom = 0.0 if 0.0 <= low <= 0.5 * high else low - air
    return Scale(bottom, high + air, height_pt - ROOM_BOTTOM_PT, ROOM_TOP_PT)


def _axis(up: Scale, wording: Wording, right_pt: float) -> list[str]:
    """Draw the upright axis: a faint line and a number at each round value."""
    values = ticks(up.low, up.high, AXIS_TICKS)
    decimals = 0 if all(value == round(value) for value in values) else 1
    parts = []
    for value in values:
        y = up.at(value)
        parts += [
            stroke(ROOM_LEFT_PT, y, right_pt, y, colour=GRID, width_pt=0.5),
            words(ROOM_LEFT_PT - 3.0, y + 2.4, wording.tick(value, decimals), anchor="end"),
        ]
    return parts


def _days(
    days: tuple[datetime, datetime], across: Scale, wording: Wording, height_pt: float
) -> list[str]:
    """Write the first and the last day below the picture, a single one in its middle."""
    first, last = (wording.short_day(day) for day in days)
    y = height_pt - 3.0
    if first == last:
        return [words((across.at_low + across.at_high) / 2.0, y, first, anchor="middle")]
    return [
        words(across.at_low, y, first),
        words(across.at_high, y, last, anchor="end"),
    ]
