"""Putting blocks of readings together and apart."""

from __future__ import annotations

import numpy as np

from strikebridge.samples import CountBlock


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
