"""How the wall's items are drawn: text that fits, digits in cells, hatches, bricks, fist."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
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
    ratio = painter.device().devicePixelRatioF()
    for char in placed:
        seal = _seal(char.text, size, scheme.ink, ratio)
        at = QPointF(round(char.x), round(char.baseline)) + seal.reach
        painter.drawPixmap(at, seal.pixmap)


@dataclass(frozen=True, slots=True, eq=False)
class _Seal:
    """One large character, drawn once: drawing its outline takes longer than all else.

    Attributes:
        pixmap: its pixels, clear where it leaves no ink.
        reach: from its place on the baseline to the upper left corner [px].
    """

    pixmap: QPixmap
    reach: QPointF


@lru_cache(maxsize=64)
def _seal(char: str, size: int, ink: str, ratio: float) -> _Seal:
    box = metrics(size, is_bold=True).boundingRect(char).toAlignedRect().adjusted(-1, -1, 1, 1)
    pixmap = QPixmap(box.size() * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
    painter.setFont(font(size, is_bold=True))
    painter.setPen(QColor(ink))
    painter.drawText(QPointF(-box.x(), -box.y()), char)
    painter.end()
    return _Seal(pixmap, QPointF(box.topLeft()))


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
        # as the pixels of a picture
        self.panel_rgb, self.trace_rgb = (
            np.uint32(colour.rgb()) for colour in (self.panel, self.trace)
        )
        self.line = max(1, round(height * 0.003))
        self.rim = max(1, round(height * 0.004))
        self.peak = max(2, round(height * 0.006))
        self.mark = max(4, round(height * 0.018))
        self.out = max(2, round(height * 0.009))
        self._tile = max(8, round(height * 0.030))
        self._states: dict[State, QBrush] = {}

    def state(self, state: State) -> QBrush:
        """Give the brush of a state, made when it is first asked for."""
        if state not in self._states:
            scheme = self.scheme
            lines = scheme.quiet if state is State.STALE else scheme.ground
            self._states[state] = hatch_brush(
                scheme.states[state], lines, HATCHES[state], self._tile
            )
        return self._states[state]

    @cached_property
    def missed(self) -> QBrush:
        """The part of a second in which the force was not where it should be."""
        tile = max(6, self._tile // 2)
        return hatch_brush(self.scheme.panel, self.scheme.quiet, Hatch.RISING, tile)


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


@lru_cache(maxsize=256)
def rect(box: Box) -> QRect:
    """Turn a box on whole pixels into Qt's rectangle, which is kept: it must not be moved."""
    return QRect(int(box.x), int(box.y), int(box.w), int(box.h))


def draw_lane(painter: QPainter, lane: Lane, pens: Pens, dirty: QRect) -> None:
    """Draw the block in its lane, the held peak, and the thick marks.

    Args:
        painter: of the wall.
        lane: what to draw.
        pens: colours.
        dirty: the part that is to be painted; the rest is left alone.
    """
    # in numbers of our own: each call of Qt takes longer than all of this
    left, top = int(lane.box.x), int(lane.box.y)
    wide, high = int(lane.box.w), int(lane.box.h)
    begin, end = max(dirty.left(), left), min(dirty.right() + 1, left + wide)
    brush = pens.state(lane.state)
    if lane.edge:
        painter.fillRect(begin, top, end - begin, high, pens.panel)
        _draw_edge(painter, lane, brush)
    else:
        tip = min(end, max(begin, left + round(lane.share * wide)))
        if tip > begin:
            painter.fillRect(begin, top, tip - begin, high, brush)
        if end > tip:
            painter.fillRect(tip, top, end - tip, high, pens.panel)
    if lane.peak is not None and not lane.edge:
        at = left + min(round(lane.peak * wide), wide - pens.peak)
        if at < end and at + pens.peak > begin:
            painter.fillRect(at, top, pens.peak, high, pens.ink)
    for share in lane.marks:
        at = left + min(round(share * wide), wide - pens.mark)
        if at - pens.rim >= end or at + pens.mark + pens.rim <= begin:
            continue
        # an edge of ground keeps the mark apart from any block behind it
        painter.fillRect(at - pens.rim, top, pens.mark + 2 * pens.rim, high, pens.ground)
        painter.fillRect(at, top - pens.out, pens.mark, high + 2 * pens.out, pens.ink)


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
    whole, rim = rect(brick.box), pens.rim
    left, top = whole.x(), whole.y()
    wide, high = whole.width(), whole.height()
    painter.fillRect(whole, pens.quiet)
    painter.fillRect(whole.adjusted(rim, rim, -rim, -rim), pens.panel)
    wide, high = wide - 2 * rim, high - 2 * rim
    good, over = round(brick.good * wide), round(brick.over * wide)
    painter.fillRect(left + rim, top + rim, good, high, pens.ink)
    if over > good:
        painter.fillRect(left + rim + good, top + rim, over - good, high, pens.missed)
