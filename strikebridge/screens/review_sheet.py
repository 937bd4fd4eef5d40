"""A sheet to be painted, and the axes that turn times and forces into its pixels; no Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.screens.items import Align, Box, Words

if TYPE_CHECKING:
    from strikebridge.samples import Floats

CAP = 9.0  # height of a capital, in a picture of the design's height [px]
EM_PER_CAP = 1.37  # of the fonts in use, give or take
LETTER_EM = 0.56  # mean width of a letter; wide enough for nearly all words


class Role(StrEnum):
    """What a stroke, zone or symbol stands for; decides how it is drawn."""

    FRAME = "frame"
    GRID = "grid"
    CURVE = "curve"
    FAULTY = "faulty"
    BEST = "best"
    BEST_FAULTY = "best faulty"
    WINDOW = "window"
    WINDOW_FAULTY = "window faulty"
    LEADER = "leader"
    BAND = "band"
    ASKED = "asked"
    PEAK = "peak"
    RELEASE = "release"
    FAULT = "fault"


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """A line through points [px], shape (n, 2)."""

    points: Floats
    role: Role


@dataclass(frozen=True, slots=True)
class Zone:
    """A filled area."""

    box: Box
    role: Role


@dataclass(frozen=True, slots=True)
class Symbol:
    """A mark at a place [px]."""

    x: float
    y: float
    role: Role
    is_faulty: bool = False


@dataclass(slots=True)
class Sheet:
    """All that is to be painted, in this order.

    Attributes:
        width: of the picture [px].
        height: of the picture [px].
        scale: pixels a pixel of the design.
        zones: areas, at the very bottom.
        strokes: lines.
        symbols: marks.
        words: text, each on a patch of the ground where it lies over curves.
    """

    width: float
    height: float
    scale: float
    zones: list[Zone] = field(default_factory=list)
    strokes: list[Stroke] = field(default_factory=list)
    symbols: list[Symbol] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)

    def say(self, text: str, box: Box, **more: float | bool | Align) -> None:
        """Add words, quiet and light unless said otherwise."""
        look = {"cap_px": CAP * self.scale, "is_quiet": True, "is_bold": False} | more
        self.words.append(Words(text, box, **look))  # type: ignore[arg-type] # checked by use

    def text_width(self, text: str) -> float:
        """Estimate how wide a text is in the usual size [px]."""
        return len(text) * LETTER_EM * EM_PER_CAP * CAP * self.scale + 8.0 * self.scale

    def label(
        self, text: str, x: float, y: float, *, within: Box, is_bold: bool = False
    ) -> None:
        """Say something beside a place: inside a box, off other words and others' marks."""
        w, h = min(self.text_width(text), within.w), 2.0 * CAP * self.scale
        gap = 7.0 * self.scale
        tries = [
            (x + gap, y - 0.5 * h),
            (x + gap, y - 1.5 * h),
            (x + gap, y + 0.5 * h),
            (x - gap - w, y - 0.5 * h),
            (x - gap - w, y - 1.5 * h),
            (x - 0.5 * w, y - h - gap),
            (x - 0.5 * w, y + gap),
            (x + gap, y + 2.0 * h),
            (x - gap - w, y + 2.0 * h),
        ]
        boxes = [Box(*_inside(left, top, w, h, within), w, h) for left, top in tries]
        free = [box for box in boxes if not any(box.overlaps(one.box) for one in self.words)]
        others = [
            (mark.x, mark.y)
            for mark in self.symbols
            if math.hypot(mark.x - x, mark.y - y) > 1.0
        ]
        clear = [box for box in free if not any(_is_at(box, *at, gap) for at in others)]
        box = (clear or free or boxes)[0]
        self.say(text, box, is_quiet=False, is_bold=is_bold)


def _is_at(box: Box, x: float, y: float, gap: float) -> bool:
    """Say whether words in a box would be taken for those of a mark."""
    return box.x - gap <= x <= box.right + gap and box.y - gap <= y <= box.bottom + gap


def _inside(left: float, top: float, w: float, h: float, box: Box) -> tuple[float, float]:
    return min(max(left, box.x), box.right - w), min(max(top, box.y), box.bottom - h)


@dataclass(frozen=True, slots=True)
class Plot:
    """One pair of axes.

    Attributes:
        box: where it lies.
        from_s: time at its left edge [s].
        to_s: time at its right edge [s].
        low: force at its lower edge.
        high: force at its upper edge.
    """

    box: Box
    from_s: float
    to_s: float
    low: float
    high: float

    def x(self, time_s: float) -> float:
        """Place a time [px]."""
        return self.box.x + (time_s - self.from_s) / (self.to_s - self.from_s) * self.box.w

    def y(self, force: float) -> float:
        """Place a force [px]."""
        return self.box.bottom - (force - self.low) / (self.high - self.low) * self.box.h

    def points(self, time_s: Floats, force: Floats) -> Floats:
        """Place a curve: shape (m, 2), of each column of pixels only what can be seen."""
        near = (time_s >= self.from_s) & (time_s <= self.to_s)
        x = self.box.x + (time_s[near] - self.from_s) / (self.to_s - self.from_s) * self.box.w
        y = self.box.bottom - (force[near] - self.low) / (self.high - self.low) * self.box.h
        return thin(x, np.clip(y, self.box.y, self.box.bottom))


def thin(x: Floats, y: Floats) -> Floats:
    """Keep first, lowest, highest and last point of each column of pixels.

    Args:
        x: rising [px], shape (n,).
        y: [px], shape (n,).

    Returns:
        Points, shape (m, 2); what is drawn through them looks the same.
    """
    if len(x) < 2:
        return np.column_stack((x, y))
    column = np.floor(x).astype(np.int64)
    starts = np.flatnonzero(np.diff(column, prepend=column[0] - 1))
    if len(x) <= 4 * len(starts):
        return np.column_stack((x, y))
    ends = np.append(starts[1:], len(x)) - 1
    low, high = np.minimum.reduceat(y, starts), np.maximum.reduceat(y, starts)
    middle = x[starts]
    return np.column_stack(
        (
            np.column_stack((x[starts], middle, middle, x[ends])).ravel(),
            np.column_stack((y[starts], low, high, y[ends])).ravel(),
        )
    )


def nice_step(span: float, most: int) -> float:
    """Choose a step of 1, 2 or 5 times a power of ten , so many into a span at most."""
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * m for m in (1.0, 2.0, 5.0, 10.0) if power * m >= rough * (1.0 - 1e-9))


def spread(wanted: list[float], pitch: float, low: float, high: float) -> list[float]:
    """Move places apart until neighbours are a pitch apart, and no further than needed.

    Args:
        wanted: rising.
        pitch: least distance.
        low: none goes below.
        high: none goes above; there is room for all.

    Returns:
        Places in the same order.
    """
    placed: list[float] = []
    for place in wanted:
        placed.append(max(place, placed[-1] + pitch if placed else low))
    limit = high
    for index in reversed(range(len(placed))):
        placed[index] = min(placed[index], limit)
        limit = placed[index] - pitch
    return placed
