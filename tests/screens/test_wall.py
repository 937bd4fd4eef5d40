from __future__ import annotations

import gc
import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import psutil
import pytest
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QFontDatabase, QFontInfo, QImage, QPainter, QPixmap, QRegion
from PySide6.QtWidgets import QApplication

from strikebridge.glance import Trace
from strikebridge.screens.items import Align, Box, Item, Number, Words
from strikebridge.screens.look import (
    DARK,
    HATCHES,
    LIGHT,
    NUMBER_ARC_MINUTES,
    SCHEMES,
    Hatch,
    Scheme,
    State,
    height_px,
)
from strikebridge.screens.strokes import (
    LEAST_PX,
    font,
    hatch_brush,
    metrics,
    place_number,
    place_words,
    rect,
)
from strikebridge.screens.wall import Wall
from tests.screens.glances import BASE, GLANCES, HOLDING, KG_N, RESULT, trace_of

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from strikebridge.glance import Glance

pytestmark = pytest.mark.screen

SIZES = [(1024, 600), (1366, 768), (1920, 1080), (3840, 2160)]


@pytest.fixture
def wall(qtbot: QtBot) -> Wall:
    made = Wall(keys="Space: go")
    qtbot.addWidget(made)
    return made


def pixels(image: QImage) -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    """Copy a picture as rows of red, green, blue."""
    plain = image.convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(plain.constBits(), np.uint8).reshape(plain.height(), -1)
    return rows[:, : plain.width() * 3].reshape(plain.height(), plain.width(), 3).copy()


def allow_new_digits(wall: Wall) -> None:
    """Let the clocks of the digits be over."""
    wall.model._slow_at_s = wall.model._quick_at_s = -1e9


def rendered(
    wall: Wall, glance: Glance, size: tuple[int, int] = (1366, 768), scheme: Scheme = DARK
) -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    wall.set_scheme(scheme)
    wall.resize(*size)
    allow_new_digits(wall)
    wall.show_glance(glance)
    return pixels(wall.grab().toImage())


def colour_of(text: str) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    return np.array([int(text[at : at + 2], 16) for at in (1, 3, 5)])


def is_near(
    picture: np.ndarray[tuple[int, int, int], np.dtype[np.uint8]], colour: str, slack: int = 12
) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    far = np.abs(picture.astype(np.int64) - colour_of(colour)).max(axis=2)
    return np.asarray(far <= slack)


def cut(
    picture: np.ndarray[tuple[int, int, int], np.dtype[np.uint8]], box: Box
) -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    return picture[round(box.y) : round(box.bottom), round(box.x) : round(box.right)]


def items_of(wall: Wall) -> list[Item]:
    assert wall._picture is not None
    return list(wall._picture.items)


def number_of(wall: Wall) -> Number:
    return next(item for item in items_of(wall) if isinstance(item, Number))


def test_fonts_exist(wall: Wall) -> None:
    assert QFontDatabase.families()
    assert QFontInfo(font(40, is_bold=True)).family()
    ones = rendered(wall, replace(BASE, athlete="Ines"))
    others = rendered(wall, replace(BASE, athlete="Tomi"))
    # without fonts every letter is the same hollow box
    assert not np.array_equal(ones, others)


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=lambda scheme: scheme.key)
@pytest.mark.parametrize("name", GLANCES)
def test_every_phase_paints_in_both_schemes(wall: Wall, name: str, scheme: Scheme) -> None:
    picture = rendered(wall, GLANCES[name], scheme=scheme)
    assert is_near(picture, scheme.ground).mean() > 0.3
    assert is_near(picture, scheme.ink).mean() > 0.01
    assert wall.painted is GLANCES[name]


def test_no_two_phases_look_the_same(wall: Wall) -> None:
    pictures = {name: rendered(wall, glance) for name, glance in GLANCES.items()}
    for one, other in itertools.combinations(pictures, 2):
        assert not np.array_equal(pictures[one], pictures[other]), (one, other)


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("name", GLANCES)
def test_no_text_is_clipped(wall: Wall, name: str, size: tuple[int, int]) -> None:
    wall.resize(*size)
    wall.show_glance(GLANCES[name])
    for item in items_of(wall):
        if isinstance(item, Words):
            pixel_size, placed = place_words(item)
            by = metrics(pixel_size, is_bold=item.is_bold)
            assert " ".join(line.text for line in placed) == item.text
        elif isinstance(item, Number):
            pixel_size, placed = place_number(item)
            by = metrics(pixel_size, is_bold=True)
        else:
            continue
        assert pixel_size > LEAST_PX
        for line in placed:
            if not line.text.strip():
                continue
            ink = by.tightBoundingRect(line.text).translated(QPointF(line.x, line.baseline))
            # a hair for the slant of side bearings, which lie in the margin
            room = QRectF(item.box.x, item.box.y, item.box.w, item.box.h)
            room.adjust(-size[0] * 0.005, -1.0, size[0] * 0.005, 1.0)
            assert room.contains(ink)


