"""Stalls of a rise: how long, how high, and what is none."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.verdict.limits import DEFAULT_LIMITS
from strikebridge.verdict.stages import find_stage
from tests.made_holds import held, snap

if TYPE_CHECKING:
    from strikebridge.samples import Floats
    from tests.made_holds import Shape


def stepped(low: float, pause_s: float) -> Shape:
    def shape(since_s: Floats) -> Floats:
        risen = np.clip(since_s / 0.02, 0.0, 1.0)
        return low * risen + (1.0 - low) * np.clip((since_s - 0.02 - pause_s) / 0.05, 0.0, 1.0)

    return shape


@settings(max_examples=25, deadline=None)
@given(low=st.floats(0.15, 0.7), pause_s=st.floats(0.2, 0.9), scale=st.floats(0.2, 6.0))
def test_a_pause_is_found_with_its_height_and_length(
    low: float, pause_s: float, scale: float
) -> None:
    stage = find_stage(held(stepped(low, pause_s), newtons=300.0 * scale), DEFAULT_LIMITS)
    assert stage is not None
    assert stage.seconds == pytest.approx(pause_s, abs=0.03)
    assert stage.share == pytest.approx(low, abs=0.02)
    assert not stage.is_double


def test_a_pause_shorter_than_the_limit_is_none() -> None:
    assert find_stage(held(stepped(0.4, 0.1)), DEFAULT_LIMITS) is None


def test_a_pause_above_80_percent_is_part_of_the_hold() -> None:
    assert find_stage(held(stepped(0.85, 0.5)), DEFAULT_LIMITS) is None


@pytest.mark.parametrize("low", [0.6, 0.75])
def test_the_final_passage_of_80_percent_counts_and_not_the_first(low: float) -> None:
    def dipping(since_s: Floats) -> Floats:
        dip = (0.87 - low) * (np.clip((since_s - 0.2) / 0.05, 0.0, 1.0))
        climb = (1.0 - low) * np.clip((since_s - 0.55) / 0.05, 0.0, 1.0)
        return 0.87 * snap(since_s) - dip + climb

    stage = find_stage(held(dipping), DEFAULT_LIMITS)
    assert stage is not None
    assert not stage.is_double
    # from the top before the dip until the push passes it
    assert stage.seconds == pytest.approx(0.6 - 0.2, abs=0.06)


def test_swings_of_the_plateau_through_80_percent_are_no_second_rise() -> None:
    def shaking(since_s: Floats) -> Floats:
        return snap(since_s) * (1.0 + 0.13 * np.sin(2.0 * np.pi * 4.0 * since_s))

    assert find_stage(held(shaking), DEFAULT_LIMITS) is None


def test_an_overshoot_that_fades_to_below_80_percent_is_no_second_rise() -> None:
    def overshooting(since_s: Floats) -> Floats:
        fading = 0.3 * np.exp(-np.maximum(since_s, 0.0) / 0.2)
        return snap(since_s) * (1.0 + fading) * (1.0 + 0.02 * np.sin(2.0 * np.pi * since_s))

    assert find_stage(held(overshooting), DEFAULT_LIMITS) is None


def test_a_fall_and_the_second_hit() -> None:
    def bouncing(since_s: Floats) -> Floats:
        bump = np.where((since_s > 0.0) & (since_s < 0.3), np.sin(np.pi * since_s / 0.3), 0.0)
        return 0.9 * bump + snap(since_s - 0.45)

    stage = find_stage(held(bouncing), DEFAULT_LIMITS)
    assert stage is not None
    assert stage.is_double
    # from the top of the first hit at 0.15 s until the push passes it
    assert stage.seconds == pytest.approx(0.45 + 0.05 * np.log(10.0) - 0.15, abs=0.05)


@pytest.mark.parametrize("seed", range(5))
def test_noise_of_a_weak_hold_makes_no_stage(seed: int) -> None:
    rng = np.random.default_rng(seed)
    weak = held(snap, rate_hz=1000.0, newtons=80.0, noise_N=2.5, rng=rng)
    assert find_stage(weak, DEFAULT_LIMITS) is None
