"""The floor: the same libraries in a bare loop that paints the same items, none of our code.

A thread reads the port with pyserial and takes the numbers out of each line, or hands them to
an asyncio loop on a thread of its own that does (ours has these threads, too); a QWidget paints
a big number (at most 10 times a second), a force bar with two marks of a band, and the trace of
the last 6 seconds, at once, but no sooner than 8 ms after the last paint.
"""

from __future__ import annotations

import asyncio
import threading
import time
from typing import TYPE_CHECKING, Any

import numpy as np
import serial
import shiboken6
from PySide6.QtCore import QCoreApplication, QEvent, QPointF, QRect, Qt, QTimer
from PySide6.QtGui import QColor, QFont, QPainter, QPixmap, QPolygonF, QRegion
from PySide6.QtWidgets import QWidget

if TYPE_CHECKING:
    from PySide6.QtGui import QPaintEvent

PAINT_GAP_S = 0.008
TRACE_S = 6.0
FULL = 90_000.0
BAND = (60_000.0, 69_000.0)
WOKEN = QEvent.Type(QEvent.registerEventType())


class BareLoop(QWidget):
    """Reader thread, ring and painter in one."""

    def __init__(self, port: str, rate_hz: float, *, is_on_asyncio: bool = False) -> None:
        super().__init__()
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.resize(1366, 768)
        self.shown: list[tuple[int, int]] = []  # instant of the end of a paint [ns], sequence
        self._size = int(TRACE_S * rate_hz)
        self._ring = np.zeros(2 * self._size)
        self._count = 0
        self._is_woken = False
        self._painted_s = 0.0
        self._number_s = 0.0
        self._number = QPixmap(1000, 260)
        self._bar = QRect(30, 418, 1306, 112)
        self._trace = QRect(30, 665, 1306, 63)
        self._figure = QRect(30, 69, 1000, 260)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._paint_now)
        self._port = serial.Serial(port, 115200, timeout=0.25)
        self._is_open = True
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._rest = b""
        self._loop = asyncio.new_event_loop() if is_on_asyncio else None

    def start(self) -> None:
        if self._loop is not None:
            threading.Thread(target=self._loop.run_forever, daemon=True).start()
        self._thread.start()

    def stop(self) -> None:
        self._is_open = False
        self._thread.join()
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._loop.stop)
        self._port.close()

    def _read(self) -> None:
        while self._is_open:
            data = self._port.read(max(1, self._port.in_waiting))
            if self._loop is None:
                self._take(data)
            else:
                self._loop.call_soon_threadsafe(self._take, data)

    def _take(self, data: bytes) -> None:
        *lines, self._rest = (self._rest + data).split(b"\n")
        for line in lines:
            value = float(line.split(b"*")[0].split(b",")[3])
            at = self._count % self._size
            self._ring[at] = self._ring[at + self._size] = value
            self._count += 1
        if lines and not self._is_woken:
            self._is_woken = True
            QCoreApplication.postEvent(self, QEvent(WOKEN))

    def event(self, event: QEvent) -> bool:  # type: ignore[explicit-override]  # a bare loop, Python 3.11
        if event.type() != WOKEN:
            return super().event(event)
        wait_s = self._painted_s + PAINT_GAP_S - time.monotonic()
        if wait_s <= 0.0:
            self._paint_now()
        elif not self._timer.isActive():
            self._timer.start(max(1, round(wait_s * 1000.0)))
        return True

    def _paint_now(self) -> None:
        self._is_woken = False
        self._painted_s = time.monotonic()
        region = QRegion(self._bar) + self._trace
        if self._painted_s - self._number_s >= 0.1:
            self._draw_number()
            region += self._figure
        self.repaint(region)

    def _draw_number(self) -> None:
        self._number_s = self._painted_s
        self._number.fill(QColor("#0B0D0F"))
        painter = QPainter(self._number)
        font = QFont("DejaVu Sans")
        font.setPixelSize(322)
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(QColor("#F6F3EA"))
        newest = self._ring[(self._count - 1) % self._size] / 980.665
        painter.drawText(QPointF(0.0, 250.0), f"{newest:.1f}")
        painter.end()

    def paintEvent(self, event: QPaintEvent) -> None:  # type: ignore[explicit-override]  # noqa: N802 - as above; Qt's own name
        count = self._count
        painter = QPainter(self)
        painter.setClipRegion(event.region())
        painter.fillRect(event.rect(), QColor("#0B0D0F"))
        painter.drawPixmap(self._figure.topLeft(), self._number)
        bar, trace = self._bar, self._trace
        painter.fillRect(bar, QColor("#1D2226"))
        newest = self._ring[(count - 1) % self._size] if count else 0.0
        share = max(0.0, min(1.0, newest / FULL))
        painter.fillRect(
            QRect(bar.x(), bar.y(), int(share * bar.width()), bar.height()), QColor("#56B4E9")
        )
        for edge in BAND:
            at = bar.x() + int(edge / FULL * bar.width())
            painter.fillRect(QRect(at, bar.y(), 14, bar.height()), QColor("#F6F3EA"))
        painter.fillRect(trace, QColor("#1D2226"))
        held = min(count, self._size)
        if held > 1:
            end = (count - 1) % self._size + 1 + self._size
            force = np.clip(self._ring[end - held : end] / FULL, 0.0, 1.0)
            points = QPolygonF()
            points.resize(held + 2)
            memory: Any = shiboken6.VoidPtr  # the stubs miss this use
            view = np.frombuffer(
                memory(points.data(), (held + 2) * 16, 1), dtype=np.float64
            ).reshape(-1, 2)
            x = trace.right() - np.arange(held)[::-1] * (trace.width() / self._size)
            view[1:-1, 0] = x
            view[1:-1, 1] = trace.bottom() - force * trace.height()
            view[0] = (x[0], trace.bottom())
            view[-1] = (x[-1], trace.bottom())
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor("#7F888E"))
            painter.drawPolygon(points)
        painter.end()
        if count:
            self.shown.append((time.monotonic_ns(), count - 1))
