"""The window of a session without a station: which key is which command, and what is said."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt

from strikebridge.screens.keys import ACTIONS, SESSION_ACTIONS, session_footer
from strikebridge.screens.window import Window
from strikebridge.session.conductor import Key
from strikebridge.session.group_table import COMMANDS, Input, Stage
from tests.screens.desks import FULL
from tests.screens.session_glances import READY
from tests.screens.test_window import FakeStation, press

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen


@pytest.fixture
def station() -> FakeStation:
    made = FakeStation(READY)
    order = tuple(replace(one, turn=7 + at) for at, one in enumerate(FULL.order))
    made.lies = replace(FULL, order=order)
    return made


@pytest.fixture
def window(qtbot: QtBot, station: FakeStation) -> Window:
    made = Window(station, is_session=True)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    qtbot.waitUntil(lambda: made.wall.painted is not None)
    return made


def test_every_command_of_a_coach_has_a_key_and_none_has_two_meanings() -> None:
    meant = {str(one.value) for one in (*ACTIONS.values(), *SESSION_ACTIONS.values())}
    assert {command.value for command in COMMANDS} <= meant
    assert not set(ACTIONS) & set(SESSION_ACTIONS)
    said = session_footer().replace("\u00a0", " ")
    for words in ("P: pause", "S: skip", "W: swap", "Z: undo", "X: pain", "1 to 9: cue"):
        assert words in said


@pytest.mark.parametrize(
    ("key", "command"),
    [
        (Qt.Key.Key_P, Input.PAUSE),
        (Qt.Key.Key_S, Input.SKIP),
        (Qt.Key.Key_Z, Input.UNDO),
    ],
)
def test_a_key_is_a_command(
    window: Window, station: FakeStation, key: Qt.Key, command: Input
) -> None:
    press(window, key)
    assert station.commands == [(command, None)]
    assert station.keys == []


def test_free_reps_know_none_of_them(qtbot: QtBot, station: FakeStation) -> None:
    free = Window(station)
    qtbot.addWidget(free)
    for key in (Qt.Key.Key_P, Qt.Key.Key_S, Qt.Key.Key_W, Qt.Key.Key_Z, Qt.Key.Key_X):
        press(free, key)
    assert station.commands == []
    free.do(Input.SKIP)
    assert station.commands == []


def test_a_cue_is_noted_at_the_wall_and_said_for_a_moment(
    window: Window, station: FakeStation
) -> None:
    press(window, Qt.Key.Key_3)
    assert station.cued == [3]
    assert window.wall.model.notice == "Cue noted for Ines Halloran: hip first."
    station.lies = replace(FULL, cues=FULL.cues[:2])
    window.wall.model.notice = ""
    press(window, Qt.Key.Key_9)
    assert window.wall.model.notice == ""  # there is no ninth


def test_a_question_stands_on_the_page_that_is_shown(
    window: Window, station: FakeStation
) -> None:
    press(window, Qt.Key.Key_W)
    assert asked(window) == "Who goes now?"
    press(window, Qt.Key.Key_2)
    assert asked(window) == ""
    assert station.commands == [(Input.SWAP, 9)]
    press(window, Qt.Key.Key_C)
    press(window, Qt.Key.Key_X)
    assert asked(window) == "Stop for pain?"
    press(window, Qt.Key.Key_Space)  # no, and on
    assert asked(window) == ""
    assert station.keys == [Key.GO]


def asked(window: Window) -> str:
    page = window.coach if window.is_coach else window.wall.model
    return "" if page.question is None else page.question.what


def test_forward_at_the_end_leads_to_what_was_done(
    window: Window, station: FakeStation
) -> None:
    press(window, Qt.Key.Key_PageDown)
    assert window.isVisible()
    station.newest = replace(READY, stage=Stage.OVER.value)
    press(window, Qt.Key.Key_PageDown)
    assert window.wants_review
    assert not window.isVisible()
    assert station.keys == [Key.GO]  # that of the end went to nobody
