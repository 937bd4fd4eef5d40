"""Squad board and athlete pages: what they show, that it can be read, keys in a real window."""

from __future__ import annotations

import contextlib
import itertools
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from strikebridge.cli import run
from strikebridge.cli.looking import source_of
from strikebridge.club.athlete import Hand
from strikebridge.errors import StoreError
from strikebridge.screens.figure import Area, Bar, Mark, Shape, Stroke
from strikebridge.screens.items import Words
from strikebridge.screens.look import DARK, LIGHT
from strikebridge.screens.progress_pages import NOTHING, NOTHING_YET, progress_page
from strikebridge.screens.progress_source import Source
from strikebridge.screens.progress_view import Order, ProgressView
from strikebridge.screens.progress_window import ProgressWindow
from strikebridge.screens.strokes import place_words
from strikebridge.store.database import open_store
from strikebridge.units import ForceUnit
from tests.screens.test_rig_pages import SIZES, SMALLEST_CAP, is_inside
from tests.store.made_club import make_club
from tests.trained import WHO

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.screens.figure import Page
    from strikebridge.store.database import Store

pytestmark = [pytest.mark.screen, pytest.mark.timeout(180)]
BOARD_KEYS = ("", "EE", "OO", "HH", "S", "TTTT", "UU")
PAST = """\
athlete,day,exercise,peak,unit
{who},2025-11-03,lead-straight,123.4,kg
Juno Quill,2025-11-03,lead-straight,123.4,kg
"""


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A club over twenty weeks, one of the longest name there is."""
    data = tmp_path_factory.mktemp("club")
    make_club(data, athletes=7, weeks=20)
    with contextlib.closing(open_store(data)) as opened:
        words = ["athletes", "edit", "Ayla Sandfort", "--name", WHO, "--data", str(data)]
        assert run(words) == 0
        yield opened


@pytest.fixture
def view(store: Store) -> ProgressView:
    return ProgressView(source_of(store))


def texts(page: Page) -> list[str]:
    return [item.text for item in page if isinstance(item, Words)]


def press(view: ProgressView, keys: Iterable[str]) -> ProgressView:
    for key in keys:
        assert view.press(key)
    return view


def check(page: Page, size: tuple[int, int]) -> None:
    """See that all can be read and nothing lies on anything else."""
    placed = [item for item in page if isinstance(item, Words)]
    for item in placed:
        assert is_inside(item.box, size), item
        em, lines = place_words(item)
        assert " ".join(line.text for line in lines) == item.text
        assert em * 0.7 >= SMALLEST_CAP * size[1], f"{item.text!r} is tiny"
    for one, other in itertools.combinations(placed, 2):
        assert not one.box.overlaps(other.box), f"{one} on {other}"


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_board_can_be_read(qtbot: QtBot, view: ProgressView, size: tuple[int, int]) -> None:
    for keys in BOARD_KEYS:
        check(progress_page(press(view, keys), size, "The database cannot be read."), size)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_each_athlete_page_can_be_read(
    qtbot: QtBot, view: ProgressView, size: tuple[int, int]
) -> None:
    press(view, "T")  # four weeks, which have gaps
    for weeks, row in itertools.product(range(2), range(0, len(view.rows), 7)):
        view.chosen = min(row, max(0, len(view.rows) - 1))
        view.press("Space")
        check(progress_page(view, size), size)
        for _ in range(2):
            view.press("Space")
            check(progress_page(view, size), size)
        press(view, "BT" if weeks % 2 else "UB")


def test_the_board_says_what_progress_found(view: ProgressView) -> None:
    page = texts(progress_page(view, (1366, 768)))
    for row in view.rows[:12]:
        assert view.found.athletes[row.like.athlete].name in page
        assert str(row.overview.sessions) in page
    assert page[0].startswith("Squad: ")


def test_orders(view: ProgressView) -> None:
    names = [view.found.athletes[one.like.athlete].name.casefold() for one in view.rows]
    assert names == sorted(names)
    press(view, "O")
    assert view.order is Order.NOW
    forces = [one.overview.best_three.value for one in view.rows]
    assert forces == sorted(forces, reverse=True)
    press(view, "O")
    changes = [one.overview.change for one in view.rows]
    gains = [one.percent for one in changes if one is not None]
    assert gains == sorted(gains, reverse=True)
    assert [one is None for one in changes] == sorted(one is None for one in changes)
    press(view, "O")
    sessions = [one.overview.sessions for one in view.rows]
    assert sessions == sorted(sessions, reverse=True)
    assert press(view, "O").order is Order.NAME


def test_filters_leave_what_they_name(view: ProgressView) -> None:
    exercises = list(view.found.exercises)
    press(view, "E" * (len(exercises) + 1))
    assert {one.like.exercise for one in view.rows} == {view.filters.exercise}
    everyone = {one.like for one in view.rows}
    by_hand = set()
    for hand in Hand:
        press(view, "H")
        assert view.filters.hand is hand
        by_hand |= {one.like for one in view.rows}
        assert {one.like.hand for one in view.rows} <= {hand.value}
    assert by_hand == everyone
    press(view, "HTTTT")  # everything there is
    assert view.filters.weeks is None
    assert len(view.found.setups) == 2
    press(view, "S")
    assert {one.like.setup for one in view.rows} == {view.found.setups[0]}
    assert press(view, "T").filters.weeks == 12


def test_a_clicker_goes_everywhere(view: ProgressView) -> None:
    view.press("PgUp")
    assert view.chosen == 1
    view.press("Up")
    view.press("Up")
    assert view.chosen == len(view.rows) - 1
    chosen = view.rows[view.chosen].like
    view.press("PgDown")
    assert view.shown is not None
    assert view.shown.like == chosen
    likes = {chosen}
    assert view.camp is not None
    for _ in range(len(view.camp.standings)):
        view.press("PgDown")
        likes.add(view.shown.like)
    assert len(likes) == len(view.camp.standings) > 1
    view.press("Left")
    assert press(view, ["PgUp"]).camp is None
    assert not view.press("X")
    assert [press(view, keys).is_over for keys in ("", ".")] == [False, True]


def test_weeks_change_on_a_page_and_its_exercise_stays(view: ProgressView) -> None:
    view.press("Space")
    before = view.shown
    assert before is not None
    view.press("T")
    assert view.shown is None or view.shown.like.athlete == before.like.athlete
    for _ in range(3):
        view.press("T")
    assert view.shown is not None
    assert view.shown.like.exercise == before.like.exercise
    assert len(view.shown.reps) >= len(before.reps)


def test_the_plot_has_each_session_phases_and_bouts(view: ProgressView) -> None:
    press(view, "TTTTOOO")
    view.press("Space")
    shown = view.shown
    assert shown is not None
    assert view.camp is not None
    page = progress_page(view, (1366, 768))
    marks = [item for item in page if isinstance(item, Mark)]
    assert len(marks) == len(shown.overview.run.scores) > 5
    [best] = [mark for mark in marks if mark.shape is Shape.UP]
    assert best.y == min(mark.y for mark in marks)
    [band] = [item for item in page if isinstance(item, Area)]
    top, bottom = band.points[0][1], band.points[-1][1]
    strokes = [item for item in page if isinstance(item, Stroke)]
    assert any(top < item.y1 < bottom for item in strokes)
    plans = [view.camp.plans[score.session] for score in shown.overview.run.scores]
    said = texts(page)
    assert set(plans) & set(said)
    assert ("bout" in said) == ("fight-day" in plans)


def test_no_rep_at_all(qtbot: QtBot, tmp_path: Path) -> None:
    with contextlib.closing(open_store(tmp_path)) as store:
        view = ProgressView(source_of(store))
        page = progress_page(view, (1366, 768))
        assert NOTHING_YET in texts(page)
        for key in ("Space", "Down", "E", "H", "S", "T", "O", "U"):
            view.press(key)
            check(progress_page(view, (1024, 600)), (1024, 600))
        assert view.camp is None


def test_one_typed_rep_only_and_a_filter_that_fits_nothing(
    qtbot: QtBot, tmp_path: Path
) -> None:
    adult = ["--stance", "southpaw", "--age-group", "adult", "--data", str(tmp_path)]
    for name in (WHO, "Juno Quill"):
        assert run(["athletes", "add", name, *adult]) == 0
    (tmp_path / "past.csv").write_text(PAST.format(who=WHO), encoding="utf-8")
    assert run(["import", str(tmp_path / "past.csv"), "--data", str(tmp_path)]) == 0
    with contextlib.closing(open_store(tmp_path)) as store:
        view = ProgressView(source_of(store), ForceUnit.LB)
        for size in SIZES:
            check(progress_page(view, size), size)
        assert "too few sessions" in texts(progress_page(view, (1366, 768)))
        press(view, "H")
        assert view.filters.hand is Hand.LEFT
        assert NOTHING in texts(progress_page(view, (1366, 768)))
        press(view, "H")
        view.press("Down")
        view.press("Space")
        for size in SIZES:
            check(progress_page(view, size), size)
        said = " ".join(texts(progress_page(view, (1366, 768))))
        assert "272" in said  # 123.4 kg in pounds
        assert "typed, not measured" in said


def test_keys_in_a_window(qtbot: QtBot, view: ProgressView) -> None:
    window = ProgressWindow(view)
    qtbot.addWidget(window)
    window.show()
    QTest.keyClick(window, Qt.Key.Key_PageDown)
    assert view.camp is not None
    assert any(isinstance(item, Area) for item in window.page.items)
    QTest.keyClick(window, Qt.Key.Key_PageUp)
    assert any(isinstance(item, Bar) for item in window.page.items)
    QTest.keyClick(window, Qt.Key.Key_D)
    assert window.page.scheme is LIGHT
    QTest.keyClick(window, Qt.Key.Key_D)
    assert window.page.scheme is DARK
    QTest.keyClick(window, Qt.Key.Key_F11)
    assert window.isFullScreen()
    QTest.keyClick(window, Qt.Key.Key_F11)
    QTest.keyClick(window, Qt.Key.Key_X)
    assert window.isVisible()
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert not window.isVisible()


def test_what_goes_wrong_is_said_on_the_page(qtbot: QtBot, view: ProgressView) -> None:
    def gone(*_: object) -> object:
        raise StoreError("The disk does not answer.")

    view._source = Source(gone, gone)  # type: ignore[arg-type]  # it never answers
    window = ProgressWindow(view)
    qtbot.addWidget(window)
    window.show()
    QTest.keyClick(window, Qt.Key.Key_E)
    assert "The disk does not answer." in texts(window.page.items)
    QTest.keyClick(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert not window.isVisible()
