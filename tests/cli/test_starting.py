"""From the empty start page to a recording and its review, by real keys in real windows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli import run
from strikebridge.cli.club_desk import ClubDesk
from strikebridge.cli.starting import Start
from strikebridge.glance import Phase
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.review_window import ReviewWindow
from strikebridge.screens.sheet_window import SheetWindow
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_model import Lead, Row, Standing
from strikebridge.screens.window import Window

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(180)]
MOST_MS = 120_000
Shown = StartWindow | SheetWindow | Window | ReviewWindow
CONTROL = Qt.KeyboardModifier.ControlModifier


def never(*_: object) -> Any:
    raise AssertionError("nobody goes there")


def check_row(start: Start) -> Row:
    return next(row for row in start.rows() if row.name == "Check")


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


def test_the_check_of_the_simulated_board_is_shown_once_it_was_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    options = WindowOptions()
    desk = ClubDesk(tmp_path, options)
    start = Start(tmp_path, options, never, never, never, desk)
    assert check_row(start).lead is None  # there is no board yet
    start.is_simulated = True
    row = check_row(start)
    assert (row.standing, row.lead) == (Standing.LATER, Lead.CHECK)
    assert row.words == "Zero and noise, before a session. Not done yet."
    board = "simulated:?rig=plates&speed=40"
    assert run(["verify", board, "--data", str(tmp_path)]) == 0
    row = check_row(start)
    assert (row.standing, row.words) == (Standing.READY, "Recent and good.")
