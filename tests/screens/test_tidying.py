from __future__ import annotations

import gc
import weakref
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QObject

from strikebridge.screens import tidying
from strikebridge.screens.tidying import FALLBACK, PER_FULL, YOUNG, Tidying

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen


class Ring:
    """Refers to itself, so that only a collection can let go of it."""

    def __init__(self) -> None:
        self.me = self


@pytest.fixture
def tidy(qtbot: QtBot) -> Iterator[Tidying]:
    parent = QObject()
    made = Tidying(parent)
    yield made
    made.end()


def lost_ring() -> weakref.ref[Ring]:
    return weakref.ref(Ring())


def test_garbage_goes_after_a_paint_and_not_before(tidy: Tidying) -> None:
    gc.collect()
    ring = lost_ring()
    kept = [[number] for number in range(2 * YOUNG)]
    assert ring() is not None
    tidy.after_paint()
    assert ring() is None
    assert len(kept) == 2 * YOUNG


def test_a_little_is_left_alone(tidy: Tidying) -> None:
    gc.collect()
    ring = lost_ring()
    tidy.after_paint()
    assert ring() is not None


def test_what_has_grown_old_goes_as_well(tidy: Tidying) -> None:
    tidy._loaded.stop()
    made = [Ring()]
    ring = weakref.ref(made[0])
    gc.collect(0)
    gc.collect(1)  # it has outlived both
    made.clear()
    for _ in range(PER_FULL):
        kept = [[number] for number in range(2 * YOUNG)]
        tidy.after_paint()
        del kept
    assert ring() is None


def test_python_collects_as_usual_afterwards(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = gc.get_threshold()
    monkeypatch.setattr(tidying, "LOADED_MS", 0)
    parent = QObject()
    made = Tidying(parent)
    assert gc.get_threshold()[0] == FALLBACK
    qtbot.waitUntil(lambda: gc.get_freeze_count() > 0)
    made.end()
    assert gc.get_threshold() == usual
    assert gc.get_freeze_count() == 0
