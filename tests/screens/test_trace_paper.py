from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtGui import QPainter, QPixmap

from strikebridge.glance import Trace
from strikebridge.screens.items import Box, Live
from strikebridge.screens.look import DARK, LIGHT
from strikebridge.screens.strokes import Pens
from strikebridge.screens.trace_paper import TracePaper
from tests.screens.test_wall import pixels

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen

WIDE, HIGH = 1306, 63
LEFT_OUT = 8  # columns in which the oldest sample of a first drawing begins


def live_of(time_s: np.ndarray, force_N: np.ndarray, *, full_N: float = 900.0) -> Live:
    return Live(trace=Trace(time_s, force_N), full_N=full_N)


def drawn(paper: TracePaper, live: Live, pens: Pens, ratio: float = 1.0) -> np.ndarray:
    canvas = QPixmap(round(WIDE * ratio), round(HIGH * ratio))
    canvas.setDevicePixelRatio(ratio)
    painter = QPainter(canvas)
    paper.draw(painter, live, Box(0.0, 0.0, WIDE, HIGH), pens, ratio)
    painter.end()
    return pixels(canvas.toImage())


def stream(rate_hz: float, seed: int = 5) -> tuple[np.ndarray, np.ndarray]:
    time_s = 1000.3 + np.arange(int(12.0 * rate_hz)) / rate_hz
    chance = np.random.default_rng(seed)
    force_N = 400.0 + 390.0 * np.sin(1.7 * time_s) + chance.normal(0.0, 6.0, len(time_s))
    return time_s, force_N


@pytest.mark.parametrize("rate_hz", [10.0, 80.0, 331.7, 1000.0])
@pytest.mark.parametrize("ratio", [1.0, 1.5])
def test_moved_paper_looks_like_a_new_one(qtbot: QtBot, rate_hz: float, ratio: float) -> None:
    time_s, force_N = stream(rate_hz)
    pens, paper = Pens(DARK, 768.0), TracePaper()
    start, step = int(7.0 * rate_hz), 3
    for end in range(start, len(time_s), step):
        live = live_of(time_s[:end], force_N[:end])
        drawn(paper, live, pens, ratio)
    live = live_of(time_s, force_N)
    moved = drawn(paper, live, pens, ratio)
    fresh = drawn(TracePaper(), live, pens, ratio)
    assert np.array_equal(moved[:, LEFT_OUT:], fresh[:, LEFT_OUT:])
    other = drawn(TracePaper(), live_of(time_s[:start], force_N[:start]), pens, ratio)
    assert not np.array_equal(fresh, other)


@pytest.mark.parametrize("rate_hz", [80.0, 331.7])
def test_few_samples_are_drawn_as_many_are(qtbot: QtBot, rate_hz: float) -> None:
    time_s, force_N = stream(rate_hz)
    force_N[5::7] = np.nan
    force_N[3::11] = 1000.0  # above what fits
    force_N[4::11] = -50.0
    pens, paper = Pens(DARK, 768.0), TracePaper()
    is_known = ~np.isnan(force_N)
    start = int(7.0 * rate_hz)
    for end in range(start, len(time_s)):
        if is_known[end - 1]:  # else all would be drawn again
            drawn(paper, live_of(time_s[:end], force_N[:end]), pens)
    end = int(np.flatnonzero(is_known)[-1]) + 1
    live = live_of(time_s[:end], force_N[:end])
    fresh = drawn(TracePaper(), live, pens)
    assert np.array_equal(drawn(paper, live, pens)[:, LEFT_OUT:], fresh[:, LEFT_OUT:])


def test_the_first_samples_of_all_may_share_a_column(qtbot: QtBot) -> None:
    px_s = 6.0 / WIDE
    time_s = (200.0 + np.array([0.6, 0.7, 0.8, 0.9])) * px_s
    force_N = np.array([500.0, 400.0, 300.0, 200.0])
    pens, paper = Pens(DARK, 768.0), TracePaper()
    for end in range(2, 5):
        seen = drawn(paper, live_of(time_s[:end], force_N[:end]), pens)
        fresh = drawn(TracePaper(), live_of(time_s[:end], force_N[:end]), pens)
        assert np.array_equal(seen, fresh)


