"""Where everything of a review goes on a picture of some size; no Qt.

Two plots share the scale of force: on the left the first half second, stretched, on the right
the whole hold. Labels stand at their curves: each hold's at the right edge, in the order of the
curves and led to them by a thin line, so that none overlaps; the marks are explained in words
at the strongest hold.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.screens.items import Align, Box
from strikebridge.screens.review_sheet import (
    Plot,
    Role,
    Sheet,
    Stroke,
    Symbol,
    Zone,
    nice_step,
    spread,
)

if TYPE_CHECKING:
    from strikebridge.screens.review_model import Curve, Point, Review

DESIGN_H = 768.0  # px; sizes below are for a picture of this height
TITLE_CAP = 13.0
PITCH = 18.0  # between two labels at the right edge
LABEL_W = 236.0
KEYS_W = 250.0
RISE_FROM_S, RISE_TO_S = -0.1, 0.5
HEADROOM = 1.22  # of the largest force; the words of the strongest hold stand there
RISE_LABELS_MOST = 8


def lay_out(review: Review, width: float, height: float, keys: str = "") -> Sheet:
    """Place a review on a picture.

    Args:
        review: what is shown.
        width: of the picture [px].
        height: of the picture [px].
        keys: what the keys of the window do; empty in a picture, which has none.

    Returns:
        What to paint.
    """
    sheet = Sheet(width, height, min(height / DESIGN_H, width / 1.6 / DESIGN_H))
    unit = sheet.scale
    left, right = 64.0 * unit, width - 14.0 * unit
    corner = Box(right - KEYS_W * unit, 10.0 * unit, KEYS_W * unit, 34.0 * unit)
    title = Box(left, 10.0 * unit, (corner.x if keys else right) - left, 34.0 * unit)
    sheet.say(review.title, title, cap_px=TITLE_CAP * unit, is_quiet=False, is_bold=True)
    if keys:
        sheet.say(keys, corner, align=Align.RIGHT)
    if not review.curves:
        for index, sentence in enumerate(review.nothing):
            line = Box(left, (120.0 + 44.0 * index) * unit, right - left, 36.0 * unit)
            sheet.say(sentence, line, cap_px=TITLE_CAP * unit, is_quiet=index > 0)
        return sheet
    _Painting(sheet, review, width, height).run()
    return sheet


class _Painting:
    """The work of laying out one review that has curves."""

    def __init__(self, sheet: Sheet, review: Review, width: float, height: float) -> None:
        unit = sheet.scale
        self.sheet, self.review, self.unit = sheet, review, unit
        highest = max(curve.peak.force for curve in review.curves)
        highest = max(highest, *(high for _, high in review.bands), 1e-9)
        lowest = min(0.0, *(float(curve.force.min()) for curve in review.curves))
        low = max(1.05 * lowest, -0.1 * highest)
        high = HEADROOM * highest
        top, bottom = 76.0 * unit, height - 74.0 * unit
        left, right = 64.0 * unit, width - 14.0 * unit - LABEL_W * unit
        split = left + 0.33 * (right - left)
        longest_s = max(float(curve.time_s[-1]) for curve in review.curves)
        rise = Box(left, top, split - left - 22.0 * unit, bottom - top)
        whole = Box(split + 22.0 * unit, top, right - split - 22.0 * unit, bottom - top)
        self.rise = Plot(rise, RISE_FROM_S, RISE_TO_S, low, high)
        self.whole = Plot(whole, -0.5, longest_s, low, high)
        self.right, self.bottom = width - 14.0 * unit, height

    def run(self) -> None:
        """Lay out everything, from the bottom to the top."""
        self._axes(self.rise, "the first half second", 0.1)
        span_s = self.whole.to_s - self.whole.from_s
        self._axes(self.whole, "the whole hold, seconds from the onset", nice_step(span_s, 8))
        self._asked()
        order = [i for i in range(len(self.review.curves)) if i != self.review.best]
        for index in [*order, self.review.best]:
            self._curve(self.review.curves[index], is_best=index == self.review.best)
        self._explain(self.review.curves[self.review.best])
        self._rise_faults()
        self._labels()
        self._footer()

    def _axes(self, plot: Plot, name: str, step_s: float) -> None:
        sheet, unit, box = self.sheet, self.unit, plot.box
        above = Box(box.x, box.y - 26.0 * unit, box.w, 20.0 * unit)
        sheet.say(name, above)
        step = nice_step(plot.high - plot.low, 8)
        for k in range(math.ceil(plot.low / step), math.floor(plot.high / step) + 1):
            y = plot.y(k * step)
            sheet.strokes.append(_straight(box.x, y, box.right, y, Role.GRID))
            label = Box(box.x - 46.0 * unit, y - 9.0 * unit, 40.0 * unit, 18.0 * unit)
            if plot is self.rise:
                sheet.say(f"{k * step:g}", label, align=Align.RIGHT)
        for k in range(math.ceil(plot.from_s / step_s), math.floor(plot.to_s / step_s) + 1):
            x = plot.x(k * step_s)
            role = Role.FRAME if k == 0 else Role.GRID
            sheet.strokes.append(_straight(x, box.y, x, box.bottom, role))
            label = Box(x - 26.0 * unit, box.bottom + 4.0 * unit, 52.0 * unit, 18.0 * unit)
            words = "onset" if k == 0 else f"{k * step_s:.1f}".removesuffix(".0")
            sheet.say(words, label, align=Align.CENTRE, is_quiet=k != 0)
        if plot is self.rise:
            corner = Box(8.0 * unit, box.y - 26.0 * unit, 50.0 * unit, 20.0 * unit)
            sheet.say(self.review.unit.value, corner, align=Align.RIGHT)

    def _asked(self) -> None:
        """Show the bands and the times that were asked for."""
        sheet, unit, plot = self.sheet, self.unit, self.whole
        for low, high in self.review.bands:
            for one in (self.rise, plot):
                box = Box(one.box.x, one.y(high), one.box.w, one.y(low) - one.y(high))
                sheet.zones.append(Zone(box, Role.BAND))
            where = Box(
                plot.x(0.0) + 8.0 * unit, plot.y(high) - 19.0 * unit, 260.0 * unit, 18.0 * unit
            )
            sheet.say(f"band {low:.0f} to {high:.0f} {self.review.unit.value}", where)
        for asked_s in self.review.asked_s:
            if asked_s > plot.to_s:
                continue
            x = plot.x(asked_s)
            sheet.strokes.append(_straight(x, plot.box.y, x, plot.box.bottom, Role.ASKED))
            where = Box(
                x - 60.0 * unit, plot.box.bottom + 22.0 * unit, 120.0 * unit, 18.0 * unit
            )
            sheet.say(f"{asked_s:g} s asked", where, align=Align.CENTRE)

    def _curve(self, curve: Curve, *, is_best: bool) -> None:
        sheet, is_faulty = self.sheet, bool(curve.faults)
        plain = Role.BEST if is_best else Role.CURVE
        faulty = Role.BEST_FAULTY if is_best else Role.FAULTY
        for plot in (self.rise, self.whole):
            points = plot.points(curve.time_s, curve.force)
            sheet.strokes.append(Stroke(points, faulty if is_faulty else plain))
        if curve.window is not None:
            inside = (curve.time_s >= curve.window[0]) & (curve.time_s <= curve.window[1])
            points = self.whole.points(curve.time_s[inside], curve.force[inside])
            role = Role.WINDOW_FAULTY if is_faulty else Role.WINDOW
            sheet.strokes.append(Stroke(points, role))
        self._mark(curve.peak, Role.PEAK, is_faulty=is_faulty)
        if curve.release is not None:
            self._mark(curve.release, Role.RELEASE, is_faulty=is_faulty)
        where = _place_of_hold_fault(curve)
        if where is not None:
            self._mark(where, Role.FAULT, is_faulty=True)

    def _mark(self, at: Point, role: Role, *, is_faulty: bool) -> None:
        x, y = self.whole.x(at.time_s), self.whole.y(at.force)
        self.sheet.symbols.append(Symbol(x, y, role, is_faulty))
        if role is Role.PEAK and RISE_FROM_S < at.time_s < RISE_TO_S:
            x = self.rise.x(at.time_s)
            self.sheet.symbols.append(Symbol(x, self.rise.y(at.force), role, is_faulty))

    def _explain(self, curve: Curve) -> None:
        """Name the marks at the strongest hold."""
        sheet, unit, plot = self.sheet, self.unit, self.whole
        row = plot.box.y + 6.0 * unit
        if curve.window is not None:
            first, last = plot.x(curve.window[0]), plot.x(curve.window[1])
            y = row + 24.0 * unit
            sheet.strokes += [
                _straight(first, y, last, y, Role.FRAME),
                _straight(first, y - 5.0 * unit, first, y + 5.0 * unit, Role.FRAME),
                _straight(last, y - 5.0 * unit, last, y + 5.0 * unit, Role.FRAME),
            ]
            w = min(sheet.text_width(curve.window_words), plot.box.w)
            left = min(max(0.5 * (first + last - w), plot.box.x), plot.box.right - w)
            box = Box(left, row, w, 18.0 * unit)
            sheet.say(curve.window_words, box, align=Align.CENTRE, is_quiet=False)
        x, y = plot.x(curve.peak.time_s), plot.y(curve.peak.force)
        below = Box(plot.box.x, row + 30.0 * unit, plot.box.w, plot.box.h - 30.0 * unit)
        sheet.label(curve.peak_words, x, y - 14.0 * unit, within=below, is_bold=True)
        at = curve.let_go if curve.release is None else curve.release
        words = curve.release_words
        if len(self.review.curves) > 1:  # the marks of several may lie close together
            words = f"hold {curve.number} {words}"
        sheet.label(words, plot.x(at.time_s), plot.y(at.force), within=plot.box)

    def _rise_faults(self) -> None:
        """Say at the curve what is wrong with a rise."""
        named = [curve for curve in self.review.curves if curve.rise_fault]
        for curve in named[:RISE_LABELS_MOST]:
            at = curve.at(-0.09 if curve.rise_fault == "leaning" else 0.25)
            x, y = self.rise.x(at.time_s), self.rise.y(at.force)
            text = f"{curve.number} {curve.rise_fault}"
            self.sheet.label(text, x, y, within=self.rise.box)

    def _labels(self) -> None:
        """Put each hold's label at the right edge, in the order of the curves there."""
        sheet, unit, plot = self.sheet, self.unit, self.whole
        pitch = PITCH * unit
        room = int(plot.box.h // pitch)
        curves = sorted(self.review.curves, key=lambda one: one.peak.force, reverse=True)[:room]
        curves.sort(key=lambda one: one.held_last.force, reverse=True)
        wanted = [plot.y(curve.held_last.force) for curve in curves]
        places = spread(wanted, pitch, plot.box.y + 0.5 * pitch, plot.box.bottom - 0.5 * pitch)
        edge = plot.box.right
        head = Box(edge + 8.0 * unit, plot.box.y - 26.0 * unit, LABEL_W * unit, 20.0 * unit)
        sheet.say(f"hold, peak in {self.review.unit.value}", head)
        for curve, y in zip(curves, places, strict=True):
            start = (plot.x(curve.held_last.time_s), plot.y(curve.held_last.force))
            leader = np.array([start, (edge - 10.0 * unit, y), (edge + 4.0 * unit, y)])
            sheet.strokes.append(Stroke(leader, Role.LEADER))
            self._name(curve, Box(edge + 8.0 * unit, y - 0.5 * pitch, LABEL_W * unit, pitch))
        if len(curves) < len(self.review.curves):
            box = Box(edge + 8.0 * unit, plot.box.bottom + 4.0 * unit, LABEL_W * unit, pitch)
            words = f"named: the strongest {len(curves)} of {len(self.review.curves)}"
            sheet.say(words, box)

    def _name(self, curve: Curve, line: Box) -> None:
        """Write number, peak and fault of a hold, in columns."""
        columns = ((str(curve.number), 0.0, 0.12), (curve.value_words, 0.15, 0.49))
        is_bold = curve is self.review.curves[self.review.best]
        for text, start, end in (*columns, (curve.fault_words, 0.52, 1.0)):
            if text:
                box = Box(line.x + start * line.w, line.y, (end - start) * line.w, line.h)
                align = Align.LEFT if start else Align.RIGHT
                self.sheet.say(text, box, is_quiet=False, is_bold=is_bold, align=align)

    def _footer(self) -> None:
        unit = self.unit
        line = Box(
            64.0 * unit, self.bottom - 30.0 * unit, self.right - 64.0 * unit, 22.0 * unit
        )
        words = (
            "Thick: the hold window. Triangle: peak. Square: release. Dashed, and a ring where "
            "it shows: something to mend. The boldest hold is the strongest."
        )
        if len(self.review.curves) == 1:
            words = self.review.curves[0].sentence
        self.sheet.say(words, line)


def _place_of_hold_fault(curve: Curve) -> Point | None:
    """Find where a fault of the hold shows."""
    for fault in curve.faults:
        if fault == "early let-go":
            return curve.let_go
        if fault in {"sagging", "shaky", "outside band"} and curve.window is not None:
            part = 0.9 if fault == "sagging" else 0.5
            return curve.at(curve.window[0] + part * (curve.window[1] - curve.window[0]))
    return None


def _straight(x1: float, y1: float, x2: float, y2: float, role: Role) -> Stroke:
    return Stroke(np.array([(x1, y1), (x2, y2)]), role)
