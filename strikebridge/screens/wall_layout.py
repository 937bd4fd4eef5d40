"""Where things stand on the wall: boxes as shares of its size; no Qt, no words.

The big number is a little over 30 % of the height: 45 arc minutes at 4 m on a 14-inch 16:9
screen are 52.4 mm of 174.3 mm. Hold and result keep the number in the same place, so that the
eye need not look for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

from strikebridge.screens.items import Box

NUMBER_CAP = 0.306
SENTENCE_CAP = 0.088
NAME_CAP = 0.045
STANDING_CAP = 0.06
SMALL_CAP = 0.040
LABEL_CAP = 0.028
KEYS_CAP = 0.0185
SIDE = 0.2  # share of the width right of the number: unit, seconds
MARGIN = 0.022
BRICK_GAP = 0.012


@dataclass(frozen=True)  # no slots: boxes that are asked for at each paint are kept
class Frame:
    """The boxes of one size; those of one phase never overlap.

    Attributes:
        width: of the wall [px].
        height: of the wall [px].
    """

    width: float
    height: float

    def box(self, top: float, bottom: float, left: float = 0.0, right: float = 1.0) -> Box:
        """Cut a box out of the wall between its side margins.

        Args:
            top: share of the height, 0 to 1.
            bottom: the same, below `top`.
            left: share of the width between the margins, 0 to 1.
            right: the same, right of `left`.

        Returns:
            The box [px].
        """
        margin = MARGIN * self.width
        room = self.width - 2.0 * margin
        return Box(
            margin + left * room,
            top * self.height,
            (right - left) * room,
            (bottom - top) * self.height,
        )

    def cap(self, share: float) -> float:
        """Turn a share of the height into the height of a capital [px]."""
        return share * self.height

    @property
    def name(self) -> Box:
        """Header, left: whose turn it is."""
        return self.box(0.012, 0.080, 0.0, 0.40)

    @property
    def punch(self) -> Box:
        """Header, middle: punch and hand."""
        return self.box(0.012, 0.080, 0.41, 0.80)

    @property
    def rep(self) -> Box:
        """Header, right: which repetition."""
        return self.box(0.012, 0.080, 0.81, 1.0)

    @property
    def number(self) -> Box:
        """The big number."""
        return self.box(0.090, 0.424, 0.0, 1.0 - SIDE)

    @property
    def caption(self) -> Box:
        """What the big number is, beside it on its own line."""
        return self.box(0.120, 0.170, 1.015 - SIDE, 1.0)

    @property
    def unit(self) -> Box:
        """Unit of the big number, on a baseline of its own."""
        return self.box(0.180, 0.300, 1.015 - SIDE, 1.0)

    @property
    def beside(self) -> Box:
        """Right of the number, below the unit: seconds left, or the word on the rise."""
        return self.box(0.310, 0.424, 1.015 - SIDE, 1.0)

    @property
    def doubt(self) -> Box:
        """Under the number, ending where it ends: its ±."""
        return self.box(0.434, 0.504, 0.60, 1.0 - SIDE)

    @property
    def standing(self) -> Box:
        """Under the number: how it stands, in words."""
        return self.box(0.434, 0.522, 0.0, 0.59)

    @cached_property
    def lane(self) -> Box:
        """The lane of the block during a hold; the mark stands out by a little."""
        return self.box(0.545, 0.690).on_pixels()

    @property
    def labels(self) -> Box:
        """The forces at the marks."""
        return self.box(0.700, 0.742)

    @property
    def peak_label(self) -> Box:
        """The held peak during a hold, left of the forces at the marks."""
        return self.box(0.700, 0.742, 0.0, 0.30)

    @cached_property
    def bricks(self) -> Box:
        """The row of bricks during a hold."""
        return self.box(0.750, 0.850).on_pixels()

    @cached_property
    def trace(self) -> Box:
        """The running trace."""
        return self.box(0.866, 0.948).on_pixels()

    @property
    def keys(self) -> Box:
        """Footer: every key and what it does."""
        return self.box(0.958, 0.994)

    @property
    def sentence(self) -> Box:
        """The sentence after a rep."""
        return self.box(0.524, 0.722)

    @cached_property
    def late_lane(self) -> Box:
        """The lane after a rep, where the leading edge stays as the curve of the rise."""
        return self.box(0.738, 0.862, 0.0, 0.56).on_pixels()

    @property
    def late_labels(self) -> Box:
        """What the curve is, and the forces at the marks after a rep."""
        return self.box(0.880, 0.940, 0.0, 0.56)

    @cached_property
    def late_bricks(self) -> Box:
        """The row of bricks after a rep."""
        return self.box(0.738, 0.862, 0.58, 1.0).on_pixels()

    @property
    def late_quality(self) -> Box:
        """How well it was held, under the bricks."""
        return self.box(0.880, 0.940, 0.58, 1.0)


@lru_cache(maxsize=16)
def brick_row(row: Box, number: int) -> tuple[Box, ...]:
    """Cut a row into bricks.

    Args:
        row: the row [px].
        number: how many bricks, 0 or more.

    Returns:
        Bricks from left to right, with gaps between them.
    """
    if number <= 0:
        return ()
    gap = BRICK_GAP * row.w
    width = (row.w - gap * (number - 1)) / number
    return tuple(
        Box(row.x + index * (width + gap), row.y, width, row.h).on_pixels()
        for index in range(number)
    )


@lru_cache(maxsize=16)
def frame(width: float, height: float) -> Frame:
    """Lay out a wall of one size.

    Args:
        width: [px], above 0.
        height: [px], above 0.

    Returns:
        Its boxes.
    """
    return Frame(width, height)
