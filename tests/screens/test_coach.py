"""The coach's page: all of it readable with the longest words, and true to the reps."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from strikebridge.desk import Attempt, Desk
from strikebridge.glance import Phase, Trouble
from strikebridge.screens.coach_model import PLACES_SHOWN, REPS_SHOWN, CoachModel
from strikebridge.screens.figure import Bar, Ink, Line, Panel
from strikebridge.screens.items import Number, Words
from strikebridge.screens.keys import footer
from strikebridge.screens.look import SCHEMES
from strikebridge.screens.page import PageWidget
from strikebridge.screens.strokes import place_words
from strikebridge.screens.wall_words import TIE
from strikebridge.units import ForceUnit
from tests.screens.desks import DESKS, FIVE, FULL, LONGEST_NAME, ORDER
from tests.screens.glances import BASE, HOLDING, IN_BAND, RESULT
from tests.screens.session_glances import SESSION_GLANCES
from tests.screens.test_rig_pages import SIZES, is_inside
from tests.screens.test_wall import pixels

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from strikebridge.screens.figure import Page

pytestmark = pytest.mark.screen
SIZE = (1366.0, 768.0)
SMALLEST = 0.0095  # of the height: sixty letters in a column, read from a laptop's own distance


def texts(page: Page) -> list[str]:
    return [item.text for item in page if isinstance(item, Words)]


def look(desk: Desk, glance: object = RESULT) -> Page:
    return CoachModel(footer()).look(glance, desk, SIZE)  # type: ignore[arg-type] # one of glances


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("unit", ForceUnit)
@pytest.mark.parametrize("desk", DESKS.values(), ids=DESKS)
def test_nothing_is_clipped_or_lies_on_anything_else(
    qtbot: QtBot, desk: Desk, unit: ForceUnit, size: tuple[int, int]
) -> None:
    model = CoachModel(footer())
    lost = Trouble("The board went quiet 12 s ago.", "Reps are saved. Check the plug.", 12.0)
    waiting = replace(BASE, phase=Phase.WAITING, trouble=lost)
    outcome = replace(SESSION_GLANCES["outcome, long words"], athlete=LONGEST_NAME)
    for glance in (BASE, HOLDING, IN_BAND, RESULT, outcome, waiting):
        page = model.look(replace(glance, unit=unit), desk, size)
        placed = [item for item in page if isinstance(item, (Words, Bar, Number, Panel))]
        for item in placed:
            assert is_inside(item.box, size), item
            if isinstance(item, Words):
                em, lines = place_words(item)
                said = " ".join(line.text for line in lines)
                assert said.split() == item.text.split()
                assert em * 0.7 >= SMALLEST * size[1], item.text
        for one, other in itertools.combinations(placed, 2):
            assert not one.box.overlaps(other.box), f"{one} on {other}"


def test_the_order_begins_with_whose_turn_it_is_and_counts_who_is_left_out() -> None:
    said = texts(look(FULL))
    assert "Ines Halloran" in said
    assert "now, rear uppercut, bent arm, 0 of 12 done" in said
    assert "next, rear uppercut, bent arm, 1 of 12 done" in said
    assert f"and {len(ORDER) - PLACES_SHOWN} more" in said
    later = tuple(replace(p, is_now=i == 9) for i, p in enumerate(ORDER))
    said = texts(look(replace(FULL, order=later)))
    assert "Ines Halloran" not in said
    assert "Guest 4" in said
    assert not any(text.endswith(" more") for text in said)


def test_a_result_is_called_by_its_own_name_while_the_next_one_heads_the_order() -> None:
    outcome = replace(SESSION_GLANCES["outcome"], athlete="Tove Marsh")
    said = texts(look(FULL, outcome))
    assert "Tove Marsh: rear straight, right hand" in said
    assert not any(text.startswith("now") for text in said if text != "now")
    assert "next, rear uppercut, bent arm, 0 of 12 done" in said
    assert "rear uppercut, bent arm, 1 of 12 done" in said
    again = texts(look(FULL, replace(outcome, athlete="Ines Halloran")))
    assert "now, rear uppercut, bent arm, 0 of 12 done" in again


def test_reps_stand_with_peak_words_and_bricks() -> None:
    page = look(FULL)
    said = texts(page)
    for attempt in FULL.attempts:
        assert str(attempt.number) in said
    assert said.count("taken back") == 1
    assert "84.6 ± 0.1".replace(" ", TIE) in said  # 830 N
    bars = [item for item in page if isinstance(item, Bar)]
    shares = [share for attempt in FULL.attempts for share in attempt.rep.bricks]
    assert [bar.share for bar in bars[-len(shares) :]] == shares
    lines = [item for item in page if isinstance(item, Line)]
    assert len(lines) == len(FULL.attempts) - 1  # not the one that was taken back
    assert [line.ink for line in lines].count(Ink.STRONG) == 1


def test_of_many_reps_the_last_are_shown_and_that_is_said() -> None:
    said = texts(look(DESKS["twelve"]))
    assert "12" in said
    assert str(12 - REPS_SHOWN) not in said[: said.index("12")]
    assert any(text.startswith(f"the last {PLACES_SHOWN}, from the onset") for text in said)


def test_a_curve_lies_where_its_forces_are() -> None:
    page = look(Desk(attempts=(Attempt(1, FIVE[0]),)))
    (line,) = (item for item in page if isinstance(item, Line))
    (ground,) = (item.box for item in page if isinstance(item, Panel))
    heights = [(ground.bottom - y) / ground.h for _, y in line.points]
    assert max(heights) == pytest.approx(1.0 / 1.08, abs=0.01)  # the peak, under the headroom
    assert heights[0] == pytest.approx(0.0, abs=0.01)
    assert all(ground.x - 1 <= x <= ground.right + 1 for x, _ in line.points)


def test_curves_are_laid_out_anew_only_for_other_reps() -> None:
    model = CoachModel()
    one = model.look(RESULT, FULL, SIZE)
    two = model.look(HOLDING, FULL, SIZE)
    lines = [[i for i in page if isinstance(i, Line)] for page in (one, two)]
    assert all(a is b for a, b in zip(*lines, strict=True))
    fewer = model.look(HOLDING, Desk(attempts=FULL.attempts[:1]), SIZE)
    assert len([i for i in fewer if isinstance(i, Line)]) == 1


def test_a_board_in_trouble_is_said_before_anything_else() -> None:
    lost = Trouble("The board went quiet 3 s ago.", "Check the plug.", 3.0)
    said = texts(look(FULL, replace(RESULT, trouble=lost)))
    assert "The board went quiet 3 s ago. Check the plug." in said


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=lambda scheme: scheme.key)
def test_every_desk_is_painted(qtbot: QtBot, scheme: object) -> None:
    widget = PageWidget()
    qtbot.addWidget(widget)
    widget.resize(1366, 768)
    widget.set_scheme(SCHEMES[getattr(scheme, "key", "dark")])
    seen = set()
    for desk in DESKS.values():
        widget.show_page(look(desk))
        seen.add(pixels(widget.grab().toImage()).tobytes())
    assert len(seen) == len(DESKS)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_what_is_asked_before_a_redo_stands_alone(qtbot: QtBot, size: tuple[int, int]) -> None:
    glance = SESSION_GLANCES["asked before a redo"]
    page = CoachModel(footer()).look(glance, FULL, size)
    said = [text.replace("\u00a0", " ") for text in texts(page)]
    assert said[:-1] == list(glance.advice)  # and the keys
    for item in page:
        assert isinstance(item, Words)
        assert is_inside(item.box, size)
    words = page[1]
    assert isinstance(words, Words)
    assert place_words(words)[0] > 0.04 * size[1]
