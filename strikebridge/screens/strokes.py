"""How the wall's items are drawn: text that fits, digits in cells, hatches, bricks, fist."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import shiboken6
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPen,
    QPixmap,
    QPolygonF,
)

from strikebridge.screens.items import Align, Box, Brick, Fist, Lane, Number, Words
from strikebridge.screens.look import HATCHES, Hatch, Scheme, State

if TYPE_CHECKING:
    from strikebridge.samples import Floats

FAMILIES = ("DejaVu Sans", "Segoe UI", "Helvetica Neue", "Noto Sans", "Arial")
LINE_PITCH = 1.62  # baseline to baseline in capitals; leaves room for descenders
DESCENT = 0.34  # of a capital, kept free under the last baseline
RISE = 1.07  # of a capital, kept free over the first baseline: b, d, k and l stand out a little
DIGITS = "0123456789"
LEAST_PX = 6  # a font smaller than this is no text; the box is too small


@dataclass(frozen=True, slots=True)
class Placed:
    """One line of text where it will be drawn.

    Attributes:
        text: the line.
        x: left end of its first character [px].
        baseline: [px].
        width: of the whole line [px].
    """

    text: str
    x: float
    baseline: float
    width: float


@lru_cache(maxsize=256)
def font(pixel_size: int, *, is_bold: bool) -> QFont:
    """Make a font of the wall's family.

    Args:
        pixel_size: em size [px].
        is_bold: heavy face.
    """
    made = QFont(list(FAMILIES))
    made.setStyleHint(QFont.StyleHint.SansSerif)
    made.setPixelSize(max(LEAST_PX, pixel_size))
    made.setBold(is_bold)
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return made


@lru_cache(maxsize=256)
def metrics(pixel_size: int, *, is_bold: bool) -> QFontMetricsF:
    """Measure a font of the wall's family."""
    return QFontMetricsF(font(pixel_size, is_bold=is_bold))


@lru_cache(maxsize=2)
def cap_share(*, is_bold: bool) -> float:
    """Find the height of a capital as a share of the em size."""
    size = 1000
    return metrics(size, is_bold=is_bold).capHeight() / size


def break_lines(text: str, width: float, lines: int, by: QFontMetricsF) -> list[str] | None:
    """Break text between words.

    Args:
        text: one paragraph.
        width: of the box [px].
        lines: most lines.
        by: measures of the font.

    Returns:
        The lines, or None if they do not fit.
    """
    done: list[str] = []
    now = ""
    for word in text.split(" "):
        longer = f"{now} {word}" if now else word
        if by.horizontalAdvance(longer) <= width:
            now = longer
        elif not now or by.horizontalAdvance(word) > width or len(done) + 1 >= lines:
            return None
        else:
            done.append(now)
            now = word
    return [*done, now]


@lru_cache(maxsize=512)
def place_words(words: Words) -> tuple[int, tuple[Placed, ...]]:
    """Find the largest size at which text fits its box, and where each line goes.

    Args:
        words: what to fit.

    Returns:
        Em size [px] and the lines.
    """
    share = cap_share(is_bold=words.is_bold)
    size = max(LEAST_PX, round(words.cap_px / share))
    while True:
        by = metrics(size, is_bold=words.is_bold)
        cap = share * size
        lines = break_lines(words.text, words.box.w, words.lines, by)
        rise = max(
            RISE * cap, *(-by.tightBoundingRect(line).top() for line in lines or [""]), 0.0
        )
        high = rise + cap * (DESCENT + LINE_PITCH * (len(lines or "1") - 1))
        if lines is not None and high <= words.box.h:
            break
        if size <= LEAST_PX:
            lines = [by.elidedText(words.text, Qt.TextElideMode.ElideRight, words.box.w)]
            break
        size = max(LEAST_PX, min(size - 1, int(size * 0.97)))
    first = words.box.y + (words.box.h - high) / 2.0 + rise
    placed = []
    for index, line in enumerate(lines):
        width = by.horizontalAdvance(line)
        ink = by.tightBoundingRect(line)
        left = {
            # some letters reach out a little beyond their own width
            Align.LEFT: words.box.x - min(0.0, ink.left()),
            Align.CENTRE: words.box.x + (words.box.w - width) / 2.0,
            Align.RIGHT: words.box.right - max(width, ink.right()),
        }[words.align]
        placed.append(Placed(line, left, first + index * LINE_PITCH * cap, width))
    return size, tuple(placed)


def _cells(text: str, by: QFontMetricsF) -> list[float]:
    """Measure each character; all digits get the width of the widest."""
    widest = max(by.horizontalAdvance(digit) for digit in DIGITS)
    return [widest if char in DIGITS else by.horizontalAdvance(char) for char in text]


