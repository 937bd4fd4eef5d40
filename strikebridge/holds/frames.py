"""Readings in, frames out: spikes taken out, statistics of every frame.

A frame is a fixed group of consecutive running sample numbers, about 0.05 s long, counted from
the first sample of an unbroken run. Because a frame never depends on how the readings were cut
into blocks, neither does anything that is decided on frames. How holes are bridged stands in
`rows`, what a spike is in `spikes`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.holds.rows import FORCE, MISSING, NUMBER, RAW, bridge, room
from strikebridge.holds.spikes import suspects

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.holds.spikes import Suspect
    from strikebridge.samples import Floats

FRAME_S = 0.05  # short enough to see a snap begin, long enough to average mains ripple
BATCH_ROWS = 8192  # upper limit of one batch, so that memory stays flat


def frame_length(rate_hz: float) -> int:
    """Choose how many readings make a frame.

    Powers of two, with class borders far from the usual rates (10, 80, 320, 1000 readings/s
    and their real values), so that a rate estimated a little differently changes nothing.

    Args:
        rate_hz: sampling rate [1/s].

    Returns:
        Readings per frame, at least 1; about 0.05 s.
    """
    return 1 << max(0, round(math.log2(max(rate_hz, 1.0) * FRAME_S)))


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Complete frames of one unbroken run.

    Attributes:
        first: position in the run of the first reading.
        rows: one row a reading, shape (frames * length, columns); FORCE of a spike is changed
            in place when the spike is confirmed.
        mean, high, within: mean and largest force [N] and variance inside each
            frame [N2], shape (frames,).
        is_seen: False for a frame of bridged readings only.
        spikes: suspects by frame.
        length: readings per frame.
    """

    first: int
    rows: Floats
    mean: list[float]
    high: list[float]
    within: list[float]
    is_seen: list[bool]
    spikes: dict[int, list[Suspect]]
    length: int

    def remove_spikes(self, frame: int, is_spike: Callable[[float, float, int], bool]) -> bool:
        """Decide on the suspects of one frame and bridge those that are spikes.

        Args:
            frame: index of the frame in the batch.
            is_spike: told the line there [N], the least deviation from it, sign kept [N], and
                the number of readings; says whether it is a spike.

        Returns:
            True if anything changed; the frame's statistics are then renewed.
        """
        changed = False
        begin, end = frame * self.length, (frame + 1) * self.length
        for suspect in self.spikes.get(frame, ()):
            middle_N = 0.5 * (suspect.before_N + suspect.after_N)
            if is_spike(middle_N, suspect.off_N, suspect.width):
                first, last = max(suspect.begin, begin), min(suspect.end, end)
                self.rows[first:last, FORCE] = suspect.line_N(first, last)
                self.rows[first:last, MISSING] = 1.0
                changed = True
        if changed:
            force = self.rows[begin:end, FORCE]
            self.mean[frame] = float(force.mean())
            self.high[frame] = float(force.max())
            self.is_seen[frame] = not self.rows[begin:end, MISSING].all()
            self.within[frame] = float(force.var(ddof=1)) if self.length > 1 else 0.0
        return changed


@dataclass(slots=True)
class Intake:
    """Turn the blocks of one unbroken run into batches of frames.

    Attributes:
        length: readings per frame.
        look: readings that must have come after a frame before it is judged.
        columns: columns of a row.
        keep: rows kept to look back on: a hole, and the readings before it.
    """

    length: int
    look: int
    columns: int
    keep: int
    _rows: Floats = field(init=False)
    _filled: int = 0
    _context: int = 0
    _first: int = 0

    def __post_init__(self) -> None:
        self._rows = room(max(64, 4 * self.length), self.columns)

    def add(self, rows: Floats) -> None:
        """Append readings, bridging the holes before and between them.

        Args:
            rows: shape (n, columns), n at least 1, numbers rising, holes no longer than
                allowed.
        """
        if self._filled:
            last = self._rows[self._filled - 1]
            if rows[-1, NUMBER] - last[NUMBER] != len(rows):
                rows = bridge(np.vstack((last, rows)))[1:]
        elif len(rows) > 1:
            rows = bridge(rows)
        needed = self._filled + len(rows)
        if needed > len(self._rows):
            grown = room(2 * needed, self.columns)
            grown[: self._filled] = self._rows[: self._filled]
            self._rows = grown
        self._rows[self._filled : needed] = rows
        self._filled = needed

    def _ready(self) -> int:
        """Count the rows that can be judged: a hole only with the reading that ends it."""
        end = self._filled - self.look
        while end > self._context and self._rows[end - 1, MISSING]:
            end -= 1
        return end - self._context

    def pending(self) -> Floats:
        """Return the raw force of readings not yet handed out in a batch [N], shape (n,)."""
        return self._rows[self._context : self._filled, RAW]

    def take(self, *, all_of_it: bool = False) -> Batch | None:
        """Hand out the frames that can be judged.

        Args:
            all_of_it: the run is over; do not wait for readings to look ahead at. Readings
                that do not fill a frame make a shorter last one of their own.

        Returns:
            A batch, or None while no frame is complete.
        """
        waiting = self._filled - self._context
        frames = (waiting if all_of_it else self._ready()) // self.length
        length = self.length
        if all_of_it and frames == 0 and waiting:
            frames, length = 1, waiting
        if frames <= 0:
            return None
        count = frames * length
        batch = self._batch(frames, length, count)
        keep = max(0, self._context + count - self.keep)
        left = self._filled - keep
        self._rows[:left] = self._rows[keep : self._filled].copy("F")
        self._context += count - keep
        self._filled = left
        self._first += count
        return batch

    def _batch(self, frames: int, length: int, count: int) -> Batch:
        rows = self._rows[self._context : self._context + count].copy("F")
        force = rows[:, FORCE].reshape(frames, length)
        mean = np.add.reduce(force, axis=1) / length
        within = np.zeros(frames)
        if length > 1:
            # as NumPy's var has it, but with the mean that is known already
            off = force - mean[:, np.newaxis]
            within = np.add.reduce(np.multiply(off, off, out=off), axis=1) / (length - 1)
        missing = rows[:, MISSING]
        is_seen = [True] * frames
        if missing.any():
            is_seen = (missing.reshape(frames, length).min(axis=1) == 0.0).tolist()
        spikes: dict[int, list[Suspect]] = {}
        seen = self._rows[: self._filled]
        for suspect in suspects(seen[:, RAW], seen[:, MISSING], self._context, self.look):
            first, last = max(0, suspect.begin), min(suspect.end, count) - 1
            for frame in range(first // length, last // length + 1):
                spikes.setdefault(frame, []).append(suspect)
        return Batch(
            first=self._first,
            rows=rows,
            mean=mean.tolist(),
            high=np.maximum.reduce(force, axis=1).tolist(),
            within=within.tolist(),
            is_seen=is_seen,
            spikes=spikes,
            length=length,
        )
