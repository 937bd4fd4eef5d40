"""Blocks of force for the detector's tests: made from arrays, cut, or out of a scene."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Floats, ForceBlock

if TYPE_CHECKING:
    from tests.corpus.stage import Stage


def block_on(stage: Stage) -> ForceBlock:
    """Take what a stage delivers, lost readings left out, glitch words and all."""
    reading, kit = stage.reading(), stage.kit
    counts = reading.counts.astype(np.float64)
    force_N: Floats = (counts - kit.offset_counts) * kit.gain_N_per_count
    return block_of(reading.taken_s, force_N, kit.rate_hz, reading.number)


def block_of(
    time_s: Floats, force_N: Floats, rate_hz: float, number: np.ndarray | None = None
) -> ForceBlock:
    n = len(time_s)
    return ForceBlock(
        number=np.arange(n) if number is None else number,
        time_s=time_s,
        force_N=force_N,
        cells_N=force_N.reshape(n, 1).copy(),
        u_own_N=np.full(n, 0.01),
        u_common_N=np.full(n, 0.1),
        flags=np.zeros(n, np.uint16),
        rate_hz=rate_hz,
        calibration=None,
    )


def cut(block: ForceBlock, size: int) -> list[ForceBlock]:
    return [part(block, k, k + size) for k in range(0, len(block), size)]


def part(block: ForceBlock, begin: int, end: int | None) -> ForceBlock:
    s = slice(begin, end)
    return ForceBlock(
        block.number[s],
        block.time_s[s],
        block.force_N[s],
        block.cells_N[s],
        block.u_own_N[s],
        block.u_common_N[s],
        block.flags[s],
        block.rate_hz,
        block.calibration,
    )


def pick(block: ForceBlock, keep: np.ndarray) -> ForceBlock:
    return ForceBlock(
        block.number[keep],
        block.time_s[keep],
        block.force_N[keep],
        block.cells_N[keep],
        block.u_own_N[keep],
        block.u_common_N[keep],
        block.flags[keep],
        block.rate_hz,
        block.calibration,
    )
