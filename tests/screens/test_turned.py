"""What the coach turned to in one window is what the next one opens with."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli import run
from strikebridge.pages.caution import FIRST_RUN, note_read
from strikebridge.private_files import is_open_to_others
from strikebridge.screens.app import WindowOptions, run_window
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_app import run_start
from strikebridge.screens.turned import FILE, Turned, turned_in
from strikebridge.screens.window import Window
from strikebridge.units import ForceUnit
from tests.screens.glances import RESULT
from tests.screens.starts import ALL_READY
from tests.screens.test_window import FakeStation

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

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


def test_they_stay_for_the_next_run_too(coach: Coach, tmp_path: Path) -> None:
    options = WindowOptions(turned=turned_in(tmp_path))
    coach.keys = [Qt.Key.Key_D]
    run_start(lambda: ALL_READY, options)
    coach.keys = [Qt.Key.Key_U]
    run_window(lambda: FakeStation(RESULT), options=options)
    again = WindowOptions(turned=turned_in(tmp_path))
    assert (again.scheme_now, again.unit_now) == ("light", options.unit_now)
    assert again.unit_now is not ForceUnit.KG
    assert not is_open_to_others(tmp_path / FILE)
    run_start(lambda: ALL_READY, again)
    assert coach.seen[-1] == ("StartWindow", "light")


def test_what_is_said_this_time_counts_this_time_and_changes_nothing(tmp_path: Path) -> None:
    Turned(data=tmp_path).turn("light", ForceUnit.LB)
    said = turned_in(tmp_path, scheme_is_said=True, unit_is_said=True)
    options = WindowOptions("dark", ForceUnit.N, turned=said)
    assert (options.scheme_now, options.unit_now) == ("dark", ForceUnit.N)
    options.keep("dark", ForceUnit.N)  # left as it was opened
    kept = turned_in(tmp_path)
    assert (kept.scheme, kept.unit) == ("light", ForceUnit.LB)
    options.keep("dark", ForceUnit.KG)  # turned by a key
    kept = turned_in(tmp_path)
    assert (kept.scheme, kept.unit) == ("light", ForceUnit.KG)


@pytest.mark.parametrize("text", ["", "{", '{"scheme": "plaid"}', '{"unit": "stone"}', "[1]"])
def test_a_file_that_cannot_be_read_is_as_none(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE).write_text(text)
    kept = turned_in(tmp_path)
    assert (kept.scheme, kept.unit) == (None, None)


def test_a_folder_that_cannot_be_written_costs_no_more_than_that(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (tmp_path / "data").write_text("a file in the way")
    turned = Turned(data=tmp_path / "data")
    turned.turn("light", None)
    assert turned.scheme == "light"
    assert "cannot be kept" in caplog.text


def test_the_command_opens_with_them_unless_it_says_otherwise(
    coach: Coach, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    note_read(tmp_path, FIRST_RUN)
    Turned(data=tmp_path).turn("light", ForceUnit.LB)
    assert run(["--data", str(tmp_path)]) == 0
    coach.keys = [Qt.Key.Key_D]
    assert run(["--data", str(tmp_path)]) == 0
    assert run(["--data", str(tmp_path)]) == 0
    assert run(["window", "--light", "--unit", "N", "--data", str(tmp_path)]) == 0
    assert [scheme for _, scheme in coach.seen] == ["light", "dark", "dark", "light"]
    kept = turned_in(tmp_path)
    assert (kept.scheme, kept.unit) == ("dark", ForceUnit.LB)
