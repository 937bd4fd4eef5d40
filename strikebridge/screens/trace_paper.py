"""The paper of the running trace: the view moves along it, and only its end is drawn.

Each instant has a column of its own, counted from the start of the stream in whole pixels, so
that what was drawn still fits after the view has moved. There is room on the right for what
will come in a second. Then the whole is drawn again, and whenever scale, size, colours or the
zero have changed, so that a slow change of the zero shows as well.

A column is as high as the trace at its middle, or as the largest sample in it, so that no peak
is lost however many samples share a pixel. The pixels are written as an array: painting the
few columns of one line takes Qt several times as long.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPoint, QRect
from PySide6.QtGui import QImage

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from PySide6.QtGui import QPainter

    from strikebridge.glance import Trace
    from strikebridge.samples import Floats
    from strikebridge.screens.items import Box, Live
    from strikebridge.screens.strokes import Pens

FEW = 8  # samples; up to so many are drawn one by one
FRESH_S = 1.0  # the oldest part that a moved zero may leave a fraction of a pixel wrong
SAME_PX = 0.5  # a sample that moved by less is where it was


class TracePaper:
    """Draw the last seconds as the outline of a hill, newest at the right."""

    def __init__(self) -> None:
        self._made_of: tuple[object, ...] = ()
        self._pixels: NDArray[np.uint32] = np.zeros((0, 0), np.uint32)
        self._image = QImage()
        self._middle_px: Floats = np.zeros((0, 1))  # of each row, from the top
        self._across = 0
        self._first = 0  # column of the stream at the left end of the paper
        self._column = 0  # and of the sample drawn last
        self._newest: tuple[float, float] = (0.0, 0.0)  # time [s] and force [N] drawn last
        self._whole_s = -math.inf

    def draw(self, painter: QPainter, live: Live, box: Box, pens: Pens, ratio: float) -> None:
        """Bring the paper up to date and lay it into its box.

        Args:
            painter: of the wall.
            live: the moving part of the picture.
            box: where the trace goes [px].
            pens: colours.
            ratio: pixels of the screen in one of the wall's.
        """
        across, down = round(box.w * ratio), round(box.h * ratio)
        made_of = (across, down, ratio, live.full_N, live.trace_s, pens)
        if made_of != self._made_of:
            self._made_of = made_of
            self._lay(across, down, ratio, live.trace_s)
        trace = live.trace
        first = self._first_new(trace, down / live.full_N)
        if first is None:
            self._draw_whole(live, pens)
        elif first < len(trace.time_s):
            self._go_on(live, pens, first)
        view = QRect(self._column + 1 - across - self._first, 0, across, down)
        painter.drawImage(QPoint(int(box.x), int(box.y)), self._image, view)

    def _lay(self, across: int, down: int, ratio: float, trace_s: float) -> None:
        """Take new paper."""
        wide = across + math.ceil(FRESH_S * across / trace_s) + 1
        self._pixels = np.zeros((down, wide), np.uint32)
        # the picture is a view of the array, which has to live as long as the picture
        kept: memoryview = self._pixels.data
        self._image = QImage(kept.cast("B"), wide, down, 4 * wide, QImage.Format.Format_RGB32)
        self._image.setDevicePixelRatio(ratio)
        self._middle_px = np.arange(0.5, down)[:, np.newaxis]
        self._across = across
        self._whole_s = -math.inf

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

    def _draw_whole(self, live: Live, pens: Pens) -> None:
        time_s, force_N = live.trace.time_s, live.trace.force_N
        self._pixels.fill(pens.panel_rgb)
        self._whole_s = -math.inf
        if len(time_s):
            self._whole_s = float(time_s[-1])
            self._remember(live.trace, self._across / live.trace_s)
        self._first = self._column + 1 - self._across
        begin = max(0, int(np.searchsorted(time_s, self._whole_s - live.trace_s)) - 1)
        if len(time_s) - begin >= 2:
            self._fill(time_s[begin:], force_N[begin:], 0, live, pens)

    def _go_on(self, live: Live, pens: Pens, first: int) -> None:
        """Draw what is new, from the column of the sample drawn last."""
        time_s, px_per_s, column = live.trace.time_s, self._across / live.trace_s, self._column
        begin = first - 1
        while begin > 0 and time_s[begin] * px_per_s >= column:
            begin -= 1
        self._remember(live.trace, px_per_s)
        since = column - self._first
        if len(time_s) - begin > FEW:
            self._fill(time_s[begin:], live.trace.force_N[begin:], since, live, pens)
        else:
            self._fill_few(begin, since, live, pens)

    def _fill_few(self, begin: int, since: int, live: Live, pens: Pens) -> None:
        """Do what `_fill` does for a few samples, for which its arrays take too long.

        Args:
            begin: the sample before these columns.
            since: the first column.
            live: trace and scale.
            pens: colours.
        """
        px_per_s, first = self._across / live.trace_s, self._first
        x = [at_s * px_per_s - first for at_s in live.trace.time_s[begin:].tolist()]
        force_N = [
            0.0 if math.isnan(one_N) else one_N for one_N in live.trace.force_N[begin:].tolist()
        ]
        down, at, last = len(self._middle_px), 0, len(x) - 1
        columns = [math.floor(one) for one in x]
        for column in range(since, self._column + 1 - first):
            middle = column + 0.5
            while at < last and x[at + 1] <= middle:
                at += 1
            high_N = force_N[at]
            if at < last and x[at] <= middle:
                slope = (force_N[at + 1] - high_N) / (x[at + 1] - x[at])
                high_N += slope * (middle - x[at])
            for place, one_N in zip(columns, force_N, strict=True):
                if place == column and one_N > high_N:
                    high_N = one_N
            top = max(0, math.ceil(down * (1.0 - high_N / live.full_N) - 0.5))
            stripe = self._pixels[:, column]
            stripe[:top] = pens.panel_rgb
            stripe[top:] = pens.trace_rgb

    def _fill(
        self, time_s: Floats, force_N: Floats, since: int, live: Live, pens: Pens
    ) -> None:
        """Draw the columns from one of the paper up to that of the newest sample.

        Args:
            time_s: rising [s], shape (n,), n at least 2; all in these columns, one before.
            force_N: [N], shape (n,), NaN where unknown.
            since: the first column.
            live: scale.
            pens: colours.
        """
        x = time_s * (self._across / live.trace_s) - self._first
        end = self._column + 1 - self._first
        if math.isnan(force_N.sum()):
            force_N = np.nan_to_num(force_N)
        high_N = np.interp(np.arange(since, end) + 0.5, x, force_N, left=0.0)
        places = np.floor(x).astype(int) - since
        first = int(np.searchsorted(places, 0))
        np.maximum.at(high_N, places[first:], force_N[first:])
        empty_px = len(self._middle_px) * (1.0 - high_N / live.full_N)
        self._pixels[:, since:end] = np.where(
            self._middle_px >= empty_px, pens.trace_rgb, pens.panel_rgb
        )

    def _remember(self, trace: Trace, px_per_s: float) -> None:
        self._newest = (float(trace.time_s[-1]), float(trace.force_N[-1]))
        self._column = math.floor(self._newest[0] * px_per_s)
