"""Does a reading cost the same after eight hours as in a fresh stream? Time and memory.

    python -m tests.benchmarks.endurance [--hours 8] [--rate 80] [--at-once 20]

The lines of a board go through the whole pipeline as they would live, a few in a call, at the
pace of the processor. Each row is one simulated hour: a group that takes turns, with noise and
drift, the board's counters going on. What was found is thrown away, as a station does that has
handed it on.

Other programs and a warm processor change what a reading costs from minute to minute, for old
and new alike. So the last minutes of each hour also go through a stream that has just begun,
and the two take turns: each window of one hold and its rest goes through both, the one first
that came second before. Processor time of this thread counts, and the ratio of each window; the
row gives the middle of the ratios, and the quarter of them on either side. A fresh stream first
gets a minute that is not counted. In the first hour, where both are nearly as young, the ratio
shows what such a comparison is worth on this machine now.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import psutil

from strikebridge.boards.address import make_decoder
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.calibration.apply import Calibration
from strikebridge.pipeline import Pipeline
from strikebridge.samples import Chunk, Prescription, Rep
from strikebridge.stream_setup import Setup
from tests.benchmarks.analysis import GAIN_N_PER_COUNT, PERIOD_S, ZERO_COUNTS, force_of

if TYPE_CHECKING:
    from strikebridge.samples import Ints

LATE_US = 700
MEASURED_S = 900.0  # of each hour, at its end, beside a fresh stream
WARM_S = 60.0  # of the fresh stream before that
HEAD = (
    "hour   holds   microseconds a reading: old   fresh   "
    "old / fresh: middle  (quarter .. quarter)   memory MB"
)


@dataclass(slots=True)
class Stream:
    """One board, and the pipeline it is read by.

    Attributes:
        rate_hz: sampling rate [1/s].
        at_once: lines in one call.
        pipeline: what reads them.
        number: readings so far.
        holds: holds found so far.
    """

    rate_hz: float
    at_once: int
    pipeline: Pipeline
    number: int = 0
    holds: int = 0

    def take(self, counts: Ints) -> float:
        """Send readings through, and say what each cost in processor time [us]."""
        chunks = []
        for number, count in enumerate(counts.tolist(), start=self.number):
            at_us = round(number * 1e6 / self.rate_hz)
            line = close_line(b"S,%d,%d,%d" % (number % 2**16, at_us % 2**32, count))
            chunks.append(Chunk("x", at_us + LATE_US, line))
        self.number += len(chunks)
        step = self.at_once
        batches = [chunks[at : at + step] for at in range(0, len(chunks), step)]
        start_s = time.thread_time()
        found = [one for batch in batches for one in self.pipeline.feed(batch)]
        each_us = (time.thread_time() - start_s) / len(chunks) * 1e6
        self.holds += sum(isinstance(one, Rep) for one in found)
        return each_us


def begin(rate_hz: float, at_once: int) -> Stream:
    """Begin a stream."""
    calibration = Calibration.by_hand(GAIN_N_PER_COUNT, ZERO_COUNTS)
    setup = Setup(calibration=calibration, prescription=Prescription(hold_s=3.0))
    return Stream(rate_hz, at_once, Pipeline(make_decoder("strikebridge-lines"), setup))


def windows_of(minutes: float, rate_hz: float) -> list[Ints]:
    """Make the counts of some minutes, cut where one athlete follows another."""
    _, force_N = force_of(minutes, rate_hz)
    counts = np.rint(force_N / GAIN_N_PER_COUNT).astype(np.int64) + ZERO_COUNTS
    size = round(PERIOD_S * rate_hz)
    return [counts[at : at + size] for at in range(0, len(counts), size)]


def hour_in_turn(old: Stream, windows: list[Ints]) -> list[tuple[float, float]]:
    """Send an hour through the old stream, the last of it through a fresh one as well.

    Returns:
        What a reading cost in old and fresh, for each window that went through both [us].
    """
    measured = min(len(windows), round(MEASURED_S / PERIOD_S))
    first = len(windows) - measured
    fresh = begin(old.rate_hz, old.at_once)
    # where there is nothing before, the fresh stream warms up on what follows
    for counts in windows[max(0, first - round(WARM_S / PERIOD_S)) : first] or windows[:1]:
        fresh.take(counts)
    for counts in windows[:first]:
        old.take(counts)
    pairs: list[tuple[float, float]] = []
    for turn, counts in enumerate(windows[first:]):
        if turn % 2:
            fresh_us, old_us = fresh.take(counts), old.take(counts)
        else:
            old_us, fresh_us = old.take(counts), fresh.take(counts)
        pairs.append((old_us, fresh_us))
    return pairs


def table(hours: float, rate_hz: float, at_once: int) -> list[str]:
    """Run all hours and write the table.

    Args:
        hours: simulated time [h].
        rate_hz: sampling rate [1/s].
        at_once: lines in one call.
    """
    old = begin(rate_hz, at_once)
    process = psutil.Process()
    rows = [HEAD]
    before = 0
    for hour in range(int(np.ceil(hours))):
        pairs = hour_in_turn(old, windows_of(60.0 * min(1.0, hours - hour), rate_hz))
        old_us, fresh_us = np.median(pairs, axis=0).tolist()
        low, middle, high = np.percentile([a / b for a, b in pairs], [25, 50, 75]).tolist()
        used_mb = process.memory_info().rss / 1e6
        rows.append(
            f"{hour + 1:4d} {old.holds - before:7d} {old_us:29.2f} {fresh_us:7.2f} "
            f"{middle:21.3f}  ({low:.3f} .. {high:.3f}) {used_mb:18.0f}"
        )
        before = old.holds
    return rows


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=8.0)
    parser.add_argument("--rate", type=float, default=80.0)
    parser.add_argument("--at-once", type=int, default=20)
    options = parser.parse_args()
    print("\n".join(table(options.hours, options.rate, options.at_once)))


if __name__ == "__main__":
    main()
