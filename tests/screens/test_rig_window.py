"""The window of a rig with real key events, on stand-ins and on a real simulated board."""

from __future__ import annotations

import threading
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.acquisition import Stream
from strikebridge.calibration.certificate import PlateRecord
from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.calibration.walk_view import WalkKey, WalkState, WalkView
from strikebridge.calibration.walk_words import KEYS
from strikebridge.check_station import CheckStation, CheckStationSetup
from strikebridge.checks.check_view import CheckKey, CheckView
from strikebridge.checks.expected import plate_reference
from strikebridge.checks.history import Verdict, board_file, read_history
from strikebridge.errors import BoardNotFoundError
from strikebridge.reports.calibration_words import worth_words
from strikebridge.rig_station import RigStation
from strikebridge.screens.figure import Mark
from strikebridge.screens.finish_model import Finish
from strikebridge.screens.items import Words
from strikebridge.screens.keys import Own
from strikebridge.screens.look import DARK, LIGHT
from strikebridge.screens.rig_app import run_rig
from strikebridge.screens.rig_keys import RIG_ROWS, Lead
from strikebridge.screens.rig_pages import CheckPages, WalkPages
from strikebridge.screens.rig_window import RigWindow
from strikebridge.units import ForceUnit
from tests.screens.check_views import check_views
from tests.screens.finishes import FINISHES
from tests.screens.walk_views import walk_views

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.screens.rig_stage import Pages, RigStage

AnyWindow = RigWindow[Any, Any]
pytestmark = pytest.mark.screen


class StandIn:
    """Stands in for a station: what is put is what is shown."""

    def __init__(self, view: WalkView | CheckView) -> None:
        self.error: Exception | None = None
        self.keys: list[WalkKey | CheckKey] = []
        self.newest = view
        self.has_ended = False
        self.wake: Callable[[], None] = lambda: None

    def start(self) -> None:
        """Begin."""

    def stop(self) -> None:
        self.has_ended = True

    def wait(self, timeout_s: float | None = None) -> bool:
        return self.has_ended

    def view(self) -> WalkView | CheckView:
        return self.newest

    def listen(self, wake: Callable[[], None]) -> None:
        self.wake = wake

    def press(self, key: WalkKey | CheckKey) -> None:
        self.keys.append(key)


def words(window: AnyWindow) -> str:
    return "\n".join(item.text for item in window.page.items if isinstance(item, Words))


def shown(qtbot: QtBot, stage: RigStage[Any, Any], pages: Pages[Any, Any]) -> AnyWindow:
    made = AnyWindow(stage, pages)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    made.look()
    return made


@pytest.fixture
def stage() -> StandIn:
    return StandIn(walk_views()["walk waiting"])


@pytest.fixture
def window(qtbot: QtBot, stage: StandIn) -> AnyWindow:
    return shown(qtbot, stage, WalkPages(lambda: FINISHES["good"]))


@pytest.mark.parametrize(
    ("key", "pressed"),
    [
        (Qt.Key.Key_Space, WalkKey.NEXT),
        (Qt.Key.Key_PageDown, WalkKey.NEXT),
        (Qt.Key.Key_Return, WalkKey.NEXT),
        (Qt.Key.Key_Enter, WalkKey.NEXT),
        (Qt.Key.Key_R, WalkKey.REDO),
        (Qt.Key.Key_PageUp, WalkKey.REDO),
        (Qt.Key.Key_Q, WalkKey.QUIT),
        (Qt.Key.Key_B, WalkKey.QUIT),
        (Qt.Key.Key_Period, WalkKey.QUIT),
    ],
)
def test_keys_of_a_walk(
    stage: StandIn, window: AnyWindow, key: Qt.Key, pressed: WalkKey
) -> None:
    stage.newest = replace(walk_views()["walk waiting"], keys=KEYS[WalkState.WAITING])
    QTest.keyClick(window, key)
    assert stage.keys == [pressed]


def test_a_walk_is_cancelled_by_the_same_key_twice(stage: StandIn, window: AnyWindow) -> None:
    QTest.keyClick(window, Qt.Key.Key_C)
    assert stage.keys == []
    assert "Cancel the walk?" in words(window)
    said = "C again ends it without a calibration. 1 point is kept in the folder points of"
    assert said in words(window)
    QTest.keyClick(window, Qt.Key.Key_C)
    assert stage.keys == [WalkKey.CANCEL]
    assert "Cancel the walk?" not in words(window)


