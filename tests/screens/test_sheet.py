"""The club's pages in their window: nothing clipped, real keys, forms that lose nothing."""

from __future__ import annotations

import contextlib
import itertools
import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel, QLineEdit, QPushButton, QWidget

from strikebridge.pages.caution import FIRST_RUN, MAXIMAL, CautionPage
from strikebridge.pages.exercises import ExercisesPage
from strikebridge.pages.plan import PlanPage
from strikebridge.pages.roster import RosterPage
from strikebridge.pages.who import Picked, WhoPage
from strikebridge.screens.figure import Bar
from strikebridge.screens.form import LEAVE_WORDS
from strikebridge.screens.items import Words
from strikebridge.screens.look import DARK, LIGHT
from strikebridge.screens.sheet_model import sheet_page, window_of
from strikebridge.screens.sheet_window import SheetWindow
from strikebridge.screens.strokes import place_words
from strikebridge.store.database import Store, open_store
from strikebridge.store.exercises import OwnExercises
from strikebridge.store.roster import Roster
from tests.pages.keys import choose, keep, press
from tests.pages.made import FAULTY_PLAN, FAULTY_TABLE, LONG_NAME, PLAN, people
from tests.screens.test_rig_pages import SIZES, SMALLEST_CAP, is_inside

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

    from strikebridge.pages.sheet import ClubPage, Sheet

pytestmark = pytest.mark.screen
Key = Qt.Key


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with contextlib.closing(open_store(tmp_path)) as opened:
        yield opened


def roster_sheets(store: Store, data: Path) -> Iterator[tuple[str, Sheet]]:
    roster = Roster(store)
    page = RosterPage(roster)
    yield "empty", page.sheet()
    (data / "club.csv").write_text(FAULTY_TABLE)
    answer = keep(page, press(page, "I").form, file=str(data / "club.csv"))
    assert answer.then is not None
    yield "faulty table", answer.then.sheet()
    roster.add_all(people(30))
    choose(page, LONG_NAME)
    yield "many", page.sheet()
    press(page, "X")
    yield "leave out", page.sheet()
    groups = press(page, "G").page
    assert groups is not None
    yield "groups", groups.sheet()


def plan_sheets(store: Store, data: Path) -> Iterator[tuple[str, Sheet]]:
    (data / "plans").mkdir()
    (data / "plans" / "tuesday.toml").write_text(PLAN)
    (data / "plans" / "wednesday.toml").write_text(FAULTY_PLAN)
    head, _, blocks = PLAN.partition("[[block]]")
    word = 'name = "'
    many = [blocks.replace(word, f"{word}{number} ") for number in range(9)]
    weekly = f"{head}[[block]]" + "[[block]]".join(many)
    (data / "plans" / "weekly.toml").write_text(weekly)
    page = PlanPage(store, data)
    for number in range(8):
        yield f"plan {number}", page.sheet()
        press(page, "P")
    press(page, "Left")
    in_full = press(page, "W").page
    assert in_full is not None
    yield "blocks", in_full.sheet()
    press(page, "P", "P", "P", "P", "S", "S")
    yield "beyond the dose", page.sheet()
    who = people(12)
    picked = Picked([one.id for one in who], {one.id for one in who[3:]})
    yield "who", WhoPage({one.id: one for one in who}, picked).sheet()
    exercises = ExercisesPage(OwnExercises(store))
    yield "no exercises", exercises.sheet()
    name = "Donaudampfschifffahrtsgesellschaftskapitänskajütendrücken"
    keep(exercises, press(exercises, "N").form, name=name, way="measured", side="lead")
    yield "exercises", exercises.sheet()
    for caution in (FIRST_RUN, MAXIMAL):
        yield caution.key, CautionPage(caution, data).sheet()


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, Sheet]]:
    """Every page as a coach may come to see it, made once."""
    before = Path.cwd()
    os.chdir(tmp_path_factory.mktemp("club"))
    data = Path("home/coach/.local/share/strikebridge")  # as long as it usually is
    try:
        with contextlib.closing(open_store(data)) as store:
            return [*roster_sheets(store, data), *plan_sheets(store, data)]
    finally:
        os.chdir(before)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_nothing_is_clipped_or_lies_on_anything_else(
    qapp: QApplication, sheets: list[tuple[str, Sheet]], size: tuple[int, int]
) -> None:
    for name, sheet in sheets:
        page = sheet_page(sheet, size)
        placed = [item for item in page if isinstance(item, (Words, Bar))]
        for item in placed:
            assert is_inside(item.box, size), (name, item)
            if isinstance(item, Words):
                em, lines = place_words(item)
                assert " ".join(line.text for line in lines) == item.text, (name, item.text)
                assert em * 0.7 >= SMALLEST_CAP * size[1], (name, item.text)
        for one, other in itertools.combinations(placed, 2):
            assert not one.box.overlaps(other.box), f"{name}: {one} on {other}"
        said = {item.text for item in placed if isinstance(item, Words)}
        for beside in sheet.side:
            assert any(beside.words in text.replace("\xa0", " ") for text in said), name