@pytest.mark.parametrize("change", ["scale", "zero", "colours", "back in time", "none new"])
def test_all_is_drawn_again_where_it_has_to_be(qtbot: QtBot, change: str) -> None:
    time_s, force_N = stream(80.0)
    dark = Pens(DARK, 768.0)
    paper, pens = TracePaper(), dark
    drawn(paper, live_of(time_s[:600], force_N[:600]), dark)
    after = live_of(time_s[:602], force_N[:602])
    if change == "scale":
        after = replace(after, full_N=1200.0)
    elif change == "zero":
        after = live_of(time_s[:602], force_N[:602] + 60.0)
    elif change == "colours":
        pens = Pens(LIGHT, 768.0)
    elif change == "back in time":
        after = live_of(time_s[:500], force_N[:500])
    else:
        after = live_of(time_s[:600], force_N[:600])
    seen = drawn(paper, after, pens)
    assert np.array_equal(seen[:, LEFT_OUT:], drawn(TracePaper(), after, pens)[:, LEFT_OUT:])


def test_paper_without_samples_is_empty(qtbot: QtBot) -> None:
    pens, paper = Pens(DARK, 768.0), TracePaper()
    time_s, force_N = stream(80.0)
    empty = drawn(paper, Live(), pens)
    assert len(np.unique(empty.reshape(-1, 3), axis=0)) == 1
    one = drawn(paper, live_of(time_s[:1], force_N[:1]), pens)
    assert np.array_equal(one, empty)
    two = drawn(paper, live_of(time_s[:40], force_N[:40]), pens)
    assert not np.array_equal(two, empty)
    assert np.array_equal(drawn(paper, Live(), pens), empty)


def high_px(pixels: np.ndarray, pens: Pens) -> np.ndarray:
    """Count the pixels of the trace in each column."""
    ink = [pens.trace.red(), pens.trace.green(), pens.trace.blue()]
    high: np.ndarray = (pixels == ink).all(axis=2).sum(axis=0)
    return high


def test_no_peak_is_lost_between_pixels(qtbot: QtBot) -> None:
    time_s = np.arange(6000) / 1000.0
    force_N = np.zeros(6000)
    force_N[3001] = 900.0
    force_N[-1] = 450.0
    pens = Pens(DARK, 768.0)
    high = high_px(drawn(TracePaper(), live_of(time_s, force_N), pens), pens)
    assert high[-1] == round(HIGH / 2)
    assert high[:-1].max() == HIGH
    assert np.count_nonzero(high == HIGH) == 1


def test_heights_and_places_are_those_of_the_force(qtbot: QtBot) -> None:
    time_s = 2.0 + np.arange(0.0, 6.0, 1.0 / 80.0)
    force_N = np.where(time_s < 5.0, 0.0, 600.0)
    pens = Pens(DARK, 768.0)
    high = high_px(drawn(TracePaper(), live_of(time_s, force_N), pens), pens)
    assert high[-1] == round(HIGH * 600.0 / 900.0)
    risen = WIDE - 1 - (time_s[-1] - 5.0) * WIDE / 6.0
    assert abs(np.flatnonzero(high == high[-1])[0] - risen) <= 1.0


def test_a_hole_is_empty(qtbot: QtBot) -> None:
    time_s = np.arange(0.0, 6.0, 1.0 / 80.0)
    force_N = np.full(len(time_s), 600.0)
    force_N[200:240] = np.nan
    pens = Pens(DARK, 768.0)
    high = high_px(drawn(TracePaper(), live_of(time_s, force_N), pens), pens)
    assert np.count_nonzero(high == 0) > 30 * WIDE / 480
    assert high[100] > 0
