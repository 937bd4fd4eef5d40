"""The page of a backup: what is copied, how much, and how it is broken off."""

from __future__ import annotations

import itertools
import threading
from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli.backup_row import back_up_again
from strikebridge.cli.club_desk import ClubDesk
from strikebridge.cli.starting import Start
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.job import Doing, Progress, Step
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.backup_model import BEGINNING, ENDING, backup_page
from strikebridge.screens.backup_window import BROKEN_OFF, BackupWindow
from strikebridge.screens.figure import Bar
from strikebridge.screens.look import LIGHT
from strikebridge.screens.start_model import Lead
from tests.running import WITHIN_S
from tests.safekeeping.made import fill
from tests.screens.test_progress import check
from tests.screens.test_rig_pages import SIZES, is_inside
from tests.screens.test_session_review import texts_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.safekeeping.job import Tell

pytestmark = [pytest.mark.screen, pytest.mark.timeout(180)]
Key = Qt.Key
LONG = "recordings/session-0123abcd-2026-11-25-173012-123456.jsonl"
STEPS = (
    None,
    Step(Doing.COPYING, "strikebridge.sqlite", 0.0, 0, 900_000),
    Step(Doing.READING_BACK, LONG, 0.996, 283_400_000_000, 283_500_000_000),
)


class Gate:
    """Holds a backup at its first step until the test has looked at the window."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.is_there = threading.Event()
        self.may_go_on = threading.Event()

    def make(self, tell: Tell) -> str:
        def held(step: Step) -> None:
            tell(step)
            self.is_there.set()
            assert self.may_go_on.wait(WITHIN_S)

        return back_up_again(self.data, held)


@pytest.fixture
def gate(tmp_path: Path) -> Iterator[Gate]:
    data, stick = tmp_path / "data", tmp_path / "stick"
    fill(data)
    stick.mkdir()
    make_backup(data, stick / "first.zip")
    made = Gate(data)
    yield made
    made.may_go_on.set()


@pytest.fixture
def shown(gate: Gate, qtbot: QtBot) -> Iterator[BackupWindow]:
    window = BackupWindow(gate.make)
    window.show()
    qtbot.waitUntil(gate.is_there.is_set)
    qtbot.waitUntil(lambda: "Copying strikebridge.sqlite" in texts_of(window.page.items))
    yield window
    gate.may_go_on.set()
    window.errand.wait()
    window.close()
    window.deleteLater()


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_it_can_be_read(qtbot: QtBot, size: tuple[int, int]) -> None:
    for step, is_ending in itertools.product(STEPS, (False, True)):
        page = backup_page(step, size, is_ending=is_ending)
        check(page, size)
        (bar,) = (item for item in page if isinstance(item, Bar))
        assert is_inside(bar.box, size)
        assert bar.share == (0.0 if step is None else step.share)


def test_it_says_what_is_copied_and_how_much() -> None:
    assert BEGINNING in texts_of(backup_page(None, SIZES[0]))
    said = texts_of(backup_page(STEPS[1], SIZES[0]))
    assert "Copying strikebridge.sqlite" in said
    assert "0.0 of 0.9 MB copied and read back" in said
    said = texts_of(backup_page(STEPS[2], SIZES[0]))
    assert {f"Reading back {LONG}", "99 %"} <= set(said)
    assert "283.4 of 283.5 GB copied and read back" in said
    assert ENDING in texts_of(backup_page(STEPS[2], SIZES[0], is_ending=True))


def test_the_share_never_goes_back_though_there_is_more_than_was_estimated() -> None:
    steps: list[Step] = []
    progress = Progress(100, steps.append)
    for count in (60, 60, 0):
        progress.add(count)
    progress.reach(70)
    assert [step.share for step in steps] == [0.6, 1.0, 1.0, 1.0]
    assert [(step.done, step.total) for step in steps][1] == (120, 120)


def test_it_is_painted_meanwhile_and_closes_by_itself(
    gate: Gate, shown: BackupWindow, qtbot: QtBot
) -> None:
    QTest.keyClick(shown, Key.Key_D)
    assert shown.page.scheme is LIGHT
    QTest.keyClick(shown, Key.Key_F11)
    assert shown.isFullScreen()
    QTest.keyClick(shown, Key.Key_X)
    assert any("B, Esc: break off" in text for text in texts_of(shown.page.items))
    gate.may_go_on.set()
    qtbot.waitUntil(lambda: not shown.isVisible())
    assert shown.errand.done is not None
    assert "read back and found right" in shown.errand.done
    assert len(list((gate.data.parent / "stick").iterdir())) == 2


@pytest.mark.parametrize("is_by_key", [True, False])
def test_it_can_be_broken_off_and_leaves_nothing(
    gate: Gate, shown: BackupWindow, qtbot: QtBot, *, is_by_key: bool
) -> None:
    if is_by_key:
        QTest.keyClick(shown, Key.Key_Escape)
    else:
        shown.close()
    assert shown.isVisible()  # until nothing of it is left
    qtbot.waitUntil(lambda: ENDING in texts_of(shown.page.items))
    gate.may_go_on.set()
    qtbot.waitUntil(lambda: not shown.isVisible())
    assert shown.errand.trouble == BROKEN_OFF
    assert [path.name for path in (gate.data.parent / "stick").iterdir()] == ["first.zip"]


def test_the_start_page_leads_there_and_says_what_was_made(gate: Gate, qapp: object) -> None:
    def never(*_: object) -> Any:
        raise AssertionError("nobody goes there")

    seen: list[str] = []

    def look() -> None:
        seen.extend(
            type(window).__name__
            for window in QApplication.topLevelWidgets()
            if window.isVisible()
        )

    options = WindowOptions()
    start = Start(gate.data, options, never, never, never, ClubDesk(gate.data, options))
    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(0)
    try:
        said = start.go(Lead.BACKUP)
    finally:
        timer.stop()
    assert "read back and found right" in said
    assert set(seen) == {"BackupWindow"}