def test_the_chosen_row_is_always_among_those_shown() -> None:
    for rows, room in itertools.product(range(1, 30), (5, 12)):
        for chosen in range(rows):
            first, behind = window_of(rows, chosen, room)
            assert first <= chosen < behind <= rows
            assert behind - first == min(rows, room)


def asks(window: SheetWindow) -> bool:
    return window.is_asking


def opened(qtbot: QtBot, page: ClubPage) -> SheetWindow:
    window = SheetWindow(page)
    qtbot.addWidget(window)
    window.show()
    return window


def typed(widget: QWidget, *keys: Qt.Key) -> None:
    for key in keys:
        QTest.keyClick(widget, key)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_a_form_fits_its_window_with_all_that_is_wrong(
    qtbot: QtBot, store: Store, size: tuple[int, int]
) -> None:
    Roster(store).add_all(people(8))
    window = opened(qtbot, RosterPage(Roster(store)))
    window.resize(*size)
    typed(window, Key.Key_N)
    assert asks(window)
    line = window.form.editors["name"]
    QTest.keyClicks(line, LONG_NAME)
    for key in ("born_year", "mass_kg", "weighed_on", "consent_on"):
        QTest.keyClicks(window.form.editors[key], "quatsch")
    typed(line, Key.Key_Return)
    assert (window.width(), window.height()) == size
    QApplication.processEvents()
    parts = [
        part
        for part in window.form.findChildren(QWidget)
        if (part.isVisible() and isinstance(part, (QLabel, QLineEdit)))
        or part in window.form.editors.values()
    ]
    assert len(parts) > 3 * 13
    boxes = []
    for part in parts:
        box = part.rect().translated(part.mapTo(window.form, part.rect().topLeft()))
        assert window.form.rect().contains(box), part
        if isinstance(part, QLabel) and part.text():
            needs = part.heightForWidth(part.width()) if part.wordWrap() else 0
            assert max(needs, part.fontMetrics().height()) <= part.height() + 1, part.text()
        boxes.append(box)
    for one, other in itertools.combinations(boxes, 2):
        assert not one.intersects(other)


def test_what_is_typed_is_not_lost_by_a_slip(qtbot: QtBot, store: Store) -> None:
    window = opened(qtbot, RosterPage(Roster(store)))
    typed(window, Key.Key_N)
    typed(window.form.editors["name"], Key.Key_Escape)
    assert not asks(window)  # nothing was typed
    typed(window, Key.Key_N)
    line = window.form.editors["name"]
    QTest.keyClicks(line, "B. Vell, d")  # letters that are keys of the page
    typed(line, Key.Key_Escape)
    assert asks(window)
    assert LEAVE_WORDS in [label.text() for label in window.form.findChildren(QLabel)]
    typed(line, Key.Key_Return)
    assert window.form.fields()["name"] == "B. Vell, d"
    typed(line, Key.Key_Escape)
    assert not asks(window)
    assert window.page.scheme is DARK


