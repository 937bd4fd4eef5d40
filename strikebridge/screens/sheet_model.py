"""Where the words of a club's page stand: head, list, what is beside it, footer; no Qt.

The list shows the rows round the chosen one where there are more than fit, and says how many
are above and below.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from strikebridge.pages.sheet import Mark
from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Bar, Page, PageItem, with_words
from strikebridge.screens.items import Align, Box
from strikebridge.screens.look import State
from strikebridge.screens.rig_layout import HEAD_CAP, KEYS_CAP, SMALL_CAP, RigFrame

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.pages.sheet import Column, Sheet, SheetRow, SideWords

TELL_CAP = 0.050
CELL_CAP = 0.0190
SIDE_CAP = 0.0190
SIDE_HEAD_CAP = 0.0215
TOP, BOTTOM = 0.215, 0.872
ROW_HIGH = 0.0505
TALL_ROW_HIGH, TALL_CAP = 0.082, 0.0225  # for two lines
CELLS_LEFT = 0.042
LONGEST_BOLD = 26  # letters; the heavy face is wide, and a long name would shrink too far
BESIDE = 0.03  # between the list and what stands beside it
LETTER_WIDE = 0.90  # of a letter in heights of a capital, with what breaking lines costs
FIRST_LINE, LINE_HIGH = 1.5, 1.65  # in heights of a capital: the first line, each further one
BETWEEN = 0.8  # paragraphs, the same
FACES: dict[Mark, tuple[float, State]] = {
    Mark.IN: (1.0, State.THERE),
    Mark.OUT: (1.0, State.STALE),
    Mark.MIND: (1.0, State.OVER),
}
"""How a row stands -> share and state of its bar; one without a mark has none."""


def sheet_page(sheet: Sheet, size: tuple[float, float]) -> Page:
    """Decide what is painted.

    Args:
        sheet: what is shown.
        size: width and height of the page [px].

    Returns:
        What is to be painted.
    """
    the = RigFrame(*size)
    items: list[PageItem] = [
        parts.plain(
            sheet.title, the.box(0.012, 0.060, 0.0, 0.44), the.cap(HEAD_CAP), is_quiet=True
        ),
        parts.plain(
            sheet.right, the.head_right, the.cap(HEAD_CAP), align=Align.RIGHT, is_quiet=True
        ),
        parts.bold(sheet.tell, the.box(0.072, 0.160), the.cap(TELL_CAP)),
        parts.plain(sheet.said, the.box(0.888, 0.950), the.cap(SMALL_CAP), lines=2),
        parts.plain(
            sheet.footer, the.keys, the.cap(KEYS_CAP), align=Align.CENTRE, is_quiet=True
        ),
        *_list(sheet, the),
        *_side(sheet.side, sheet.share + BESIDE, the),
    ]
    return with_words(tuple(items))


def window_of(rows: int, chosen: int, room: int) -> tuple[int, int]:
    """Say which rows are shown: the chosen one among them, near the middle.

    Args:
        rows: how many there are.
        chosen: index of the chosen one.
        room: how many fit.

    Returns:
        Index of the first one, and behind the last one.
    """
    if rows <= room:
        return 0, rows
    first = min(max(0, chosen - room // 2), rows - room)
    return first, first + room


def _list(sheet: Sheet, the: RigFrame) -> list[PageItem]:
    high = ROW_HIGH if sheet.lines == 1 else TALL_ROW_HIGH
    cap_px = the.cap(CELL_CAP if sheet.lines == 1 else TALL_CAP)
    right = sheet.share if sheet.side else 1.0
    first, behind = window_of(len(sheet.rows), sheet.chosen, int((BOTTOM - TOP) / high))
    items: list[PageItem] = []
    edges = _edges(sheet.columns, right)
    heads = _boxes(edges, len(sheet.columns), TOP - 0.046, TOP - 0.008, the)
    for column, box in zip(sheet.columns, heads, strict=True):
        items.append(parts.plain(column.head, box, the.cap(CELL_CAP), is_quiet=True))
    for place, index in enumerate(range(first, behind)):
        row, top = sheet.rows[index], TOP + place * high
        items += _marks(row, the, top, high, is_chosen=index == sheet.chosen)
        boxes = _boxes(edges, len(row.cells), top + 0.05 * high, top + 0.95 * high, the)
        items += _cells(row, boxes, cap_px, is_chosen=index == sheet.chosen)
    hidden = [f"{first} more above"] * (first > 0)
    hidden += [f"{len(sheet.rows) - behind} more below"] * (behind < len(sheet.rows))
    where = the.box(0.012, 0.060, 0.45, 0.67)
    items.append(parts.plain(", ".join(hidden), where, the.cap(SMALL_CAP), align=Align.RIGHT))
    return items


def _marks(
    row: SheetRow, the: RigFrame, top: float, high: float, *, is_chosen: bool
) -> list[PageItem]:
    """Lay out an upright bar at the chosen row, and how the row stands."""
    items: list[PageItem] = []
    if is_chosen:
        mark = the.box(top + 0.1 * high, top + 0.9 * high, 0.0, 0.007)
        items.append(Bar(mark.on_pixels(), 1.0, State.PUSH))
    if row.mark in FACES:
        share, state = FACES[row.mark]
        face = the.box(top + 0.28 * high, top + 0.72 * high, 0.012, 0.032)
        items.append(Bar(face.on_pixels(), share, state))
    return items


def _cells(
    row: SheetRow, boxes: Sequence[Box], cap_px: float, *, is_chosen: bool
) -> list[PageItem]:
    items: list[PageItem] = []
    for number, (cell, box) in enumerate(zip(row.cells, boxes, strict=True)):
        if number == 0:
            words = f"{row.letter}: {cell}" if row.letter else cell
            is_bold = is_chosen and len(words) <= LONGEST_BOLD
            make = parts.bold if is_bold else parts.plain
            items.append(make(words, box, cap_px, lines=2))
        else:
            items.append(parts.plain(cell, box, cap_px, lines=2, is_quiet=not is_chosen))
    return items


def _edges(columns: Sequence[Column], right: float) -> list[float]:
    """Say where the columns begin and the last one ends, as shares of the width."""
    edges = [CELLS_LEFT]
    for column in columns:
        edges.append(edges[-1] + column.share * (right - CELLS_LEFT))
    return edges


def _boxes(
    edges: Sequence[float], cells: int, top: float, bottom: float, the: RigFrame
) -> list[Box]:
    """Cut a row into cells; the last of them has the room of all columns that are left."""
    ends = [*edges[1:cells], edges[-1]]
    return [
        the.box(top, bottom, left, right - 0.008)
        for left, right in zip(edges[:cells], ends, strict=True)
    ]


def _side(side: Sequence[SideWords], left: float, the: RigFrame) -> list[PageItem]:
    """Set paragraphs under one another, all smaller where they would not fit."""
    room = the.box(TOP - 0.046, BOTTOM, left, 1.0)
    scale = 1.0
    while _side_high(side, the, room.w, scale) > room.h and scale > 0.5:
        scale -= 0.05
    items: list[PageItem] = []
    y = room.y
    for one in side:
        cap_px = the.cap(SIDE_HEAD_CAP if one.is_head else SIDE_CAP) * scale
        lines = _lines(one.words, room.w, cap_px)
        high = min(_high(lines) * cap_px, room.bottom - y)
        if high < cap_px:  # as much as fits; the test of the pages sees that all does
            break
        box = Box(room.x, y, room.w, high)
        make = parts.bold if one.is_head else parts.plain
        items.append(make(one.words, box, cap_px, lines=lines))
        y += high + BETWEEN * cap_px
    return items


def _side_high(side: Sequence[SideWords], the: RigFrame, wide: float, scale: float) -> float:
    high = 0.0
    for one in side:
        cap_px = the.cap(SIDE_HEAD_CAP if one.is_head else SIDE_CAP) * scale
        high += (_high(_lines(one.words, wide, cap_px)) + BETWEEN) * cap_px
    return high


def _high(lines: int) -> float:
    """Say how high a paragraph is, in heights of a capital."""
    return FIRST_LINE + (lines - 1) * LINE_HIGH


def _lines(words: str, wide: float, cap_px: float) -> int:
    """Estimate how many lines words take."""
    return max(1, math.ceil(len(words) * LETTER_WIDE * cap_px / wide))
