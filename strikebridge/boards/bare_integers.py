"""Decode the plainest sketch there is: one number a line and nothing else.

It is the described shape of a single value. Whole numbers are taken for counts; as soon as one
has decimals nobody knows what it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from typing_extensions import override

from strikebridge.boards.described_lines import DescribedLinesDecoder
from strikebridge.boards.line_decoder import flag_converter_ends
from strikebridge.boards.line_shape import Field, LineShape, Role
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from strikebridge.samples import CountBlock, Floats, Ints

BARE = "bare-integers"
PLAIN = LineShape(((Field(Role.VALUE),),))


class BareIntegersDecoder(DescribedLinesDecoder):
    """Turn lines of one number each into readings.

    Its `quantity` is counts as long as all numbers are whole, and unknown from then on.
    """

    def __init__(self) -> None:
        super().__init__(PLAIN, BARE)
        self.quantity = Quantity.COUNT

    @override
    def _block(self, numbers: Floats, arrived_us: Ints) -> list[CountBlock]:
        blocks = super()._block(numbers, arrived_us)
        for block in blocks:
            if (np.floor(block.counts) != block.counts).any():
                self.quantity = Quantity.UNKNOWN
            flag_converter_ends(block.counts, block.flags)
        return blocks