@pytest.mark.parametrize("name", ["hold", "result", "result, in newtons", "result, in pounds"])
@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)], ids=str)
@pytest.mark.parametrize("scheme", [DARK, LIGHT], ids=lambda scheme: scheme.key)
def test_number_can_be_read_at_four_metres(
    wall: Wall, name: str, size: tuple[int, int], scheme: Scheme
) -> None:
    """From the picture itself: the ink of each digit, top to bottom, in its own colour."""
    picture = rendered(wall, GLANCES[name], size, scheme)
    item = number_of(wall)
    _, placed = place_number(item)
    rows = is_near(cut(picture, item.box), scheme.ink)
    least = height_px(NUMBER_ARC_MINUTES, size[1])
    digits = 0
    for char in placed:
        if not char.text.isdigit():
            continue
        left = round(char.x - item.box.x)
        inked = np.flatnonzero(rows[:, left : left + round(char.width)].any(axis=1))
        assert inked[-1] - inked[0] + 1 >= least
        digits += 1
    assert digits >= 3


def test_unit_is_smaller_and_on_its_own_baseline(wall: Wall) -> None:
    wall.resize(1366, 768)
    wall.show_glance(HOLDING)
    size, placed = place_number(number_of(wall))
    unit = next(i for i in items_of(wall) if isinstance(i, Words) and i.text == "kg")
    unit_size, unit_placed = place_words(unit)
    assert unit_size < size / 2
    assert unit_placed[0].baseline < placed[0].baseline - 10
    doubt = next(i for i in items_of(wall) if isinstance(i, Words) and i.text.startswith("±"))
    assert doubt.box.y >= number_of(wall).box.bottom


def test_digits_stand_in_cells_of_one_width() -> None:
    box = Box(0.0, 0.0, 900.0, 300.0)
    for text in ("111.1", "888.8", "140.7"):
        _, placed = place_number(Number(text, box, 200.0))
        centres = [char.x + char.width / 2.0 for char in placed]
        _, other = place_number(Number("000.0", box, 200.0))
        assert centres == pytest.approx([char.x + char.width / 2.0 for char in other])


@pytest.mark.parametrize("align", Align)
def test_numbers_shrink_into_their_box(align: Align) -> None:
    box = Box(10.0, 0.0, 200.0, 300.0)
    _, placed = place_number(Number("1834.5", box, 290.0, align))
    assert placed[0].x >= box.x
    assert placed[-1].x + placed[-1].width <= box.right + 1e-6


def test_long_text_shrinks_before_it_is_cut() -> None:
    box = Box(0.0, 0.0, 300.0, 60.0)
    short, _ = place_words(Words("Ines", box, 40.0))
    long, placed = place_words(Words("Bartholomew Wetherall-Achterbergen", box, 40.0))
    assert LEAST_PX < long < short
    assert placed[0].width <= box.w
    _, hopeless = place_words(Words("Wetherall" * 40, box, 40.0))
    assert hopeless[0].width <= box.w
    assert hopeless[0].text.endswith("…")


def test_text_breaks_between_words_only() -> None:
    words = Words("Hit it in one go", Box(0.0, 0.0, 160.0, 200.0), 30.0, lines=3)
    _, placed = place_words(words)
    assert len(placed) > 1
    assert [word for line in placed for word in line.text.split()] == words.text.split()
    _, tied = place_words(replace(words, text="Reach 88\u00a0kg", box=Box(0, 0, 130.0, 200.0)))
    assert [line.text for line in tied] == ["Reach", "88\u00a0kg"]


def test_states_can_be_told_apart_without_colour() -> None:
    """In grey, scaled to the same mean: what is left is the hatch."""
    tiles = {}
    for hatch in Hatch:
        pixmap = QPixmap(90, 90)
        painter = QPainter(pixmap)
        painter.fillRect(pixmap.rect(), hatch_brush("#808080", "#000000", hatch, 30))
        painter.end()
        tiles[hatch] = pixels(pixmap.toImage())[..., 0].astype(float)
    for one, other in itertools.combinations(Hatch, 2):
        assert np.abs(tiles[one] - tiles[other]).mean() > 5.0
    assert len({HATCHES[s] for s in (State.PUSH, State.THERE, State.OVER, State.STALE)}) == 4


def test_block_ends_where_the_force_is(wall: Wall) -> None:
    picture = rendered(wall, HOLDING)
    assert wall._picture is not None
    lane = wall._picture.live.lane
    assert lane is not None
    row = cut(picture, lane.box)[round(lane.box.h / 2)][None]
    blue = np.flatnonzero(is_near(row, DARK.states[State.PUSH])[0])
    assert blue[-1] + 1 == pytest.approx(lane.share * lane.box.w, abs=2)


