"""Guard against versions of PySide6 that lose references to None and True.

One of them aborted the interpreter within seconds of an 80 Hz screen on CPython 3.11.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject, QRect, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QFont, QPainter, QPixmap

from strikebridge.screens.wall import Wall
from tests.screens.glances import HOLDING

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen

TIMES = 200


class Bell(QObject):
    rung = Signal(bool)

    def event(self, event: QEvent) -> bool:  # type: ignore[explicit-override]  # the plain way is what is probed
        return event.type() == QEvent.Type.User or super().event(event)


def lost_references(act: Callable[[], object]) -> int:
    """Count how many references to True, False and None an act loses or gains at most."""
    for _ in range(3):
        act()
    kept = (True, False, None)
    before = [sys.getrefcount(one) for one in kept]
    for _ in range(TIMES):
        act()
    after = [sys.getrefcount(one) for one in kept]
    return max(abs(two - one) for one, two in zip(before, after, strict=True))


def paint_pixmap(pixmap: QPixmap) -> None:
    painter = QPainter(pixmap)
    painter.setFont(QFont())
    painter.setPen(QColor("#EEEEEE"))
    painter.fillRect(QRect(0, 0, 5, 5), QColor("#111111"))
    painter.drawText(QRect(0, 0, 50, 50), Qt.AlignmentFlag.AlignCenter, "x")
    painter.end()


def shoot(application: QApplication) -> None:
    QTimer.singleShot(0, application.thread(), lambda: None)
    application.processEvents()


def test_a_leak_would_be_seen() -> None:
    kept: list[object] = []
    assert lost_references(lambda: kept.append(None)) >= TIMES


@pytest.mark.parametrize(
    "name", ["signal", "posted event", "painter", "visible", "timer", "repaint", "glance"]
)
def test_no_references_are_lost(qtbot: QtBot, qapp: QApplication, name: str) -> None:
    wall = Wall()
    qtbot.addWidget(wall)
    wall.resize(480, 270)
    wall.show()
    qtbot.waitExposed(wall)
    bell = Bell()
    heard: list[bool] = []
    bell.rung.connect(lambda is_on: heard.clear() if is_on else None)
    pixmap = QPixmap(50, 50)
    acts: dict[str, Callable[[], object]] = {
        "signal": lambda: bell.rung.emit(True),
        "posted event": lambda: QCoreApplication.sendEvent(bell, QEvent(QEvent.Type.User)),
        "painter": lambda: paint_pixmap(pixmap),
        "visible": wall.isVisible,
        "timer": lambda: shoot(qapp),
        "repaint": wall.repaint,
        "glance": lambda: wall.show_glance(HOLDING, at_once=True),
    }
    assert lost_references(acts[name]) < TIMES // 2
