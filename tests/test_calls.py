"""Calls: what was said finds the hold it was meant for, and no other."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.calls import (
    GO_AFTER_ONSET_S,
    GO_BEFORE_ONSET_S,
    REMEMBERED,
    Calls,
    prescribed,
    prescription_of,
)
from strikebridge.samples import Effort, Event, ForceBlock, Hold, Prescription

forces = st.floats(0.0, 5000.0)


def a_hold(onset_s: float) -> Hold:
    """A hold of which only the onset matters."""
    zeros = np.zeros(1)
    force = ForceBlock(
        number=np.zeros(1, np.int64),
        time_s=zeros,
        force_N=zeros,
        cells_N=zeros.reshape(1, 1),
        u_own_N=zeros,
        u_common_N=zeros,
        flags=np.zeros(1, np.uint16),
        rate_hz=80.0,
        calibration=None,
    )
    return Hold(1, force, onset_s, onset_s + 3.0, 0.0, 0.0, 0.0, 0.0, None)


def go(at_s: float) -> Event:
    return Event("go", round(at_s * 1e6))


@given(
    st.sampled_from(list(Effort)),
    st.none() | st.floats(0.5, 60.0),
    st.none() | st.tuples(forces, forces),
    st.integers(0, 2**53),
)
def test_a_prescription_survives_its_event(
    effort: Effort, hold_s: float | None, band_N: tuple[float, float] | None, at_us: int
) -> None:
    asked = Prescription(effort, hold_s, band_N)
    event = prescribed(asked, at_us)
    assert (event.kind, event.at_us) == ("prescribed", at_us)
    assert prescription_of(event) == asked


@pytest.mark.parametrize(
    ("detail", "expected"),
    [
        ({}, Prescription()),
        ({"effort": "flat out", "hold_s": "long"}, Prescription()),
        ({"hold_s": 3}, Prescription(hold_s=3.0)),
        ({"band_low_N": 100.0}, Prescription()),
        ({"band_high_N": 100.0, "effort": "submaximal"}, Prescription(Effort.SUBMAXIMAL)),
    ],
)
def test_what_cannot_be_read_was_not_prescribed(
    detail: dict[str, str | float | int | None], expected: Prescription
) -> None:
    assert prescription_of(Event("prescribed", 0, detail)) == expected


def test_a_hold_without_a_go_stays_as_it_was() -> None:
    hold = a_hold(10.0)
    assert Calls().with_go(hold) is hold


def test_the_nearest_go_is_the_one() -> None:
    calls = Calls()
    for at_s, u_s in ((2.0, 0.1), (9.7, 0.01), (15.0, 0.2)):
        calls.hear(go(at_s), at_s, u_s)
    hold = calls.with_go(a_hold(10.0))
    assert (hold.go_s, hold.u_go_s) == (9.7, 0.01)


@pytest.mark.parametrize(
    ("since_go_s", "is_its"),
    [
        (GO_BEFORE_ONSET_S, True),
        (GO_BEFORE_ONSET_S + 0.001, False),
        (0.0, True),
        (-GO_AFTER_ONSET_S, True),
        (-GO_AFTER_ONSET_S - 0.001, False),
    ],
)
def test_a_go_too_old_or_too_late_belongs_to_no_rise(since_go_s: float, is_its: bool) -> None:
    calls = Calls()
    calls.hear(go(20.0), 20.0, 0.01)
    assert (calls.with_go(a_hold(20.0 + since_go_s)).go_s is not None) is is_its


def test_a_false_start_has_its_go_after_the_onset() -> None:
    calls = Calls()
    calls.hear(go(10.0), 10.0, 0.01)
    hold = calls.with_go(a_hold(9.4))
    assert hold.go_s is not None
    assert hold.go_s > hold.onset_s


def test_nothing_else_of_the_hold_is_touched() -> None:
    calls, hold = Calls(), a_hold(10.0)
    calls.hear(go(9.5), 9.5, 0.02)
    with_go = calls.with_go(hold)
    assert with_go.force is hold.force
    changed = replace(with_go, go_s=None, u_go_s=0.0)
    assert (changed.number, changed.onset_s, changed.release_s) == (1, 10.0, 13.0)


def test_the_prescription_is_the_last_before_the_onset() -> None:
    calls = Calls()
    first, second = Prescription(hold_s=3.0), Prescription(hold_s=5.0)
    calls.hear(prescribed(first, 5_000_000), 5.0, 0.0)
    calls.hear(prescribed(second, 15_000_000), 15.0, 0.0)
    assert calls.prescription_at(4.9) == Prescription()
    assert calls.prescription_at(5.0) == first
    assert calls.prescription_at(14.9) == first
    assert calls.prescription_at(20.0) == second


def sound(signal: str, **detail: str | float | None) -> Event:
    return Event("sound", 9_700_000, {"signal": signal, **detail})


def test_a_go_that_was_heard_carries_its_latency() -> None:
    calls = Calls()
    calls.hear(sound("go", latency_s=0.5), 9.6, 0.0)  # no go yet: belongs to none
    calls.hear(go(9.7), 9.7, 0.03)
    calls.hear(sound("count", latency_s=0.9), 9.7, 0.0)
    calls.hear(sound("go", latency_s=0.06, u_latency_s=0.04), 9.7, 0.0)
    hold = calls.with_go(a_hold(10.0))
    assert (hold.go_s, hold.sound_latency_s) == (9.7, 0.06)
    assert hold.u_go_s == pytest.approx(0.05)


@pytest.mark.parametrize("latency_s", [None, "long", -0.1, float("inf"), float("nan")])
def test_a_latency_that_cannot_be_read_is_none(latency_s: str | float | None) -> None:
    calls = Calls()
    calls.hear(go(9.7), 9.7, 0.01)
    calls.hear(sound("go", latency_s=latency_s, u_latency_s=latency_s), 9.7, 0.0)
    hold = calls.with_go(a_hold(10.0))
    assert (hold.u_go_s, hold.sound_latency_s) == (0.01, 0.0)


def test_other_events_are_no_business_of_calls() -> None:
    calls = Calls()
    for kind in ("lost", "back", "turn", "stopped", "redo"):
        calls.hear(Event(kind, 10_000_000), 10.0, 0.0)
    hold = a_hold(10.5)
    assert calls.with_go(hold) is hold
    assert calls.prescription_at(10.5) == Prescription()


def test_a_long_evening_of_gos_keeps_the_newest() -> None:
    calls = Calls()
    for k in range(5 * REMEMBERED):
        calls.hear(go(8.0 * k), 8.0 * k, 0.01)
    last_s = 8.0 * (5 * REMEMBERED - 1)
    assert calls.with_go(a_hold(last_s + 0.3)).go_s == last_s
    assert calls.with_go(a_hold(0.3)).go_s is None