@lru_cache(maxsize=128)
def place_number(number: Number) -> tuple[int, tuple[Placed, ...]]:
    """Find the size at which a number fits its box, and the cell of each character.

    Args:
        number: what to fit.

    Returns:
        Em size [px] and one placed text a character.
    """
    share = cap_share(is_bold=True)
    size = max(LEAST_PX, int(np.ceil(number.cap_px / share)))
    while size > LEAST_PX:
        width = sum(_cells(number.text, metrics(size, is_bold=True)))
        if width <= number.box.w:
            break
        size = max(LEAST_PX, min(size - 1, int(size * number.box.w / width)))
    by = metrics(size, is_bold=True)
    cells = _cells(number.text, by)
    baseline = number.box.y + (number.box.h + share * size) / 2.0
    at = {
        Align.LEFT: number.box.x,
        Align.CENTRE: number.box.x + (number.box.w - sum(cells)) / 2.0,
        Align.RIGHT: number.box.right - sum(cells),
    }[number.align]
    placed = []
    for char, cell in zip(number.text, cells, strict=True):
        width = by.horizontalAdvance(char)
        placed.append(Placed(char, at + (cell - width) / 2.0, baseline, width))
        at += cell
    return size, tuple(placed)


def draw_words(painter: QPainter, words: Words, scheme: Scheme) -> None:
    """Draw text inside its box."""
    size, lines = place_words(words)
    painter.setFont(font(size, is_bold=words.is_bold))
    painter.setPen(QColor(scheme.quiet if words.is_quiet else scheme.ink))
    for line in lines:
        painter.drawText(QPointF(line.x, line.baseline), line.text)


def draw_number(painter: QPainter, number: Number, scheme: Scheme) -> None:
    """Draw the big number, a character a cell."""
    size, placed = place_number(number)
    painter.setFont(font(size, is_bold=True))
    painter.setPen(QColor(scheme.ink))
    for char in placed:
        painter.drawText(QPointF(char.x, char.baseline), char.text)


def draw_fist(painter: QPainter, fist: Fist, scheme: Scheme) -> None:
    """Draw a fist seen from the front: four bricks for the fingers, a thumb across."""
    box = fist.box
    side = min(box.w, box.h)
    painter.save()
    painter.translate(box.x + box.w / 2.0, box.y + box.h / 2.0)
    painter.scale(side if fist.hand == "left" else -side, side)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(scheme.ink))
    for index in range(4):
        # the little finger, at the outer end, is the shortest
        short = (0.07, 0.02, 0.0, 0.03)[index]
        cell = QRectF(-0.46 + 0.235 * index, -0.42 + short, 0.205, 0.54 - short)
        painter.drawRoundedRect(cell, 0.07, 0.07)
    painter.drawRoundedRect(QRectF(-0.11, 0.16, 0.555, 0.24), 0.09, 0.09)
    painter.drawRoundedRect(QRectF(-0.46, 0.16, 0.30, 0.24), 0.07, 0.07)
    painter.restore()


class Pens:
    """Brushes and pens of one scheme at one size, made once."""

    def __init__(self, scheme: Scheme, height: float) -> None:
        """Make them.

        Args:
            scheme: colours.
            height: of the wall [px]; hatches and lines scale with it.
        """
        self.scheme = scheme
        self.ground = QColor(scheme.ground)
        self.panel = QColor(scheme.panel)
        self.ink = QColor(scheme.ink)
        self.quiet = QColor(scheme.quiet)
        self.trace = QColor(scheme.trace)
        self.line = max(1.0, height * 0.004)
        self.mark = max(4.0, height * 0.018)
        tile = max(8, round(height * 0.030))
        self.states = {
            state: hatch_brush(
                scheme.states[state],
                scheme.quiet if state is State.STALE else scheme.ground,
                HATCHES[state],
                tile,
            )
            for state in State
        }
        self.missed = hatch_brush(scheme.panel, scheme.quiet, Hatch.RISING, max(6, tile // 2))


def hatch_brush(colour: str, lines: str, hatch: Hatch, tile: int) -> QBrush:
    """Make a brush of a colour with a pattern over it.

    Args:
        colour: of the face.
        lines: of the pattern.
        hatch: which pattern.
        tile: distance of its lines [px].
    """
    if hatch is Hatch.PLAIN:
        return QBrush(QColor(colour))
    pixmap = QPixmap(tile, tile)
    pixmap.fill(QColor(colour))
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(lines), tile * (0.10 if hatch is Hatch.UPRIGHT else 0.16)))
    if hatch is Hatch.UPRIGHT:
        painter.drawLine(QPointF(tile / 2.0, -1.0), QPointF(tile / 2.0, tile + 1.0))
    if hatch in (Hatch.RISING, Hatch.CROSSED):
        for shift in (-tile, 0, tile):
            painter.drawLine(QPointF(shift, tile), QPointF(shift + tile, 0.0))
    if hatch is Hatch.CROSSED:
        for shift in (-tile, 0, tile):
            painter.drawLine(QPointF(shift, 0.0), QPointF(shift + tile, tile))
    painter.end()
    return QBrush(pixmap)


