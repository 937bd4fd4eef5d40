"""Mains ripple before a rise: what is taken off, and that the quick look misses none of it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.holds.refine import RIPPLE_SHARE, Readings, _may_carry_ripple, take_off_ripple
from strikebridge.holds.rows import CELLS, TIME


def rest(rate_hz: float, hum_N: float, hum_hz: float, seed: int) -> Readings:
    """Make a second and a half of rest with noise of 1 N, a drift, and a hum."""
    rng = np.random.default_rng(seed)
    time_s = 5.0 + np.arange(round(1.5 * rate_hz)) / rate_hz
    hum = hum_N * np.sin(2.0 * np.pi * hum_hz * time_s + rng.uniform(0.0, 6.0))
    rows = np.zeros((len(time_s), CELLS + 1))
    rows[:, TIME] = time_s
    force_N = rng.normal(size=len(time_s)) + 3.0 * (time_s - 5.0) + hum
    return Readings(rows, force_N, len(rows), 0, 0.0, 2.0, rate_hz)


def share_of_wave(readings: Readings, quiet: slice, hz: float) -> float:
    """Work out independently, by projections, what a wave carries of the spread."""
    time_s, y = readings.time_s[quiet], readings.force_N[quiet]
    turn = 2.0 * np.pi * hz * (time_s - time_s[0])
    straight, _ = np.linalg.qr(np.column_stack((np.ones_like(time_s), time_s - time_s[0])))
    left = y - straight @ (straight.T @ y)
    waves = np.column_stack((np.sin(turn), np.cos(turn)))
    waves -= straight @ (straight.T @ waves)
    base, sizes, _ = np.linalg.svd(waves, full_matrices=False)
    base = base[:, sizes > 1e-9 * len(y)]
    return float(np.sum((base.T @ left) ** 2) / np.sum(left**2))


@settings(deadline=None)
@given(
    st.sampled_from([120.0, 150.0, 240.0, 320.7, 500.0, 1000.0]),
    st.floats(0.0, 3.0),
    st.sampled_from([49.9, 50.0, 60.0, 71.0]),
    st.integers(0, 2**32),
)
def test_ripple_is_taken_off_where_it_carries_half_of_the_spread(
    rate_hz: float, hum_N: float, hum_hz: float, seed: int
) -> None:
    readings = rest(rate_hz, hum_N, hum_hz, seed)
    quiet = slice(0, round(rate_hz))
    share = max(share_of_wave(readings, quiet, hz) for hz in (50.0, 60.0))
    force_N, noise_N = take_off_ripple(readings, quiet)
    is_taken = force_N is not readings.force_N
    if abs(share - RIPPLE_SHARE) > 1e-6:
        assert is_taken is (share > RIPPLE_SHARE)
    assert noise_N <= readings.noise_N


@pytest.mark.parametrize("rate_hz", [120.0, 121.0])
def test_a_board_of_twice_the_mains_shows_no_ripple_in_noise(rate_hz: float) -> None:
    readings = rest(rate_hz, 0.0, 60.0, 3)
    force_N, noise_N = take_off_ripple(readings, slice(0, 120))
    assert force_N is readings.force_N
    assert noise_N == readings.noise_N


def test_a_hum_a_little_too_small_is_looked_at_closely_and_left() -> None:
    readings, quiet = rest(500.0, 1.4, 50.0, 9), slice(0, 500)
    assert 0.99 * RIPPLE_SHARE < share_of_wave(readings, quiet, 50.0) < RIPPLE_SHARE
    force_N, noise_N = take_off_ripple(readings, quiet)
    assert force_N is readings.force_N
    assert noise_N == readings.noise_N


def test_where_sine_and_cosine_are_one_the_closer_look_decides() -> None:
    # at twice its frequency, an eighth of a period after it passed zero, both say the same
    time_s = np.linspace(0.25 / 120.0, 119.25 / 120.0, 120)
    assert _may_carry_ripple(time_s, np.random.default_rng(1).normal(size=120))
