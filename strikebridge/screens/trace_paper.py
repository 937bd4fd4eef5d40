"""The paper of the running trace: the view moves along it, and only its end is drawn.

Each instant has a column of its own, counted from the start of the stream in whole pixels, so
that what was drawn still fits after the view has moved. There is room on the right for what
will come in a second. Then the whole is drawn again, and whenever scale, size, colours or the
zero have changed, so that a slow change of the zero shows as well.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPointF, QRect, Qt
from PySide6.QtGui import QPainter, QPixmap

from strikebridge.screens.strokes import columns, polygon

if TYPE_CHECKING:
    from strikebridge.samples import Trace
    from strikebridge.screens.items import Live
    from strikebridge.screens.strokes import Pens

FRESH_S = 1.0  # the oldest part that a moved zero may leave a fraction of a pixel wrong
SAME_PX = 0.5  # a sample that moved by less is where it was


class TracePaper:
    """Draw the last seconds as the outline of a hill, newest at the right."""

    def __init__(self) -> None:
        self._paper: QPixmap | None = None
        self._across = 0
        self._made_of: tuple[object, ...] = ()
        self._first = 0  # column of the stream at the left end of the paper
        self._column = 0  # and of the sample drawn last
        self._newest: tuple[float, float] = (0.0, 0.0)  # time [s] and force [N] drawn last
        self._whole_s = -math.inf

    def draw(self, painter: QPainter, live: Live, box: QRect, pens: Pens, ratio: float) -> None:
        """Bring the paper up to date and lay it into its box.

        Args:
            painter: of the wall.
            live: the moving part of the picture.
            box: where the trace goes [px].
            pens: colours.
            ratio: pixels of the screen in one of the wall's.
        """
        across, down = round(box.width() * ratio), round(box.height() * ratio)
        made_of = (across, down, live.full_N, live.trace_s, pens)
        paper = self._paper
        if paper is None or made_of != self._made_of:
            room = math.ceil(FRESH_S * across / live.trace_s) + 1
            paper = self._paper = QPixmap(across + room, down)
            paper.setDevicePixelRatio(ratio)
            self._made_of, self._across = made_of, across
            self._whole_s = -math.inf
        first = self._first_new(live.trace, down / live.full_N)
        if first is None:
            self._draw_whole(paper, live, pens)
        elif first < len(live.trace.time_s):
            self._go_on(paper, live, pens, first)
        view = QRect(self._column + 1 - across - self._first, 0, across, down)
        painter.drawPixmap(box.topLeft(), paper, view)

    def _first_new(self, trace: Trace, px_per_N: float) -> int | None:
        """Find the first sample not yet drawn, None where all has to be drawn again."""
        time_s = trace.time_s
        if not len(time_s) or time_s[-1] - self._whole_s >= FRESH_S:
            return None
        at_s, was_N = self._newest
        first = len(time_s)  # only the last few are new: looked for from the end
        while first > 0 and time_s[first - 1] > at_s:
            first -= 1
        if first < 2 or time_s[first - 1] != at_s:
            return None
        return first if abs(trace.force_N[first - 1] - was_N) * px_per_N < SAME_PX else None

    def _draw_whole(self, paper: QPixmap, live: Live, pens: Pens) -> None:
        time_s, force_N = live.trace.time_s, live.trace.force_N
        across = self._across
        paper.fill(pens.panel)
        if not len(time_s):
            self._whole_s = -math.inf
            self._first = self._column + 1 - across
            return
        self._whole_s = float(time_s[-1])
        down = paper.height()
        self._remember(live.trace, across / live.trace_s)
        self._first = self._column + 1 - across
        at, thinned_N = columns(time_s, force_N, live.trace_s, 2 * across)
        if len(at) < 2:
            return
        newest = self._whole_s * across / live.trace_s - self._first
        x = newest - (1.0 - at) * across
        y = down * (1.0 - np.clip(thinned_N / live.full_N, 0.0, 1.0))
        ends = np.concatenate([x[:1], x, x[-1:]]), np.concatenate([[down], y, [down]])
        painter = self._pen(paper, pens)
        painter.drawPolygon(polygon(*ends))
        painter.end()

    def _go_on(self, paper: QPixmap, live: Live, pens: Pens, first: int) -> None:
        """Draw what is new, from the column of the sample drawn last."""
        down = paper.height()
        across, full_N = self._across, live.full_N
        px_per_s = across / live.trace_s
        self._remember(live.trace, px_per_s)
        # the sample before the last one drawn as well: they may share a column
        time_s = live.trace.time_s[first - 2 :].tolist()
        force_N = live.trace.force_N[first - 2 :].tolist()
        x = [at_s * px_per_s - self._first for at_s in time_s]
        points = [
            QPointF(at, down * (1.0 - min(1.0, max(0.0, one_N / full_N))))
            for at, one_N in zip(x, force_N, strict=True)
        ]
        points += [QPointF(x[-1], down), QPointF(x[0], down)]
        left = math.floor(x[1])
        wide = self._column + 1 - self._first - left
        painter = self._pen(paper, pens)
        painter.setClipRect(left, 0, wide, down)
        painter.fillRect(left, 0, wide, down, pens.panel)
        painter.drawPolygon(points)
        painter.end()

    def _remember(self, trace: Trace, px_per_s: float) -> None:
        self._newest = (float(trace.time_s[-1]), float(trace.force_N[-1]))
        self._column = math.floor(self._newest[0] * px_per_s)

    @staticmethod
    def _pen(paper: QPixmap, pens: Pens) -> QPainter:
        painter = QPainter(paper)
        ratio = paper.devicePixelRatio()
        if ratio != 1.0:
            painter.scale(1.0 / ratio, 1.0 / ratio)
        # edges are not smoothed: that costs ten times more and looks the same from 4 m
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(pens.trace)
        return painter
