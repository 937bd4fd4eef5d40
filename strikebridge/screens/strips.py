"""The strips that a page on paper is made of: text, rules, air and pictures, set in one size.

A strip stays whole. Heights are those of the font that is really there, so that a layout holds
on any computer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPen, QTextDocument, QTextOption
from PySide6.QtSvg import QSvgRenderer

from strikebridge.reports.drawing import INK
from strikebridge.reports.sheet import Align

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from PySide6.QtGui import QPainter, QPdfWriter

    from strikebridge.reports.drawing import Drawing

RESOLUTION = 1200  # dots an inch
DOTS_PER_PT = RESOLUTION / 72.0


@dataclass(frozen=True, slots=True)
class Strip:
    """A piece of a page that stays whole.

    Attributes:
        height: in dots.
        paint: paints it with its upper left corner at a place.
        is_bound: True where it must not stand last on a page, as a heading.
    """

    height: float
    paint: Callable[[QPainter, float, float], None]
    is_bound: bool = False


class Typesetter:
    """Sets strips in one size of type."""

    def __init__(self, writer: QPdfWriter, size_pt: float) -> None:
        """Take the type.

        Args:
            writer: on whose pages the strips will stand.
            size_pt: size of the text [pt].
        """
        self._writer = writer
        self._size_pt = size_pt

    def drawing(self, one: Drawing, width: float, *, is_stretched: bool = False) -> Strip:
        """Draw a picture no wider than it is, or as wide as a cell.

        Args:
            one: the picture.
            width: room for it, in dots.
            is_stretched: True to fill that width.
        """
        wide = width if is_stretched else min(width, one.width_pt * DOTS_PER_PT)
        height = wide * one.height_pt / one.width_pt
        renderer = QSvgRenderer(QByteArray(one.svg.encode()))

        def paint(painter: QPainter, x: float, y: float) -> None:
            renderer.render(painter, QRectF(x, y, wide, height))

        return Strip(height, paint)

    def text(
        self,
        markup: str,
        width: float,
        *,
        share: float = 1.0,
        colour: str = INK,
        align: Align = Align.LEFT,
    ) -> Strip:
        """Set text, broken inside a word only where that alone is wider than the line.

        Args:
            markup: the text, as little HTML.
            width: of its lines, in dots.
            share: of the size of type.
            colour: of the letters.
            align: where its lines begin or end.
        """
        document = QTextDocument()
        document.documentLayout().setPaintDevice(self._writer)
        document.setDocumentMargin(0.0)
        document.setDefaultFont(self.font(share))
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        if align is Align.RIGHT:
            option.setAlignment(Qt.AlignmentFlag.AlignRight)
        document.setDefaultTextOption(option)
        document.setHtml(f'<span style="color:{colour}">{markup}</span>')
        document.setTextWidth(width)

        def paint(painter: QPainter, x: float, y: float) -> None:
            painter.save()
            painter.translate(QPointF(x, y))
            document.drawContents(painter)
            painter.restore()

        return Strip(document.size().height(), paint)

    def font(self, share: float) -> QFont:
        """Give the type.

        Args:
            share: of its size.
        """
        font = QFont()
        font.setPointSizeF(self._size_pt * share)
        return font

    def rule(
        self, width: float, colour: str, thick_pt: float, *, is_bound: bool = False
    ) -> Strip:
        """Draw a line across.

        Args:
            width: in dots.
            colour: of the line.
            thick_pt: how thick [pt].
            is_bound: True where it must not stand last on a page.
        """
        thick = thick_pt * DOTS_PER_PT

        def paint(painter: QPainter, x: float, y: float) -> None:
            painter.setPen(QPen(QColor(colour), thick))
            painter.drawLine(QPointF(x, y + thick / 2.0), QPointF(x + width, y + thick / 2.0))

        return Strip(thick, paint, is_bound)


def air(pt: float, *, is_bound: bool = False) -> Strip:
    """Leave room.

    Args:
        pt: how much [pt].
        is_bound: True where it must not stand last on a page.
    """
    return Strip(pt * DOTS_PER_PT, lambda _painter, _x, _y: None, is_bound)


def bound(strip: Strip) -> Strip:
    """Make a strip one that must not stand last on a page.

    Args:
        strip: the strip.
    """
    return Strip(strip.height, strip.paint, is_bound=True)


def stack(painter: QPainter, strips: Sequence[Strip], x: float, y: float) -> None:
    """Paint strips below each other.

    Args:
        painter: active.
        strips: from the top.
        x: left edge, in dots.
        y: upper edge, in dots.
    """
    for strip in strips:
        strip.paint(painter, x, y)
        y += strip.height


def units(strips: Sequence[Strip]) -> Iterator[list[Strip]]:
    """Keep what is bound together with the first strip after it.

    Args:
        strips: from the top.

    Yields:
        What may not be parted by the end of a page.
    """
    unit: list[Strip] = []
    for strip in strips:
        unit.append(strip)
        if not strip.is_bound:
            yield unit
            unit = []
    if unit:
        yield unit
