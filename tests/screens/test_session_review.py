"""The review of a session: readable, true to what is on record, turned by a clicker."""

from __future__ import annotations

import contextlib
import itertools
import threading
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from sqlalchemy import text

from strikebridge.looking_back import last_session, look_back, with_curves
from strikebridge.screens.figure import Bar, Line, Panel
from strikebridge.screens.items import Number, Words
from strikebridge.screens.session_review import SessionReviewWindow
from strikebridge.screens.session_review_model import SessionReview
from strikebridge.screens.session_review_words import cue_words
from strikebridge.screens.strokes import LEAST_PX, place_words
from strikebridge.store.database import open_store
from strikebridge.units import ForceUnit
from tests.running import WITHIN_S
from tests.screens.session_glances import GERMAN, LONG
from tests.screens.sessions_done import ALL_CUES, DONE, MANY, NOTHING, SIX
from tests.screens.test_rig_pages import is_inside
from tests.trained import WHO, train

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from strikebridge.looking_back import SessionDone
    from strikebridge.screens.figure import Page

pytestmark = pytest.mark.screen
SIZES = [(1366, 768), (1920, 1080)]


def texts_of(page: Page) -> list[str]:
    return [item.text.replace("\u00a0", " ") for item in page if isinstance(item, Words)]


def page_of(
    done: SessionDone,
    at: int,
    size: tuple[int, int] = SIZES[0],
    unit: ForceUnit = ForceUnit.KG,
) -> Page:
    review = SessionReview(done, unit)
    review.at = at
    return review.page(size)


@pytest.mark.parametrize(
    ("name", "at", "unit"),
    [
        *(("six", at, ForceUnit.LB) for at in (0, 1, 2, 3, 4, 9, 14)),
        *(("six", at, ForceUnit.KG) for at in (1, 3)),
        ("many", 0, ForceUnit.KG),
        ("nothing", 0, ForceUnit.N),
    ],
)
def test_nothing_is_clipped_or_lies_on_anything_else(
    qtbot: QtBot, name: str, at: int, unit: ForceUnit
) -> None:
    for size in SIZES:
        page = page_of(DONE[name], at, size, unit)
        placed = [item for item in page if isinstance(item, (Words, Bar, Number, Panel))]
        for item in placed:
            assert is_inside(item.box, size), item
            if isinstance(item, Words):
                em, lines = place_words(item)
                assert em > LEAST_PX, item.text
                assert " ".join(line.text for line in lines).split() == item.text.split()
        for one, other in itertools.combinations(placed, 2):
            assert not one.box.overlaps(other.box), f"{one} on {other}"


def test_everybody_stands_in_a_row_with_what_was_done_and_what_to_mend(qtbot: QtBot) -> None:
    said = texts_of(page_of(SIX, 0))
    assert "Ines Halloran" in said
    assert f"{SIX.done} of {SIX.planned} holds done" in said
    assert any(text.startswith("rear straight, right hand: 88.9") for text in said)
    assert any(text.endswith("new best") for text in said)
    assert any(text.startswith("stopped for pain: ") for text in said)
    assert "sagging, 3 of 7" in said
    assert "nothing measured" in said
    assert "snap" in said
    left = next(text for text in said if "left out" in text)
    assert left.startswith("3 turns left out. 1 turn still open: the session can be taken up ")
    assert left.endswith("18 turns timed.")
    many = texts_of(page_of(MANY, 0))
    assert "and 3 more on the next pages" in many
    assert any("without a curve" in text for text in many)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("stopped", [1, 2, 4])
def test_a_stop_for_pain_is_no_smaller_than_the_rest(
    qtbot: QtBot, size: tuple[int, int], stopped: int
) -> None:
    people = list(SIX.people)
    names = tuple(f"{GERMAN} {k}" for k in range(stopped))
    people[1] = replace(people[1], stopped=names)
    page = page_of(replace(SIX, people=tuple(people)), 0, size)
    sizes = {item.text: place_words(item)[0] for item in page if isinstance(item, Words)}
    (pain,) = (text for text in sizes if text.startswith("stopped for pain: "))
    assert names[0] in pain.replace("\u00a0", " ")
    assert ("more" in pain) is (stopped > 1)
    assert sizes[pain] >= min(em for text, em in sizes.items() if text != pain)


def test_reps_curves_and_the_one_taken_back(qtbot: QtBot) -> None:
    page = page_of(SIX, 1)
    said = texts_of(page)
    assert said.count("taken back") == 1
    assert any("5 holds that count, maximal, 1 taken back" in text for text in said)
    assert len([item for item in page if isinstance(item, Line)]) == 5
    empty = texts_of(page_of(SIX, 15))
    assert "Nothing of this athlete was measured in this session." in empty