@pytest.mark.parametrize("key", [Qt.Key.Key_Space, Qt.Key.Key_X, Qt.Key.Key_Q])
def test_any_other_key_goes_on_with_the_walk(
    stage: StandIn, window: AnyWindow, key: Qt.Key
) -> None:
    QTest.keyClick(window, Qt.Key.Key_C)
    QTest.keyClick(window, key)
    assert stage.keys == []
    assert "Cancel the walk?" not in words(window)


def test_what_is_said_of_the_points_before_a_walk_is_cancelled() -> None:
    pages = WalkPages(lambda: FINISHES["good"])
    view = walk_views()["walk waiting"]
    none, two = (pages.asks(Lead.CANCEL, replace(view, points=view.points * n)) for n in (0, 2))
    assert none is not None
    assert two is not None
    assert "No point was taken yet." in none.words
    assert "2 points are kept" in two.words
    early = replace(view, keys=(WalkKey.NEXT, WalkKey.CANCEL))  # quit would cancel as well
    asked = pages.asks(Lead.QUIT, early)
    assert asked is not None
    assert asked.words.startswith("Q, B, full stop again ends it")


def test_a_question_goes_with_the_walk_it_was_about(stage: StandIn, window: AnyWindow) -> None:
    QTest.keyClick(window, Qt.Key.Key_C)
    stage.newest = walk_views()["cancelled"]
    window.look()
    assert "Cancel the walk?" not in words(window)


def test_other_keys_do_nothing(stage: StandIn, window: AnyWindow) -> None:
    QTest.keyClick(window, Qt.Key.Key_X)
    QTest.keyClick(window, Qt.Key.Key_R, Qt.KeyboardModifier.ControlModifier)
    assert stage.keys == []


def test_keys_of_the_window(qtbot: QtBot, window: AnyWindow) -> None:
    QTest.keyClick(window, Qt.Key.Key_D)
    assert window.page.scheme is LIGHT
    QTest.keyClick(window, Qt.Key.Key_D)
    assert window.page.scheme is DARK
    QTest.keyClick(window, Qt.Key.Key_F11)
    assert window.isFullScreen()
    QTest.keyClick(window, Qt.Key.Key_F11)
    assert not window.isFullScreen()
    QTest.keyClick(window, Qt.Key.Key_F11)
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert not window.isFullScreen()
    QTest.keyClick(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert not window.isVisible()


def test_a_new_step_shows_at_once_and_a_new_figure_in_its_turn(
    qtbot: QtBot, stage: StandIn, window: AnyWindow
) -> None:
    window._timer.stop()
    before = words(window)
    assert isinstance(stage.newest, WalkView)
    stage.newest = replace(stage.newest, load_kg=12.34)
    thread = threading.Thread(target=stage.wake)
    thread.start()
    thread.join()
    QApplication.processEvents()
    assert words(window) == before
    stage.newest = replace(stage.newest, instruction="Put plate Z on.")
    thread = threading.Thread(target=stage.wake)
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: "Put plate Z on." in words(window))
    window._timer.start()
    stage.newest = replace(stage.newest, remarks=("Something slipped.",))
    qtbot.waitUntil(lambda: "Something slipped." in words(window))


def test_the_calibration_is_made_once_when_the_stream_has_ended(qtbot: QtBot) -> None:
    made: list[Finish] = []

    def finish() -> Finish:
        made.append(FINISHES["good"])
        return made[-1]

    stage = StandIn(walk_views()["done"])
    window = shown(qtbot, stage, WalkPages(finish))
    assert made == []
    stage.has_ended = True
    window.look()
    window.look()
    assert len(made) == 1
    assert "A force of" in words(window)
    QTest.keyClick(window, Qt.Key.Key_U)
    assert "\u00a0N" in words(window)
    QTest.keyClick(window, Qt.Key.Key_R)
    assert stage.keys == []
    QTest.keyClick(window, Qt.Key.Key_Space)
    assert not window.isVisible()


