"""Due: each signal once, at its second, in the order of the wall's phases."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.glance import Phase
from strikebridge.samples import Prescription
from strikebridge.session.conductor import Conductor, Key, Plan
from strikebridge.sound.due import Due
from strikebridge.sound.tones import Signal

COUNT, GO, LAST, DONE = Signal.COUNT, Signal.GO, Signal.LAST, Signal.DONE


def heard(
    hold_s: float | None, *, step_s: float = 0.05, push: tuple[float, float] = (3.2, 7.0)
) -> list[tuple[float, Signal]]:
    """Let a conductor count in and hold; give what is heard and when."""
    conductor, due = Conductor(Plan(Prescription(hold_s=hold_s))), Due()
    conductor.press(Key.GO, 0.0)
    told = []
    for now_s in np.arange(0.0, 8.0, step_s).tolist():
        is_held = push[0] <= now_s < push[1]
        conductor.touch(is_touched=is_held, now_s=now_s)
        conductor.tick(now_s)
        left_s = conductor.seconds_left(now_s)
        told += [(now_s, one) for one in due.feed(conductor.phase, left_s, is_held=is_held)]
    return told


def test_a_rep_is_counted_in_and_down() -> None:
    told = heard(3.0)
    assert [one for _, one in told] == [COUNT, COUNT, COUNT, GO, LAST, LAST, DONE]
    # the hold counts from the push at 3.2 s
    expected = [0.0, 1.0, 2.0, 3.0, 4.2, 5.2, 6.2]
    assert [now_s for now_s, _ in told] == pytest.approx(expected, abs=0.06)


def test_five_seconds_have_two_last_ones() -> None:
    told = heard(5.0, push=(3.2, 9.0))
    assert [one for _, one in told][4:] == [LAST, LAST]
    assert told[4][0] == pytest.approx(3.2 + 3.0, abs=0.06)


def test_a_push_that_is_over_early_is_told_no_end() -> None:
    assert [one for _, one in heard(3.0, push=(3.2, 4.5))][3:] == [GO, LAST]


def test_a_hold_of_no_set_length_has_no_end() -> None:
    assert [one for _, one in heard(None)] == [COUNT, COUNT, COUNT, GO]


def test_nobody_pushed() -> None:
    assert [one for _, one in heard(3.0, push=(99.0, 99.0))] == [COUNT, COUNT, COUNT, GO]


def test_a_count_in_begun_anew_is_told_from_three() -> None:
    due = Due()
    told = [due.feed(Phase.COUNT_IN, left, is_held=False) for left in (3.0, 2.0, 3.0, 2.9)]
    assert told == [(COUNT,), (COUNT,), (COUNT,), ()]


def test_no_end_of_time_and_no_phase_to_be_heard() -> None:
    due = Due()
    for phase in (Phase.READY, Phase.RESULT, Phase.REST, Phase.WAITING):
        assert due.feed(phase, 2.0, is_held=True) == ()
    assert due.feed(Phase.COUNT_IN, None, is_held=False) == ()
    assert due.feed(Phase.HOLD, None, is_held=True) == (GO,)


@settings(deadline=None)  # the finest step takes some time
@given(st.floats(0.005, 0.4), st.sampled_from([3.0, 5.0]))
def test_whatever_the_step_nothing_is_told_twice(step_s: float, hold_s: float) -> None:
    told = [one for _, one in heard(hold_s, step_s=step_s, push=(3.2, 9.0))]
    assert told[:4] == [COUNT, COUNT, COUNT, GO]
    assert told[4:6] == [LAST, LAST]
    assert told[6:] in ([DONE], [])  # a hold of 5 s ends after the test does
