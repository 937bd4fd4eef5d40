"""Reps set under one another, and their curves laid over each other; no Qt.

The coach's page shows those of the set under way, the review those of a session.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Bar, Ink, Line, PageItem, Panel, Stroke
from strikebridge.screens.items import Align, Box
from strikebridge.screens.look import State
from strikebridge.screens.review_model import curve_of
from strikebridge.screens.review_sheet import Plot, nice_step, spread

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.samples import Rep
    from strikebridge.screens.review_model import Curve
    from strikebridge.screens.rig_layout import RigFrame
    from strikebridge.units import ForceUnit

CURVES_SHOWN = 8
ROW_CAP = 0.0215
HEAD_CAP = 0.0175
RIGHT = 0.275  # of the width: where rows and curves begin
ROWS = (0.246, 0.486)  # of the height: where the rows stand
HIGHEST = 0.048  # of one row
HEADROOM = 1.08
FROM_S = -0.2


@dataclass(frozen=True, slots=True)
class RepRow:
    """One rep in words.

    Attributes:
        number: from 1.
        peak: the peak with its ±, without the unit.
        rise: word on the rise, or that it was taken back.
        hold: word on the hold, empty once taken back.
        bricks: share of each second in which the force was where it should be, 0 to 1.
        cue: the cue before it, empty without one.
    """

    number: int
    peak: str
    rise: str
    hold: str
    bricks: tuple[float, ...] = ()
    cue: str = ""


def rep_rows(rows: Sequence[RepRow], the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    """Set reps under one another, the newest at the bottom and bold.

    Args:
        rows: the reps, ten at most.
        the: the frame.
        unit: the coach's unit.
    """
    columns = {
        "rep": (RIGHT, 0.310),
        f"peak, {unit.value}": (0.315, 0.445),
        "rise": (0.455, 0.565),
        "hold": (0.575, 0.695),
        "each second": (0.705, 0.835),
        "cue before it": (0.845, 1.0),
    }
    items: list[PageItem] = [
        parts.plain(name, the.box(0.212, 0.242, *span), the.cap(HEAD_CAP), is_quiet=True)
        for name, span in columns.items()
    ]
    spans = list(columns.values())
    if not rows:
        words = "The reps of this set come here, one line each."
        empty = the.box(0.250, 0.290, RIGHT, 1.0)
        items.append(parts.plain(words, empty, the.cap(ROW_CAP), is_quiet=True))
    high = min(HIGHEST, (ROWS[1] - ROWS[0]) / max(1, len(rows)))
    cap_px = the.cap(min(ROW_CAP, 0.5 * high))
    for index, row in enumerate(rows):
        top = ROWS[0] + index * high
        bottom = top + 0.88 * high
        make = parts.bold if index == len(rows) - 1 else parts.plain
        texts = (str(row.number), row.peak, row.rise, row.hold)
        for text, span in zip(texts, spans, strict=False):
            items.append(make(text, the.box(top, bottom, *span), cap_px))
        items += _bricks(row.bricks, the.box(top + 0.18 * high, top + 0.72 * high, *spans[4]))
        items.append(parts.plain(row.cue, the.box(top, bottom, *spans[5]), cap_px, lines=2))
    return items


def _bricks(shares: Sequence[float], row: Box) -> list[PageItem]:
    """Draw one bar a second, filled as far as the force was where it should be."""
    if not shares:
        return []
    pitch = row.w / max(5, len(shares))
    return [
        Bar(Box(row.x + i * pitch, row.y, 0.86 * pitch, row.h).on_pixels(), share, State.THERE)
        for i, share in enumerate(shares)
    ]


def curves_over(
    reps: Sequence[tuple[int, Rep]], the: RigFrame, unit: ForceUnit, hold_s: float | None
) -> list[PageItem]:
    """Lay the curves that count over each other, the newest strong, named at the right.

    Args:
        reps: number and rep, oldest first.
        the: the frame.
        unit: the coach's unit.
        hold_s: prescribed seconds, None without them [s].
    """
    curves = [(number, curve_of(rep, unit)) for number, rep in reps[-CURVES_SHOWN:]]
    if not curves:
        return []
    ground = the.box(0.520, 0.850, RIGHT + 0.035, 0.905)
    head = the.box(0.486, 0.516, RIGHT, 1.0)
    which = f"the last {len(curves)}" if len(reps) > len(curves) else "all that count"
    words = f"{which}, from the onset, {unit.value} over seconds; the newest is bold"
    items: list[PageItem] = [
        Panel(ground),
        parts.plain(words, head, the.cap(HEAD_CAP), is_quiet=True),
    ]
    highest = max(curve.peak.force for _, curve in curves)
    longest_s = max(float(curve.time_s[-1]) for _, curve in curves)
    plot = Plot(ground, FROM_S, longest_s, 0.0, HEADROOM * max(highest, 1e-9))
    items += _axes(plot, the, hold_s)
    for number, curve in curves:
        ink = Ink.STRONG if number == curves[-1][0] else Ink.QUIET
        points = plot.points(curve.time_s, curve.force)
        items.append(Line(tuple(map(tuple, points.tolist())), ink))
    items += _names(curves, plot, the)
    return items


def _axes(plot: Plot, the: RigFrame, hold_s: float | None) -> list[PageItem]:
    box, items = plot.box, list[PageItem]()
    cap_px = the.cap(HEAD_CAP)
    step = nice_step(plot.high, 4)
    for k in range(int(plot.high / step) + 1):
        y = plot.y(k * step)
        items.append(Stroke(box.x - 0.2 * cap_px, y, box.x, y, Ink.QUIET))
        room = the.box(0.0, 0.030, RIGHT, RIGHT + 0.030)
        label = Box(room.x, y - 0.5 * room.h, room.w, room.h)
        if label.y < box.y:
            continue  # the words above the curves are there
        items.append(
            parts.plain(f"{k * step:g}", label, cap_px, align=Align.RIGHT, is_quiet=True)
        )
    step_s = nice_step(plot.to_s - plot.from_s, 8)
    for k in range(int(plot.to_s / step_s) + 1):
        x = plot.x(k * step_s)
        items.append(Stroke(x, box.bottom, x, box.bottom + 0.4 * cap_px, Ink.QUIET))
        label = Box(x - 2.0 * cap_px, box.bottom + 0.5 * cap_px, 4.0 * cap_px, 1.6 * cap_px)
        items.append(
            parts.plain(f"{k * step_s:g}", label, cap_px, align=Align.CENTRE, is_quiet=True)
        )
    if hold_s is not None and hold_s < plot.to_s:
        x = plot.x(hold_s)
        items.append(Stroke(x, box.y, x, box.bottom, Ink.DASHED))
    return items


def _names(curves: Sequence[tuple[int, Curve]], plot: Plot, the: RigFrame) -> list[PageItem]:
    """Name each curve at the right, where it still stood at its height."""
    pitch, box = the.cap(0.034), plot.box
    ordered = sorted(curves, key=lambda one: -one[1].held_last.force)
    wanted = [plot.y(curve.held_last.force) for _, curve in ordered]
    places = spread(wanted, pitch, box.y + 0.5 * pitch, box.bottom - 0.5 * pitch)
    where = the.box(0.0, 1.0, 0.910, 1.0)
    items: list[PageItem] = []
    for (number, curve), y in zip(ordered, places, strict=True):
        label = Box(where.x, y - 0.5 * pitch, where.w, pitch)
        words = f"{number} {curve.fault_words}".strip()
        make = parts.bold if number == curves[-1][0] else parts.plain
        items.append(make(words, label, the.cap(HEAD_CAP)))
    return items
