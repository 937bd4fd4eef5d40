"""From the start page to the squad board, to an athlete and back, by the keys of a coach."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from strikebridge.cli import run
from strikebridge.screens.progress_window import ProgressWindow
from strikebridge.screens.sheet_window import SheetWindow
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_model import Lead
from tests.store.made_club import make_club

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(180)]
MOST_MS = 120_000
Key = Qt.Key
Shown = StartWindow | SheetWindow | ProgressWindow


def go_on(window: QWidget, went: list[str]) -> None:
    """Go from the start page to the board, to an athlete, and back out."""
    if isinstance(window, SheetWindow):
        QTest.keyClick(window, Key.Key_PageDown)
    elif isinstance(window, ProgressWindow):
        went.append("board" if window.view.camp is None else "athlete")
        if went[-1] == "board":
            QTest.keyClick(window, Key.Key_PageDown)
        else:
            QTest.keyClick(window, Key.Key_PageUp)
            QTest.keyClick(window, Key.Key_Escape)
    elif isinstance(window, StartWindow) and went:
        QTest.keyClick(window, Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    elif isinstance(window, StartWindow) and any(
        row.lead is Lead.PROGRESS for row in window.rows
    ):
        QTest.keyClick(window, Key.Key_T)


def test_the_board_is_reached_from_the_start_page(
    tmp_path: Path, qapp: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    make_club(tmp_path, athletes=3, weeks=3)
    clock = QElapsedTimer()
    went: list[str] = []
    clock.start()

    def look() -> None:
        for window in QApplication.topLevelWidgets():
            if isinstance(window, Shown) and window.isVisible():
                if clock.elapsed() > MOST_MS:
                    window.close()  # the test fails by what it did not see
                else:
                    go_on(window, went)
                return

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(50)
    assert run(["--data", str(tmp_path)]) == 0
    timer.stop()
    assert went == ["board", "athlete"]
