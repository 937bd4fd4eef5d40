"""Every screen is made, painted and gone; a new one is tested by being in the table."""

from __future__ import annotations

import gc
import weakref
from importlib import import_module
from typing import TYPE_CHECKING, cast

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import getCppPointer

from strikebridge.screens import SCREENS
from strikebridge.screens.look import SCHEMES
from tests.screens.test_wall import pixels

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytestqt.qtbot import QtBot

pytestmark = pytest.mark.screen


@pytest.fixture(params=sorted(SCREENS))
def make(request: pytest.FixtureRequest) -> Callable[[], QWidget]:
    module, _, name = SCREENS[str(request.param)].partition(":")
    return cast("Callable[[], QWidget]", getattr(import_module(module), name))


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
def test_it_is_painted_to_its_edges_before_it_knows_anything(
    qtbot: QtBot, make: Callable[[], QWidget], size: tuple[int, int]
) -> None:
    grounds = set()
    for scheme in SCHEMES.values():
        screen = make()
        qtbot.addWidget(screen)
        screen.resize(*size)
        screen.set_scheme(scheme)  # type: ignore[attr-defined]  # what every screen has
        image = pixels(screen.grab().toImage())
        assert image.shape[:2] == size[::-1]
        corners = {tuple(image[y, x]) for y in (0, -1) for x in (0, -1)}
        assert len(corners) == 1
        grounds |= corners
    assert len(grounds) == len(SCHEMES)


def tidy() -> None:
    """Let all go that nobody holds any more, also what tests before this one have left."""
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    gc.collect()


def widgets() -> set[int]:
    """Name all widgets there are, and hold none of them."""
    return {getCppPointer(one)[0] for one in QApplication.allWidgets()}


def test_nothing_of_it_stays(qtbot: QtBot, make: Callable[[], QWidget]) -> None:
    tidy()
    before = widgets()
    screen = make()
    screen.resize(1366, 768)
    screen.grab()
    assert len(widgets()) > len(before)
    gone = weakref.ref(screen)
    screen.deleteLater()
    del screen
    tidy()
    assert gone() is None
    assert widgets() <= before
