"""From the empty start page to a recording and its review, by real keys in real windows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli import run
from strikebridge.samples import Phase
from strikebridge.screens.review_window import ReviewWindow
from strikebridge.screens.sheet_window import SheetWindow
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_model import Lead
from strikebridge.screens.window import Window

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(90)]
MOST_MS = 45_000
Shown = StartWindow | SheetWindow | Window | ReviewWindow
CONTROL = Qt.KeyboardModifier.ControlModifier


def leave(window: StartWindow, went: list[str]) -> None:
    """Do what is next, free reps without a roster; once recorded look at it, then close."""
    if went[-1:] and went[-1].endswith("curves"):
        QTest.keyClick(window, Qt.Key.Key_Q, CONTROL)
    elif any(row.lead is Lead.REVIEW for row in window.rows):
        QTest.keyClick(window, Qt.Key.Key_R)
    elif window.rows[window.chosen].lead is Lead.ATHLETES:
        went.append(str(Lead.WALL))
        QTest.keyClick(window, Qt.Key.Key_W)
    else:
        went.append(str(window.rows[window.chosen].lead))
        QTest.keyClick(window, Qt.Key.Key_PageDown)


def test_a_first_look_round_by_the_clicker(
    tmp_path: Path, qapp: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Simulated board, wall until one hold is over, review, close."""
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    clock = QElapsedTimer()
    went: list[str] = []
    clock.start()

    def press(window: StartWindow | SheetWindow | Window | ReviewWindow) -> None:
        if clock.elapsed() > MOST_MS:
            window.close()  # the test fails by what it did not see
        elif isinstance(window, SheetWindow):
            went.append(window.sheet.title)
            QTest.keyClick(window, Qt.Key.Key_PageDown)
        elif isinstance(window, ReviewWindow):
            went.append(f"{len(window.review.review.curves)} curves")
            QTest.keyClick(window, Qt.Key.Key_PageDown)
        elif isinstance(window, StartWindow):
            leave(window, went)
        elif window.wall.painted is not None and window.wall.painted.phase is Phase.RESULT:
            QTest.keyClick(window, Qt.Key.Key_Q, CONTROL)

    def look() -> None:
        for window in QApplication.topLevelWidgets():
            if isinstance(window, Shown) and window.isVisible():
                press(window)
                return

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(50)
    assert run(["--data", str(tmp_path)]) == 0
    timer.stop()
    assert went[:3] == ["Take care", "simulated board", "wall"]
    assert went[3:] in (["1 curves"], ["2 curves"])
    assert len(list((tmp_path / "recordings").iterdir())) == 1
