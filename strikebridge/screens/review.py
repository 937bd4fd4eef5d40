"""The review: the holds of a recording laid over each other, as a widget and as a picture.

Nothing here decides what is shown (`review_model`) or where (`review_layout`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from strikebridge.screens.look import BLUE, BLUISH_GREEN, LIGHT, SKY_BLUE, VERMILLION, Scheme
from strikebridge.screens.overriding import override
from strikebridge.screens.review_layout import lay_out
from strikebridge.screens.review_model import Review
from strikebridge.screens.review_sheet import Role, Sheet, Stroke, Symbol
from strikebridge.screens.strokes import draw_words, place_words

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtGui import QPaintEvent

    from strikebridge.screens.items import Words

WIDTH, HEIGHT = 1366, 768
SHARPNESS = 2  # pixels of the file a pixel of the picture; for print, and for sharp screens
DASHED = (Role.FAULTY, Role.BEST_FAULTY)


@dataclass(frozen=True, slots=True)
class Ink:
    """How a stroke is drawn.

    Attributes:
        colour: sRGB as `#RRGGBB`.
        width: [px] of the design.
        alpha: 0 to 255.
    """

    colour: str
    width: float
    alpha: int = 255


def inks(scheme: Scheme) -> dict[Role, Ink]:
    """Choose how each kind of stroke looks.

    Args:
        scheme: colours in use.
    """
    plain = BLUE if scheme is LIGHT else SKY_BLUE
    return {
        Role.FRAME: Ink(scheme.quiet, 1.4),
        Role.GRID: Ink(scheme.panel, 1.0),
        Role.CURVE: Ink(plain, 1.2, 190),
        Role.FAULTY: Ink(VERMILLION, 1.2, 220),
        Role.BEST: Ink(plain, 2.4),
        Role.BEST_FAULTY: Ink(VERMILLION, 2.4),
        Role.WINDOW: Ink(plain, 3.4, 120),
        Role.WINDOW_FAULTY: Ink(VERMILLION, 3.4, 120),
        Role.LEADER: Ink(scheme.trace, 0.8, 150),
        Role.ASKED: Ink(scheme.quiet, 1.2),
    }


class ReviewScreen(QWidget):
    """Show the holds of a recording.

    Attributes:
        review: what is shown.
        keys: what the keys of its window do, empty without any.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        """Make an empty screen.

        Args:
            parent: window it lies in, or None.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.review = Review()
        self.keys = ""
        self._scheme = LIGHT

    def show_review(self, review: Review) -> None:
        """Show another review.

        Args:
            review: what is shown from now on.
        """
        self.review = review
        self.update()

    def set_scheme(self, scheme: Scheme) -> None:
        """Use other colours."""
        self._scheme = scheme
        self.update()

    @override
    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the whole review, as Qt asks."""
        painter = QPainter(self)
        sheet = lay_out(self.review, self.width(), self.height(), self.keys)
        paint_sheet(painter, sheet, self._scheme)
        painter.end()


def save_picture(review: Review, path: Path, *, scheme: Scheme = LIGHT) -> bool:
    """Draw a review into a file; needs a running Qt application for its fonts.

    Args:
        review: what is shown.
        path: a file whose ending names its format.
        scheme: colours.

    Returns:
        True once it is written.
    """
    image = QImage(WIDTH * SHARPNESS, HEIGHT * SHARPNESS, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(SHARPNESS)
    painter = QPainter(image)
    paint_sheet(painter, lay_out(review, WIDTH, HEIGHT), scheme)
    painter.end()
    return image.save(str(path))


def paint_sheet(painter: QPainter, sheet: Sheet, scheme: Scheme) -> None:
    """Paint what was laid out.

    Args:
        painter: on the widget or the image.
        sheet: what goes where.
        scheme: colours.
    """
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(QRectF(0.0, 0.0, sheet.width, sheet.height), QColor(scheme.ground))
    for zone in sheet.zones:
        colour = QColor(BLUISH_GREEN)
        colour.setAlpha(46)
        box = zone.box
        painter.fillRect(QRectF(box.x, box.y, box.w, box.h), colour)
    looks = inks(scheme)
    for stroke in sheet.strokes:
        _paint_stroke(painter, stroke, looks[stroke.role], sheet.scale)
    for symbol in sheet.symbols:
        _paint_symbol(painter, symbol, scheme, sheet.scale)
    for words in sheet.words:
        _paint_words(painter, words, scheme)


def _paint_words(painter: QPainter, words: Words, scheme: Scheme) -> None:
    """Draw text on a patch of the ground, so that it can be read on top of curves."""
    patch = QColor(scheme.ground)
    patch.setAlpha(210)
    cap = words.cap_px
    for line in place_words(words)[1]:
        area = QRectF(line.x - 0.3 * cap, line.baseline - 1.2 * cap, line.width, 1.6 * cap)
        painter.fillRect(area.adjusted(0.0, 0.0, 0.6 * cap, 0.0), patch)
    draw_words(painter, words, scheme)


def _paint_stroke(painter: QPainter, stroke: Stroke, ink: Ink, scale: float) -> None:
    colour = QColor(ink.colour)
    colour.setAlpha(ink.alpha)
    pen = QPen(colour, ink.width * scale)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if stroke.role in DASHED:
        pen.setDashPattern([6.0, 3.0])
    elif stroke.role is Role.ASKED:
        pen.setDashPattern([2.0, 3.0])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in stroke.points.tolist()]))


def _paint_symbol(painter: QPainter, symbol: Symbol, scheme: Scheme, scale: float) -> None:
    plain = BLUE if scheme is LIGHT else SKY_BLUE
    colour = QColor(VERMILLION if symbol.is_faulty else plain)
    x, y, size = symbol.x, symbol.y, 4.5 * scale
    painter.setPen(QPen(QColor(scheme.ground), 1.0 * scale))
    painter.setBrush(colour)
    if symbol.role is Role.PEAK:
        corners = [(x, y - 1.3 * size), (x + size, y + 0.6 * size), (x - size, y + 0.6 * size)]
        painter.drawPolygon(QPolygonF([QPointF(*corner) for corner in corners]))
    elif symbol.role is Role.RELEASE:
        painter.drawRect(QRectF(x - 0.8 * size, y - 0.8 * size, 1.6 * size, 1.6 * size))
    else:
        painter.setPen(QPen(colour, 1.6 * scale))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QPointF(x, y), 1.7 * size, 1.7 * size)
