"""A whole set in a real window: clicker keys alone, then all that a coach can press."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt

from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import Closing
from strikebridge.screens.app import REVIEW
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.training import Training
from tests.screens.session_drive import CLICKER, Driver, at, key, lead

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

pytestmark = [pytest.mark.screen, pytest.mark.slow]
SET = """\
name = "set"
mode = "coach"
change_s = 1
result_s = 2
[[block]]
name = "Straights"
exercises = ["rear-straight"]
seconds = 2
reps_per_side = 2
rest_s = 1
"""


@pytest.mark.timeout(240)
def test_a_set_is_led_with_the_keys_of_a_clicker_alone(qtbot: QtBot, tmp_path: Path) -> None:
    go = key(CLICKER)
    driver = Driver(
        [
            (at("ready"), go),
            (at("result"), key(Qt.Key.Key_PageUp)),  # back: that rep again
            (at("hold"), lambda _: None),
            (at("result"), go),  # forward: at once to the next
            (at("hold"), key(Qt.Key.Key_B)),  # black screen: called off
            (at("ready"), go),
            (at("result"), lambda _: None),
            (at("over"), go),
        ]
    )
    code, session = lead(tmp_path, saltmarsh_quay()[:1], SET, driver)
    assert driver.failure == ""
    assert driver.step == len(driver.script)
    assert code == REVIEW
    with contextlib.closing(open_store(tmp_path)) as store:
        reps = History(store).reps(session)
        assert [(rep.turn, rep.attempt, rep.is_kept) for rep in reps] == [
            (1, 1, False),
            (1, 2, True),
            (2, 1, True),
        ]
        assert Training(store).resume_point(session).next_turn is None
    for scene in ("turn", "counted in", "hold", "outcome", "over"):
        assert scene in driver.seen


@pytest.mark.timeout(240)
def test_pain_asks_first_names_whom_and_no_clicker_key_confirms_it(
    qtbot: QtBot, tmp_path: Path
) -> None:
    first, second = saltmarsh_quay()[:2]
    go, pain = key(CLICKER), key(Qt.Key.Key_X)
    driver = Driver(
        [
            (at("ready", first.name), pain),
            (at("paused"), go),  # no: it goes on, and nothing was ended
            (at("ready", first.name), key(Qt.Key.Key_1)),
            (at("ready", first.name), key(Qt.Key.Key_W)),  # two athletes: nobody is asked
            (at("ready", second.name), go),
            (at("result", second.name), pain),
            (lambda w, _: w.controls is not None and w.controls.question is not None, pain),
            (lambda _, glance: bool(glance.advice), lambda _: None),
            (at("paused", first.name), go),
            (at("ready", first.name), key(Qt.Key.Key_S)),
            (at("ready", first.name), go),
            (at("over"), go),
        ]
    )
    code, session = lead(tmp_path, (first, second), SET, driver)
    assert driver.failure == ""
    assert driver.step == len(driver.script)
    assert code == REVIEW
    with contextlib.closing(open_store(tmp_path)) as store:
        history, point = History(store), Training(store).resume_point(session)
        assert [(one.athlete, one.cue) for one in history.cues(session)] == [(first.id, "snap")]
        assert point.stopped == {(second.id, "rear-straight")}
        assert dict(point.closed) == {1: Closing.SKIPPED, 4: Closing.PAIN}
        assert {(rep.turn, rep.athlete, rep.cue) for rep in history.reps(session)} == {
            (3, second.id, ""),
            (2, first.id, "snap"),
        }
    assert "stopped for pain" in driver.seen
    assert "asked" in driver.seen
