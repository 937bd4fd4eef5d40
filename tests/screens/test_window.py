from __future__ import annotations

import ctypes
import itertools
import threading
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.desk import Desk
from strikebridge.errors import BoardLostError, ScreenError, StrikebridgeError
from strikebridge.glance import Glance, Phase
from strikebridge.screens import app
from strikebridge.screens.app import (
    WindowOptions,
    check_screen,
    is_x11,
    open_window,
    run_window,
)
from strikebridge.screens.items import Words
from strikebridge.screens.keys import KEY_ROWS, TYPING_ACTIONS, Own, footer
from strikebridge.screens.look import DARK, LIGHT
from strikebridge.screens.window import PAINT_GAP_S, Window
from strikebridge.session.conductor import Key
from strikebridge.sound.speaker import Speaker
from strikebridge.units import ForceUnit
from tests.running import WITHIN_S
from tests.screens.desks import FULL
from tests.screens.glances import BASE, HOLDING, RESULT

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.session.group_table import Input

pytestmark = pytest.mark.screen


class FakeStation:
    """Stands in for a station: what is put is what a glance gives."""

    def __init__(self, glance: Glance = BASE) -> None:
        self.error: Exception | None = None
        self.calls: list[str] = []
        self.keys: list[Key] = []
        self.newest = glance
        self.wake: Callable[[], None] = lambda: None
        self.woken = False
        self.lies = Desk()
        self.cued: list[int] = []
        self.commands: list[tuple[Input, int | None]] = []

    def start(self) -> None:
        self.calls.append("start")

    def stop(self) -> None:
        self.calls.append("stop")

    def glance(self) -> Glance:
        self.woken = False
        return self.newest

    def desk(self) -> Desk:
        return self.lies

    def cue(self, number: int) -> None:
        self.cued.append(number)

    def listen(self, wake: Callable[[], None]) -> None:
        self.wake = wake

    def press(self, key: Key) -> None:
        self.keys.append(key)

    def command(self, command: Input, turn: int | None = None) -> None:
        self.commands.append((command, turn))

    def put(self, glance: Glance) -> None:
        self.newest = glance
        if not self.woken:
            self.woken = True
            self.wake()


def press(
    window: Window,
    key: Qt.Key,
    modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
) -> None:
    QTest.keyClick(window, key, modifier)


@pytest.fixture
def station() -> FakeStation:
    return FakeStation()


@pytest.fixture
def window(qtbot: QtBot, station: FakeStation) -> Window:
    made = Window(station)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    qtbot.waitUntil(lambda: made.wall.painted is not None)
    return made


def test_a_newer_glance_is_painted_when_it_comes(
    qtbot: QtBot, station: FakeStation, window: Window
) -> None:
    newer = replace(HOLDING, newest_us=7)
    thread = threading.Thread(target=station.put, args=(newer,))
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: window.wall.painted is newer)


def test_paints_keep_their_distance_and_skip_what_is_old(
    qtbot: QtBot, station: FakeStation, window: Window
) -> None:
    started_s: list[float] = []
    window.wall.after_paint = lambda _: started_s.append(window._painted_s)
    done = threading.Event()

    def deliver() -> None:
        for index in range(3000):
            station.put(replace(HOLDING, newest_us=index))
        done.set()

    thread = threading.Thread(target=deliver)
    thread.start()
    qtbot.waitUntil(done.is_set)
    thread.join()
    qtbot.waitUntil(lambda: window.wall.painted is station.newest)
    gaps = [two - one for one, two in itertools.pairwise(started_s) if two != one]
    assert min(gaps, default=1.0) >= PAINT_GAP_S - 0.0011  # timers count whole milliseconds
    assert len(started_s) < 3000


@pytest.mark.parametrize(
    ("key", "pressed"),
    [
        (Qt.Key.Key_Space, Key.GO),
        (Qt.Key.Key_PageDown, Key.GO),
        (Qt.Key.Key_Return, Key.GO),
        (Qt.Key.Key_Enter, Key.GO),
        (Qt.Key.Key_PageUp, Key.REDO),
        (Qt.Key.Key_B, Key.STOP),
        (Qt.Key.Key_Period, Key.STOP),
    ],
)
def test_keys_for_the_conductor(
    qtbot: QtBot, station: FakeStation, window: Window, key: Qt.Key, pressed: Key
) -> None:
    press(window, key)
    assert station.keys == [pressed]


