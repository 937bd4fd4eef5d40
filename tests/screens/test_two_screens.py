"""With two screens the wall gets the larger one and the coach's page a window of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from strikebridge.screens.coach_window import screens_for

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = [pytest.mark.screen, pytest.mark.slow]


@pytest.mark.timeout(240)
def test_wall_and_coach_share_two_screens_one_session_and_the_same_keys(
    tmp_path: Path,
) -> None:
    command = [sys.executable, "-m", "tests.screens.two_screens", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, timeout=100, check=False)
    assert done.returncode == 0, done.stderr.decode()
    told = json.loads(done.stdout)
    assert told["failure"] == ""
    laptop, tv = ["laptop", 1366, 768], ["tv", 1920, 1080]
    assert told["first"] == {"wall": tv, "coach": laptop, "notes on the wall": False}
    assert told["traded"] == {"wall": laptop, "coach": tv, "notes on the wall": False}
    assert told["asked"] == "Stop for pain?"
    assert told["asked on the wall"] is False
    assert told["steps"] == 5  # the whole set, by keys pressed in the coach's window
    assert told["code"] == 0  # closing the coach's window closes the wall


def test_one_screen_is_no_two(qtbot: object) -> None:
    from PySide6.QtWidgets import QApplication  # noqa: PLC0415 - with the application

    (screen,) = QApplication.screens()
    assert screens_for([screen]) is None
    assert screens_for([screen, screen]) is None  # a projector that shows the same
