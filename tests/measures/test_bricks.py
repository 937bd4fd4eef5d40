"""Bricks: the share inside the band, second by second."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.glance import Trace
from strikebridge.measures import bricks, measure
from strikebridge.measures.bricks import brick_edges
from strikebridge.samples import Effort, Prescription
from tests.made_holds import ONSET_S, held, snap, sure

MAXIMAL = Prescription(hold_s=3.0)


def trace_of(
    inside_from_s: float, inside_to_s: float, rate_hz: float = 1000.0, seconds: float = 6.0
) -> Trace:
    time_s = np.arange(round(seconds * rate_hz)) / rate_hz
    return Trace(
        time_s, np.where((time_s >= inside_from_s) & (time_s < inside_to_s), 100.0, 50.0)
    )


def test_each_second_has_its_own_share() -> None:
    # onset at 1 s; inside the band from 2.25 s to 3.5 s: a quarter of the second brick is lost
    # and half of the third
    shares = bricks(trace_of(2.25, 3.5), 1.0, 6.0, MAXIMAL, 100.0)
    assert shares == pytest.approx((0.0, 0.75, 0.5), abs=0.002)


def test_the_first_half_second_is_left_out() -> None:
    assert bricks(trace_of(1.5, 2.0), 1.0, 6.0, MAXIMAL, 100.0)[0] == pytest.approx(
        1.0, abs=0.002
    )


def test_time_not_held_counts_as_outside() -> None:
    shares = bricks(trace_of(0.0, 6.0), 1.0, 2.6, MAXIMAL, 100.0)
    assert shares == pytest.approx((1.0, 0.6, 0.0), abs=0.002)


def test_bricks_fill_as_the_samples_come() -> None:
    trace = trace_of(0.0, 6.0)
    before: tuple[float, ...] = (0.0, 0.0, 0.0)
    for now_s in np.arange(1.0, 4.2, 0.1):
        so_far = trace.time_s <= now_s
        shares = bricks(
            Trace(trace.time_s[so_far], trace.force_N[so_far]), 1.0, now_s, MAXIMAL, 100.0
        )
        assert all(now >= then for now, then in zip(shares, before, strict=True))
        before = shares
    assert before == pytest.approx((1.0, 1.0, 1.0), abs=0.002)


def test_a_prescribed_band_and_part_of_a_second() -> None:
    band = Prescription(Effort.SUBMAXIMAL, 1.5, (40.0, 60.0))
    assert bricks(trace_of(2.0, 6.0), 1.0, 6.0, band, 100.0) == pytest.approx(
        (1.0, 0.0), abs=0.002
    )


@pytest.mark.parametrize("prescription", [Prescription(), Prescription(Effort.SUBMAXIMAL, 3.0)])
def test_none_without_time_or_band(prescription: Prescription) -> None:
    assert bricks(trace_of(0.0, 6.0), 1.0, 6.0, prescription, 100.0) == ()


def test_before_the_second_sample_nothing_is_filled() -> None:
    lone = Trace(np.array([1.0]), np.array([100.0]))
    assert bricks(lone, 1.0, 1.0, MAXIMAL, 100.0) == (0.0, 0.0, 0.0)


def test_a_prescription_as_short_as_what_is_left_out() -> None:
    short = Prescription(hold_s=0.5)
    assert bricks(trace_of(0.0, 6.0), 1.0, 6.0, short, 100.0) == (0.0,)


@settings(max_examples=30, deadline=None)
@given(hold_s=st.floats(0.6, 10.0), from_s=st.floats(0.0, 5.0))
def test_bricks_and_hold_quality_are_one_definition(hold_s: float, from_s: float) -> None:
    hold = held(lambda since_s: snap(since_s) * np.where(since_s > from_s, 0.7, 1.0))
    prescription = Prescription(hold_s=hold_s)
    values = measure(hold, prescription)
    let_go_s = ONSET_S + sure(values["held_time"].value)
    trace = Trace(hold.force.time_s, hold.force.force_N)
    shares = bricks(trace, ONSET_S, let_go_s, prescription, hold.level_N)
    starts_s, ends_s = brick_edges(hold_s)
    together = float(np.dot(shares, ends_s - starts_s)) / (hold_s - 0.5)
    assert values["hold_quality"].value == pytest.approx(100.0 * together, abs=1e-6)
    assert all(0.0 <= share <= 1.0 for share in shares)