def test_other_keys_do_nothing(qtbot: QtBot, station: FakeStation, window: Window) -> None:
    press(window, Qt.Key.Key_X)
    press(window, Qt.Key.Key_B, Qt.KeyboardModifier.ControlModifier)
    assert station.keys == []
    assert window.isVisible()


def test_keys_of_the_window(qtbot: QtBot, window: Window) -> None:
    press(window, Qt.Key.Key_D)
    assert window.wall.scheme is LIGHT
    press(window, Qt.Key.Key_D)
    assert window.wall.scheme is DARK
    shown = []
    for _ in range(3):
        press(window, Qt.Key.Key_U)
        shown.append(window._newest().unit)
    assert shown == [ForceUnit.N, ForceUnit.LB, ForceUnit.KG]
    press(window, Qt.Key.Key_F11)
    qtbot.waitUntil(window.isFullScreen)
    press(window, Qt.Key.Key_F11)
    assert not window.isFullScreen()
    press(window, Qt.Key.Key_F11)
    press(window, Qt.Key.Key_Escape)
    assert not window.isFullScreen()
    press(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert not window.isVisible()


def test_every_action_has_a_key_and_every_key_is_shown() -> None:
    actions = {row.action for row in KEY_ROWS}
    assert actions | set(TYPING_ACTIONS.values()) == {*Key, *Own}
    for row in (row for row in KEY_ROWS if row.shown):
        words = f"{row.shown}: {row.does}"
        assert words in footer()
        assert (words in footer({Own.CHECK})) is (row.action is not Own.CHECK)
    spoken_for = [row.keys[0] for row in KEY_ROWS if not row.shown]
    for key in spoken_for:
        assert any(key in row.shown.split(", ") for row in KEY_ROWS), key


def test_keys_turn_the_sound_and_the_wall_says_so(qtbot: QtBot, station: FakeStation) -> None:
    speaker = Speaker(0.5, backends=("NULL",))
    speaker.open()
    assert speaker.wait(WITHIN_S)
    window = Window(station, speaker=speaker)
    qtbot.addWidget(window)
    window.show()
    assert "M, +, -: sound" in window.wall.model.keys
    for key, words, volume in (
        (Qt.Key.Key_M, "Sound is off.", 0.0),
        (Qt.Key.Key_M, "Sound 50%.", 0.5),
        (Qt.Key.Key_Plus, "Sound 60%.", 0.6),
        (Qt.Key.Key_Equal, "Sound 70%.", 0.7),
        (Qt.Key.Key_Minus, "Sound 60%.", 0.6),
    ):
        press(window, key)
        assert window.wall.model.notice == words
        assert speaker.volume == volume
    qtbot.waitUntil(lambda: not window.wall.model.notice)  # the keys come back by themselves
    speaker.close()


def test_a_wall_without_sound_has_no_key_for_it(window: Window) -> None:
    assert "sound" not in window.wall.model.keys
    press(window, Qt.Key.Key_M)
    assert not window.wall.model.notice


def test_a_closed_window_hears_nothing_more(
    qtbot: QtBot, station: FakeStation, window: Window
) -> None:
    station.put(replace(HOLDING, newest_us=1))
    window.close()
    station.put(replace(HOLDING, newest_us=2))
    paints = window.paints
    QApplication.processEvents()
    assert window.paints == paints


def test_run_window_starts_stops_and_closes(qtbot: QtBot) -> None:
    station = FakeStation(RESULT)
    assert run_window(lambda: station, seconds=0.2) == 0
    assert station.calls == ["start", "stop"]


def test_run_window_hands_on_what_ended_the_station(qtbot: QtBot) -> None:
    station = FakeStation(Glance(Phase.WAITING))
    station.error = BoardLostError("The plug was pulled.")
    with pytest.raises(StrikebridgeError, match="plug was pulled"):
        run_window(lambda: station, seconds=0.2)


def test_a_picture_of_each_phase_is_kept(
    qtbot: QtBot, tmp_path: Path, station: FakeStation
) -> None:
    window = open_window(station, WindowOptions(scheme="light", pictures=tmp_path / "shots"))
    qtbot.addWidget(window)
    qtbot.waitUntil((tmp_path / "shots" / "ready.png").exists)
    assert window.wall.scheme is LIGHT


def test_full_screen_from_the_start(qtbot: QtBot, station: FakeStation) -> None:
    window = open_window(station, WindowOptions(is_full_screen=True))
    qtbot.addWidget(window)
    assert window.isFullScreen()


def test_no_screen_is_said_before_qt_is_asked() -> None:
    with pytest.raises(ScreenError, match=r"DISPLAY.*--headless"):
        check_screen({}, "linux")
    with pytest.raises(ScreenError):
        check_screen({"QT_QPA_PLATFORM": "xcb"}, "linux")
    check_screen({"DISPLAY": ":0"}, "linux")
    check_screen({"WAYLAND_DISPLAY": "wayland-0"}, "linux")
    check_screen({"QT_QPA_PLATFORM": "offscreen"}, "linux")
    check_screen({}, "win32")
    check_screen({}, "darwin")
    assert not is_x11({}, "win32")


def test_a_station_is_not_started_without_a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.delenv("QT_QPA_PLATFORM", raising=False)
    monkeypatch.setattr("sys.platform", "linux")
    station = FakeStation()
    with pytest.raises(ScreenError):
        run_window(lambda: station)
    assert station.calls == []


def test_a_missing_library_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> None:
        raise OSError("libxcb-cursor.so.0: cannot open shared object file")

    monkeypatch.setattr(ctypes, "CDLL", missing)
    with pytest.raises(ScreenError, match=r"libxcb-cursor\.so\.0.*apt-get install"):
        app.check_x11()


@pytest.mark.parametrize(("error", "is_refused"), [(1, True), (0, False)])
def test_a_dead_screen_is_told_from_a_live_one(
    monkeypatch: pytest.MonkeyPatch, error: int, is_refused: bool
) -> None:
    closed: list[object] = []

    class Function:
        def __init__(self, value: int) -> None:
            self.value = value

        def __call__(self, *given: object) -> int:
            return self.value

    class Closing:
        def __call__(self, *given: object) -> int:
            closed.append(given)
            return 0

    class Library:
        def __init__(self, _name: str) -> None:
            self.xcb_connect = Function(1)
            self.xcb_connection_has_error = Function(error)
            self.xcb_disconnect = Closing()

    monkeypatch.setattr(ctypes, "CDLL", Library)
    monkeypatch.setenv("DISPLAY", ":77")
    if is_refused:
        with pytest.raises(ScreenError, match=":77 does not answer"):
            app.check_x11()
    else:
        let_go = app.check_x11()
        # Qt must be connected before this connection goes, or a server without clients resets
        assert not closed
        let_go()
    assert len(closed) == 1


def test_qt_that_cannot_be_loaded_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "PySide6.QtWidgets", None)
    with pytest.raises(ScreenError, match="could not be loaded"):
        app.open_qt()


