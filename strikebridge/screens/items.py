"""What can stand on the wall: boxes, and values that fill them; no Qt.

A picture is a set of still items, redrawn only when they differ from what is already drawn, and
one live part that is painted anew each time. Items hash and compare by value, so what must be
redrawn is a difference of two sets. Everything is in pixels of the wall, y downwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.glance import EMPTY_TRACE, Trace

if TYPE_CHECKING:
    from strikebridge.screens.look import State


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle.

    Attributes:
        x: left edge [px].
        y: upper edge [px].
        w: width [px].
        h: height [px].
    """

    x: float
    y: float
    w: float
    h: float

    @property
    def right(self) -> float:
        """Right edge [px]."""
        return self.x + self.w

    @property
    def bottom(self) -> float:
        """Lower edge [px]."""
        return self.y + self.h

    def on_pixels(self) -> Box:
        """Move the edges to the nearest whole pixels, so that it is filled without mixing."""
        left, top = round(self.x), round(self.y)
        return Box(left, top, round(self.right) - left, round(self.bottom) - top)

    def overlaps(self, other: Box) -> bool:
        """Say whether the two share more than a hair's breadth."""
        slack = 1e-6
        return (
            self.x < other.right - slack
            and other.x < self.right - slack
            and self.y < other.bottom - slack
            and other.y < self.bottom - slack
        )


class Align(StrEnum):
    """Where text stands in its box."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Words:
    """Text that shrinks until it fits its box.

    Attributes:
        text: what to say.
        box: where; nothing is ever drawn outside.
        cap_px: height of a capital if there is room enough [px].
        align: where in the box.
        lines: most lines it may be broken into.
        is_quiet: for the coach, in the quieter ink.
        is_bold: heavy face.
    """

    text: str
    box: Box
    cap_px: float
    align: Align = Align.LEFT
    lines: int = 1
    is_quiet: bool = False
    is_bold: bool = True


@dataclass(frozen=True, slots=True)
class Number:
    """The one big number: digits in cells of equal width, right-aligned on the baseline.

    Attributes:
        text: digits, a decimal point, or dashes.
        box: where.
        cap_px: height of the digits if there is room enough [px].
        align: where in the box.
    """

    text: str
    box: Box
    cap_px: float
    align: Align = Align.RIGHT


@dataclass(frozen=True, slots=True)
class Fist:
    """A fist, four bricks and a thumb.

    Attributes:
        hand: `left` or `right`.
        box: where.
    """

    hand: str
    box: Box


Item = Words | Number | Fist


@dataclass(frozen=True, slots=True)
class Lane:
    """The lane in which the block pushes from the left towards the mark.

    Attributes:
        box: the lane.
        share: how far the block's leading edge is along the lane, 0 to 1.
        peak: how far the largest force of the rep reached, 0 to 1, None without one.
        marks: how far along each thick upright line stands.
        state: how the force stands against what was asked.
        edge: the leading edge while it rose: (how far down the lane, how far along it), 0 to 1
            each; empty for a straight edge.
    """

    box: Box
    share: float
    peak: float | None
    marks: tuple[float, ...]
    state: State
    edge: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Brick:
    """One second of the hold.

    Attributes:
        box: the brick.
        good: share of the second in which the force was where it should be, 0 to 1.
        over: share of the second that has gone by, 0 to 1.
    """

    box: Box
    good: float
    over: float


@dataclass(frozen=True, slots=True, eq=False)
class Live:
    """What is painted each time.

    Attributes:
        lane: block and mark, None where the phase shows none.
        bricks: the seconds of the hold.
        trace_box: where the running trace goes, None where the phase shows none.
        trace: the last seconds.
        trace_s: seconds across the box [s].
        full_N: force at the right end of the lane and at the top of the trace [N].
        marks: how far up the trace each mark lies, 0 to 1.
    """

    lane: Lane | None = None
    bricks: tuple[Brick, ...] = ()
    trace_box: Box | None = None
    trace: Trace = EMPTY_TRACE
    trace_s: float = 6.0
    full_N: float = 1.0
    marks: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """One picture of the wall.

    Attributes:
        items: what stands still.
        live: what moves.
    """

    items: frozenset[Item]
    live: Live
