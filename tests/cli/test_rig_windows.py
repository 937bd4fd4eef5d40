"""`calibrate --window` and `verify --window`, from the command line to the certificate."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli import run
from strikebridge.glance import Phase
from strikebridge.screens.items import Words
from strikebridge.screens.rig_window import RigWindow
from strikebridge.screens.window import Window

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(180)]
ADDRESS = "simulated:?rig=plates&plates_off=0.01&speed=20"
PLATES = ("--plate", "A=20±0.4", "--plate", "B=10±0.2", "--runs", "1", "--hands-free")


MOST_MS = 120_000


class Coach:
    """Looks at the window and presses the key that belongs to what stands there."""

    def __init__(self) -> None:
        self.seen: list[str] = []
        self.keys: dict[str, Qt.Key] = {}
        self.clock = QElapsedTimer()
        self.clock.start()
        self.timer = QTimer()
        self.timer.timeout.connect(self.look)
        self.timer.start(20)

    def look(self) -> None:
        for window in QApplication.topLevelWidgets():
            if not isinstance(window, RigWindow) or not window.isVisible():
                continue
            text = "\n".join(item.text for item in window.page.items if isinstance(item, Words))
            self.seen.append(text)
            if self.clock.elapsed() > MOST_MS:
                window.close()  # the test fails by what it did not see
            for words, key in self.keys.items():
                if words in text:
                    QTest.keyClick(window, key)
                    return


@pytest.fixture
def coach(qapp: Any, qtbot: QtBot) -> Iterator[Coach]:
    made = Coach()
    yield made
    made.timer.stop()


def test_a_calibration_in_the_window_is_kept_and_checked(
    tmp_path: Path, coach: Coach, capsys: pytest.CaptureFixture[str]
) -> None:
    data = ("--data", str(tmp_path))
    coach.keys = {"Calibration finished": Qt.Key.Key_Space}
    assert run(["calibrate", ADDRESS, *PLATES, *data, "--window"]) == 0
    out, _ = capsys.readouterr()
    assert "Straight line through" in out
    assert "The window and record take it by themselves" in out
    (kept,) = (tmp_path / "certificates").iterdir()
    certificate = json.loads(kept.read_text())
    assert certificate["id"] in "\n".join(coach.seen)
    assert "A force of" in coach.seen[-1]

    # the same plate once more: its own error cancels
    coach.keys = {"Good: nothing has moved": Qt.Key.Key_PageDown}
    assert run(["verify", ADDRESS, "--plate", "A", *data, "--window"]) == 0
    out, _ = capsys.readouterr()
    assert out.startswith("Good: nothing has moved.")
    assert run(["verify", ADDRESS, "--plate", "A", *data, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["certificate"] == certificate["id"]
    assert document["gain"]["same_plate"] is True
    assert document["gain"]["u95"] < 0.003


def test_a_cancelled_calibration_keeps_its_points(
    tmp_path: Path, coach: Coach, capsys: pytest.CaptureFixture[str]
) -> None:
    coach.keys = {
        "was cancelled": Qt.Key.Key_Space,
        # there are points by then; a step that went by unseen is followed by another
        **{f"step {step} of": Qt.Key.Key_Q for step in range(7, 10)},
        "Cancel the walk?": Qt.Key.Key_Q,
    }
    assert run(["calibrate", ADDRESS, *PLATES, "--data", str(tmp_path), "--window"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "The calibration was cancelled; there is no certificate." in err
    assert "kept in" in err
    assert not (tmp_path / "certificates").exists()
    assert len(list((tmp_path / "points").iterdir())) == 1


def test_a_check_that_is_cancelled_decides_nothing(
    tmp_path: Path, coach: Coach, capsys: pytest.CaptureFixture[str]
) -> None:
    coach.keys = {"step 1 of": Qt.Key.Key_C, "was cancelled": Qt.Key.Key_Space}
    address = ADDRESS.replace("speed=20", "speed=1")  # it stays at its first step
    assert run(["verify", address, "--data", str(tmp_path), "--window"]) == 1
    assert "The check was cancelled. Nothing was decided." in capsys.readouterr().err
    assert not (tmp_path / "checks").exists()


def test_a_board_that_is_not_there_is_said(
    tmp_path: Path, coach: Coach, capsys: pytest.CaptureFixture[str]
) -> None:
    coach.keys = {"There is no port": Qt.Key.Key_Space}
    words = ["calibrate", "serial:/no/such/port", *PLATES, "--data", str(tmp_path), "--window"]
    assert run(words) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "/no/such/port" in err


def test_from_the_wall_to_a_check_and_back(tmp_path: Path, coach: Coach, qtbot: QtBot) -> None:
    """V ends the wall, the check runs, and the wall comes back on the same board."""
    walls: list[Window] = []

    def look() -> None:
        for window in QApplication.topLevelWidgets():
            if not isinstance(window, Window) or not window.isVisible():
                continue
            if window not in walls:
                walls.append(window)
            glance = window.wall.painted
            if glance is not None and glance.phase is not Phase.WAITING:
                is_first = len(walls) == 1
                control = Qt.KeyboardModifier.ControlModifier
                if is_first:
                    QTest.keyClick(window, Qt.Key.Key_V)
                else:
                    QTest.keyClick(window, Qt.Key.Key_Q, control)

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(30)
    coach.keys = {"the gain is unchecked.": Qt.Key.Key_Space}
    address = "simulated:?rig=plates&speed=20"
    assert run(["window", "--board", address, "--data", str(tmp_path)]) == 0
    timer.stop()
    assert len(walls) == 2
    assert len(list((tmp_path / "checks").iterdir())) == 1
    assert len(list((tmp_path / "recordings").iterdir())) == 3
