"""The wall: one widget that paints a Glance so that it can be read from four metres.

Still items live in a layer that is touched only where they changed; block, bricks and trace are
painted over it each time, and only their part of the window is sent to the screen. Nothing here
decides what is shown: that is `wall_model`.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPixmap, QRegion
from PySide6.QtWidgets import QWidget

from strikebridge.glance import Glance, Phase
from strikebridge.screens.items import (
    Box,
    Brick,
    Fist,
    Item,
    Lane,
    Live,
    Number,
    Picture,
    Words,
)
from strikebridge.screens.look import DARK, Scheme
from strikebridge.screens.overriding import override
from strikebridge.screens.strokes import (
    Pens,
    draw_brick,
    draw_fist,
    draw_lane,
    draw_number,
    draw_words,
    rect,
)
from strikebridge.screens.trace_paper import TracePaper
from strikebridge.screens.wall_model import WallModel

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QPaintEvent, QResizeEvent


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """What Qt was last asked to paint again.

    Attributes:
        region: all of it.
        strip: part of the lane, None for nothing.
        bricks: those that changed.
        is_still: True where only the moving part changed.
    """

    region: QRegion
    strip: QRect | None
    bricks: Sequence[Brick]
    is_still: bool


class Wall(QWidget):
    """Paint what a Glance says.

    Attributes:
        model: decides what is shown.
        painted: the Glance whose picture is on the screen, None before the first paint.
        after_paint: called at the end of each paint with that Glance; for benchmarks.
        after_first_paint: called once, when the first paint is over.
    """

    def __init__(self, parent: QWidget | None = None, *, keys: str = "") -> None:
        """Make an empty wall.

        Args:
            parent: window it lies in, or None.
            keys: text of the footer.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.model = WallModel(keys)
        self.painted: Glance | None = None
        self.after_paint: Callable[[Glance], None] | None = None
        self.after_first_paint: Callable[[], None] | None = None
        self._scheme = DARK
        self._pens: Pens | None = None
        self._paper = TracePaper()
        self._covered = QRegion()  # what the moving part paints over in any case
        self._moving = QRegion()  # what changes with each paint: the trace
        self._asked: _Asked | None = None
        self._layer: QPixmap | None = None
        self._drawn: frozenset[Item] = frozenset()
        self._glance = Glance(phase=Phase.WAITING)
        self._picture: Picture | None = None

    @property
    def scheme(self) -> Scheme:
        """Colours in use."""
        return self._scheme

    @property
    def live(self) -> Live | None:
        """The moving part of the picture last decided on, None before the first."""
        return None if self._picture is None else self._picture.live

    def set_scheme(self, scheme: Scheme) -> None:
        """Change the colours."""
        self._scheme = scheme
        self._forget()

    def show_glance(self, glance: Glance, *, at_once: bool = False) -> None:
        """Show what is known now.

        Args:
            glance: what is known.
            at_once: paint before returning; else when the event loop next gets to it.
        """
        self._glance = glance
        old = self._picture
        self._picture = picture = self.model.look(
            glance, (self.width(), self.height()), time.monotonic()
        )
        if not self.isVisible():
            return
        if self._layer is None or old is None or _shape(old.live) != _shape(picture.live):
            region = QRegion(self.rect())
            self._covered = _covered(picture.live)
            self._moving = _covered(replace(picture.live, bricks=(), lane=None))
            self._asked = None
        else:
            self._asked = self._changes(picture, old.live)
            region = self._asked.region
        if at_once:
            self.repaint(region)
        else:
            self.update(region)

    def _forget(self) -> None:
        self._layer = None
        self._pens = None
        self._picture = None
        self.update()

    def _changes(self, picture: Picture, old: Live) -> _Asked:
        """Find what moved: the trace always does, block and peak by a strip, bricks seldom."""
        live = picture.live
        region = self._moving  # never to be changed in its place, as += does
        bricks: list[Brick] = []
        if live.bricks is not old.bricks:
            pairs = zip(live.bricks, old.bricks, strict=True)
            bricks = [brick for brick, before in pairs if brick != before]
            for brick in bricks:
                region = region + rect(brick.box)
        strip = None
        if live.lane is not None and old.lane is not None:
            strip = _moved(live.lane, old.lane, self._ready_pens())
            if strip is not None:
                region = region + strip
        is_still = picture.items is self._drawn
        if not is_still:
            for item in picture.items ^ self._drawn:
                region = region + _outer(item.box)
        return _Asked(region, strip, bricks, is_still)

    def _ready_pens(self) -> Pens:
        if self._pens is None:
            self._pens = Pens(self._scheme, self.height())
        return self._pens

    def _ready_layer(self, items: frozenset[Item]) -> QPixmap:
        """Bring the layer of still items up to date and return it."""
        pens = self._ready_pens()
        if self._layer is None:
            ratio = self.devicePixelRatioF()
            self._layer = QPixmap(self.size() * ratio)
            self._layer.setDevicePixelRatio(ratio)
            self._layer.fill(pens.ground)
            self._drawn = frozenset()
        if items == self._drawn:
            return self._layer
        painter = QPainter(self._layer)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
        gone = QRegion()
        for item in self._drawn - items:
            gone += _outer(item.box)
        for part in _rects(gone):
            painter.fillRect(part, pens.ground)
        if not gone.isEmpty():
            # neighbours lose the pixels that they share with a cleared box: only those again
            painter.setClipRegion(gone)
            for item in self._drawn & items:
                if gone.intersects(_outer(item.box)):
                    _draw_item(painter, item, self._scheme)
            painter.setClipping(False)
        for item in items - self._drawn:
            _draw_item(painter, item, self._scheme)
        painter.end()
        self._drawn = items
        return self._layer

    @override
    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the part that Qt asks for."""
        if self._picture is None:
            self._picture = self.model.look(
                self._glance, (self.width(), self.height()), time.monotonic()
            )
        pens, live, region = self._ready_pens(), self._picture.live, event.region()
        asked = self._asked
        painter = QPainter(self)
        if asked is not None and region == asked.region:
            if not asked.is_still:
                self._lay_still(painter, region)
            self._draw_live(painter, live, pens, asked.strip, asked.bricks)
        else:
            self._lay_still(painter, region)
            strip = None
            if live.lane is not None:
                strip = (region & _around(live.lane, pens)).boundingRect()
            touched = [one for one in live.bricks if region.intersects(rect(one.box))]
            self._draw_live(painter, live, pens, strip, touched)
        painter.end()
        self.painted = self._glance
        if self.after_paint is not None:
            self.after_paint(self._glance)
        if self.after_first_paint is not None:
            first, self.after_first_paint = self.after_first_paint, None
            first()

    def _lay_still(self, painter: QPainter, region: QRegion) -> None:
        """Copy what stands still into a part of the window."""
        layer = self._ready_layer(frozenset() if self._picture is None else self._picture.items)
        ratio = layer.devicePixelRatioF()
        for part in _rects(region - self._covered):
            source = QRect(part.topLeft() * ratio, part.size() * ratio)
            painter.drawPixmap(part, layer, source)

    def _draw_live(
        self,
        painter: QPainter,
        live: Live,
        pens: Pens,
        strip: QRect | None,
        bricks: Sequence[Brick],
    ) -> None:
        """Draw a strip of the lane, some of the bricks, and the trace."""
        if live.lane is not None and strip is not None:
            draw_lane(painter, live.lane, pens, strip)
        for brick in bricks:
            draw_brick(painter, brick, pens)
        box = live.trace_box
        if box is None:
            return
        self._paper.draw(painter, live, box, pens, self.devicePixelRatioF())
        for mark in live.marks:
            at_y = int(box.y) + round((1.0 - mark) * box.h)
            painter.fillRect(int(box.x), at_y, int(box.w), pens.line, pens.ink)

    @override
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay everything out anew."""
        self._forget()
        super().resizeEvent(event)


