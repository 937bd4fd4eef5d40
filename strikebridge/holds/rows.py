"""Readings as rows of one matrix, and the holes between them bridged.

Lost numbers, NaN and bad words are the same thing here: readings that are not there. Holes of
up to 0.5 s are bridged by a straight line and marked; a longer one breaks the run.
"""

from __future__ import annotations

import math

import numpy as np

from strikebridge.samples import Flag, Floats, ForceBlock

# columns of a row: everything about one reading in one float64 matrix, so that taking in a
# block of one reading is one copy; a column lies in one piece, as whole ones are worked on
NUMBER, TIME, FORCE, U_OWN, U_COMMON, FLAGS, MISSING, RAW, CELLS = range(9)

BAD_WORD = int(Flag.BAD_WORD)
BRIDGE_S = 0.5  # longest hole that is bridged


def rows_of(block: ForceBlock) -> Floats:
    """Lay a block out as rows, leaving out what is not a reading.

    Args:
        block: calibrated force.

    Returns:
        Shape (n, CELLS + channels), n the number of usable readings.
    """
    if len(block) == 1:
        return _row_of(block)
    rows = room(len(block), CELLS + block.cells_N.shape[1])
    rows[:, NUMBER] = block.number
    rows[:, TIME] = block.time_s
    rows[:, FORCE] = block.force_N
    rows[:, U_OWN] = block.u_own_N
    rows[:, U_COMMON] = block.u_common_N
    rows[:, FLAGS] = block.flags
    rows[:, MISSING] = 0.0
    rows[:, RAW] = block.force_N
    rows[:, CELLS:] = block.cells_N
    usable = np.isfinite(block.force_N)
    if block.flags.any():
        usable &= (block.flags & BAD_WORD) == 0
    return rows if usable.all() else rows[usable]


def _row_of(block: ForceBlock) -> Floats:
    """Lay out the one reading of a block, as they come live, at a fraction of the cost."""
    force_N, flags = float(block.force_N[0]), int(block.flags[0])
    cells_N = block.cells_N[0].tolist()
    if flags & BAD_WORD or not math.isfinite(force_N):
        return np.empty((0, CELLS + len(cells_N)))
    number, time_s = float(block.number[0]), float(block.time_s[0])
    u_own_N, u_common_N = float(block.u_own_N[0]), float(block.u_common_N[0])
    row = [number, time_s, force_N, u_own_N, u_common_N, float(flags), 0.0, force_N, *cells_N]
    return np.array([row])


def breaks(rows: Floats, last: Floats | None, rate_hz: float) -> list[int]:
    """Find where a hole is too long to be bridged.

    Args:
        rows: readings, shape (n, columns), n at least 1.
        last: the reading before them, or None at the start of the stream.
        rate_hz: sampling rate [1/s].

    Returns:
        Indices of readings that begin a new run, rising.
    """
    limit_s = BRIDGE_S + 1.5 / rate_hz
    found = []
    if last is not None and (
        rows[0, TIME] - last[TIME] > limit_s
        or rows[0, NUMBER] <= last[NUMBER]
        or rows[0, NUMBER] - last[NUMBER] > 1.0 + BRIDGE_S * rate_hz * 1.25
    ):
        found.append(0)
    if len(rows) > 1:
        step_s = rows[1:, TIME] - rows[:-1, TIME]
        step = rows[1:, NUMBER] - rows[:-1, NUMBER]
        if step.min() == step.max() == 1.0 and step_s.max() <= limit_s:
            return found  # as it is nearly always
        bad = (step_s > limit_s) | (step <= 0.0) | (step > 1.0 + BRIDGE_S * rate_hz * 1.25)
        found.extend(int(k) + 1 for k in np.flatnonzero(bad))
    return found


def bridge(rows: Floats) -> Floats:
    """Put a straight line where numbers are missing.

    Args:
        rows: readings with rising numbers, shape (n, columns).

    Returns:
        Rows without holes in the numbers; those put in are marked MISSING and BAD_WORD.
    """
    number = rows[:, NUMBER]
    if number[-1] - number[0] == len(rows) - 1:
        return rows
    dense = np.arange(number[0], number[-1] + 1.0)
    filled = room(len(dense), rows.shape[1])
    for column in range(rows.shape[1]):
        filled[:, column] = np.interp(dense, number, rows[:, column])
    known = (number - number[0]).astype(np.int64)
    is_hole = np.ones(len(dense), dtype=bool)
    is_hole[known] = False
    filled[is_hole, FLAGS] = float(Flag.BAD_WORD)
    filled[is_hole, MISSING] = 1.0
    return filled


def room(rows: int, columns: int) -> Floats:
    """Make room for rows, each column in one piece."""
    return np.empty((rows, columns), order="F")