def test_only_what_changed_is_painted_again(wall: Wall, qtbot: QtBot) -> None:
    """Partial paints end in the same picture as one paint of everything."""
    wall.resize(1366, 768)
    wall.show()
    qtbot.waitExposed(wall)
    for name in ("ready", "count-in", "hold", "hold, in the band", "result", "rest"):
        wall.show_glance(GLANCES[name], at_once=True)
        for change_N in (3.0, 40.0, 9.0):
            force_N = (GLANCES[name].force_N or 0.0) + change_N
            last = replace(GLANCES[name], force_N=force_N, newest_us=int(change_N))
            allow_new_digits(wall)
            wall.show_glance(last, at_once=True)
        step_by_step = pixels(wall.grab().toImage())
        wall._layer = None
        at_once = pixels(wall.grab().toImage())
        # Qt draws edges of very large letters a shade differently once it has kept their shape
        differ = np.abs(step_by_step.astype(int) - at_once.astype(int)).max(axis=2) > 96
        assert not differ.any(), (name, np.argwhere(differ)[[0, -1]])


def test_a_text_that_changed_once_is_not_painted_with_each_line(qtbot: QtBot) -> None:
    asked: list[QRegion] = []

    class Noting(Wall):
        def repaint(self, region: QRegion) -> None:  # type: ignore[override, explicit-override]  # as the wall calls it
            asked.append(QRegion(region))
            super().repaint(region)

    wall = Noting(keys="Space: go")
    qtbot.addWidget(wall)
    wall.resize(1366, 768)
    wall.show()
    qtbot.waitUntil(lambda: wall.painted is not None)
    for name in ("Ines Halloran", "Tomasz Wren", "Tomasz Wren", "Tomasz Wren"):
        wall.show_glance(replace(HOLDING, athlete=name), at_once=True)
    live = wall.live
    assert live is not None
    assert live.trace_box is not None
    assert asked[-3].boundingRect().height() > live.trace_box.h  # the name
    assert asked[-1] == asked[-2] == QRegion(rect(live.trace_box))


def test_colours_change_at_once(wall: Wall) -> None:
    dark = rendered(wall, HOLDING)
    assert QColor(DARK.ground).rgb() != QColor(LIGHT.ground).rgb()
    light = rendered(wall, HOLDING, scheme=LIGHT)
    assert is_near(dark, LIGHT.ground).mean() < 0.2
    assert is_near(light, LIGHT.ground).mean() > 0.3


def test_painting_for_long_keeps_memory_flat(wall: Wall, qtbot: QtBot) -> None:
    wall.resize(1024, 600)
    wall.show()
    qtbot.waitExposed(wall)
    process = psutil.Process()

    def paint(times: int) -> None:
        for index in range(times):
            force_N = (20.0 + index % 60) * KG_N
            allow_new_digits(wall)
            glance = replace(HOLDING, newest_us=index, force_N=force_N, trace=trace_of())
            wall.show_glance(glance, at_once=True)
        gc.collect()

    paint(150)
    before = process.memory_info().rss
    paint(450)
    assert process.memory_info().rss - before < 6e6


def test_walls_go_when_they_are_closed(qtbot: QtBot) -> None:
    def make_and_drop() -> None:
        made = Wall()
        made.resize(640, 360)
        made.show_glance(RESULT)
        made.grab()
        made.close()
        made.deleteLater()
        QApplication.sendPostedEvents(None, 52)  # 52: deferred deletion
        QApplication.processEvents()

    make_and_drop()
    gc.collect()
    before = len(QApplication.allWidgets())
    for _ in range(20):
        make_and_drop()
    gc.collect()
    assert len(QApplication.allWidgets()) == before


def test_painting_parts_gives_the_same_picture_as_painting_all(
    wall: Wall, qtbot: QtBot
) -> None:
    wall.resize(1366, 768)
    with qtbot.waitExposed(wall):
        wall.show()
    time_s = np.arange(0.0, 9.0, 0.0125)
    force_N = 620.0 + 90.0 * np.sin(2.1 * time_s)
    for end in range(560, 700, 2):
        trace = Trace(time_s[:end], force_N[:end])
        held_s = (end - 560) * 0.0125
        glance = replace(
            HOLDING,
            trace=trace,
            force_N=float(force_N[end - 1]),
            peak_N=float(force_N[560:end].max()) if end > 560 else None,
            band_N=(600.0, 690.0),
            elapsed_s=held_s,
            bricks=(min(1.0, 0.8 * held_s), 0.0, 0.0),
        )
        allow_new_digits(wall)
        wall.show_glance(glance, at_once=True)
    # what the parts left on the screen, and the same painted whole
    parts = pixels(wall.screen().grabWindow(wall.winId()).toImage())
    assert np.array_equal(parts, pixels(wall.grab().toImage()))
