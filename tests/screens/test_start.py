"""The start page: what comes next, that all of it can be read, its keys in a real window."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from strikebridge.screens.figure import Bar
from strikebridge.screens.items import Words
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.review_model import Review
from strikebridge.screens.review_window import ReviewWindow
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_model import (
    FACES,
    LETTERS,
    Lead,
    Row,
    Standing,
    after,
    next_row,
    start_page,
)
from strikebridge.screens.strokes import place_words
from tests.running import WITHIN_MS
from tests.screens.starts import ALL_READY, EMPTY, OVERLOADED, PLUGGED_IN, STARTS
from tests.screens.test_rig_pages import SIZES, SMALLEST_CAP, is_inside
from tests.screens.test_wall import pixels

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen


def test_what_is_missing_comes_first_then_the_wall() -> None:
    leads = {name: rows[next_row(rows)].lead for name, rows in STARTS.items()}
    assert leads == {
        "empty": Lead.SIMULATED,
        "plugged in": Lead.CALIBRATE,
        "overloaded": Lead.CHECK,
        "all ready": Lead.SESSION,
    }
    assert next_row((Row("Board", Standing.READY, "Here."),)) == 0


def test_choosing_goes_round_past_rows_that_lead_nowhere() -> None:
    chosen, seen = next_row(PLUGGED_IN), []
    for _ in range(7):
        chosen = after(PLUGGED_IN, chosen, +1)
        seen.append(PLUGGED_IN[chosen].lead)
    assert seen[:4] == [Lead.ATHLETES, Lead.PLAN, Lead.WALL, Lead.REVIEW]
    assert seen[4:] == [Lead.PROGRESS, Lead.BACKUP, Lead.CALIBRATE]
    assert PLUGGED_IN[after(PLUGGED_IN, chosen, -1)].lead is Lead.BACKUP
    assert after(EMPTY[1:3], 1, +1) == 1


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("rows", STARTS.values(), ids=STARTS)
def test_nothing_is_clipped_or_lies_on_anything_else(
    qtbot: QtBot, rows: Sequence[Row], size: tuple[int, int]
) -> None:
    page = start_page(rows, next_row(rows), size, "The board has gone. Plug it in again.")
    placed = [item for item in page if isinstance(item, (Words, Bar))]
    for item in placed:
        assert is_inside(item.box, size), item
        if isinstance(item, Words):
            em, lines = place_words(item)
            assert " ".join(line.text for line in lines) == item.text
            assert em * 0.7 >= SMALLEST_CAP * size[1], item.text
    for one, other in itertools.combinations(placed, 2):
        assert not one.box.overlaps(other.box), f"{one} on {other}"


def test_every_row_says_its_key_and_how_it_stands() -> None:
    page = start_page(OVERLOADED, 2, (1366, 768))
    said = [item.text for item in page if isinstance(item, Words)]
    for row in OVERLOADED:
        assert row.standing.value in said
        if row.lead is not None:
            assert any(text.startswith(f"{LETTERS[row.lead]}: ") for text in said)
    assert "Next: check the rig." in said
    nowhere = start_page(EMPTY, 1, (1366, 768))
    assert any("Nothing can be done" in i.text for i in nowhere if isinstance(i, Words))
    assert set(FACES) == set(Standing)


def test_the_page_is_painted_in_both_schemes(qtbot: QtBot) -> None:
    window = StartWindow(lambda: OVERLOADED)
    qtbot.addWidget(window)
    window.resize(1366, 768)
    window.show()
    seen = set()
    for _ in SCHEMES:
        seen.add(pixels(window.page.grab().toImage()).tobytes())
        QTest.keyClick(window, Qt.Key.Key_D)
    assert len(seen) == 2
    assert window.page.scheme is DARK
    assert StartWindow(lambda: EMPTY, scheme=LIGHT.key).page.scheme is LIGHT


@pytest.mark.parametrize(
    ("keys", "lead"),
    [
        ([Qt.Key.Key_PageDown], Lead.CALIBRATE),  # the clicker alone
        ([Qt.Key.Key_PageUp, Qt.Key.Key_PageDown], Lead.ATHLETES),
        ([Qt.Key.Key_Down, Qt.Key.Key_Down, Qt.Key.Key_Up, Qt.Key.Key_Space], Lead.ATHLETES),
        ([Qt.Key.Key_P], Lead.PLAN),
        ([Qt.Key.Key_G, Qt.Key.Key_A], Lead.ATHLETES),  # there is no session to begin,
        ([Qt.Key.Key_R], Lead.REVIEW),
        ([Qt.Key.Key_T], Lead.PROGRESS),
        ([Qt.Key.Key_V, Qt.Key.Key_W], Lead.WALL),  # there is no check to go to
        ([Qt.Key.Key_Escape, Qt.Key.Key_1, Qt.Key.Key_C], Lead.CALIBRATE),
    ],
)
def test_keys_lead_away(qtbot: QtBot, keys: list[Qt.Key], lead: Lead) -> None:
    window = StartWindow(lambda: PLUGGED_IN)
    qtbot.addWidget(window)
    window.show()
    for key in keys:
        assert window.lead is None
        QTest.keyClick(window, key)
    assert window.lead is lead
    assert not window.isVisible()


def test_closing_leads_nowhere_and_full_screen_turns(qtbot: QtBot) -> None:
    window = StartWindow(lambda: PLUGGED_IN)
    qtbot.addWidget(window)
    window.show()
    QTest.keyClick(window, Qt.Key.Key_F11)
    qtbot.waitUntil(window.isFullScreen)
    QTest.keyClick(window, Qt.Key.Key_F11)
    assert not window.isFullScreen()
    QTest.keyClick(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert window.lead is None
    assert not window.isVisible()


def test_a_board_that_is_plugged_in_shows_by_itself(qtbot: QtBot) -> None:
    rows = [EMPTY]
    window = StartWindow(lambda: rows[0])
    qtbot.addWidget(window)
    window.show()
    assert window.rows[window.chosen].lead is Lead.SIMULATED
    rows[0] = PLUGGED_IN
    qtbot.waitUntil(
        lambda: window.rows[window.chosen].lead is Lead.CALIBRATE, timeout=WITHIN_MS
    )
    for _ in range(3):
        QTest.keyClick(window, Qt.Key.Key_Down)
    rows[0] = ALL_READY
    QTest.keyClick(window, Qt.Key.Key_L)
    assert window.rows[window.chosen].lead is Lead.WALL  # stays where the coach has put it


def test_the_review_is_left_by_the_clicker(qtbot: QtBot) -> None:
    window = ReviewWindow(Review(), scheme=DARK.key)
    qtbot.addWidget(window)
    window.show()
    QTest.keyClick(window, Qt.Key.Key_1)
    assert window.isVisible()
    QTest.keyClick(window, Qt.Key.Key_PageDown)
    assert not window.isVisible()
