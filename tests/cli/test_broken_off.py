"""A session that was closed on its way is taken up again from the start page."""

from __future__ import annotations

import contextlib
import os
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli.club_desk import ClubDesk
from strikebridge.cli.options import CalibrationChoice
from strikebridge.cli.session import CUES, lead_chosen
from strikebridge.club.rig_setup import Pad, RigSetup
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.opening import resume_session
from strikebridge.plan_shelf import CHOICE_FILE, keep_choice
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.session_review import SessionReviewWindow
from strikebridge.screens.start_model import Lead, Standing
from strikebridge.session.choice import Choice
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.screens.session_drive import CLICKER, Driver, at, key, lead
from tests.screens.test_session_window import SET
from tests.store import made

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.opening import Opened
    from strikebridge.screens.start_model import Row

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(240)]
BOARD = "simulated:?athlete=listens&speed=max&seed=3"


def session_row(data: Path) -> tuple[ClubDesk, Row]:
    desk = ClubDesk(data, WindowOptions())
    desk.rows()  # leaves the looking for the next call
    desk.rows()
    return desk, desk.session_row(BOARD)


def test_it_goes_on_where_it_broke_off_and_ends_as_one_session(
    qtbot: QtBot, tmp_path: Path
) -> None:
    people = saltmarsh_quay()[:1]
    close = key(Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    first = Driver([(at("ready"), key(CLICKER)), (lambda _, glance: glance.turn == 2, close)])
    code, session = lead(tmp_path, people, SET, first, board=BOARD)
    assert (code, first.failure) == (0, "")
    desk, row = session_row(tmp_path)
    assert desk.is_broken_off
    assert (row.standing, row.lead) == (Standing.MIND, Lead.SESSION)
    assert row.words.startswith("set broke off at turn 2 of 2: it goes on there.")

    looked: list[int] = []

    def look() -> None:
        """Leave the review by the clicker, as soon as it is there."""
        for window in QApplication.topLevelWidgets():
            if isinstance(window, SessionReviewWindow) and window.isVisible():
                looked.append(window.review.pages)
                QTest.keyClick(window, Qt.Key.Key_B)

    review = QTimer()
    review.timeout.connect(look)
    review.start(50)
    second = Driver([(at("ready"), key(CLICKER)), (at("over"), key(CLICKER))])
    timer = second.start()
    lead_chosen(None, BOARD, tmp_path, CalibrationChoice(None, None), WindowOptions())
    timer.stop()
    review.stop()
    assert second.failure == ""
    assert looked == [2]  # everybody, and the one exercise
    with contextlib.closing(open_store(tmp_path)) as store:
        assert Training(store).resume_point(session).next_turn is None
        assert [rep.turn for rep in History(store).reps(session)] == [1, 2]
        assert len(History(store).sessions()) == 1
    assert not session_row(tmp_path)[0].is_broken_off


def test_a_plan_kept_anew_begins_another(qtbot: QtBot, tmp_path: Path) -> None:
    people = saltmarsh_quay()[:1]
    close = key(Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    driver = Driver([(at("ready"), close)])
    lead(tmp_path, people, SET, driver, board=BOARD)
    assert session_row(tmp_path)[0].is_broken_off
    keep_choice(Choice("taper-day", (people[0].id,)), tmp_path)
    assert not session_row(tmp_path)[0].is_broken_off
    os.utime(tmp_path / CHOICE_FILE, (0.0, 0.0))  # kept before that session began
    assert session_row(tmp_path)[0].is_broken_off


def test_a_session_keeps_its_set_up_whatever_is_chosen_or_said_of_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    led: list[tuple[RigSetup, object]] = []

    def lead_in_window(opened: Opened, *given: object) -> int:
        led.append((opened.rig_setup, given[-1]))
        return 0

    monkeypatch.setattr("strikebridge.cli.session.lead_in_window", lead_in_window)
    people = saltmarsh_quay()[:1]
    rig, other = RigSetup(pad_height_m=1.45, pad=Pad.BALL), RigSetup(pad=Pad.CUSHION)
    chosen = Choice("taper-day", (people[0].id,), rig=rig, cues=("hip first",))

    def lead(choice: Choice | None) -> tuple[RigSetup, object]:
        lead_chosen(choice, BOARD, tmp_path, CalibrationChoice(None, None), WindowOptions())
        return led[-1]

    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add_all(people)
    keep_choice(chosen, tmp_path)
    assert lead(chosen) == (rig, ("hip first",))
    assert lead(None) == (rig, ("hip first",))  # it has no rep yet: as it was chosen
    with contextlib.closing(open_store(tmp_path)) as store:
        (session,) = Training(store).unfinished()
        Training(store).save(
            replace(made.rep(1), session=session.id, athlete=people[0].id, setup=rig)
        )
    keep_choice(replace(chosen, rig=other, cues=()), tmp_path)
    assert lead(None) == (rig, CUES)
    with contextlib.closing(open_store(tmp_path)) as store:
        assert resume_session(store, None, other).rig_setup == other  # the pad was moved
