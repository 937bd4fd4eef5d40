"""What stands on the squad board and on an athlete's page, decided without a window."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from strikebridge.progress.heading import Heading
from strikebridge.progress.score import measured
from strikebridge.reports.progress_words import (
    NO_MARK,
    change_words,
    day_words,
    facts,
    form_words,
    heading_words,
    number_words,
    setup_mark,
    setup_words,
    sides_words,
    title_words,
)
from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import (
    Bar,
    Ink,
    Line,
    Mark,
    Page,
    PageItem,
    Shape,
    Stroke,
    with_words,
)
from strikebridge.screens.items import Align, Box
from strikebridge.screens.look import State
from strikebridge.screens.rig_layout import FIGURE_CAP, HEAD_CAP, KEYS_CAP, RigFrame
from strikebridge.screens.trend_plot import trend_plot

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.records import Standing
    from strikebridge.screens.progress_view import ProgressView

ROWS = 12  # of the board, on one page
TITLE_CAP = 0.040
ROW_CAP = 0.022
SMALL = 0.0165
SPARK_TESTS = 12
FACTS = 10  # on an athlete's page
LETTER = 0.80  # width of a letter in capitals' heights, on average
COLUMNS = {
    "athlete": (0.012, 0.255),
    "newest session": (0.265, 0.385),
    "change": (0.395, 0.520),
    "which is": (0.530, 0.680),
    "form": (0.690, 0.785),
    "sessions": (0.795, 0.865),
    "course": (0.875, 1.0),
}
FACES = {
    Heading.UP: State.THERE,
    Heading.LIKELY_UP: State.THERE,
    Heading.FADING: State.OVER,
    Heading.LIKELY_FADING: State.OVER,
    Heading.FLAT: State.PUSH,
}
"""Heading -> colour and hatch of its bar; what cannot be told has an empty one."""
SHARES = {Heading.LIKELY_UP: 0.5, Heading.LIKELY_FADING: 0.5}
"""Heading -> share of the bar that is filled, else all of it."""
BOARD_KEYS = (
    "Space, PageDown: open      PageUp, arrows: choose      E: exercise      H: hand      "
    "S: set-up      T: weeks      O: order      R: report      U: unit      D: colours      "
    "Esc: back"
)
PAGE_KEYS = (
    "Space, PageDown, arrows: next exercise      PageUp, Esc: back to the board      "
    "T: weeks      R: report      U: unit      D: dark or daylight      F11: full screen"
)
NOTHING = "No rep on record fits."
NOTHING_YET = "No rep is on record yet. Lead a session, and it shows here."


def progress_page(view: ProgressView, size: tuple[float, float], said: str = "") -> Page:
    """Decide the page.

    Args:
        view: where the coach is.
        size: width and height of the page [px].
        said: what went wrong a moment ago, one sentence, or empty.

    Returns:
        What is to be painted.
    """
    the = RigFrame(*size)
    items = _board(view, the) if view.camp is None else _athlete(view, the)
    keys = BOARD_KEYS if view.camp is None else PAGE_KEYS
    return with_words(
        (
            *items,
            parts.plain(said, the.box(0.925, 0.955), the.cap(SMALL)),
            parts.plain(keys, the.keys, the.cap(KEYS_CAP), align=Align.CENTRE, is_quiet=True),
        )
    )


def _weeks(view: ProgressView) -> str:
    return "everything" if view.filters.weeks is None else f"{view.filters.weeks} weeks"


def _board(view: ProgressView, the: RigFrame) -> list[PageItem]:
    rows = view.rows
    exercise = rows[0].like.exercise if rows else view.filters.exercise
    name = "" if exercise is None else view.found.exercises.get(exercise, exercise)
    setup = view.filters.setup
    described = "any set-up" if setup is None else setup_words(setup, view.found.board.setups)
    hand = "either hand" if view.filters.hand is None else f"{view.filters.hand.value} hand"
    filters = f"{hand}, {described}, {_weeks(view)}, by {view.order.value}"
    title = f"Squad: {name}" if name else "Squad"
    count = f"{view.chosen + 1} of {len(rows)}" if rows else ""
    items: list[PageItem] = [
        parts.bold(title, the.box(0.012, 0.080, 0.0, 0.80), the.cap(TITLE_CAP)),
        parts.plain(
            count,
            the.box(0.022, 0.070, 0.82, 1.0),
            the.cap(HEAD_CAP),
            align=Align.RIGHT,
            is_quiet=True,
        ),
        parts.plain(filters, the.box(0.085, 0.125), the.cap(ROW_CAP)),
    ]
    if not rows:
        words = NOTHING if view.found.exercises else NOTHING_YET
        return [*items, parts.plain(words, the.box(0.30, 0.40), the.cap(0.034), lines=2)]
    items += [
        parts.plain(name, the.box(0.140, 0.172, *span), the.cap(SMALL), is_quiet=True)
        for name, span in COLUMNS.items()
    ]
    first = max(0, min(view.chosen - ROWS // 2, len(rows) - ROWS))
    high = (0.920 - 0.176) / ROWS
    for index, row in enumerate(rows[first : first + ROWS]):
        top = 0.176 + index * high
        items += _row(view, row, the, (top, high), is_chosen=first + index == view.chosen)
    return items


def _row(
    view: ProgressView,
    row: Standing,
    the: RigFrame,
    place: tuple[float, float],
    *,
    is_chosen: bool,
) -> list[PageItem]:
    """Lay out one athlete: who, newest, change, the word for it with its face, course."""
    top, high = place
    middle, bottom = top + 0.60 * high, top + 0.94 * high
    found = row.overview
    items: list[PageItem] = []
    if is_chosen:
        items.append(Bar(the.box(top, bottom, 0.0, 0.007).on_pixels(), 1.0, State.PUSH))
    who, now, change, word, today, sessions, course = COLUMNS.values()
    setups = view.found.board.setups
    mark = setup_mark(row.like.setup, setups)
    below = ", ".join(
        part
        for part in (row.like.hand, "set-up not noted" if mark == NO_MARK else f"set-up {mark}")
        if part
    )
    name = view.found.athletes[row.like.athlete].name
    gain = "-"
    if found.change is not None:
        gain = number_words(found.change.estimate, view.unit, is_signed=True)
    make = parts.bold if is_chosen else parts.plain
    face = the.box(top + 0.22 * high, top + 0.66 * high, word[0], word[0] + 0.022).on_pixels()
    share = SHARES.get(found.heading, 1.0) if found.heading in FACES else 0.0
    newest = number_words(measured(found.best_three), view.unit)
    readiness = form_words(found)
    row_cap, line = the.cap(ROW_CAP), (top + 0.10 * high, top + 0.78 * high)
    return [
        *items,
        make(name, the.box(top, middle, *who), row_cap),
        parts.plain(below, the.box(middle, bottom, *who), the.cap(0.013), is_quiet=True),
        parts.plain(newest, the.box(*line, *now), row_cap),
        parts.plain(gain, the.box(*line, *change), row_cap),
        Bar(face, share, FACES.get(found.heading, State.REST)),
        parts.plain(heading_words(found), the.box(*line, word[0] + 0.030, word[1]), row_cap),
        parts.plain(readiness, the.box(*line, *today), row_cap),
        parts.plain(str(found.sessions), the.box(*line, *sessions), row_cap),
        *_spark(row, the.box(top + 0.12 * high, top + 0.80 * high, *course)),
    ]


def _spark(row: Standing, box: Box) -> list[PageItem]:
    """Draw the last scores as a line over the days, the newest with a point."""
    run = row.overview.run
    scores, days = run.scores[-SPARK_TESTS:], run.days[-SPARK_TESTS:]
    values = [score.value for score in scores]
    low, high = min(values), max(values)
    size = 0.22 * box.h
    inner = Box(box.x + size, box.y + size, box.w - 2.0 * size, box.h - 2.0 * size)

    def place(day: float, value: float) -> tuple[float, float]:
        across = (day - days[0]) / (days[-1] - days[0]) if days[-1] > days[0] else 0.5
        up = (value - low) / (high - low) if high > low else 0.5
        return inner.x + across * inner.w, inner.bottom - up * inner.h

    points = tuple(place(day, value) for day, value in zip(days, values, strict=True))
    marks: list[PageItem] = [Mark(*points[-1], size, Shape.ROUND)]
    return [Line(points, Ink.QUIET), *marks] if len(points) > 1 else marks


def _athlete(view: ProgressView, the: RigFrame) -> list[PageItem]:
    standing, athlete, camp = view.shown, view.athlete, view.camp
    if standing is None or athlete is None or camp is None:
        words = "No rep of this athlete lies in these weeks. T looks further back."
        return [parts.bold(words, the.box(0.30, 0.50), the.cap(TITLE_CAP), lines=2)]
    found = standing.overview
    brief = title_words(standing, camp, view.found.exercises, is_brief=True)
    count = f"{view.place % len(camp.standings) + 1} of {len(camp.standings)}, {_weeks(view)}"
    span = f"{day_words(found.run.scores[0].at)} to {day_words(found.run.scores[-1].at)}"
    face = the.box(0.196, 0.246, 0.0, 0.040).on_pixels()
    share = SHARES.get(found.heading, 1.0) if found.heading in FACES else 0.0
    items: list[PageItem] = [
        parts.bold(athlete.name, the.box(0.012, 0.080, 0.0, 0.70), the.cap(TITLE_CAP)),
        parts.plain(
            f"{count}; {span}",
            the.box(0.022, 0.070, 0.71, 1.0),
            the.cap(ROW_CAP),
            align=Align.RIGHT,
            is_quiet=True,
        ),
        parts.plain(brief, the.box(0.085, 0.130, 0.0, 0.66), the.cap(0.027)),
        parts.plain(
            setup_words(standing.like.setup, camp.setups),
            the.box(0.132, 0.165, 0.0, 0.66),
            the.cap(SMALL),
            is_quiet=True,
        ),
        Bar(face, share, FACES.get(found.heading, State.REST)),
        parts.bold(heading_words(found), the.box(0.180, 0.262, 0.050, 0.66), the.cap(0.050)),
        parts.plain(
            change_words(found, view.unit),
            the.box(0.266, 0.335, 0.0, 0.66),
            the.cap(ROW_CAP),
            lines=2,
        ),
        Stroke(
            *(the.box(0.09, 0.9, 0.672, 1.0).x, the.box(0.09, 0.9).y),
            *(the.box(0.09, 0.9, 0.672, 1.0).x, the.box(0.09, 0.92).bottom),
            Ink.QUIET,
        ),
    ]
    plot = the.box(0.345, 0.920, 0.0, 0.655)
    items += trend_plot(standing, camp.plans, plot, the.cap(FIGURE_CAP), view.unit)
    rows = facts(standing, view.unit, athlete.masses)[1:]  # the change stands above
    rows += [
        ("sides", sides_words(sides, view.found.exercises))
        for sides in camp.sides()
        if standing.like in (sides.lead.like, sides.rear.like)
    ]
    return [*items, *_facts(rows, the.box(0.090, 0.920, 0.685, 1.0), the)]


def _facts(rows: Sequence[tuple[str, str]], box: Box, the: RigFrame) -> list[PageItem]:
    """Set names and words under one another; what is too much for the page is counted."""
    left_out = len(rows) - FACTS
    shown = list(rows[:FACTS]) if left_out <= 0 else list(rows[: FACTS - 1])
    if left_out > 0:
        shown.append(("and", f"{len(rows) - len(shown)} more; the command progress says all"))
    cap_px = the.cap(0.0190)
    letters = box.w / (LETTER * cap_px)
    lines = [max(1, math.ceil(len(words) / letters)) for _, words in shown]
    high = [(3.6 + 1.7 * count) * cap_px for count in lines]
    squeeze = min(1.0, box.h / sum(high))
    top = box.y
    items: list[PageItem] = []
    for (name, words), count, tall in zip(shown, lines, high, strict=True):
        head = Box(box.x, top, box.w, squeeze * 1.7 * cap_px)
        body = Box(box.x, head.bottom, box.w, squeeze * (1.7 * count + 0.8) * cap_px)
        items.append(parts.plain(name, head, the.cap(0.0150), is_quiet=True))
        items.append(parts.plain(words, body, cap_px, lines=count + 1))
        top += squeeze * tall
    return items