def test_fields_are_filled_by_keys_alone(qtbot: QtBot, store: Store) -> None:
    """Tab goes on; letters and arrows choose; Space ticks; Enter keeps from any field."""
    window = opened(qtbot, RosterPage(Roster(store)))
    typed(window, Key.Key_N)
    form = window.form
    form.activateWindow()
    qtbot.waitUntil(lambda: QApplication.focusWidget() is form.editors["name"])

    def focus() -> QWidget:
        widget = QApplication.focusWidget()
        assert widget is not None
        return widget

    QTest.keyClicks(focus(), "Bruno Vell")
    typed(focus(), Key.Key_Tab)
    typed(focus(), Key.Key_S)
    typed(focus(), Key.Key_Tab)
    typed(focus(), Key.Key_Down, Key.Key_Down)
    for _ in range(6):
        typed(focus(), Key.Key_Tab)
    assert focus() is form.editors["wrist"]
    typed(focus(), Key.Key_Space, Key.Key_Return)
    assert not asks(window)
    (bruno,) = Roster(store).all()
    assert (bruno.name, bruno.stance.value) == ("Bruno Vell", "southpaw")
    assert [care.value for care in bruno.cares] == ["wrist"]
    assert bruno.age_group.value == "adult"
    typed(window, Key.Key_Space)
    assert form.fields()["stance"] == "southpaw"
    QTest.keyClick(form.editors["stance"], Key.Key_Return)  # from a list as well
    assert not asks(window)


@pytest.mark.qt_log_ignore("propagateSizeHints")  # of the platform without a screen
def test_a_file_is_looked_for_with_the_keyboard(
    qtbot: QtBot, store: Store, tmp_path: Path
) -> None:
    table = tmp_path / "club.csv"
    table.write_text("name,stance,age_group\nBruno Vell,southpaw,adult\n")
    QApplication.setAttribute(Qt.ApplicationAttribute.AA_DontUseNativeDialogs)
    window = opened(qtbot, RosterPage(Roster(store)))
    typed(window, Key.Key_I)
    (button,) = window.form.findChildren(QPushButton)
    done: list[str] = []

    def choose_file() -> None:
        for dialog in QApplication.topLevelWidgets():
            if isinstance(dialog, QFileDialog) and dialog.isVisible():
                (line,) = dialog.findChildren(QLineEdit, "fileNameEdit")
                if not done:
                    line.setText(str(table))
                    done.append("chosen")
                    typed(line, Key.Key_Return)

    timer = QTimer()
    timer.timeout.connect(choose_file)
    timer.start(20)
    typed(button, Key.Key_Space)
    timer.stop()
    assert done == ["chosen"]
    assert window.form.fields() == {"file": str(table)}
    typed(window.form.editors["file"], Key.Key_Return)
    assert [one.name for one in Roster(store).all()] == ["Bruno Vell"]


def test_the_windows_own_keys(qtbot: QtBot, store: Store) -> None:
    Roster(store).add_all(people(8))
    window = opened(qtbot, RosterPage(Roster(store)))
    typed(window, Key.Key_D)
    assert window.page.scheme is LIGHT
    typed(window, Key.Key_F11)
    qtbot.waitUntil(window.isFullScreen)
    typed(window, Key.Key_F11)
    qtbot.waitUntil(lambda: not window.isFullScreen())
    typed(window, Key.Key_N)
    QTest.keyClick(window, Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert not window.isVisible()


def test_a_page_on_top_comes_back_to_the_one_below(qtbot: QtBot, store: Store) -> None:
    Roster(store).add_all(people(8))
    window = opened(qtbot, RosterPage(Roster(store)))
    typed(window, Key.Key_Up, Key.Key_G)
    assert window.sheet.title.startswith("Groups of")
    typed(window, Key.Key_Escape)
    assert window.sheet.title == "Athletes"
    typed(window, Key.Key_B)
    assert not window.isVisible()


def test_a_database_that_fails_is_said_and_nothing_else_happens(
    qtbot: QtBot, store: Store
) -> None:
    window = opened(qtbot, RosterPage(Roster(store)))
    with store.writing() as session:
        for table in ("care", "body_mass", "membership", "athlete"):
            session.connection().exec_driver_sql(f"DROP TABLE {table}")
    typed(window, Key.Key_N)
    said = [item.text for item in window.page.items if isinstance(item, Words)]
    assert any(text.startswith("The database cannot be used") for text in said)
    assert window.isVisible()
    assert not asks(window)
    # the traceback of the error holds the window; it must not be collected while it is painted
    window.close()