def rect(box: Box) -> QRectF:
    """Turn a box into Qt's rectangle."""
    return QRectF(box.x, box.y, box.w, box.h)


def draw_lane(painter: QPainter, lane: Lane, pens: Pens) -> None:
    """Draw the block in its lane, the held peak, and the thick marks."""
    box = lane.box
    painter.fillRect(rect(box), pens.panel)
    brush = pens.states[lane.state]
    if lane.edge:
        _draw_edge(painter, lane, brush)
    else:
        painter.fillRect(QRectF(box.x, box.y, lane.share * box.w, box.h), brush)
    if lane.peak is not None and not lane.edge:
        width = pens.line * 1.5
        at = min(box.x + lane.peak * box.w, box.right - width)
        painter.fillRect(QRectF(at, box.y, width, box.h), pens.ink)
    out = pens.mark * 0.5
    for share in lane.marks:
        at = min(box.x + share * box.w, box.right - pens.mark)
        # an edge of ground keeps the mark apart from any block behind it
        rim = pens.line
        painter.fillRect(
            QRectF(at - rim, box.y, pens.mark + 2.0 * rim, box.h),
            pens.ground,
        )
        painter.fillRect(QRectF(at, box.y - out, pens.mark, box.h + 2.0 * out), pens.ink)


def _draw_edge(painter: QPainter, lane: Lane, brush: QBrush) -> None:
    """Draw the block with the leading edge it had while it rose, time running down."""
    box = lane.box
    points = [QPointF(box.x, box.y)]
    points += [QPointF(box.x + x * box.w, box.y + y * box.h) for y, x in lane.edge]
    points.append(QPointF(box.x, box.bottom))
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(brush)
    painter.drawPolygon(QPolygonF(points))
    painter.restore()


def draw_brick(painter: QPainter, brick: Brick, pens: Pens) -> None:
    """Draw one second: filled for its good share, hatched for the rest of what is over."""
    box = brick.box
    painter.fillRect(rect(box), pens.panel)
    good = brick.good * box.w
    painter.fillRect(QRectF(box.x, box.y, good, box.h), pens.ink)
    missed = (brick.over - brick.good) * box.w
    if missed > 0.0:
        painter.fillRect(QRectF(box.x + good, box.y, missed, box.h), pens.missed)
    painter.setPen(QPen(pens.quiet, pens.line))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    half = pens.line / 2.0
    painter.drawRect(rect(box).adjusted(half, half, -half, -half))


def columns(time_s: Floats, force_N: Floats, span_s: float, room: int) -> tuple[Floats, Floats]:
    """Thin a trace to what the pixels can show, keeping lows and highs.

    Args:
        time_s: rising [s], shape (n,).
        force_N: [N], shape (n,), NaN where unknown.
        span_s: seconds to show, up to the newest [s].
        room: points that may be kept before lows and highs are picked out, two a group.

    Returns:
        Place across, 0 (oldest) to 1 (newest), and force [N] with unknown ones as 0.
    """
    if not len(time_s):
        return time_s, force_N
    first = int(np.searchsorted(time_s, time_s[-1] - span_s))
    at = 1.0 - (time_s[-1] - time_s[first:]) / span_s
    force = force_N[first:]
    if math.isnan(force.sum()):
        force = np.nan_to_num(force)
    group = -(-len(at) // max(1, room))
    if group <= 1:
        return at, force
    whole = len(at) // group * group
    # the oldest few are left over, so that the newest sample always shows
    cut_at = at[len(at) - whole :].reshape(-1, group)
    cut = force[len(at) - whole :].reshape(-1, group)
    both = np.stack([cut.min(axis=1), cut.max(axis=1)], axis=1)
    both[-1, -1] = cut[-1, -1]
    places = np.stack([cut_at[:, 0], cut_at[:, -1]], axis=1)
    return places.ravel(), both.ravel()


def polygon(x: Floats, y: Floats) -> QPolygonF:
    """Make a polygon out of arrays without a loop over its points.

    Args:
        x: [px], shape (n,).
        y: [px], shape (n,).
    """
    made = QPolygonF()
    made.resize(len(x))
    if len(x):
        # Qt keeps its points as pairs of doubles in one piece of memory
        start: Any = made.data()  # the stubs say QPointF; it is the address of the first one
        memory: Any = shiboken6.VoidPtr
        view = np.frombuffer(memory(start, len(x) * 16, 1), dtype=np.float64).reshape(-1, 2)
        view[:, 0] = x
        view[:, 1] = y
    return made