def test_keys_and_unit_of_a_check(qtbot: QtBot) -> None:
    stage = StandIn(check_views()["load taking"])
    window = shown(qtbot, stage, CheckPages())
    QTest.keyClick(window, Qt.Key.Key_Q)
    QTest.keyClick(window, Qt.Key.Key_Space)
    QTest.keyClick(window, Qt.Key.Key_R)
    assert stage.keys == [CheckKey.CANCEL, CheckKey.NEXT, CheckKey.REDO]
    assert "kg is to come" in words(window).replace("\u00a0", " ")
    for unit in ("N", "lb", "kg"):
        QTest.keyClick(window, Qt.Key.Key_U)
        assert f"{unit} is to come" in words(window).replace("\u00a0", " ")
    stage.newest = check_views()["done"]
    stage.has_ended = True
    window.look()
    assert "Good: nothing has moved." in words(window)


def test_every_key_is_shown_by_some_page(window: AnyWindow) -> None:
    of_the_wall = {Own.CHECK, Own.COACH, Own.MUTE, Own.LOUDER, Own.QUIETER}
    shown_here = {row.action for row in RIG_ROWS if isinstance(row.action, Own)}
    assert shown_here == {*Own} - of_the_wall


PLATES = (PlateRecord("A", 20.0, 0.4), PlateRecord("B", 10.0, 0.2))


def finish_of(station: RigStation[WalkKey, WalkView]) -> Finish:
    """What the walk that was led is worth."""
    assert isinstance(station.led, PlateWalk)
    walk = analyse_walk(station.led.walk_input())
    terms = walk.terms_at(walk.top_N)
    worth = {unit: worth_words(terms, walk.top_N, unit) for unit in ForceUnit}
    return Finish(worth, walk.budget())


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_a_walk_from_the_first_key_to_the_last_page(qtbot: QtBot, tmp_path: Path) -> None:
    """A real board (simulated, twenty times as fast) and real key events."""
    setup = WalkSetup(PLATES, runs=1, exercises=1)
    station = RigStation[WalkKey, WalkView](
        Stream("simulated:?rig=plates&speed=20", tmp_path / "walk.jsonl"),
        lambda quantity: PlateWalk(setup, quantity),
    )
    window = shown(qtbot, station, WalkPages(lambda: finish_of(station)))
    station.start()
    try:
        qtbot.waitUntil(lambda: "Take everything off" in words(window))
        QTest.keyClick(window, Qt.Key.Key_Space)
        seen: set[str] = set()

        def is_reviewed() -> bool:
            seen.update(words(window).split("\n"))
            return station.view().state is WalkState.REVIEW

        qtbot.waitUntil(is_reviewed)
        window.look()
        assert [item for item in window.page.items if isinstance(item, Mark)]
        assert any(text.startswith("Put plates A and B on") for text in seen)
        QTest.keyClick(window, Qt.Key.Key_PageDown)
        qtbot.waitUntil(lambda: station.wait(0.0))
        qtbot.waitUntil(lambda: "A force of 30." in words(window))
        QTest.keyClick(window, Qt.Key.Key_PageDown)
        assert not window.isVisible()
    finally:
        station.stop()
    assert station.error is None


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_a_check_in_the_window_is_kept(qtbot: QtBot, tmp_path: Path) -> None:
    setup = CheckStationSetup(
        "simulated:?rig=plates&speed=20",
        tmp_path,
        reference=lambda certificate: plate_reference(certificate, 20.0, 0.4),
    )
    station = CheckStation(setup)

    def close() -> None:
        window = next(w for w in QApplication.topLevelWidgets() if isinstance(w, RigWindow))
        if station.wait(0.0) and "Good: nothing has moved" in words(window):
            QTest.keyClick(window, Qt.Key.Key_Space)

    timer = QTimer()
    timer.timeout.connect(close)
    timer.start(50)
    assert run_rig(station, CheckPages(ForceUnit.KG)) == 0
    timer.stop()
    (record,) = read_history(board_file(tmp_path, "simulated-1 1.0", "")).records
    assert getattr(record, "verdict", None) is Verdict.GOOD


def test_what_ended_the_station_is_said_after_the_window(qtbot: QtBot, tmp_path: Path) -> None:
    setup = WalkSetup(PLATES)
    station = RigStation[WalkKey, WalkView](
        Stream("serial:/no/such/port"), lambda quantity: PlateWalk(setup, quantity)
    )

    def close() -> None:
        for widget in QApplication.topLevelWidgets():
            if isinstance(widget, RigWindow) and station.wait(0.0):
                QTest.keyClick(widget, Qt.Key.Key_Space)

    timer = QTimer()
    timer.timeout.connect(close)
    timer.start(50)
    with pytest.raises(BoardNotFoundError):
        run_rig(station, WalkPages(lambda: FINISHES["failed"]))
    timer.stop()
