from __future__ import annotations

import numpy as np
import pytest

from strikebridge.checks.level import level_of

RATE_HZ = 80.0


def times(n: int) -> np.ndarray:
    return np.arange(n) / RATE_HZ


def test_mean_and_noise_of_white_noise() -> None:
    readings = np.random.default_rng(1).normal([100.0, -50.0], [3.0, 1.0], (481, 2))
    level = level_of(times(481), readings)
    assert level is not None
    assert level.reading == pytest.approx(readings.mean(axis=0))
    assert level.noise == pytest.approx([3.0, 1.0], rel=0.12)
    assert level.n == 481
    assert (level.start_s, level.end_s) == (0.0, 6.0)
    assert level.dof == 11


def test_the_doubt_is_that_of_the_mean_by_simulation() -> None:
    # noise and a slow hum: what SD / sqrt(n) of neighbouring readings would understate
    draw = np.random.default_rng(2)
    errors, stated = [], []
    for _ in range(300):
        hum = np.sin(2 * np.pi * (1.1 * times(240) + draw.uniform()))
        made = level_of(times(240), (draw.normal(0.0, 1.0, 240) + hum)[:, np.newaxis])
        assert made is not None
        errors.append(made.reading[0])
        stated.append(made.u[0])
    assert np.sqrt(np.mean(np.square(stated))) >= 0.95 * np.std(errors)


def test_too_little_is_no_level() -> None:
    assert level_of(np.empty(0), np.empty((0, 1))) is None
    assert level_of(times(7), np.zeros((7, 1))) is None
    # twenty readings, but all within the first of four pieces, then one
    at_s = np.append(times(19), 9.0)
    assert level_of(at_s, np.zeros((20, 1))) is None


def test_a_slow_board_needs_eight_readings() -> None:
    level = level_of(np.arange(8) / 2.5, np.arange(8.0)[:, np.newaxis])
    assert level is not None
    assert level.reading == (3.5,)
