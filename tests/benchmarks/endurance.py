"""Does a reading cost the same after eight hours as after one? Time and memory, hour by hour.

    python -m tests.benchmarks.endurance [--hours 8] [--rate 80] [--at-once 20]

The lines of a board go through the whole pipeline as they would live, a few in a call, at the
pace of the processor. Each row is one simulated hour: a group that takes turns, with noise and
drift, the board's counters going on. What was found is thrown away, as a station does that has
handed it on.
"""

from __future__ import annotations

import argparse
import time
from typing import TYPE_CHECKING

import numpy as np
import psutil

from strikebridge.boards.address import make_decoder
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.calibration.apply import Calibration
from strikebridge.pipeline import Pipeline
from strikebridge.samples import Chunk, Prescription, Rep
from strikebridge.stream_setup import Setup
from tests.benchmarks.analysis import GAIN_N_PER_COUNT, ZERO_COUNTS, force_of

if TYPE_CHECKING:
    from collections.abc import Iterator

LATE_US = 700


def hour_of_chunks(hour: int, hours: float, rate_hz: float) -> Iterator[Chunk]:
    """Make the lines of one hour, or of what is left of it."""
    minutes = 60.0 * min(1.0, hours - hour)
    _, force_N = force_of(minutes, rate_hz)
    counts = np.rint(force_N / GAIN_N_PER_COUNT).astype(np.int64) + ZERO_COUNTS
    first = round(hour * 3600.0 * rate_hz)
    for number, count in enumerate(counts.tolist(), start=first):
        at_us = round(number * 1e6 / rate_hz)
        line = close_line(b"S,%d,%d,%d" % (number % 2**16, at_us % 2**32, count))
        yield Chunk("x", at_us + LATE_US, line)


def table(hours: float, rate_hz: float, at_once: int) -> list[str]:
    """Run all hours and write the table.

    Args:
        hours: simulated time [h].
        rate_hz: sampling rate [1/s].
        at_once: lines in one call.
    """
    calibration = Calibration.by_hand(GAIN_N_PER_COUNT, ZERO_COUNTS)
    setup = Setup(calibration=calibration, prescription=Prescription(hold_s=3.0))
    pipeline = Pipeline(make_decoder("strikebridge-lines"), setup)
    process = psutil.Process()
    rows = ["hour   holds   microseconds a reading   memory MB   beside the first hour"]
    first_us = 0.0
    for hour in range(int(np.ceil(hours))):
        chunks = list(hour_of_chunks(hour, hours, rate_hz))
        batches = [chunks[at : at + at_once] for at in range(0, len(chunks), at_once)]
        start_s = time.process_time()
        holds = sum(isinstance(one, Rep) for batch in batches for one in pipeline.feed(batch))
        each_us = (time.process_time() - start_s) / len(chunks) * 1e6
        del chunks, batches
        first_us = first_us or each_us
        used_mb = process.memory_info().rss / 1e6
        ratio = each_us / first_us
        rows.append(f"{hour + 1:4d} {holds:7d} {each_us:24.2f} {used_mb:11.0f} {ratio:23.2f}")
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
