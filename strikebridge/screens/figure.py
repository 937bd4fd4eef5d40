"""What stands on a page beside words and numbers: bars, strokes and marks; no Qt.

A page is a tuple of items in the order in which they are painted. Everything is in pixels of
the page, y downwards. Meaning never hangs on a colour alone: a state has its hatch, a mark its
shape, and a word stands beside both.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.screens.items import Number, Words

if TYPE_CHECKING:
    from strikebridge.screens.items import Box
    from strikebridge.screens.look import State


@dataclass(frozen=True, slots=True)
class Panel:
    """A ground on which a plot or a bar lies.

    Attributes:
        box: where.
    """

    box: Box


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar that fills from the left, outlined, on a panel.

    Attributes:
        box: the whole of it.
        share: how much is filled, 0 to 1.
        state: colour and hatch of the filled part.
    """

    box: Box
    share: float
    state: State


class Ink(StrEnum):
    """How strongly a stroke is drawn."""

    STRONG = "strong"
    QUIET = "quiet"
    DASHED = "dashed"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line.

    Attributes:
        x1: begin [px].
        y1: begin [px].
        x2: end [px].
        y2: end [px].
        ink: how strongly.
    """

    x1: float
    y1: float
    x2: float
    y2: float
    ink: Ink = Ink.STRONG


@dataclass(frozen=True, slots=True)
class Line:
    """A line through many points.

    Attributes:
        points: places [px].
        ink: how strongly.
    """

    points: tuple[tuple[float, ...], ...]
    ink: Ink = Ink.STRONG


@dataclass(frozen=True, slots=True)
class Area:
    """A filled area behind a plot, such as what is only scatter.

    Attributes:
        points: its corners [px], in order.
    """

    points: tuple[tuple[float, float], ...]


class Shape(StrEnum):
    """Shape of a mark."""

    UP = "up"  # loading: a full triangle that points up
    DOWN = "down"  # unloading: an open triangle that points down
    ROUND = "round"  # neither
    CROSS = "cross"  # does not fit


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of a plot.

    Attributes:
        x: middle [px].
        y: middle [px].
        size: height and width [px].
        shape: which.
    """

    x: float
    y: float
    size: float
    shape: Shape


PageItem = Words | Number | Panel | Bar | Stroke | Line | Mark | Area
Page = tuple[PageItem, ...]


def with_words(items: Page) -> Page:
    """Leave out words that say nothing."""
    return tuple(item for item in items if not isinstance(item, Words) or item.text)