def test_a_cue_that_did_no_more_than_chance_is_said_to_have_done_so() -> None:
    real, chance, none = (cue_words(one, ForceUnit.N) for one in ALL_CUES)
    assert real.endswith("+60 ± 18 N: more than chance.")
    assert real.startswith("Schulter locker lassen und ausatmen: 830 then 842, 799 then 871, ")
    assert "; +41 N on average of 6 times. Beside uncued reps" in real
    assert chance.endswith("+4 ± 26 N: no more than chance.")
    assert none == (
        "snap: 812 then 851 N; +21 N on average of 1 time. No verdict yet: 1 cued reps; 3 are "
        "needed."
    )


def test_without_its_recording_a_session_still_has_its_numbers(qtbot: QtBot) -> None:
    bare = replace(
        SIX,
        people=tuple(
            replace(
                who,
                work=tuple(
                    replace(w, reps=tuple(replace(k, rep=None) for k in w.reps))
                    for w in who.work
                ),
            )
            for who in SIX.people
        ),
    )
    page = page_of(bare, 1)
    assert "There are no curves: the recording is not in the data folder." in texts_of(page)
    assert not [item for item in page if isinstance(item, Line)]
    assert "88.9 ± 1.8" in texts_of(page)


def test_a_clicker_turns_all_pages_and_leaves_at_the_end(qtbot: QtBot) -> None:
    window = SessionReviewWindow(SessionReview(SIX, ForceUnit.KG))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    review = window.review
    QTest.keyClick(window, Qt.Key.Key_N)
    assert f"{SIX.people[0].name}" in texts_of(window.page.items)
    QTest.keyClick(window, Qt.Key.Key_N)
    assert LONG in texts_of(window.page.items)
    QTest.keyClick(window, Qt.Key.Key_PageUp)
    assert review.at == 2
    QTest.keyClick(window, Qt.Key.Key_U)
    assert review.unit is not ForceUnit.KG
    QTest.keyClick(window, Qt.Key.Key_D)
    for _ in range(review.pages):
        QTest.keyClick(window, Qt.Key.Key_PageDown)
    assert review.at == review.pages - 1
    qtbot.waitUntil(lambda: not window.isVisible())


def test_the_page_is_there_before_the_curves_are(qtbot: QtBot) -> None:
    bare = replace(NOTHING, people=SIX.people[:1])
    may_come = threading.Event()

    def fetch() -> SessionDone:
        assert may_come.wait(WITHIN_S)
        return SIX

    window = SessionReviewWindow(SessionReview(bare, ForceUnit.KG), fetch)
    qtbot.addWidget(window)
    window.show()
    assert window.review.is_fetching
    may_come.set()
    qtbot.waitUntil(lambda: window.review.done is SIX)
    assert not window.review.is_fetching


def test_curves_that_cannot_be_fetched_leave_the_numbers(
    qtbot: QtBot, caplog: pytest.LogCaptureFixture
) -> None:
    def fetch() -> SessionDone:
        raise RuntimeError("no")

    window = SessionReviewWindow(SessionReview(SIX, ForceUnit.KG), fetch)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: not window.review.is_fetching)
    assert window.review.done is SIX
    assert "could not be fetched" in caplog.text


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_a_session_on_record_is_looked_back_on_with_the_curves_it_had(
    qtbot: QtBot, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = train(tmp_path / "data")
    capsys.readouterr()
    with contextlib.closing(open_store(data)) as store:
        record = last_session(store)
        assert record is not None
        done = look_back(store, record.id)
        full = with_curves(done, data / "recordings")
    (who,) = full.people
    assert (who.name, who.done, who.planned) == (WHO, 4, 4)
    assert (full.left_out, full.still_open, full.cautions) == (0, 0, ())
    assert [one.name for one in who.work] == ["lead straight", "rear straight"]
    for one in who.work:
        assert len(one.kept) == 2
        for rep in one.reps:
            assert rep.rep is not None
            live, again = rep.record.measures["peak_force"], rep.rep.measures["peak_force"]
            assert again.value == pytest.approx(live.value, rel=1e-9)
    moved = with_curves(done, data / "elsewhere")
    assert all(k.rep is None for w in moved.people[0].work for k in w.reps)
    assert "4 reps without a curve" in moved.cautions[0]


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_a_second_session_is_held_against_the_first_and_an_old_plan_costs_no_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = train(tmp_path / "data", seed=2)
    train(data, seed=2)  # the same athlete of the same strength, to the last digit
    capsys.readouterr()
    with contextlib.closing(open_store(data)) as store:
        record = last_session(store)
        assert record is not None
        done = look_back(store, record.id)
        words = {one.best_words for one in done.people[0].work}
        assert words == {"level with best"}
        with store.writing() as at:
            at.execute(text("UPDATE session SET plan_text = 'of another version'"))
        again = look_back(store, record.id)
    assert (again.people[0].done, again.people[0].planned) == (4, 4)
