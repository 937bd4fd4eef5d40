"""Blocks of readings put together and apart, and one under work."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import CountBlock

if TYPE_CHECKING:
    from strikebridge.samples import Floats, Ints

TOGETHER = 8192  # samples of a long block that are made ready at once
NOTHING: Floats = np.empty(0)


@dataclass(slots=True, eq=False)
class Batch:
    """Samples under work: what came, and what is found out about them.

    Attributes:
        block: what came.
        number: numbers with the lost ones counted, filled as far as `numbered`, shape (n,).
        numbered: how many have their final number.
        time_us: times, filled as far as decided [us], shape (n,).
        gaps: indices before which samples are missing.
        x, y: samples and microseconds from the model's origin, of those from `begin` on that
            were counted together.
        begin: see there.
        origin: what x and y are counted from.
        rounded_us: step that all of these arrivals are rounded to [us], 0 if they are not; None
            as long as nobody asked.
    """

    block: CountBlock
    number: Ints
    time_us: Floats
    gaps: list[int] = field(default_factory=list)
    numbered: int = 0
    x: Floats = field(default_factory=lambda: NOTHING)
    y: Floats = field(default_factory=lambda: NOTHING)
    begin: int = 0
    origin: tuple[int, int] = (0, 0)
    rounded_us: int | None = None

    def number_to(self, stop: int, lost: int) -> None:
        """Give their final numbers to the samples before one, `lost` ahead of those got."""
        np.add(
            self.block.number[self.numbered : stop], lost, out=self.number[self.numbered : stop]
        )
        self.numbered = stop

    def coordinates(
        self, start: int, stop: int, origin: tuple[int, int]
    ) -> tuple[Floats, Floats]:
        """Count samples and microseconds from an origin, for many frames at once.

        Args:
            start: the first sample.
            stop: the one after the last.
            origin: number and arrival [us] to count from.
        """
        end = self.begin + len(self.x)
        if origin != self.origin or not self.begin <= start or stop > end:
            end = max(stop, min(len(self.block), start + TOGETHER))
            self.x = (self.block.number[start:end] - origin[0]).astype(np.float64)
            self.y = (self.block.arrived_us[start:end] - origin[1]).astype(np.float64)
            self.begin, self.origin, self.rounded_us = start, origin, None
        first, last = start - self.begin, stop - self.begin
        return self.x[first:last], self.y[first:last]

    def are_rounded_to(self, step_us: int) -> bool:
        """Say whether all arrivals that were counted together are rounded to a step [us]."""
        if self.rounded_us is None:
            arrived_us = self.block.arrived_us[self.begin : self.begin + len(self.y)]
            passed_us = arrived_us - self.origin[1]
            self.rounded_us = 0 if (passed_us % step_us).any() else step_us
        return self.rounded_us == step_us


def join(blocks: list[CountBlock]) -> CountBlock:
    """Put successive blocks of one stream together.

    Args:
        blocks: at least one; all with ticks or all without.

    Returns:
        One block with all their readings.
    """
    ticks = [block.ticks_us for block in blocks if block.ticks_us is not None]
    return CountBlock(
        np.concatenate([block.number for block in blocks]),
        np.concatenate([block.counts for block in blocks]),
        np.concatenate([block.arrived_us for block in blocks]),
        np.concatenate(ticks) if ticks else None,
        np.concatenate([block.flags for block in blocks]),
    )


def tail(block: CountBlock, start: int) -> CountBlock | None:
    """Keep the readings of a block without ticks from one on.

    Args:
        block: readings.
        start: index of the first to keep.

    Returns:
        The rest, None if there is none.
    """
    if start >= len(block):
        return None
    return CountBlock(
        block.number[start:],
        block.counts[start:],
        block.arrived_us[start:],
        None,
        block.flags[start:],
    )
