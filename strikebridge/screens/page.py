"""A page: one widget that paints a tuple of items; what stands on it is decided elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from strikebridge.screens.figure import (
    Area,
    Bar,
    Ink,
    Line,
    Mark,
    Page,
    PageItem,
    Panel,
    Shape,
    Stroke,
)
from strikebridge.screens.items import Number, Words
from strikebridge.screens.look import DARK, LIGHT, Scheme
from strikebridge.screens.overriding import override
from strikebridge.screens.strokes import Pens, draw_number, draw_words, rect

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from PySide6.QtGui import QPaintEvent, QResizeEvent


class PageWidget(QWidget):
    """Paint a page.

    Attributes:
        items: what is on it.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        """Make an empty page.

        Args:
            parent: window it lies in, or None.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.items: Page = ()
        self._scheme = DARK
        self._pens: Pens | None = None

    @property
    def scheme(self) -> Scheme:
        """Colours in use."""
        return self._scheme

    def set_scheme(self, scheme: Scheme) -> None:
        """Change the colours."""
        self._scheme = scheme
        self._pens = None
        self.update()

    def show_page(self, items: Page) -> None:
        """Show a page; nothing is painted where nothing has changed.

        Args:
            items: what is to be on it.
        """
        if items != self.items:
            self.items = items
            self.update()

    @override
    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint all of it: a few dozen items, ten times a second at the most."""
        if self._pens is None:
            self._pens = Pens(self._scheme, self.height())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._pens.ground)
        for item in self.items:
            _draw(painter, item, self._pens)
        painter.end()

    @override
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Scale hatches and lines anew."""
        self._pens = None
        super().resizeEvent(event)


def save_page(
    page_of: Callable[[tuple[float, float]], Page],
    path: Path,
    size: tuple[int, int] = (1366, 768),
    scheme: Scheme = LIGHT,
) -> bool:
    """Draw a page into a file; needs a running Qt application for its fonts.

    Args:
        page_of: decides the page for a width and a height [px].
        path: a file whose ending names its format.
        size: width and height [px].
        scheme: colours.

    Returns:
        True once it is written.
    """
    widget = PageWidget()
    widget.set_scheme(scheme)
    widget.resize(*size)
    widget.show_page(page_of((float(size[0]), float(size[1]))))
    is_written = widget.grab().save(str(path))
    widget.deleteLater()
    return is_written


def _draw(painter: QPainter, item: PageItem, pens: Pens) -> None:
    match item:
        case Words():
            draw_words(painter, item, pens.scheme)
        case Number():
            draw_number(painter, item, pens.scheme)
        case Panel():
            painter.fillRect(rect(item.box), pens.panel)
        case Bar():
            _draw_bar(painter, item, pens)
        case Stroke():
            _draw_stroke(painter, item, pens)
        case Line():
            pen = _pen(item.ink, pens)
            pen.setWidthF(pen.widthF() * (2.2 if item.ink is Ink.STRONG else 1.0))
            painter.setPen(pen)
            painter.drawPolyline(QPolygonF([QPointF(*point) for point in item.points]))
        case Area():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QBrush(pens.panel))
            _polygon(painter, list(item.points))
        case Mark():
            _draw_mark(painter, item, pens)


def _draw_bar(painter: QPainter, bar: Bar, pens: Pens) -> None:
    box = bar.box
    painter.fillRect(rect(box), pens.panel)
    filled = QRectF(box.x, box.y, min(1.0, max(0.0, bar.share)) * box.w, box.h)
    painter.fillRect(filled, pens.state(bar.state))
    painter.setPen(QPen(pens.quiet, pens.line))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    half = pens.line / 2.0
    painter.drawRect(QRectF(box.x + half, box.y + half, box.w - pens.line, box.h - pens.line))


def _pen(ink: Ink, pens: Pens) -> QPen:
    if ink is Ink.DASHED:
        return QPen(pens.ink, pens.line * 0.75, Qt.PenStyle.DashLine)
    return QPen(pens.ink if ink is Ink.STRONG else pens.quiet, pens.line * 0.5)


def _draw_stroke(painter: QPainter, stroke: Stroke, pens: Pens) -> None:
    painter.setPen(_pen(stroke.ink, pens))
    painter.drawLine(QPointF(stroke.x1, stroke.y1), QPointF(stroke.x2, stroke.y2))


def _draw_mark(painter: QPainter, mark: Mark, pens: Pens) -> None:
    half = mark.size / 2.0
    x, y = mark.x, mark.y
    painter.setPen(QPen(pens.ink, pens.line * 0.6))
    painter.setBrush(QBrush(pens.ink))
    match mark.shape:
        case Shape.UP:
            _polygon(painter, [(x - half, y + half), (x + half, y + half), (x, y - half)])
        case Shape.DOWN:
            painter.setBrush(QBrush(pens.panel))
            _polygon(painter, [(x - half, y - half), (x + half, y - half), (x, y + half)])
        case Shape.ROUND:
            painter.drawEllipse(QPointF(x, y), half, half)
        case Shape.CROSS:
            painter.setPen(QPen(pens.ink, pens.line * 1.2))
            painter.drawLine(QPointF(x - half, y), QPointF(x + half, y))
            painter.drawLine(QPointF(x, y - half), QPointF(x, y + half))


def _polygon(painter: QPainter, points: list[tuple[float, float]]) -> None:
    painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in points]))
