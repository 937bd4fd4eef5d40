"""Strokes, marks and small words of a picture, written as SVG.

Only what SVG Tiny 1.2 has is used, because that is what Qt draws into a PDF. Lengths are points
(1/72 inch), y downwards. Everything is told apart in grey as well: by shape, by dashes, by a
filled or an open mark. Colours are of the Okabe-Ito set or greys; their contrast is tested.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

PAPER = "#FFFFFF"
INK = "#101316"
QUIET = "#4A5157"
GRID = "#C9CCCE"
BAND = "#DDE6EC"
STRONG = "#0072B2"  # blue of Okabe and Ito 2008
TEXT_PT = 7.0
FONT = "sans-serif"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture.

    Attributes:
        title: what it shows, for who cannot see it.
        width_pt: width [pt].
        height_pt: height [pt].
        parts: elements of SVG, in the order in which they are painted.
    """

    title: str
    width_pt: float
    height_pt: float
    parts: tuple[str, ...]

    @property
    def svg(self) -> str:
        """The picture as one element of SVG that needs nothing from outside."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(self.width_pt)} '
            f'{_n(self.height_pt)}" width="{_n(self.width_pt)}pt" '
            f'height="{_n(self.height_pt)}pt" role="img" font-family="{FONT}" '
            f'font-size="{_n(TEXT_PT)}"><title>{escape(self.title)}</title>'
            f"{''.join(self.parts)}</svg>"
        )


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight scale from values to places.

    Attributes:
        low: least value.
        high: largest value, above `low`.
        at_low: place of the least [pt].
        at_high: place of the largest [pt].
    """

    low: float
    high: float
    at_low: float
    at_high: float

    def at(self, value: float) -> float:
        """Find the place of a value [pt], kept within the scale."""
        share = (value - self.low) / (self.high - self.low)
        return self.at_low + min(1.0, max(0.0, share)) * (self.at_high - self.at_low)


def stroke(
    x1: float, y1: float, x2: float, y2: float, *, colour: str = INK, width_pt: float = 0.75
) -> str:
    """Draw a straight line."""
    return (
        f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" stroke="{colour}" '
        f'stroke-width="{_n(width_pt)}"/>'
    )


def line(
    points: Iterable[tuple[float, float]],
    *,
    colour: str = INK,
    width_pt: float = 1.0,
    dashes: str = "",
) -> str:
    """Draw a line through points.

    Args:
        points: places [pt].
        colour: sRGB as `#RRGGBB`.
        width_pt: how thick [pt].
        dashes: lengths of dash and gap [pt], such as `3 2`; empty for none.
    """
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<polyline points="{_points(points)}" fill="none" stroke="{colour}" '
        f'stroke-width="{_n(width_pt)}" stroke-linejoin="round"{dashed}/>'
    )


def area(points: Iterable[tuple[float, float]], colour: str = BAND) -> str:
    """Fill what lies between points."""
    return f'<polygon points="{_points(points)}" fill="{colour}" stroke="none"/>'


def box(
    x: float, y: float, width_pt: float, height_pt: float, *, fill: str, edge: str = "none"
) -> str:
    """Draw a rectangle."""
    return (
        f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width_pt)}" height="{_n(height_pt)}" '
        f'fill="{fill}" stroke="{edge}" stroke-width="0.75"/>'
    )


def dot(x: float, y: float, *, radius_pt: float = 2.2, is_filled: bool = True) -> str:
    """Draw a round mark, filled or open."""
    return (
        f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius_pt)}" '
        f'fill="{INK if is_filled else PAPER}" stroke="{INK}" stroke-width="0.9"/>'
    )


def words(x: float, y: float, text: str, *, anchor: str = "start", colour: str = QUIET) -> str:
    """Write small words.

    Args:
        x: where [pt].
        y: base line [pt].
        text: plain text.
        anchor: what of it stands at x: `start`, `middle` or `end`.
        colour: sRGB as `#RRGGBB`.
    """
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}" fill="{colour}">'
        f"{escape(text)}</text>"
    )


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _n(value: float) -> str:
    """Write a length to a hundredth of a point, without a needless end."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if value else "0"
