"""What giving times costs: whole hours at once, and sample by sample as from a live board."""

from __future__ import annotations

import time

import numpy as np

from strikebridge.samples import CountBlock
from strikebridge.timebase import Timebase


def stream(*, rate_hz: float, seconds: float, has_ticks: bool, jitter_s: float) -> CountBlock:
    """Make an uneventful stream.

    Args:
        rate_hz: sampling rate [1/s].
        seconds: its length [s].
        has_ticks: whether the board stamps its samples.
        jitter_s: mean delay of the arrivals, exponential [s].
    """
    number = np.arange(round(rate_hz * seconds))
    true_s = number / rate_hz
    delay_s = np.random.default_rng(0).exponential(jitter_s, len(number))
    arrived_us = np.round(np.maximum.accumulate(true_s + delay_s) * 1e6).astype(np.int64)
    ticks_us = np.round(true_s * 1e6).astype(np.int64) if has_ticks else None
    flags = np.zeros(len(number), np.uint16)
    return CountBlock(number, np.zeros((len(number), 1)), arrived_us, ticks_us, flags)


def seconds_for(block: CountBlock) -> float:
    """Measure how long the timebase takes for a stream given at once [s]."""
    timebase = Timebase()
    start = time.perf_counter()
    timebase.feed(block)
    timebase.finish()
    return time.perf_counter() - start


def microseconds_a_sample(block: CountBlock) -> float:
    """Measure how long the timebase takes for a sample that comes alone [us]."""
    timebase = Timebase()
    ticks = block.ticks_us
    alone = [
        CountBlock(
            block.number[i : i + 1],
            block.counts[i : i + 1],
            block.arrived_us[i : i + 1],
            None if ticks is None else ticks[i : i + 1],
            block.flags[i : i + 1],
        )
        for i in range(len(block))
    ]
    start = time.perf_counter()
    for one in alone:
        timebase.feed(one)
    return (time.perf_counter() - start) / len(block) * 1e6
