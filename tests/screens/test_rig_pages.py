"""Every page of a walk and of a check: nothing clipped, nothing on top of anything else."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtGui import QImage

from strikebridge.calibration.walk_view import WalkState
from strikebridge.screens.check_model import check_page, force_words
from strikebridge.screens.figure import Bar, Mark, Page, Panel, Shape, Stroke
from strikebridge.screens.finish_model import MOST_TERMS, finish_page
from strikebridge.screens.items import Box, Number, Words
from strikebridge.screens.look import DARK, SCHEMES, State
from strikebridge.screens.page import PageWidget
from strikebridge.screens.plot_model import residual_span_kg
from strikebridge.screens.rig_parts import tied
from strikebridge.screens.strokes import LEAST_PX, place_number, place_words
from strikebridge.screens.walk_model import WalkModel, number_words, remark_words, step_words
from strikebridge.units import ForceUnit
from tests.screens.check_views import check_views
from tests.screens.finishes import FINISHES
from tests.screens.test_wall import pixels
from tests.screens.walk_views import walk_views

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

    from strikebridge.calibration.walk_view import WalkView

pytestmark = pytest.mark.screen
SIZES = [(1024, 600), (1366, 768), (1920, 1080)]
SMALLEST_CAP = 0.012  # share of the height: 7 px of 600, which is small but a letter


def pages(size: tuple[int, int]) -> Iterator[tuple[str, Page]]:
    model = WalkModel()
    for name, walk in walk_views().items():
        yield f"walk {name}", model.look(walk, size)
    for unit in ForceUnit:
        for name, check in check_views().items():
            yield f"check {name} {unit}", check_page(check, size, unit)
        for name, finish in FINISHES.items():
            yield f"finish {name} {unit}", finish_page(finish, size, unit)


def is_inside(box: Box, size: tuple[int, int]) -> bool:
    return box.x >= 0.0 and box.y >= 0.0 and box.right <= size[0] and box.bottom <= size[1]


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_text_is_clipped_or_lies_on_another(qtbot: QtBot, size: tuple[int, int]) -> None:
    for name, page in pages(size):
        texts = [item for item in page if isinstance(item, (Words, Number))]
        for item in texts:
            assert is_inside(item.box, size), f"{name}: {item}"
            if isinstance(item, Words):
                em, lines = place_words(item)
                said = " ".join(line.text for line in lines)
                assert said == item.text, f"{name}: {item.text!r} does not fit"
                assert em * 0.7 >= SMALLEST_CAP * size[1], f"{name}: {item.text!r} is tiny"
            else:
                assert place_number(item)[0] > LEAST_PX
        bars = [item for item in page if isinstance(item, Bar)]
        for one, other in itertools.combinations([*texts, *bars], 2):
            assert not one.box.overlaps(other.box), f"{name}: {one} on {other}"


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_plots_stay_within_their_ground(size: tuple[int, int]) -> None:
    for name, page in pages(size):
        panels = [item.box for item in page if isinstance(item, Panel)]
        marks = [item for item in page if isinstance(item, Mark)]
        assert bool(panels) or not marks
        for mark in marks:
            assert any(
                box.x <= mark.x <= box.right and box.y <= mark.y <= box.bottom for box in panels
            ), f"{name}: {mark}"
        for stroke in page:
            if isinstance(stroke, Stroke):
                ends = Box(
                    min(stroke.x1, stroke.x2), min(stroke.y1, stroke.y2),
                    abs(stroke.x2 - stroke.x1), abs(stroke.y2 - stroke.y1),
                )  # fmt: skip
                assert is_inside(ends, size), name


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=lambda scheme: scheme.key)
def test_every_page_is_painted(qtbot: QtBot, scheme: object) -> None:
    widget = PageWidget()
    qtbot.addWidget(widget)
    widget.resize(1366, 768)
    widget.set_scheme(SCHEMES[getattr(scheme, "key", "dark")])
    seen = set()
    for _, page in pages((1366, 768)):
        widget.show_page(page)
        image = pixels(widget.grab().toImage())
        assert len({tuple(colour) for colour in image[::7, ::7].reshape(-1, 3)}) > 1
        seen.add(image.tobytes())
    assert len(seen) > 40


def test_states_differ_by_more_than_colour(qtbot: QtBot) -> None:
    """Waiting, moving, stable and wrong are told apart in grey as well."""
    widget = PageWidget()
    qtbot.addWidget(widget)
    widget.resize(400, 60)
    seen = set()
    for state in (State.STALE, State.PUSH, State.THERE, State.OVER):
        widget.show_page((Bar(Box(0, 0, 400, 60), 1.0, state),))
        grey = widget.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
        rows = pixels(grey)[30, :, 0].astype(int)
        edges = int((abs(rows[1:] - rows[:-1]) > 12).sum())
        seen.add((edges > 3, edges))
    assert len(seen) == 4


def test_the_same_page_is_not_painted_again(qtbot: QtBot) -> None:
    widget = PageWidget()
    qtbot.addWidget(widget)
    widget.show()
    qtbot.waitExposed(widget)
    page = (Bar(Box(0, 0, 40, 20), 0.5, State.PUSH),)
    widget.show_page(page)
    kept = widget.items
    widget.show_page((Bar(Box(0, 0, 40, 20), 0.5, State.PUSH),))
    assert widget.items is kept
    assert widget.scheme is DARK


def words_of(page: Page) -> str:
    return "\n".join(item.text for item in page if isinstance(item, Words))


def views() -> dict[str, WalkView]:
    return walk_views()


def test_the_instruction_is_the_biggest() -> None:
    for name in ("walk waiting", "walk taking", "zero settling"):
        page = WalkModel().look(views()[name], (1366, 768))
        caps = [item.cap_px for item in page if isinstance(item, Words)]
        biggest = max(
            (item for item in page if isinstance(item, Words)), key=lambda item: item.cap_px
        )
        assert biggest.text == views()[name].instruction
        assert caps.count(biggest.cap_px) == 1


def test_marks_say_the_direction_and_what_does_not_fit() -> None:
    question = WalkModel().look(views()["walk question"], (1366, 768))
    assert {mark.shape for mark in question if isinstance(mark, Mark)} == {
        Shape.UP,
        Shape.CROSS,
    }
    review = WalkModel().look(views()["walk review"], (1366, 768))
    assert {mark.shape for mark in review if isinstance(mark, Mark)} == {Shape.UP, Shape.DOWN}
    assert "does not fit: redo it, or keep it" in words_of(question)
    assert "off the line, enlarged" in words_of(review)


def test_residuals_are_enlarged_but_never_noise() -> None:
    points = views()["walk review"].points
    largest = max(abs(point.residual_kg) for point in points)
    assert 1.25 * largest <= residual_span_kg(points) <= 4.0 * largest
    quiet = [replace(point, residual_kg=1e-5) for point in points]
    assert residual_span_kg(quiet) == 0.02


def test_words_of_a_step() -> None:
    view = views()["walk waiting"]
    assert step_words(view) == "step 7 of 23: walk 1, loading"
    assert step_words(views()["ready"]) == "23 steps"
    assert step_words(views()["done"]) == "18 points"
    assert step_words(views()["zero taking"]) == "step 1 of 23: the empty cell"


def test_the_reading_is_kilograms_as_soon_as_they_are_known() -> None:
    assert number_words(views()["zero taking"])[1] == ""
    digits, unit = number_words(views()["walk taking"])
    assert unit == "kg"
    assert not digits.startswith("-0.00")
    scale = replace(views()["zero taking"], quantity="kg", reading=0.012, load_kg=None)
    assert number_words(scale) == ("0.01", "kg")


def test_a_remark_that_was_mended_goes() -> None:
    assert views()["walk review"].remarks
    assert remark_words(views()["walk review"]) == ""
    moved = replace(views()["walk waiting"], remarks=("The empty cell moved by 2 %.",))
    assert "empty cell moved" in words_of(WalkModel().look(moved, (1366, 768)))


def test_trouble_takes_the_page() -> None:
    text = words_of(WalkModel().look(views()["lost"], (1366, 768)))
    assert "went away" in text
    assert "What was taken so far is safe." in text
    assert "on the cell now" not in text
    lost = words_of(check_page(check_views()["lost"], (1366, 768), ForceUnit.KG))
    assert "Nothing is lost." in lost


def test_keys_that_mean_something_are_shown() -> None:
    ready = words_of(WalkModel().look(views()["ready"], (1366, 768)))
    assert "Space, PageDown: take it, go on" in ready
    assert "C: cancel" in ready
    assert "redo" not in ready
    done = words_of(WalkModel().look(views()["done"], (1366, 768)))
    assert "Space, PageDown: close" in done
    assert views()["done"].state is WalkState.DONE


def test_a_check_in_the_coach_s_unit() -> None:
    done = check_views()["done"]
    assert "20.0" in words_of(check_page(done, (1366, 768), ForceUnit.KG))
    assert "196." in words_of(check_page(done, (1366, 768), ForceUnit.N))
    assert force_words(None, ForceUnit.KG) == "– –"
    assert force_words(-0.001, ForceUnit.N) == "0.0"


def test_the_last_page_has_the_largest_doubt_first() -> None:
    page = finish_page(FINISHES["good"], (1366, 768), ForceUnit.KG)
    shares = [item.share for item in page if isinstance(item, Bar)][1:]
    assert shares[0] == 1.0
    assert shares == sorted(shares, reverse=True)
    assert len(shares) <= MOST_TERMS
    assert "A force of 50" in words_of(page)
    failed = finish_page(FINISHES["failed"], (1366, 768), ForceUnit.KG)
    assert "No calibration" in words_of(failed)


def test_numbers_keep_their_doubt_and_unit() -> None:
    tie = "\u00a0"
    assert tied("known to ± 0.6 kg (1.2 %).") == f"known to ±{tie}0.6{tie}kg (1.2{tie}%)."
    assert tied("+0.2 ± 1.1 %, good") == f"+0.2{tie}±{tie}1.1{tie}%, good"
    assert tied("cancelled. Nothing") == "cancelled. Nothing"
