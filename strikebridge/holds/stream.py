"""Readings in, frames out: holes bridged, spikes taken out, statistics of every frame.

A frame is a fixed group of consecutive running sample numbers, about 0.05 s long, counted from
the first sample of an unbroken run. Because a frame never depends on how the readings were cut
into blocks, neither does anything that is decided on frames.

**Holes.** Lost numbers, NaN and bad words are the same thing here: readings that are not there.
Holes of up to 0.5 s are bridged by a straight line and marked; a longer one breaks the run.

**Spikes.** A reading (above 60 readings/s up to three in a row) is a spike when it leaves the
line through its neighbours by more than 8 SD of the noise, by more than twice what those
neighbours differ by, by more than the range of the three readings before and after (a hit,
however short, takes a converter four conversions up and down again, so its flanks show), and
stands out of the ordinary zig-zag of the readings before it, and by more than a share of the
force there (less is tremor, which a slow converter sees once in several swings). A converter
that lost its place needs some conversions to come back, so a reading just before a hole needs
only to lie outside of both neighbours. Two or three high readings in a row on an untouched ball
are left alone: that is what a tap looks like. A local maximum on a slope passes, because there
the neighbours differ. The decision looks at raw readings only, and at most `look` ahead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Flag, Floats, ForceBlock

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from strikebridge.samples import Ints

# columns of a row: everything about one reading in one float64 matrix, so that taking in a
# block of one reading is one copy; a column lies in one piece, as whole ones are worked on
NUMBER, TIME, FORCE, U_OWN, U_COMMON, FLAGS, MISSING, RAW, CELLS = range(9)

BAD_WORD = int(Flag.BAD_WORD)
FRAME_S = 0.05  # short enough to see a snap begin, long enough to average mains ripple
BRIDGE_S = 0.5  # longest hole that is bridged
USUAL = 12  # readings whose zig-zag tells what is usual
BATCH_ROWS = 8192  # upper limit of one batch, so that memory stays flat
SPIKE_SD = 8.0  # convention of the project for 'not noise'
SPIKE_FLOOR_N = 5.0  # smaller spikes cannot change a verdict
SPIKE_SHARE = 0.03  # of the force there; 60 readings a second show less of any tremor
SLOW_SPIKE_SHARE = 0.15  # where the converter sees a tremor once in several swings
AROUND = 3  # readings before and after that tell how much the force moves about there
HOLE_AFTER = 2  # conversions missing after a reading that make it suspect
TAP_CEILING_N = 5000.0  # no boxer's tap; two times the strongest hold asked for


@dataclass(frozen=True, slots=True)
class Suspect:
    """Readings that stand off the line through their neighbours, holes around them included.

    Attributes:
        begin, end: rows to be bridged, counted from the first row of the batch; they may lie
            partly outside of it.
        before_N: the reading at `begin` - 1 [N].
        after_N: the reading at `end` [N].
        off_N: least deviation from the line, sign kept [N].
        width: how many readings.
    """

    begin: int
    end: int
    before_N: float
    after_N: float
    off_N: float
    width: int

    def line_N(self, first: int, last: int) -> Floats:
        """Return the line at rows `first` to `last` - 1 of the batch [N]."""
        slope = (self.after_N - self.before_N) / (self.end - self.begin + 1)
        steps = np.arange(first - self.begin + 1, last - self.begin + 1, dtype=np.float64)
        return self.before_N + slope * steps


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
        mean, low, high, within: mean, least and largest force [N] and variance inside each
            frame [N2], shape (frames,).
        is_seen: False for a frame of bridged readings only.
        spikes: suspects by frame.
        length: readings per frame.
    """

    first: int
    rows: Floats
    mean: list[float]
    low: list[float]
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
            self.low[frame] = float(force.min())
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
        self._rows = _room(max(64, 4 * self.length), self.columns)

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
            grown = _room(2 * needed, self.columns)
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
            low=np.minimum.reduce(force, axis=1).tolist(),
            high=np.maximum.reduce(force, axis=1).tolist(),
            within=within.tolist(),
            is_seen=is_seen,
            spikes=spikes,
            length=length,
        )


def suspects(raw_N: Floats, holes: Floats, origin: int, look: int) -> list[Suspect]:
    """Find readings that stand off the line through their neighbours.

    Args:
        raw_N: force as it came [N], bridged holes included, shape (n,).
        holes: 1 where a reading was bridged, shape (n,).
        origin: row that suspects are counted from.
        look: most readings in a row, and how far after each there is to see.

    Returns:
        The suspects, by their first reading.
    """
    at = np.flatnonzero(holes == 0.0) if holes.any() else np.arange(len(holes))
    if len(at) < 3:
        return []
    force = raw_N[at] if len(at) < len(raw_N) else raw_N
    # readings before the batch are looked at again only as far as they can matter to it
    begin = max(1, int(np.searchsorted(at, origin)) - look - 3)
    jump = force[begin:] - force[begin - 1 : -1]
    is_large = np.abs(jump, out=jump) > SPIKE_FLOOR_N
    large = np.flatnonzero(is_large) + begin
    if not len(large):
        return []  # as it is at rest and in a steady hold
    outstanding = large[jump[large - begin] > 3.0 * _usual(force, large)]
    found: list[Suspect] = []
    taken: set[int] = set()
    may_be = np.ones(len(outstanding), dtype=bool)
    if len(at) == len(raw_N):
        may_be = _may_stand_off(force, outstanding, look)
    for start, is_worth_it in zip(outstanding.tolist(), may_be.tolist(), strict=True):
        if not is_worth_it and start - 1 not in taken:
            continue
        before = start - 1
        while before in taken:
            before -= 1
        # no further than `look` rows ahead, whatever has come; the end of a hole always has
        stop = max(int(np.searchsorted(at, at[start] + look, side="right")), start + 2)
        stop = min(stop, len(at))
        quiet = [k for k in range(max(0, before - AROUND + 1), before) if k not in taken]
        for width in range(1, stop - start):
            chosen = [before, *range(start, start + width + 1)]
            around = force[[*quiet, before, *range(start + width, stop)]]
            suspect = _stands_off(
                (at[chosen] - origin).tolist(), force[chosen].tolist(), float(np.ptp(around))
            )
            if suspect is not None:
                taken.update(range(start, start + width))
                found.append(suspect)
                break
    return [s for s in found if s.end > 0]


