"""Following the zero frame by frame or many frames at once comes to the same."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.holds.zero import ZeroTracker


def learned(frames: int, length: int, load_N: float) -> ZeroTracker:
    tracker = ZeroTracker(0.05, length)
    rng = np.random.default_rng(frames)
    for mean_N, var in zip(rng.normal(size=frames), rng.chisquare(3, frames), strict=True):
        tracker.follow(float(mean_N), float(var))
    if load_N:
        tracker.return_to_rest(load_N)
    return tracker


@given(
    seed=st.integers(0, 10_000),
    length=st.sampled_from([1, 4, 64]),
    before=st.integers(0, 120),
    load_N=st.sampled_from([0.0, 400.0]),
    kick_N=st.sampled_from([0.0, 3.0, 12.0, 400.0, -30.0]),
    kicked=st.integers(0, 99),
)
def test_many_frames_at_once_come_to_the_same(
    seed: int, length: int, before: int, load_N: float, kick_N: float, kicked: int
) -> None:
    rng = np.random.default_rng(seed)
    means_N = 0.3 * rng.normal(size=100) + 0.001 * np.arange(100)
    means_N[kicked] += kick_N
    within_vars = rng.chisquare(3, size=100).tolist()
    plain = (rng.uniform(size=100) > 0.01).tolist()
    single, many = learned(before, length, load_N), learned(before, length, load_N)
    taken = many.follow_many(means_N.tolist(), within_vars, plain)
    for mean_N, var in zip(means_N[:taken].tolist(), within_vars[:taken], strict=True):
        assert abs(mean_N - single.zero_N) <= single.touch_N
        single.follow(mean_N, var)
    assert asdict(many) == asdict(single)
    is_learning = before <= 41 or load_N > 0.0  # the first frame teaches no noise
    if taken < 100 and not is_learning:
        away_N = abs(float(means_N[taken]) - single.zero_N)
        assert not plain[taken] or away_N > single.touch_N


def test_at_rest_many_are_taken_and_a_push_is_not() -> None:
    tracker = learned(60, 4, 0.0)
    assert tracker.follow_many([0.1] * 20 + [50.0, 0.1], [1.0] * 22, [True] * 22) == 20
    assert tracker.follow_many([0.1, 0.1], [1.0] * 2, [True, False]) == 1
