"""The conductor: every cell of its table, its clockwork in rounds, and storms of keys."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.glance import Phase
from strikebridge.samples import Effort, ForceBlock, Hold, Prescription, Rep, Verdict
from strikebridge.session.conductor import (
    COUNT_IN_S,
    LEAD_S,
    NO_SHOW_S,
    Call,
    Conductor,
    Key,
    Plan,
)

HOLD_S = 3.0
ASKED = Prescription(Effort.MAXIMAL, HOLD_S)
FREE = Plan(ASKED, result_s=4.0, rest_s=10.0)
ROUNDS = Plan(ASKED, result_s=2.0, rest_s=2.0, is_rounds=True, round_s=12.0)


def a_rep(number: int = 1) -> Rep:
    """A rep whose inside is of no interest to the conductor."""
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
    hold = Hold(number, force, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, None)
    return Rep(hold, ASKED, {}, (), Verdict("snap", "steady", (), "", ""))


def in_phase(phase: Phase, plan: Plan = FREE) -> tuple[Conductor, float]:
    """Lead a new conductor into a phase; give it and the time at which that phase began."""
    one, now_s = Conductor(plan), 100.0
    one.tick(now_s)
    if phase is Phase.READY:
        return one, now_s
    one.press(Key.GO, now_s)
    if phase is Phase.COUNT_IN:
        return one, now_s
    now_s += COUNT_IN_S
    assert one.tick(now_s) == [Call.GO]
    if phase is Phase.HOLD:
        return one, now_s
    now_s += HOLD_S
    one.take(a_rep(), now_s)
    if phase is Phase.RESULT:
        return one, now_s
    now_s += plan.result_s
    one.tick(now_s)
    return one, now_s


PHASES = (Phase.READY, Phase.COUNT_IN, Phase.HOLD, Phase.RESULT, Phase.REST)


@pytest.mark.parametrize("phase", PHASES)
def test_each_phase_can_be_reached(phase: Phase) -> None:
    assert in_phase(phase)[0].phase is phase


EVENTS = ("go", "redo", "stop", "overload", "rep", "due", "not due", "touch")
CELLS = [
    # ready: free reps, so time changes nothing
    (Phase.READY, "go", Phase.COUNT_IN, [Call.PRESCRIBED], 1, 0),
    (Phase.READY, "redo", Phase.READY, [], 0, 0),
    (Phase.READY, "stop", Phase.READY, [Call.STOPPED], 0, 0),
    (Phase.READY, "rep", Phase.RESULT, [], 1, 1),
    (Phase.READY, "due", Phase.READY, [], 0, 0),
    (Phase.READY, "not due", Phase.READY, [], 0, 0),
    (Phase.READY, "touch", Phase.READY, [], 0, 0),
    (Phase.READY, "overload", Phase.READY, [Call.OVERLOAD], 0, 0),
    # count-in: a rep in it is a false start
    (Phase.COUNT_IN, "go", Phase.COUNT_IN, [], 1, 0),
    (Phase.COUNT_IN, "redo", Phase.COUNT_IN, [Call.REDO, Call.PRESCRIBED], 1, 0),
    (Phase.COUNT_IN, "stop", Phase.READY, [Call.STOPPED], 0, 0),
    (Phase.COUNT_IN, "rep", Phase.RESULT, [], 1, 1),
    (Phase.COUNT_IN, "due", Phase.HOLD, [Call.GO], 1, 0),
    (Phase.COUNT_IN, "not due", Phase.COUNT_IN, [], 1, 0),
    (Phase.COUNT_IN, "touch", Phase.COUNT_IN, [], 1, 0),
    (Phase.COUNT_IN, "overload", Phase.READY, [Call.OVERLOAD], 0, 0),
    # hold
    (Phase.HOLD, "go", Phase.HOLD, [], 1, 0),
    (Phase.HOLD, "redo", Phase.COUNT_IN, [Call.REDO, Call.PRESCRIBED], 1, 0),
    (Phase.HOLD, "stop", Phase.READY, [Call.STOPPED], 0, 0),
    (Phase.HOLD, "rep", Phase.RESULT, [], 1, 1),
    (Phase.HOLD, "due", Phase.RESULT, [], 1, 0),
    (Phase.HOLD, "not due", Phase.HOLD, [], 1, 0),
    (Phase.HOLD, "touch", Phase.HOLD, [], 1, 0),
    (Phase.HOLD, "overload", Phase.HOLD, [Call.OVERLOAD], 1, 0),
    # result
    (Phase.RESULT, "go", Phase.COUNT_IN, [Call.PRESCRIBED], 2, 1),
    (Phase.RESULT, "redo", Phase.COUNT_IN, [Call.REDO, Call.PRESCRIBED], 1, 0),
    (Phase.RESULT, "stop", Phase.READY, [Call.STOPPED], 1, 1),
    (Phase.RESULT, "rep", Phase.RESULT, [], 2, 2),
    (Phase.RESULT, "due", Phase.REST, [], 1, 1),
    (Phase.RESULT, "not due", Phase.RESULT, [], 1, 1),
    (Phase.RESULT, "touch", Phase.RESULT, [], 1, 1),
    (Phase.RESULT, "overload", Phase.RESULT, [Call.OVERLOAD], 1, 1),
    # rest
    (Phase.REST, "go", Phase.COUNT_IN, [Call.PRESCRIBED], 2, 1),
    (Phase.REST, "redo", Phase.COUNT_IN, [Call.REDO, Call.PRESCRIBED], 1, 0),
    (Phase.REST, "stop", Phase.READY, [Call.STOPPED], 1, 1),
    (Phase.REST, "rep", Phase.RESULT, [], 2, 2),
    (Phase.REST, "due", Phase.READY, [], 1, 1),
    (Phase.REST, "not due", Phase.REST, [], 1, 1),
    (Phase.REST, "touch", Phase.REST, [], 1, 1),
    (Phase.REST, "overload", Phase.REST, [Call.OVERLOAD], 1, 1),
]
"""Phase, what happens -> phase after it, what is said, reps begun, reps that count."""


def test_the_cells_that_are_tested_are_all_there_are() -> None:
    cells = [(phase, event) for phase, event, *_ in CELLS]
    assert len(cells) == len(set(cells))
    assert set(cells) == {(phase, event) for phase in PHASES for event in EVENTS}
    assert set(PHASES) == set(Phase) - {Phase.WAITING}
    typed = {Key.ENTER, Key.RUB, Key.POINT, *(Key(str(digit)) for digit in range(10))}
    assert {key.value for key in set(Key) - typed} < set(EVENTS)


@pytest.mark.parametrize(("phase", "event", "after", "said", "rep_number", "reps"), CELLS)
def test_every_cell_of_the_table(
    phase: Phase, event: str, after: Phase, said: list[Call], rep_number: int, reps: int
) -> None:
    one, since_s = in_phase(phase)
    lasts_s = {
        Phase.COUNT_IN: COUNT_IN_S,
        Phase.HOLD: HOLD_S + NO_SHOW_S,
        Phase.RESULT: FREE.result_s,
        Phase.REST: FREE.rest_s,
    }.get(phase, 1000.0)
    heard: list[Call] = []
    if event == "rep":
        one.take(a_rep(2), since_s + 0.5)
    elif event == "touch":
        one.touch(is_touched=True, now_s=since_s + 0.5)
    elif event == "overload":
        heard = one.overload(since_s + 0.5)
    elif event in ("due", "not due"):
        heard = one.tick(since_s + lasts_s - (0.0 if event == "due" else 1e-3))
    else:
        heard = one.press(Key(event), since_s + 0.5)
    assert (one.phase, heard, one.rep_number, len(one.reps)) == (after, said, rep_number, reps)


@pytest.mark.parametrize(
    ("phase", "left_s"),
    [
        (Phase.READY, None),
        (Phase.COUNT_IN, COUNT_IN_S),
        (Phase.HOLD, HOLD_S),
        (Phase.RESULT, FREE.result_s),
        (Phase.REST, FREE.rest_s),
    ],
)
def test_the_seconds_left_of_each_phase(phase: Phase, left_s: float | None) -> None:
    one, since_s = in_phase(phase)
    assert one.seconds_left(since_s) == left_s
    if left_s is not None:
        assert one.seconds_left(since_s + 0.75) == pytest.approx(left_s - 0.75)


def test_before_the_first_tick_no_time_is_over() -> None:
    assert Conductor(ROUNDS).seconds_left(5000.0) == LEAD_S


def test_the_seconds_of_a_hold_count_from_its_own_beginning() -> None:
    one, go_s = in_phase(Phase.HOLD)
    one.touch(is_touched=False, now_s=go_s + 0.2)
    assert one.seconds_left(go_s + 0.2) == pytest.approx(HOLD_S - 0.2)
    one.touch(is_touched=True, now_s=go_s + 2.5)
    one.touch(is_touched=True, now_s=go_s + 2.6)
    assert one.seconds_left(go_s + 2.6) == pytest.approx(HOLD_S - 0.1)


def test_who_still_pushes_is_no_no_show() -> None:
    one, go_s = in_phase(Phase.HOLD)
    one.touch(is_touched=True, now_s=go_s + 1.0)
    assert one.tick(go_s + 60.0) == []
    assert not one.no_show
    one.touch(is_touched=False, now_s=go_s + 60.0)
    one.tick(go_s + 60.0 + HOLD_S + NO_SHOW_S)
    assert one.no_show


def test_a_no_show_is_said_and_forgotten_with_the_next_rep() -> None:
    one, go_s = in_phase(Phase.HOLD)
    one.tick(go_s + HOLD_S + NO_SHOW_S - 0.01)
    assert not one.no_show
    one.tick(go_s + HOLD_S + NO_SHOW_S)
    assert (one.phase, one.no_show, one.reps) == (Phase.RESULT, True, [])
    one.press(Key.REDO, go_s + 7.0)
    assert (one.phase, one.rep_number, one.no_show) == (Phase.COUNT_IN, 1, False)
    one.tick(go_s + 10.0)
    one.take(a_rep(), go_s + 14.0)
    assert (one.rep_number, len(one.reps), one.no_show) == (1, 1, False)


def test_redo_after_a_no_show_keeps_the_rep_before_it() -> None:
    one, rest_s = in_phase(Phase.REST)
    one.press(Key.GO, rest_s)
    one.tick(rest_s + COUNT_IN_S)
    one.tick(rest_s + COUNT_IN_S + HOLD_S + NO_SHOW_S)
    assert one.no_show
    one.press(Key.REDO, rest_s + 20.0)
    assert (one.rep_number, len(one.reps)) == (2, 1)


def test_without_a_prescribed_time_the_no_show_comes_sooner() -> None:
    one = Conductor(Plan(Prescription()))
    one.press(Key.GO, 0.0)
    one.tick(COUNT_IN_S)
    one.tick(COUNT_IN_S + NO_SHOW_S - 0.01)
    assert not one.no_show
    one.tick(COUNT_IN_S + NO_SHOW_S)
    assert one.no_show


def test_redo_takes_the_last_rep_back_even_when_its_rest_is_over() -> None:
    one, rest_s = in_phase(Phase.REST)
    one.tick(rest_s + FREE.rest_s)
    assert one.phase is Phase.READY
    one.press(Key.REDO, rest_s + 30.0)
    assert (one.phase, one.rep_number, one.reps) == (Phase.COUNT_IN, 1, [])


def test_redo_takes_back_one_rep_and_no_more() -> None:
    one, now_s = in_phase(Phase.REST)
    kept = one.reps[0]
    one.take(a_rep(2), now_s + 1.0)
    for _ in range(3):
        one.press(Key.REDO, now_s + 2.0)
    assert (one.rep_number, one.reps) == (2, [kept])


@pytest.mark.parametrize("phase", [Phase.COUNT_IN, Phase.HOLD])
def test_a_rep_called_off_does_not_count(phase: Phase) -> None:
    one, now_s = in_phase(phase, Plan(ASKED, rep_total=1))
    one.press(Key.STOP, now_s + 0.5)
    assert not one.is_done
    one.press(Key.GO, now_s + 1.0)
    assert one.rep_number == 1


def test_a_rep_that_ends_after_stop_is_kept_and_counted_once() -> None:
    one, go_s = in_phase(Phase.HOLD)
    one.touch(is_touched=True, now_s=go_s + 0.3)
    one.press(Key.STOP, go_s + 2.0)
    one.take(a_rep(), go_s + 4.0)
    assert (one.rep_number, len(one.reps), one.phase) == (1, 1, Phase.RESULT)


def test_redo_after_a_stopped_count_in_keeps_the_rep_before_it() -> None:
    one, rest_s = in_phase(Phase.REST)
    one.press(Key.GO, rest_s + 1.0)
    one.press(Key.STOP, rest_s + 2.0)
    one.press(Key.REDO, rest_s + 3.0)
    assert (one.rep_number, len(one.reps), one.phase) == (2, 1, Phase.COUNT_IN)


def test_a_set_is_done_when_its_last_result_was_shown() -> None:
    one, result_s = in_phase(Phase.RESULT, Plan(ASKED, rep_total=1, is_rounds=True))
    assert (one.phase, one.is_done) == (Phase.RESULT, False)
    one.tick(result_s + 4.0)
    assert (one.phase, one.is_done) == (Phase.REST, True)
    one.tick(result_s + 14.0)
    assert (one.phase, one.is_done) == (Phase.READY, True)
    assert one.seconds_left(result_s + 14.0) is None
    assert one.tick(result_s + 1000.0) == []
    assert one.rep_number == 1


def test_free_reps_are_never_done() -> None:
    assert not in_phase(Phase.REST)[0].is_done


def gos_of(one: Conductor, until_s: float, *, hold_s: float = HOLD_S) -> list[float]:
    """Let an athlete follow each go, with an uneven clock; give the times of the gos."""
    gos: list[float] = []
    rng = np.random.default_rng(7)
    now_s, ends_s = 0.0, math.inf
    while now_s < until_s:
        if now_s >= ends_s:
            one.take(a_rep(len(gos)), now_s)
            ends_s = math.inf
        if Call.GO in one.tick(now_s):
            gos.append(now_s)
            ends_s = now_s + hold_s + 0.6
        now_s += float(rng.uniform(0.01, 0.05))
    return gos


def test_rounds_keep_their_clock() -> None:
    gos = gos_of(Conductor(ROUNDS), 100.0)
    assert len(gos) == 8
    due_s = LEAD_S + COUNT_IN_S + 12.0 * np.arange(8)
    late_s = np.array(gos) - due_s
    # a go is heard with the first tick after it is due, and no lateness adds up
    assert np.all(late_s >= 0.0)
    assert np.all(late_s < 0.16)


def test_rounds_without_a_length_go_on_after_the_rest() -> None:
    plan = Plan(ASKED, result_s=1.0, rest_s=5.0, is_rounds=True)
    gos = gos_of(Conductor(plan), 40.0)
    # 3.6 s hold, 1 s result, 5 s rest, 3 s count-in
    assert np.diff(gos) == pytest.approx(12.6, abs=0.15)


def test_a_hold_longer_than_its_round_skips_one_and_is_counted_in() -> None:
    one = Conductor(ROUNDS)
    heard: list[tuple[float, Call]] = []
    for k in range(1400):
        now_s = 0.05 * k
        heard += [(now_s, call) for call in one.tick(now_s)]
        if one.phase is Phase.HOLD:
            is_held = one.rep_number > 1 or now_s < 20.0
            one.touch(is_touched=is_held, now_s=now_s)
            if not is_held:
                one.take(a_rep(), now_s)
    prescribed = [now_s for now_s, call in heard if call is Call.PRESCRIBED]
    gos = [now_s for now_s, call in heard if call is Call.GO]
    assert len(gos) >= 2
    for begun_s, go_s in zip(prescribed, gos, strict=False):
        assert go_s - begun_s >= 0.9
    assert (gos[1] - gos[0]) % 12.0 == pytest.approx(0.0, abs=0.06)


def test_after_a_pause_of_the_clock_there_is_still_a_count_in() -> None:
    one, rest_s = in_phase(Phase.REST, Plan(ASKED, is_rounds=True))
    assert one.tick(rest_s + 500.0) == [Call.PRESCRIBED]
    assert one.tick(rest_s + 500.1) == []
    assert one.phase is Phase.COUNT_IN


def test_stop_pauses_rounds_until_go() -> None:
    one = Conductor(ROUNDS)
    one.tick(0.0)
    one.press(Key.STOP, 0.5)
    assert one.seconds_left(50.0) is None
    assert [one.tick(t) for t in (10.0, 100.0, 1000.0)] == [[], [], []]
    one.press(Key.REDO, 1000.5)  # nothing to do again, so the pause goes on
    assert one.tick(1002.0) == []
    one.take(a_rep(), 1003.0)  # a free rep is shown, and does not end the pause
    for t in (1005.0, 1100.0, 1200.0):
        assert one.tick(t) == []
    assert one.phase is Phase.READY
    assert one.press(Key.GO, 1201.0) == [Call.PRESCRIBED]
    assert one.tick(1204.0) == [Call.GO]


def test_a_false_start_breaks_the_count_in_off() -> None:
    one, since_s = in_phase(Phase.COUNT_IN)
    one.take(a_rep(), since_s + 2.9)
    assert one.phase is Phase.RESULT
    assert one.tick(since_s + COUNT_IN_S) == []
    assert (one.rep_number, len(one.reps)) == (1, 1)


def test_a_replay_is_followed_into_its_count_in() -> None:
    one = Conductor(FREE)
    asked = Prescription(Effort.SUBMAXIMAL, 5.0, (200.0, 300.0))
    one.follow(asked, 7.0)
    assert (one.phase, one.rep_number, one.plan.prescription) == (Phase.COUNT_IN, 1, asked)
    assert one.seconds_left(8.0) == COUNT_IN_S - 1.0
    assert one.plan.rest_s == FREE.rest_s


steps = st.tuples(
    st.sampled_from(["go", "redo", "stop", "rep", "touch", "let go", "tick"]),
    st.floats(0.0, 6.0),
)
plans = st.builds(
    Plan,
    st.builds(Prescription, st.just(Effort.MAXIMAL), st.none() | st.floats(0.5, 10.0)),
    st.floats(0.0, 5.0),
    st.floats(0.0, 20.0),
    st.none() | st.integers(1, 5),
    st.booleans(),
    st.none() | st.floats(1.0, 30.0),
)


@given(plans, st.lists(steps, max_size=40))
def test_a_storm_loses_no_rep_and_ends(plan: Plan, storm: list[tuple[str, float]]) -> None:
    one, now_s = Conductor(plan), 0.0
    kept: list[Rep] = []
    for what, wait_s in storm:
        now_s += wait_s
        if what == "rep":
            kept.append(a_rep(len(kept)))
            one.take(kept[-1], now_s)
        elif what in ("touch", "let go"):
            one.touch(is_touched=what == "touch", now_s=now_s)
        elif what != "tick":
            called = one.press(Key(what), now_s)
            if len(one.reps) < len(kept):
                assert Call.REDO in called
                kept.pop()
        one.tick(now_s)
        assert one.reps == kept
        assert one.rep_number >= len(kept)
        left_s = one.seconds_left(now_s)
        assert left_s is None or math.isfinite(left_s)
    # whatever went before, stop and go lead to a go within the count-in
    one.press(Key.STOP, now_s)
    assert one.press(Key.GO, now_s) == [Call.PRESCRIBED]
    assert one.tick(now_s + COUNT_IN_S + 1e-6) == [Call.GO]
    # and an athlete who stays away is not waited for
    one.tick(now_s + COUNT_IN_S + (plan.prescription.hold_s or 0.0) + NO_SHOW_S + 1e-3)
    assert one.no_show


def test_an_overload_ends_the_hold_and_waits_for_the_athlete_to_let_go() -> None:
    one, now_s = in_phase(Phase.HOLD, ROUNDS)
    one.touch(is_touched=True, now_s=now_s + 0.3)
    assert one.overload(now_s + 1.0) == [Call.OVERLOAD]
    assert one.is_overloaded
    left_s = one.seconds_left(now_s + 1.0)
    assert left_s is not None
    assert left_s <= 0.0
    one.touch(is_touched=True, now_s=now_s + 2.0)
    assert one.tick(now_s + 2.0) == []
    one.take(a_rep(), now_s + 3.0)
    assert (one.phase, one.is_overloaded, len(one.reps)) == (Phase.RESULT, False, 1)
    # in rounds nothing goes on by itself until somebody asks for it
    for later_s in (10.0, 20.0, 60.0):
        assert one.tick(now_s + later_s) == []
    assert str(one.phase) == "ready"
    assert one.press(Key.GO, now_s + 61.0) == [Call.PRESCRIBED]


def test_an_overload_calls_a_count_in_off() -> None:
    one, now_s = in_phase(Phase.COUNT_IN)
    assert one.overload(now_s + 1.0) == [Call.OVERLOAD]
    assert (one.phase, one.rep_number) == (Phase.READY, 0)
    assert one.tick(now_s + COUNT_IN_S) == []


@pytest.mark.parametrize("phase", [Phase.READY, Phase.RESULT, Phase.REST])
def test_an_overload_outside_a_rep_changes_no_phase(phase: Phase) -> None:
    one, now_s = in_phase(phase)
    assert one.overload(now_s) == [Call.OVERLOAD]
    assert one.phase is phase
    one.touch(is_touched=False, now_s=now_s + 1.0)
    assert not one.is_overloaded