def _usual(force_N: Floats, index: Ints) -> Floats:
    """Say how far the readings before some were apart, as a rule [N].

    Args:
        force_N: the readings [N], shape (n,).
        index: which ones; from 1.

    Returns:
        The square of the mean square root of the `USUAL` steps before each, or of as many as
        there are, so that one old spike does not hide a new one; 0 where there is none.
    """
    steps = index[:, np.newaxis] - np.arange(USUAL, 0, -1)
    roots = np.sqrt(np.abs(force_N[np.maximum(steps, 0)] - force_N[np.maximum(steps - 1, 0)]))
    usual: Floats = (roots.sum(axis=1) / np.minimum(index, USUAL)) ** 2
    return usual


def _may_stand_off(force_N: Floats, starts: Ints, look: int) -> NDArray[np.bool_]:
    """Leave out most of those that `_stands_off` would refuse, all at once.

    Args:
        force_N: the readings, none missing [N], shape (n,).
        starts: first of the readings in question, shape (m,).
        look: most readings in a row.

    Returns:
        False where up to `look` readings surely do not stand off, shape (m,).
    """
    may_be = starts + look >= len(force_N)  # the end is near: not looked at here
    near = np.minimum(starts, len(force_N) - 1 - look)
    before_N = force_N[near - 1]
    for width in range(1, look + 1):
        apart_N = force_N[near + width] - before_N
        inside = np.arange(1, width + 1)
        off_N = force_N[near[:, np.newaxis] + (inside - 1)] - before_N[:, np.newaxis]
        off_N -= apart_N[:, np.newaxis] * (inside / (width + 1))
        limit_N = np.maximum(SPIKE_FLOOR_N, 2.0 * np.abs(apart_N))
        # a little less, as rounding may differ
        may_be |= np.abs(off_N).min(axis=1) >= 0.999 * limit_N
    return may_be


def _stands_off(at: list[int], force_N: list[float], around_N: float) -> Suspect | None:
    """Make a suspect of the inner readings if they leave the line through the outer two.

    Args:
        at: rows of the readings.
        force_N: the readings [N]; the outer two are the neighbours.
        around_N: range of the readings before and after [N].
    """
    before_N, after_N = force_N[0], force_N[-1]
    apart_N = abs(after_N - before_N)
    slope = (after_N - before_N) / (at[-1] - at[0])
    off = [
        x - before_N - slope * (k - at[0]) for k, x in zip(at[1:-1], force_N[1:-1], strict=True)
    ]
    least_N = min(off, key=abs)
    limit_N = max(2.0 * apart_N, around_N)
    if len(off) == 1 and at[2] - at[1] > HOLE_AFTER:
        inside_N = force_N[1]
        outside_N = max(inside_N - max(before_N, after_N), min(before_N, after_N) - inside_N)
        limit_N = 0.0 if outside_N > 0.25 * apart_N else limit_N
    if min(off) < 0.0 < max(off) or abs(least_N) <= max(SPIKE_FLOOR_N, limit_N):
        return None
    return Suspect(
        begin=at[0] + 1,
        end=at[-1],
        before_N=before_N,
        after_N=after_N,
        off_N=least_N,
        width=len(off),
    )


def _room(rows: int, columns: int) -> Floats:
    """Make room for rows, each column in one piece."""
    return np.empty((rows, columns), order="F")


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
    filled = _room(len(dense), rows.shape[1])
    for column in range(rows.shape[1]):
        filled[:, column] = np.interp(dense, number, rows[:, column])
    known = (number - number[0]).astype(np.int64)
    is_hole = np.ones(len(dense), dtype=bool)
    is_hole[known] = False
    filled[is_hole, FLAGS] = float(Flag.BAD_WORD)
    filled[is_hole, MISSING] = 1.0
    return filled


def rows_of(block: ForceBlock) -> Floats:
    """Lay a block out as rows, leaving out what is not a reading.

    Args:
        block: calibrated force.

    Returns:
        Shape (n, CELLS + channels), n the number of usable readings.
    """
    if len(block) == 1:
        return _row_of(block)
    rows = _room(len(block), CELLS + block.cells_N.shape[1])
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