def test_a_key_makes_room_for_a_check_where_there_is_a_rig(qtbot: QtBot) -> None:
    for can_check in (False, True):
        made = Window(FakeStation(), can_check=can_check)
        qtbot.addWidget(made)
        made.show()
        qtbot.waitExposed(made)
        press(made, Qt.Key.Key_V)
        assert made.wants_check is can_check
        assert made.isVisible() is not can_check


def test_a_key_turns_to_the_coachs_page_and_back(
    qtbot: QtBot, station: FakeStation, window: Window
) -> None:
    station.lies = FULL
    press(window, Qt.Key.Key_1)
    assert station.cued == []  # on the wall a digit means nothing
    press(window, Qt.Key.Key_C)
    assert window.is_coach
    assert window.coach.isVisible()
    said = {item.text for item in window.coach.items if isinstance(item, Words)}
    assert {"Ines Halloran", "taken back", "1: chin down"} <= said
    press(window, Qt.Key.Key_3)
    assert station.cued == [3]
    press(window, Qt.Key.Key_PageDown)
    assert station.keys == [Key.GO]  # the clicker leads from here as well
    press(window, Qt.Key.Key_D)
    assert window.coach.scheme is window.wall.scheme is LIGHT
    station.lies = Desk()
    station.put(RESULT)
    qtbot.waitUntil(
        lambda: (
            "taken back"
            not in {item.text for item in window.coach.items if isinstance(item, Words)}
        )
    )
    press(window, Qt.Key.Key_C)
    assert not window.coach.isVisible()
    assert window.wall.isVisible()
