"""Colours, contrast and sizes of the screens; plain numbers, no Qt.

Colours of states are from the Okabe-Ito set (Okabe and Ito 2008, Color Universal Design), which
stays apart for the usual kinds of colour blindness. Every state also has its own hatch and its
own words, so that no meaning hangs on a colour. Text is always in the scheme's ink.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
BLUISH_GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
REDDISH_PURPLE = "#CC79A7"
OKABE_ITO = (
    BLACK,
    ORANGE,
    SKY_BLUE,
    BLUISH_GREEN,
    YELLOW,
    BLUE,
    VERMILLION,
    REDDISH_PURPLE,
)
"""The set in its usual order, sRGB."""

WALL_DISTANCE_M = 4.0  # the laptop stands on a stool 3 to 4 m from the athlete: common practice
WALL_DIAGONAL_IN = 14.0
NUMBER_ARC_MINUTES = 45.0
READING_ARC_MINUTES = 16.0  # least character height of ISO 9241-303
METRES_PER_INCH = 0.0254


class State(StrEnum):
    """How the force stands against what was asked."""

    REST = "rest"  # nothing to reach, or next to no force
    PUSH = "push"  # below the mark or the band
    THERE = "there"  # at the mark, inside the band
    OVER = "over"  # above the band
    STALE = "stale"  # no reading


class Hatch(StrEnum):
    """Pattern laid over a state's colour."""

    PLAIN = "plain"
    RISING = "rising"  # lines from bottom left to top right
    CROSSED = "crossed"
    UPRIGHT = "upright"


HATCHES: dict[State, Hatch] = {
    State.REST: Hatch.PLAIN,
    State.PUSH: Hatch.PLAIN,
    State.THERE: Hatch.UPRIGHT,
    State.OVER: Hatch.RISING,
    State.STALE: Hatch.CROSSED,
}
"""One hatch a state; rest and push share a plain face, as rest is a push not begun."""


@dataclass(frozen=True, slots=True)
class Scheme:
    """One set of colours.

    Attributes:
        key: stable word.
        ground: what lies behind everything.
        panel: ground of the lane the block runs in.
        ink: text and marks.
        quiet: text that only the coach reads, outlines.
        trace: the running trace.
        states: colour of the block for each state.
    """

    key: str
    ground: str
    panel: str
    ink: str
    quiet: str
    trace: str
    states: dict[State, str]


DARK = Scheme(
    key="dark",
    ground="#0B0D0F",
    panel="#1D2226",
    ink="#F6F3EA",
    quiet="#A9AFB3",
    trace="#7F888E",
    states={
        State.REST: SKY_BLUE,
        State.PUSH: SKY_BLUE,
        State.THERE: BLUISH_GREEN,
        State.OVER: VERMILLION,
        State.STALE: "#1D2226",
    },
)
LIGHT = Scheme(
    key="light",
    ground="#FAF8F2",
    panel="#E4E2DA",
    ink="#101316",
    quiet="#4A5157",
    trace="#7C8388",
    states={
        State.REST: BLUE,
        State.PUSH: BLUE,
        State.THERE: BLUISH_GREEN,
        State.OVER: VERMILLION,
        State.STALE: "#E4E2DA",
    },
)
SCHEMES: dict[str, Scheme] = {DARK.key: DARK, LIGHT.key: LIGHT}
"""Schemes by key; the second is for daylight."""


def luminance(colour: str) -> float:
    """Compute the relative luminance of a colour.

    Args:
        colour: sRGB as `#RRGGBB`.

    Returns:
        0 (black) to 1 (white), after WCAG 2.2, definition of relative luminance.

    Raises:
        ValueError: the text is no such colour.
    """
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"A colour is written #RRGGBB, not {colour!r}.")
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Compute the contrast ratio of two colours.

    Args:
        one: sRGB as `#RRGGBB`.
        other: the same.

    Returns:
        1 (same) to 21 (black on white), after WCAG 2.2, definition of contrast ratio.
    """
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def height_px(
    arc_minutes: float,
    screen_height_px: float,
    *,
    distance_m: float = WALL_DISTANCE_M,
    diagonal_in: float = WALL_DIAGONAL_IN,
) -> float:
    """Compute how many pixels high something must be to be seen under an angle.

    The screen is taken as 16:9; h = 2 d tan(angle / 2).

    Args:
        arc_minutes: visual angle [arc minutes].
        screen_height_px: pixels from top to bottom of the screen [px].
        distance_m: from eye to screen [m].
        diagonal_in: diagonal of the screen [inch].

    Returns:
        Height on the screen [px].
    """
    screen_height_m = diagonal_in * METRES_PER_INCH * 9.0 / math.hypot(16.0, 9.0)
    height_m = 2.0 * distance_m * math.tan(math.radians(arc_minutes / 60.0) / 2.0)
    return height_m / screen_height_m * screen_height_px
