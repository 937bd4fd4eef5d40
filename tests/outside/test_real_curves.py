"""A real isometric contraction: one hold, not split, not lost, and a ramp.

A published knee extension that a person steered by sight: about 5 s up, 20 s at a quarter of
the maximum, 5 s down. Source: reference channel of the test file of openhdemg 0.1.2; how it
gets here, and why it is not kept with the sources, stands in `real_curves`.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.analysis import Analysis, analyse_file
from strikebridge.stream_setup import Setup
from tests.made_holds import sure
from tests.outside.real_curves import RATE_HZ, WHEEL, knee_extension

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.samples import Floats

NEWTONS_PER_PERCENT = (5.0, 10.0, 20.0)  # from a light to a very strong leg: inference

FETCH = "python -m tests.outside.real_curves fetches the recording"


@pytest.fixture(scope="module")
def percent() -> Floats:
    if not WHEEL.exists():
        if "CI" in os.environ:
            pytest.fail(FETCH)
        pytest.skip(FETCH)
    return knee_extension()


def delivered(percent: Floats, rate_hz: float) -> Floats:
    """Average as a slower converter would, over its own period."""
    starts = np.round(np.arange(0.0, len(percent) - 1.0, RATE_HZ / rate_hz)).astype(np.int64)
    return np.add.reduceat(percent, starts) / np.diff(np.append(starts, len(percent)))


def analysed(force_N: Floats, rate_hz: float, path: Path) -> Analysis:
    time_s = np.arange(len(force_N)) / rate_hz
    rows = (f"{t:.6f},{f:.4f}\n" for t, f in zip(time_s, force_N, strict=True))
    path.write_text("time_s,force_N\n" + "".join(rows))
    return analyse_file(path, Setup())


def test_it_is_the_curve_that_is_meant(percent: Floats) -> None:
    assert len(percent) == 66_560
    assert percent.max() == pytest.approx(27.17, abs=0.005)
    assert np.median(percent) == pytest.approx(25.7, abs=0.3)


@pytest.mark.parametrize("newtons", NEWTONS_PER_PERCENT)
@pytest.mark.parametrize("rate_hz", [2048.0, 1000.0, 320.0, 80.0, 10.0])
def test_one_hold_neither_split_nor_lost(
    percent: Floats, rate_hz: float, newtons: float, tmp_path: Path
) -> None:
    force_N = newtons * delivered(percent, rate_hz)
    found = analysed(force_N, rate_hz, tmp_path / "knee.csv")
    (rep,) = found.reps
    assert found.contacts == ()
    # by eye in the curve: it leaves 1.7 % about 1 s in, and falls through half at 28.6 s
    assert rep.hold.onset_s == pytest.approx(1.0, abs=0.3)
    assert sure(rep.hold.release_s) == pytest.approx(28.6, abs=0.15)
    half_N = 0.5 * (force_N.max() + force_N[: round(rate_hz)].mean())
    held_N = float(np.mean(force_N[force_N > half_N]))
    resting_N = float(force_N[: round(0.5 * rate_hz)].mean())
    assert rep.measures["hold_mean"].value == pytest.approx(held_N - resting_N, rel=0.03)
    expected = "ramp" if rate_hz >= 60.0 else "not measurable"
    assert rep.verdict.rise == expected
    assert "double hit" not in rep.verdict.faults
    assert "early let-go" not in rep.verdict.faults
