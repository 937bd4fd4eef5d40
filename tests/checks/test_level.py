from __future__ import annotations

import numpy as np
import pytest

from strikebridge.checks.level import level_of
from strikebridge.samples import Flag, TimedBlock

RATE_HZ = 80.0


def block(counts: np.ndarray, flags: np.ndarray | None = None) -> TimedBlock:
    counts = counts.reshape(len(counts), -1)
    n = len(counts)
    return TimedBlock(
        np.arange(n),
        np.arange(n) / RATE_HZ,
        counts,
        np.zeros(n, dtype=np.uint16) if flags is None else flags,
        RATE_HZ,
    )


def test_mean_and_noise_of_white_noise() -> None:
    counts = np.random.default_rng(1).normal([100.0, -50.0], [3.0, 1.0], (800, 2))
    level = level_of([block(counts)], 1.0, 7.0)
    assert level is not None
    inside = counts[80:561]
    assert level.reading == pytest.approx(inside.mean(axis=0))
    assert level.noise == pytest.approx([3.0, 1.0], rel=0.12)
    assert level.n == 481
    assert (level.start_s, level.end_s) == (1.0, 7.0)
    assert level.dof == 11


def test_the_doubt_is_that_of_the_mean_by_simulation() -> None:
    # white noise and a zero that wanders slowly: what SD / sqrt(n) would understate
    draw = np.random.default_rng(2)
    errors, stated = [], []
    for _ in range(300):
        hum = np.sin(2 * np.pi * (1.1 * np.arange(240) / RATE_HZ + draw.uniform()))
        made = level_of([block(draw.normal(0.0, 1.0, 240) + hum)], 0.0, 3.0)
        assert made is not None
        errors.append(made.reading[0])
        stated.append(made.u[0])
    assert np.sqrt(np.mean(np.square(stated))) >= 0.95 * np.std(errors)


def test_blocks_of_any_size_give_the_same() -> None:
    whole = block(np.random.default_rng(3).normal(0.0, 1.0, 400))
    parts = [
        TimedBlock(
            whole.number[i : i + 7],
            whole.time_s[i : i + 7],
            whole.counts[i : i + 7],
            whole.flags[i : i + 7],
            RATE_HZ,
        )
        for i in range(0, 400, 7)
    ]
    assert level_of(parts, 0.5, 4.0) == level_of([whole], 0.5, 4.0)


def test_glitches_and_readings_at_the_end_of_the_converter_are_left_out() -> None:
    counts = np.full(400, 5.0)
    flags = np.zeros(400, dtype=np.uint16)
    counts[100], flags[100] = 1e9, Flag.BAD_WORD
    counts[200], flags[200] = 8388607.0, Flag.SATURATED
    level = level_of([block(counts, flags)], 0.0, 4.9)
    assert level is not None
    assert level.reading == (5.0,)
    assert level.u == (0.0,)


def test_too_little_is_no_level() -> None:
    assert level_of([], 0.0, 3.0) is None
    assert level_of([block(np.zeros(100))], 0.0, 9.0) is None
