"""A cell mounted the wrong way round is said so; a ball that moved is not taken for one."""

from __future__ import annotations

import numpy as np
import pytest

from strikebridge.holds import HoldDetector
from strikebridge.samples import Floats, Hold
from tests.holds.blocks import block_of

RATE_HZ = 80.0


def pulls_of(shape_N: Floats, rate_hz: float = RATE_HZ, noise_N: float = 0.3) -> int:
    noise = np.random.default_rng(1).normal(0.0, noise_N, len(shape_N))
    detector = HoldDetector()
    detector.feed(block_of(np.arange(len(shape_N)) / rate_hz, shape_N + noise, rate_hz))
    detector.finish()
    return detector.watch().pulls


def held(
    level_N: float, seconds: float, swing: float, *, rate_hz: float = RATE_HZ, back: bool = True
) -> Floats:
    """Rest for 3 s, hold, and rest for 3 s, or stay there."""
    count = round(seconds * rate_hz)
    t = np.arange(count) / rate_hz
    body = level_N * (1.0 + swing * np.sin(2.0 * np.pi * 1.3 * t))
    rest = np.zeros(round(3.0 * rate_hz))
    return np.concatenate((rest, body, rest if back else np.full(len(rest), body[-1])))


@pytest.mark.parametrize("rate_hz", [10.0, 80.0, 320.0])
@pytest.mark.parametrize("seconds", [1.5, 3.0, 5.0])
def test_a_hold_with_the_sign_turned(rate_hz: float, seconds: float) -> None:
    shape_N = held(-400.0, seconds, 0.02, rate_hz=rate_hz)
    assert pulls_of(shape_N, rate_hz) == 1
    assert pulls_of(-shape_N, rate_hz) == 0


def test_it_makes_no_hold_of_the_rest_that_follows() -> None:
    detector = HoldDetector()
    shape_N = held(-400.0, 4.0, 0.02)
    found = detector.feed(block_of(np.arange(len(shape_N)) / RATE_HZ, shape_N, RATE_HZ))
    assert not [one for one in found + detector.finish() if isinstance(one, Hold)]
    assert detector.watch().pulled_s == pytest.approx(7.0, abs=0.1)


def test_a_perfectly_flat_one_is_too_far_off_for_a_ball_that_moved() -> None:
    assert pulls_of(held(-400.0, 3.0, 0.0)) == 1


@pytest.mark.parametrize(
    "shape_N",
    [
        held(-60.0, 3.0, 0.0),  # a ball that moved, and was put back
        held(-60.0, 9.0, 0.0, back=False),  # and was not
        held(-400.0, 9.0, 0.0, back=False),  # a load taken off for good
        held(-400.0, 0.3, 0.0),  # ringing
        held(-15.0, 3.0, 0.1),  # lighter than any hold
        np.concatenate((held(-300.0, 0.4, 0.0), held(-300.0, 0.4, 0.0))),
    ],
    ids=["moved", "stayed", "taken off", "short", "light", "twice short"],
)
def test_what_is_no_push_with_the_sign_turned(shape_N: Floats) -> None:
    assert pulls_of(shape_N) == 0


def test_a_knock_to_below_is_none() -> None:
    """Two low moments with rest between them do not add up to one push."""
    knock = np.zeros(240)
    shape_N = np.concatenate((np.zeros(240), np.full(20, -300.0), np.full(40, -20.0)))
    assert pulls_of(np.concatenate((shape_N, np.full(20, -300.0), knock))) == 0