def _outer(box: Box) -> QRect:
    """Find the whole pixels that a box touches, and one more for the soft edge of a letter."""
    left, top = math.floor(box.x) - 1, math.floor(box.y) - 1
    return QRect(left, top, math.ceil(box.right) + 1 - left, math.ceil(box.bottom) + 1 - top)


def _rects(region: QRegion) -> list[QRect]:
    """List the rectangles of a region."""
    walked: Any = region  # it can be walked; the stubs do not say so
    return list(walked)


def _shape(live: Live) -> tuple[object, ...]:
    """List where the live part lies, to see when it moves."""
    return (
        live.lane.box if live.lane else None,
        tuple(brick.box for brick in live.bricks),
        live.trace_box,
    )


def _draw_item(painter: QPainter, item: Item, scheme: Scheme) -> None:
    match item:
        case Words():
            draw_words(painter, item, scheme)
        case Number():
            draw_number(painter, item, scheme)
        case Fist():
            draw_fist(painter, item, scheme)


def _around(lane: Lane, pens: Pens) -> QRect:
    """Find all that a lane may paint: its marks stand out above and below."""
    return rect(lane.box).adjusted(-pens.rim, -pens.out, pens.rim, pens.out)


def _moved(lane: Lane, old: Lane, pens: Pens) -> QRect | None:
    """Find what changed in the lane: all of it, or only where block and peak have moved."""
    if (lane.state, lane.marks, lane.edge) != (old.state, old.marks, old.edge):
        return _around(lane, pens)
    ends: list[float] = []
    for share, before in ((lane.share, old.share), (lane.peak, old.peak)):
        if share != before:
            ends += [at for at in (share, before) if at is not None]
    if not ends:
        return None
    box = lane.box
    left = max(0, int(min(ends) * box.w) - pens.peak)
    right = min(int(box.w), int(max(ends) * box.w) + pens.peak + 1)
    return QRect(int(box.x) + left, int(box.y), right - left, int(box.h))


def _covered(live: Live) -> QRegion:
    """Find what the moving part paints over in any case, so that nothing need lie under it."""
    boxes = [brick.box for brick in live.bricks]
    if live.lane is not None:
        boxes.append(live.lane.box)
    if live.trace_box is not None:
        boxes.append(live.trace_box)
    region = QRegion()
    for box in boxes:
        region += rect(box)
    return region
