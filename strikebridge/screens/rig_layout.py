"""Where things stand on the pages of a rig: boxes as shares of the page; no Qt, no words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.screens.wall_layout import Frame

if TYPE_CHECKING:
    from strikebridge.screens.items import Box

HEAD_CAP = 0.026
TELL_CAP = 0.078
DETAIL_CAP = 0.028
NUMBER_CAP = 0.15
WORD_CAP = 0.036
SMALL_CAP = 0.024
FIGURE_CAP = 0.0175
KEYS_CAP = 0.0185
COLUMN = 0.40  # share of the width for the reading; the plot has the rest
WHOLE = 0.75  # the same where there is no plot


@dataclass(frozen=True, slots=True)
class RigFrame:
    """The boxes of the pages of a rig; those of one page never overlap.

    Attributes:
        width: of the page [px].
        height: of the page [px].
        column: share of the width for the reading.
    """

    width: float
    height: float
    column: float = COLUMN

    def box(self, top: float, bottom: float, left: float = 0.0, right: float = 1.0) -> Box:
        """Cut a box out of the page between its side margins, as `Frame.box` does."""
        return Frame(self.width, self.height).box(top, bottom, left, right)

    def cap(self, share: float) -> float:
        """Turn a share of the height into the height of a capital [px]."""
        return share * self.height

    @property
    def head(self) -> Box:
        """What this page is, and how far one has come."""
        return self.box(0.012, 0.060, 0.0, 0.66)

    @property
    def head_right(self) -> Box:
        """Right of it: the step."""
        return self.box(0.012, 0.060, 0.68, 1.0)

    @property
    def progress(self) -> Box:
        """How many steps are done."""
        return self.box(0.068, 0.080)

    @property
    def tell(self) -> Box:
        """What to do now, the biggest words of the page."""
        return self.box(0.095, 0.335)

    @property
    def detail(self) -> Box:
        """Why, or what to mind."""
        return self.box(0.340, 0.440)

    @property
    def caption(self) -> Box:
        """What the number is."""
        return self.box(0.455, 0.500, 0.0, self.column - 0.02)

    @property
    def number(self) -> Box:
        """The live reading."""
        return self.box(0.505, 0.685, 0.0, self.column - 0.10)

    @property
    def unit(self) -> Box:
        """Its unit."""
        return self.box(0.600, 0.685, self.column - 0.09, self.column)

    @property
    def beside(self) -> Box:
        """What is wanted, under the number."""
        return self.box(0.690, 0.735, 0.0, self.column - 0.02)

    @property
    def state(self) -> Box:
        """Bar of the mean being taken; its hatch says stable or not."""
        return self.box(0.750, 0.800, 0.0, self.column - 0.02)

    @property
    def state_word(self) -> Box:
        """The same in a word."""
        return self.box(0.806, 0.868, 0.0, self.column - 0.02)

    @property
    def remark(self) -> Box:
        """What was noticed last."""
        return self.box(0.880, 0.950)

    @property
    def plot(self) -> Box:
        """Points, line, residuals."""
        return self.box(0.455, 0.872, self.column, 1.0)

    @property
    def wide_plot(self) -> Box:
        """The same where nothing is read any more."""
        return self.box(0.455, 0.872)

    @property
    def keys(self) -> Box:
        """Footer: every key that means something now."""
        return self.box(0.958, 0.994)
