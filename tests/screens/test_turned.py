"""What the coach turned to in one window is what the next one opens with."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.screens.app import WindowOptions, run_window
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_app import run_start
from strikebridge.screens.window import Window
from strikebridge.units import ForceUnit
from tests.screens.glances import RESULT
from tests.screens.starts import ALL_READY
from tests.screens.test_window import FakeStation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen


class Coach:
    """Presses its keys, one at a time, in whichever window is open, and leaves by Ctrl+Q."""

    def __init__(self) -> None:
        self.keys: list[Qt.Key] = []
        self.seen: list[tuple[str, str]] = []
        self.timer = QTimer()
        self.timer.timeout.connect(self.look)
        self.timer.start(10)

    def look(self) -> None:
        for window in QApplication.topLevelWidgets():
            if not isinstance(window, StartWindow | Window) or not window.isVisible():
                continue
            page = window.page if isinstance(window, StartWindow) else window.wall
            if self.keys:
                QTest.keyClick(window, self.keys.pop(0))
            else:
                self.seen.append((type(window).__name__, page.scheme.key))
                QTest.keyClick(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
            return


@pytest.fixture
def coach(qtbot: QtBot) -> Iterator[Coach]:
    made = Coach()
    yield made
    made.timer.stop()


def test_daylight_and_unit_stay_for_the_next_windows(coach: Coach) -> None:
    options = WindowOptions(unit=ForceUnit.LB)
    assert (options.scheme_now, options.unit_now) == ("dark", ForceUnit.LB)
    coach.keys = [Qt.Key.Key_D]
    run_start(lambda: ALL_READY, options)
    assert (options.scheme_now, options.unit_now) == ("light", ForceUnit.LB)
    coach.keys = [Qt.Key.Key_U]
    run_window(lambda: FakeStation(RESULT), options=options)
    assert options.unit_now is not ForceUnit.LB
    chosen = options.unit_now
    run_window(lambda: FakeStation(RESULT), options=options)
    coach.keys = [Qt.Key.Key_D]
    run_start(lambda: ALL_READY, options)
    run_start(lambda: ALL_READY, options)
    assert coach.seen == [
        ("StartWindow", "light"),
        ("Window", "light"),
        ("Window", "light"),
        ("StartWindow", "dark"),
        ("StartWindow", "dark"),
    ]
    assert options.unit_now is chosen
