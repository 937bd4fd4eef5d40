"""The conductor of a group: every cell of its table, its rules, and storms of commands."""

import math
from dataclasses import replace

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.club.training import Closing, ResumePoint, SessionRecord
from strikebridge.glance import Phase
from strikebridge.samples import (
    Effort,
    ForceBlock,
    Hold,
    MeasureValue,
    Prescription,
    Rep,
    Verdict,
)
from strikebridge.session.conductor import MOST_LATE_S, NO_SHOW_S, Call
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.group_conductor import GroupConductor
from strikebridge.session.group_table import COMMANDS, TABLE, Do, Input, Stage
from strikebridge.session.happenings import (
    Advised,
    Called,
    Closed,
    Cued,
    Done,
    Extra,
    Finished,
    Named,
    Prescribed,
    Reopened,
    Stopped,
    TakenBack,
    Turned,
    Undone,
)
from strikebridge.session.plan import Block, Mode, Order, Plan, Target
from strikebridge.session.turns import COUNT_IN_S, turns_of

HOLD_S = 3.0
STRAIGHTS = Block(name="straights", exercises=("straight",), seconds=HOLD_S, rest_s=5.0)
BAND = Block(name="band", exercises=("band-shadow-boxing",), seconds=30.0, everyone=True)
PLAN = Plan(name="trial", block=(STRAIGHTS,), mode=Mode.ROUNDS, order=Order.ROTATION)
PEOPLE = ("a1", "b2")


def a_rep(number: int = 1, peak_N: float = 500.0, *, complete: bool = True) -> Rep:
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
    hold = Hold(number, force, 0.0, 1.0 if complete else None, 0.0, 0.0, 0.0, 0.0, None)
    peak = MeasureValue("peak_force", peak_N, "N", 1.0, 1.0)
    verdict = Verdict("snap", "steady", (), "", "")
    return Rep(hold, Prescription(Effort.MAXIMAL, HOLD_S), {"peak_force": peak}, (), verdict)


def a_conductor(plan: Plan = PLAN, people: tuple[str, ...] = PEOPLE) -> GroupConductor:
    return GroupConductor(plan, turns_of(plan, people, EXERCISES))


def stage_of(one: GroupConductor) -> Stage:
    """Look again: mypy takes what it has seen once for what still is."""
    return one.stage


def lead_to(stage: Stage, plan: Plan = PLAN) -> tuple[GroupConductor, float]:
    """Lead a new conductor into a stage, one turn done before it; give the time now."""
    if stage is Stage.DRILL:
        plan = msgspec.structs.replace(plan, block=(*plan.block, BAND))
    one, now_s = a_conductor(plan), 100.0
    one.tick(now_s)
    if stage is Stage.OVER:
        while stage_of(one) is not Stage.OVER:
            one.press(Input.SKIP, now_s)
        return one, now_s
    now_s = do_turn(one, now_s)
    if stage is Stage.DRILL:
        while one.turn is not None and one.turn.is_measured:
            now_s = do_turn(one, now_s)
    now_s = {
        Stage.REST: lambda: now_s,
        Stage.READY: lambda: wait_for(one, Stage.READY, now_s),
        Stage.COUNT_IN: lambda: wait_for(one, Stage.COUNT_IN, now_s),
        Stage.HOLD: lambda: wait_for(one, Stage.HOLD, now_s),
        Stage.DRILL: lambda: wait_for(one, Stage.DRILL, now_s),
        Stage.RESULT: lambda: finish_hold(one, wait_for(one, Stage.HOLD, now_s)),
        Stage.PAUSED: lambda: press(one, Input.PAUSE, now_s),
        Stage.LOST: lambda: lose(one, now_s),
    }[stage]()
    assert stage_of(one) is stage
    return one, now_s


def a_point(**kept: object) -> ResumePoint:
    """Say how a session stood that broke off after two turns, the second one first."""
    known: dict[str, object] = {"done": frozenset({1, 2}), "closed": {}, "ended": (2, 1)}
    record = SessionRecord("s", "trial", "", PEOPLE, 4, None)  # type: ignore[arg-type] # the moment does not matter here
    return ResumePoint(session=record, **(known | {"attempts": {}} | kept))  # type: ignore[arg-type] # as they are named


def lead_on(stage: Stage) -> tuple[GroupConductor, float]:
    """Take a session up again that broke off after two turns, and lead it into a stage."""
    turns = turns_of(PLAN, PEOPLE, EXERCISES)
    if stage is Stage.OVER:
        point = a_point(done=frozenset({1, 2, 3, 4}), ended=(2, 3, 4, 1))
    else:
        point = a_point()
    one, now_s = GroupConductor(PLAN, turns, resumed=point), 100.0
    one.tick(now_s)
    if stage is Stage.PAUSED:
        one.press(Input.PAUSE, now_s)
    elif stage in (Stage.RESULT, Stage.REST):
        now_s = finish_hold(one, wait_for(one, Stage.HOLD, now_s))
        one.press(Input.PAIN, now_s)  # what is shown as last cannot come again
        now_s = wait_for(one, stage, now_s)
    elif stage is not Stage.OVER:
        now_s = wait_for(one, stage, now_s)
    assert stage_of(one) is stage
    return one, now_s


def lead_up_to(stage: Stage, what: Input) -> tuple[GroupConductor, float]:
    """Lead to where a cell begins: what is older needs a session that broke off."""
    return lead_on(stage) if what is Input.OLDER and what in TABLE[stage] else lead_to(stage)


def wait_for(one: GroupConductor, stage: Stage, now_s: float) -> float:
    for _ in range(10_000):
        if stage_of(one) is stage:
            return now_s
        now_s += 0.1
        one.tick(now_s)
    raise AssertionError(f"never came to {stage}")


def finish_hold(one: GroupConductor, now_s: float) -> float:
    one.touch(is_touched=True, now_s=now_s + 0.3)
    one.take(a_rep(), now_s + 4.0)
    return now_s + 4.0


def do_turn(one: GroupConductor, now_s: float) -> float:
    """Do one measured turn, up to the rest before the next one."""
    now_s = finish_hold(one, wait_for(one, Stage.HOLD, now_s)) + 4.1
    one.tick(now_s)
    return now_s


def press(one: GroupConductor, command: Input, now_s: float) -> float:
    one.press(command, now_s)
    return now_s


def lose(one: GroupConductor, now_s: float) -> float:
    one.board(is_there=False, now_s=now_s)
    return now_s


def give(one: GroupConductor, what: Input, now_s: float) -> list[object]:
    """Let something happen, as the station would."""
    if what is Input.REP:
        return list(one.take(a_rep(2), now_s))
    if what is Input.OLDER and what in TABLE[stage_of(one)]:
        what = Input.REDO
    if what is Input.PUSH:
        return list(one.touch(is_touched=True, now_s=now_s))
    if what in (Input.LOST, Input.BACK):
        return list(one.board(is_there=what is Input.BACK, now_s=now_s))
    if what is Input.OVERLOAD:
        return list(one.overload(now_s))
    if what is Input.DUE:
        left_s = one.seconds_left(now_s)
        late_s = NO_SHOW_S if stage_of(one) is Stage.HOLD else 0.0
        return list(one.tick(now_s + (left_s or 0.0) + late_s + 1e-6))
    return list(one._hear(what, now_s) if what is Input.OLDER else one.press(what, now_s))


# Where each cell leads, hands free; what is missing stays in its stage.
LEADS_TO: dict[tuple[Stage, Input], Stage] = {
    (Stage.REST, Input.GO): Stage.COUNT_IN,
    (Stage.REST, Input.DUE): Stage.READY,
    (Stage.REST, Input.REDO): Stage.COUNT_IN,
    (Stage.REST, Input.OLDER): Stage.PAUSED,
    (Stage.REST, Input.STOP): Stage.PAUSED,
    (Stage.REST, Input.PAUSE): Stage.PAUSED,
    (Stage.REST, Input.LOST): Stage.LOST,
    (Stage.READY, Input.GO): Stage.COUNT_IN,
    (Stage.READY, Input.DUE): Stage.COUNT_IN,
    (Stage.READY, Input.REDO): Stage.COUNT_IN,
    (Stage.READY, Input.OLDER): Stage.PAUSED,
    (Stage.READY, Input.STOP): Stage.PAUSED,
    (Stage.READY, Input.PAUSE): Stage.PAUSED,
    (Stage.READY, Input.LOST): Stage.LOST,
    (Stage.READY, Input.SWAP): Stage.REST,
    (Stage.READY, Input.SKIP): Stage.REST,
    (Stage.READY, Input.PAIN): Stage.REST,
    (Stage.COUNT_IN, Input.DUE): Stage.HOLD,
    (Stage.COUNT_IN, Input.STOP): Stage.READY,
    (Stage.COUNT_IN, Input.OVERLOAD): Stage.READY,
    (Stage.COUNT_IN, Input.PAUSE): Stage.PAUSED,
    (Stage.COUNT_IN, Input.LOST): Stage.LOST,
    (Stage.COUNT_IN, Input.REP): Stage.RESULT,
    (Stage.COUNT_IN, Input.SWAP): Stage.REST,
    (Stage.COUNT_IN, Input.SKIP): Stage.REST,
    (Stage.COUNT_IN, Input.PAIN): Stage.REST,
    (Stage.HOLD, Input.DUE): Stage.RESULT,
    (Stage.HOLD, Input.REDO): Stage.COUNT_IN,
    (Stage.HOLD, Input.STOP): Stage.READY,
    (Stage.HOLD, Input.PAUSE): Stage.PAUSED,
    (Stage.HOLD, Input.LOST): Stage.LOST,
    (Stage.HOLD, Input.REP): Stage.RESULT,
    (Stage.HOLD, Input.SWAP): Stage.REST,
    (Stage.HOLD, Input.SKIP): Stage.REST,
    (Stage.HOLD, Input.PAIN): Stage.REST,
    (Stage.RESULT, Input.GO): Stage.COUNT_IN,
    (Stage.RESULT, Input.DUE): Stage.REST,
    (Stage.RESULT, Input.SKIP): Stage.REST,
    (Stage.RESULT, Input.REDO): Stage.COUNT_IN,
    (Stage.RESULT, Input.LOST): Stage.LOST,
    (Stage.DRILL, Input.DUE): Stage.RESULT,
    (Stage.DRILL, Input.REDO): Stage.COUNT_IN,
    (Stage.DRILL, Input.STOP): Stage.READY,
    (Stage.DRILL, Input.PAUSE): Stage.PAUSED,
    (Stage.DRILL, Input.PAIN): Stage.PAUSED,  # nobody knows whose pain it is
    (Stage.DRILL, Input.SKIP): Stage.OVER,  # it is the last one
    (Stage.PAUSED, Input.GO): Stage.REST,
    (Stage.PAUSED, Input.PAUSE): Stage.REST,
    (Stage.PAUSED, Input.STOP): Stage.REST,
    (Stage.PAUSED, Input.LOST): Stage.LOST,
    (Stage.LOST, Input.BACK): Stage.REST,
    (Stage.OVER, Input.REDO): Stage.COUNT_IN,
    (Stage.OVER, Input.UNDO): Stage.READY,  # what was skipped last comes again
}
# What each cell says; those that are empty say nothing, see below.
SAYS: dict[tuple[Stage, Input], str] = {
    (Stage.REST, Input.GO): "prescribed",
    (Stage.REST, Input.REDO): "redo, taken back, reopened, turned, prescribed",
    (Stage.REST, Input.OLDER): "named",
    (Stage.REST, Input.STOP): "",
    (Stage.REST, Input.SKIP): "closed skipped, turned",
    (Stage.REST, Input.SWAP): "turned",
    (Stage.REST, Input.PAUSE): "",
    (Stage.REST, Input.UNDO): "taken back, closed undone, undone",
    (Stage.REST, Input.PAIN): "advised, closed pain, turned",
    (Stage.REST, Input.OVERLOAD): "overload",
    (Stage.REST, Input.LOST): "",
    (Stage.REST, Input.REP): "extra",
    (Stage.REST, Input.DUE): "",
    (Stage.READY, Input.GO): "prescribed",
    (Stage.READY, Input.REDO): "redo, taken back, reopened, turned, prescribed",
    (Stage.READY, Input.OLDER): "named",
    (Stage.READY, Input.STOP): "",
    (Stage.READY, Input.SKIP): "closed skipped, turned",
    (Stage.READY, Input.SWAP): "turned",
    (Stage.READY, Input.PAUSE): "",
    (Stage.READY, Input.UNDO): "taken back, closed undone, undone",
    (Stage.READY, Input.PAIN): "advised, closed pain, turned",
    (Stage.READY, Input.OVERLOAD): "overload",
    (Stage.READY, Input.LOST): "",
    (Stage.READY, Input.PUSH): "",
    (Stage.READY, Input.REP): "extra",
    (Stage.READY, Input.DUE): "prescribed",
    (Stage.COUNT_IN, Input.REDO): "redo, prescribed",
    (Stage.COUNT_IN, Input.STOP): "stopped",
    (Stage.COUNT_IN, Input.SKIP): "stopped, closed skipped, turned",
    (Stage.COUNT_IN, Input.SWAP): "stopped, turned",
    (Stage.COUNT_IN, Input.PAUSE): "stopped",
    (Stage.COUNT_IN, Input.UNDO): "taken back, closed undone, undone",
    (Stage.COUNT_IN, Input.PAIN): "advised, closed pain, stopped, turned",
    (Stage.COUNT_IN, Input.OVERLOAD): "overload, stopped",
    (Stage.COUNT_IN, Input.LOST): "stopped",
    (Stage.COUNT_IN, Input.REP): "done",
    (Stage.COUNT_IN, Input.DUE): "go",
    (Stage.HOLD, Input.REDO): "redo, prescribed",
    (Stage.HOLD, Input.STOP): "stopped",
    (Stage.HOLD, Input.SKIP): "stopped, closed skipped, turned",
    (Stage.HOLD, Input.SWAP): "stopped, turned",
    (Stage.HOLD, Input.PAUSE): "stopped",
    (Stage.HOLD, Input.UNDO): "taken back, closed undone, undone",
    (Stage.HOLD, Input.PAIN): "advised, closed pain, stopped, turned",
    (Stage.HOLD, Input.OVERLOAD): "overload",
    (Stage.HOLD, Input.LOST): "stopped",
    (Stage.HOLD, Input.REP): "done",
    (Stage.HOLD, Input.DUE): "",
    (Stage.RESULT, Input.GO): "turned, prescribed",
    (Stage.RESULT, Input.REDO): "redo, taken back, reopened, turned, prescribed",
    (Stage.RESULT, Input.OLDER): "named",
    (Stage.RESULT, Input.STOP): "",
    (Stage.RESULT, Input.SKIP): "turned",
    (Stage.RESULT, Input.SWAP): "",
    (Stage.RESULT, Input.PAUSE): "",
    (Stage.RESULT, Input.UNDO): "taken back, closed undone, undone",
    (Stage.RESULT, Input.PAIN): "advised, stopped",
    (Stage.RESULT, Input.OVERLOAD): "overload",
    (Stage.RESULT, Input.LOST): "",
    (Stage.RESULT, Input.REP): "extra",
    (Stage.RESULT, Input.DUE): "turned",
    (Stage.DRILL, Input.REDO): "redo",
    (Stage.DRILL, Input.STOP): "stopped",
    (Stage.DRILL, Input.SKIP): "stopped, closed skipped, closed skipped, finished",
    (Stage.DRILL, Input.SWAP): "",
    (Stage.DRILL, Input.PAUSE): "stopped",
    (Stage.DRILL, Input.UNDO): "taken back, closed undone, undone",
    (Stage.DRILL, Input.PAIN): "advised, stopped",
    (Stage.DRILL, Input.OVERLOAD): "overload",
    (Stage.DRILL, Input.REP): "extra",
    (Stage.DRILL, Input.DUE): "done, done",
    (Stage.PAUSED, Input.GO): "",
    (Stage.PAUSED, Input.REDO): "redo, taken back, reopened, turned",
    (Stage.PAUSED, Input.OLDER): "named",
    (Stage.PAUSED, Input.STOP): "",
    (Stage.PAUSED, Input.SKIP): "closed skipped, turned",
    (Stage.PAUSED, Input.SWAP): "turned",
    (Stage.PAUSED, Input.PAUSE): "",
    (Stage.PAUSED, Input.UNDO): "taken back, closed undone, undone",
    (Stage.PAUSED, Input.PAIN): "advised, closed pain, turned",
    (Stage.PAUSED, Input.OVERLOAD): "overload",
    (Stage.PAUSED, Input.LOST): "",
    (Stage.PAUSED, Input.REP): "extra",
    (Stage.LOST, Input.STOP): "",
    (Stage.LOST, Input.SKIP): "closed skipped, turned",
    (Stage.LOST, Input.SWAP): "turned",
    (Stage.LOST, Input.PAUSE): "",
    (Stage.LOST, Input.UNDO): "taken back, closed undone, undone",
    (Stage.LOST, Input.PAIN): "advised, closed pain, turned",
    (Stage.LOST, Input.BACK): "turned",
    (Stage.LOST, Input.REP): "extra",
    (Stage.OVER, Input.REDO): "redo, reopened, turned, prescribed",
    (Stage.OVER, Input.OLDER): "named",
    (Stage.OVER, Input.UNDO): "reopened, undone, turned",
    (Stage.OVER, Input.REP): "extra",
}
CELLS = [(stage, what) for stage in Stage for what in Input]


@pytest.mark.parametrize(("stage", "what"), CELLS, ids=lambda one: one.value)
def test_each_cell_leads_where_it_should(stage: Stage, what: Input) -> None:
    one, now_s = lead_up_to(stage, what)
    give(one, what, now_s)
    assert stage_of(one) is LEADS_TO.get((stage, what), stage)


def word_of(one: object) -> str:
    """Name a happening, with what tells it from others of its kind."""
    if isinstance(one, Called):
        return one.call.value
    if isinstance(one, Closed):
        return f"closed {one.why.value}"
    return "taken back" if isinstance(one, TakenBack) else type(one).__name__.lower()


def test_the_cells_that_are_tested_are_those_of_the_table() -> None:
    assert set(SAYS) == {(stage, what) for stage, row in TABLE.items() for what in row}
    assert set(LEADS_TO) <= set(SAYS)
    assert set(TABLE) == set(Stage)


@pytest.mark.parametrize(("stage", "what"), SAYS, ids=str)
def test_each_cell_says_what_it_should(stage: Stage, what: Input) -> None:
    one, now_s = lead_up_to(stage, what)
    assert ", ".join(word_of(word) for word in give(one, what, now_s)) == SAYS[stage, what]


@pytest.mark.parametrize(
    ("stage", "what"), [cell for cell in CELLS if cell[1] not in TABLE[cell[0]]], ids=str
)
def test_an_empty_cell_says_and_changes_nothing(stage: Stage, what: Input) -> None:
    one, now_s = lead_up_to(stage, what)
    before = (stage_of(one), one.order.coming, one.order.over)
    said = give(one, what, now_s)
    assert [type(word) for word in said] in ([], [Called])  # an overload is always called
    assert (stage_of(one), one.order.coming, one.order.over) == before


def test_every_table_cell_is_something_the_conductor_can_do() -> None:
    used = {do for row in TABLE.values() for do in row.values()}
    assert used == set(Do)
    assert {Input.DUE, Input.REP, Input.PUSH}.isdisjoint(COMMANDS)


def run_through(one: GroupConductor, now_s: float = 0.0) -> tuple[list[object], float]:
    """Let everybody do everything, hands free."""
    said: list[object] = list(one.tick(now_s))
    for number in range(10_000):
        if stage_of(one) is Stage.OVER:
            return said, now_s
        if stage_of(one) is Stage.HOLD:
            said += one.touch(is_touched=True, now_s=now_s + 0.3)
            now_s += HOLD_S + 1.0
            said += one.take(a_rep(number), now_s)
        now_s += 0.05
        said += one.tick(now_s)
    raise AssertionError("never over")


def test_hands_free_every_turn_is_done_once_and_in_order() -> None:
    plan = msgspec.structs.replace(PLAN, block=(STRAIGHTS, BAND))
    one = a_conductor(plan)
    said, _ = run_through(one)
    done = [word.turn.number for word in said if isinstance(word, Done)]
    assert done == [1, 2, 3, 4, 5, 6]
    assert isinstance(said[-1], Finished)
    assert [word.rep is None for word in said if isinstance(word, Done)] == [False] * 4 + [
        True,
        True,
    ]


def test_the_rest_of_an_athlete_is_kept() -> None:
    block = msgspec.structs.replace(STRAIGHTS, reps_per_side=2, rest_s=25.0)
    plan = msgspec.structs.replace(PLAN, block=(block,))
    one, now_s = a_conductor(plan, ("a1",)), 0.0
    one.tick(now_s)
    ended_s = finish_hold(one, wait_for(one, Stage.HOLD, now_s))
    ready_s = wait_for(one, Stage.READY, ended_s)
    assert ready_s - ended_s == pytest.approx(25.0, abs=0.11)


def test_redo_marks_the_result_and_the_turn_comes_again_as_a_second_attempt() -> None:
    one, now_s = lead_to(Stage.RESULT)
    turn = one.turn
    assert turn is not None
    said = one.press(Input.REDO, now_s)
    assert [word for word in said if isinstance(word, TakenBack)] == [TakenBack(turn)]
    assert [word for word in said if isinstance(word, Reopened)] == [Reopened(turn)]
    assert one.reps == []
    now_s = wait_for(one, Stage.HOLD, now_s)
    (done,) = one.take(a_rep(), now_s)
    assert isinstance(done, Done)
    assert (done.turn, done.attempt) == (turn, 2)


def test_undo_takes_one_result_after_the_other_back_and_the_session_goes_on() -> None:
    one, now_s = lead_to(Stage.RESULT)
    said = [*one.press(Input.UNDO, now_s), *one.press(Input.UNDO, now_s)]
    assert [word.turn.number for word in said if isinstance(word, TakenBack)] == [2, 1]
    assert {word.why for word in said if isinstance(word, Closed)} == {Closing.UNDONE}
    assert [word.turn.number for word in said if isinstance(word, Undone) and word.turn] == [
        2,
        1,
    ]
    (nothing,) = one.press(Input.UNDO, now_s)
    assert isinstance(nothing, Undone)
    assert nothing.turn is None
    assert stage_of(one) is Stage.RESULT


SETS = msgspec.structs.replace(PLAN, block=(msgspec.structs.replace(STRAIGHTS, sets=3),))


@pytest.mark.parametrize("stage", [Stage.REST, Stage.READY, Stage.PAUSED, Stage.LOST])
def test_undo_after_a_stop_for_pain_takes_back_the_stop_and_no_result(stage: Stage) -> None:
    one, now_s = lead_to(stage, SETS)
    before, over = one.order.coming, one.order.over
    turn = before[0]
    one.press(Input.PAIN, now_s)
    assert one.order.stopped == {(turn.athlete, turn.exercise.key)}
    said = one.press(Input.UNDO, now_s)
    assert not [word for word in said if isinstance(word, (TakenBack, Closed))]
    (undone,) = [word for word in said if isinstance(word, Undone)]
    assert (undone.turn, undone.why) == (turn, Closing.PAIN)
    assert (one.order.coming, one.order.over) == (before, over)
    assert one.order.stopped == set()
    assert one.turn == turn
    # only then the result before it
    said = one.press(Input.UNDO, now_s)
    assert [word.turn.number for word in said if isinstance(word, TakenBack)] == [1]


def test_what_comes_again_by_undo_does_not_push_aside_what_is_under_way() -> None:
    one, now_s = lead_to(Stage.REST, SETS)
    turn = one.turn
    one.press(Input.PAIN, now_s)
    now_s = wait_for(one, Stage.COUNT_IN, now_s)
    under_way = one.turn
    one.press(Input.UNDO, now_s)
    assert stage_of(one) is Stage.COUNT_IN
    assert one.order.coming[:2] == (under_way, turn)


def test_a_stop_for_pain_after_the_last_rep_is_said_and_can_be_taken_back() -> None:
    one, now_s = lead_to(Stage.RESULT)
    turn = one.turn
    assert turn is not None
    said = one.press(Input.PAIN, now_s)
    assert [word for word in said if isinstance(word, Stopped)] == [Stopped(turn)]
    assert [type(word) for word in one.press(Input.PAIN, now_s)] == [Advised]  # it holds
    said = one.press(Input.UNDO, now_s)
    assert said[0] == Stopped(turn, is_off=True)
    assert one.order.stopped == set()
    assert len(one.reps) == 1


def test_a_drill_of_all_that_was_skipped_comes_again_for_all() -> None:
    one, now_s = lead_to(Stage.DRILL)
    party = one.order.party
    assert len(party) == 2
    one.press(Input.SKIP, now_s)
    one.press(Input.UNDO, now_s)
    assert one.order.party == party


def test_an_athlete_who_was_stopped_by_a_slip_is_in_the_drill_of_all_again() -> None:
    alone = msgspec.structs.replace(BAND, name="alone", everyone=False)
    one = a_conductor(msgspec.structs.replace(PLAN, block=(alone, BAND)))
    one.tick(0.0)
    before = one.order.coming
    one.press(Input.PAIN, 0.0)
    assert [turn.athlete for turn in one.order.coming] == ["b2", "b2"]
    one.press(Input.UNDO, 0.0)
    assert one.order.coming == before


def test_what_was_skipped_and_done_again_is_undone_by_its_result() -> None:
    one = a_conductor()
    one.tick(0.0)
    one.press(Input.SKIP, 0.0)
    one.press(Input.REDO, 0.0)
    finish_hold(one, wait_for(one, Stage.HOLD, 0.0))
    said = one.press(Input.UNDO, 10.0)
    assert [word.turn.number for word in said if isinstance(word, TakenBack)] == [1]
    (nothing,) = one.press(Input.UNDO, 10.0)
    assert isinstance(nothing, Undone)
    assert nothing.turn is None


def test_pain_ends_that_exercise_for_that_athlete_and_nobody_else() -> None:
    plan = msgspec.structs.replace(PLAN, block=(msgspec.structs.replace(STRAIGHTS, sets=3),))
    one = a_conductor(plan)
    one.tick(0.0)
    said = one.press(Input.PAIN, 0.0)
    closed = [word for word in said if isinstance(word, Closed)]
    assert {(word.turn.athlete, word.turn.exercise.key) for word in closed} == {
        ("a1", "lead-straight")
    }
    assert len(closed) == 3
    assert {word.why for word in closed} == {Closing.PAIN}
    (advice,) = [word for word in said if isinstance(word, Advised)]
    assert (advice.turn.athlete, advice.turn.exercise.key) == ("a1", "lead-straight")
    left = {(turn.athlete, turn.exercise.key) for turn in one.order.coming}
    assert left == {("a1", "rear-straight"), ("b2", "lead-straight"), ("b2", "rear-straight")}
    assert one.press(Input.REDO, 0.0) == []


def test_pain_while_a_result_is_shown_ends_what_is_to_come_of_it() -> None:
    plan = msgspec.structs.replace(
        PLAN, block=(msgspec.structs.replace(STRAIGHTS, reps_per_side=2),)
    )
    one = a_conductor(plan)
    one.tick(0.0)
    now_s = finish_hold(one, wait_for(one, Stage.HOLD, 0.0))
    said = one.press(Input.PAIN, now_s)
    assert [word.turn.number for word in said if isinstance(word, Closed)] == [2]
    assert stage_of(one) is Stage.RESULT


def test_pain_in_a_drill_of_all_pauses_and_after_the_end_only_advises() -> None:
    one, now_s = lead_to(Stage.DRILL)
    said = one.press(Input.PAIN, now_s)
    assert not [word for word in said if isinstance(word, Closed)]
    assert stage_of(one) is Stage.PAUSED


def test_skip_and_swap() -> None:
    one = a_conductor()
    one.tick(0.0)
    said = one.press(Input.SWAP, 0.0)
    (turned,) = [word for word in said if isinstance(word, Turned)]
    assert turned.turn.athlete == "b2"
    said = one.press(Input.SKIP, 0.0)
    assert next(word for word in said if isinstance(word, Closed)).why is Closing.SKIPPED
    assert sorted(turn.number for turn in one.order.coming) == [1, 2, 4]
    alone = a_conductor(PLAN, ("a1",))
    alone.tick(0.0)
    assert alone.press(Input.SWAP, 0.0) == []


def test_a_swap_while_a_result_is_shown_leaves_it_there_and_changes_the_next() -> None:
    plan = msgspec.structs.replace(PLAN, block=(msgspec.structs.replace(STRAIGHTS, sets=2),))
    one, now_s = lead_to(Stage.RESULT, plan)
    shown = one.turn
    assert one.press(Input.SWAP, now_s) == []
    assert one.turn is shown
    (turned,) = one.press(Input.SKIP, now_s)
    assert isinstance(turned, Turned)
    assert turned.turn.number == 5  # not 3


def test_a_pause_waits_for_the_push_and_counts_it() -> None:
    one, now_s = lead_to(Stage.HOLD)
    one.touch(is_touched=True, now_s=now_s + 0.3)
    assert one.press(Input.PAUSE, now_s + 1.0) == []
    (done,) = one.take(a_rep(), now_s + 4.0)
    assert isinstance(done, Done)
    one.tick(now_s + 8.1)
    assert stage_of(one) is Stage.PAUSED
    one.tick(now_s + 1e4)
    assert stage_of(one) is Stage.PAUSED


def test_go_while_a_pause_is_due_takes_the_pause_back() -> None:
    one, now_s = lead_to(Stage.RESULT)
    one.press(Input.PAUSE, now_s)
    one.press(Input.GO, now_s)
    assert stage_of(one) is Stage.COUNT_IN


def test_a_paused_session_stays_paused_when_the_board_comes_back() -> None:
    one, now_s = lead_to(Stage.PAUSED)
    one.board(is_there=False, now_s=now_s)
    one.board(is_there=True, now_s=now_s + 60.0)
    assert stage_of(one) is Stage.PAUSED


def test_a_pause_that_is_due_outlasts_a_lost_board() -> None:
    one, now_s = lead_to(Stage.RESULT)
    one.press(Input.PAUSE, now_s)
    one.board(is_there=False, now_s=now_s)
    one.board(is_there=True, now_s=now_s + 60.0)
    assert stage_of(one) is Stage.PAUSED


def test_redo_of_a_paused_session_waits_for_the_coach() -> None:
    one, now_s = lead_to(Stage.PAUSED)
    one.press(Input.REDO, now_s)
    assert stage_of(one) is Stage.PAUSED
    assert one.turn is not None
    assert one.turn.number == 1


def test_a_lost_board_takes_nothing_and_the_turn_comes_again() -> None:
    one, now_s = lead_to(Stage.HOLD)
    turn = one.turn
    one.touch(is_touched=True, now_s=now_s)
    one.board(is_there=False, now_s=now_s + 1.0)
    one.touch(is_touched=False, now_s=now_s + 1.0)
    assert one.board(is_there=False, now_s=now_s + 2.0) == []
    assert one.tick(now_s + 600.0) == []
    said = one.board(is_there=True, now_s=now_s + 601.0)
    assert turn is not None
    assert said == [Turned(turn)]
    done = [word for word in run_through(one, now_s + 601.0)[0] if isinstance(word, Done)]
    assert [word.turn.number for word in done] == [2, 3, 4]


def test_a_pause_while_the_board_is_away_begins_when_it_is_back() -> None:
    one, now_s = lead_to(Stage.LOST)
    assert one.press(Input.PAUSE, now_s) == []
    one.board(is_there=True, now_s=now_s + 60.0)
    assert stage_of(one) is Stage.PAUSED


def test_athlete_led_a_push_that_was_cut_off_begins_nothing_until_it_is_let_go() -> None:
    one = a_conductor(msgspec.structs.replace(PLAN, mode=Mode.ATHLETE))
    one.tick(0.0)
    one.touch(is_touched=True, now_s=1.0)
    one.board(is_there=False, now_s=2.0)
    one.board(is_there=True, now_s=9.0)
    one.touch(is_touched=True, now_s=9.1)  # nobody has seen it end yet
    assert stage_of(one) is Stage.READY
    assert [type(word) for word in one.take(a_rep(), 9.2)] == [Extra]
    one.touch(is_touched=False, now_s=9.3)
    one.touch(is_touched=True, now_s=9.4)
    assert stage_of(one) is Stage.HOLD


def test_athlete_led_an_early_push_that_was_cut_off_begins_nothing_either() -> None:
    one, now_s = a_conductor(msgspec.structs.replace(PLAN, mode=Mode.ATHLETE)), 8.0
    one.tick(0.0)
    one.touch(is_touched=True, now_s=1.0)
    one.take(a_rep(), 5.0)
    one.touch(is_touched=False, now_s=5.0)
    assert stage_of(one) is Stage.RESULT
    one.touch(is_touched=True, now_s=now_s)  # before its time
    one.board(is_there=False, now_s=now_s + 1.0)
    one.board(is_there=True, now_s=now_s + 2.0)
    now_s = wait_for(one, Stage.READY, now_s + 2.0)
    one.touch(is_touched=True, now_s=now_s)
    assert stage_of(one) is Stage.READY


@pytest.mark.parametrize("what", [Input.REDO, Input.STOP, Input.SKIP, Input.SWAP])
def test_a_push_that_was_called_off_counts_for_nothing(what: Input) -> None:
    one, now_s = lead_to(Stage.HOLD)
    one.touch(is_touched=True, now_s=now_s)
    one.press(what, now_s + 0.5)
    one.press(Input.GO, now_s + 0.6)
    assert stage_of(one) is Stage.COUNT_IN
    said = one.take(a_rep(), now_s + 1.0)
    assert [type(word) for word in said] == [Extra]
    one.touch(is_touched=False, now_s=now_s + 1.0)
    assert stage_of(one) is Stage.COUNT_IN
    (done,) = one.take(a_rep(), now_s + 2.0)  # that one is a false start
    assert isinstance(done, Done)


def test_pain_of_another_athlete_leaves_the_one_at_the_wall_alone() -> None:
    one, now_s = lead_to(Stage.HOLD)
    other = next(turn for turn in one.order.coming if turn.athlete == "b2")
    said = one.press(Input.PAIN, now_s, turn=other.number)
    assert [type(word) for word in said] == [Advised, Closed]
    assert stage_of(one) is Stage.HOLD
    (done,) = one.take(a_rep(), now_s + 3.0)
    assert isinstance(done, Done)


def test_what_was_cut_off_is_an_extra_and_the_turn_comes_again() -> None:
    one, now_s = lead_to(Stage.HOLD)
    turn = one.turn
    cut = a_rep(complete=False)
    said = one.take(cut, now_s + 1.0)
    assert next(word for word in said if isinstance(word, Extra)).rep is cut
    assert (stage_of(one), one.turn) == (Stage.READY, turn)
    assert len(one.take(cut, now_s)) == 1


def test_nobody_pushes_twice_and_the_turn_is_over_hands_free_only() -> None:
    one = a_conductor()
    one.tick(0.0)
    said: list[object] = []
    now_s = 0.0
    while not [word for word in said if isinstance(word, Closed)]:
        now_s += 0.1
        said += one.tick(now_s)
        assert now_s < 200.0
    assert sum(word == Called(Call.GO) for word in said) == 2
    assert next(word for word in said if isinstance(word, Closed)).why is Closing.NO_SHOW
    assert one.no_show


def test_redo_after_nobody_pushed_counts_in_again_and_takes_nothing_back() -> None:
    one, now_s = lead_to(Stage.HOLD)
    turn = one.turn
    one.tick(now_s + HOLD_S + NO_SHOW_S + 0.1)
    assert one.no_show
    said = one.press(Input.REDO, now_s + HOLD_S + NO_SHOW_S + 0.2)
    assert not [word for word in said if isinstance(word, TakenBack)]
    assert (stage_of(one), one.turn) == (Stage.COUNT_IN, turn)


def test_with_a_coach_nothing_begins_without_a_key() -> None:
    one = a_conductor(msgspec.structs.replace(PLAN, mode=Mode.COACH))
    one.tick(0.0)
    assert one.tick(1e4) == []
    assert stage_of(one) is Stage.READY
    assert one.seconds_left(1e4) is None
    one.press(Input.GO, 1e4)
    now_s = wait_for(one, Stage.HOLD, 1e4)
    assert now_s - 1e4 == pytest.approx(COUNT_IN_S, abs=0.11)
    for _ in range(3):
        now_s = wait_for(one, Stage.RESULT, now_s)
        now_s = wait_for(one, Stage.READY, now_s)
        one.press(Input.GO, now_s)
    assert one.order.open_turns == 4  # it comes again as often as the coach wants


def test_athlete_led_the_push_itself_begins_the_hold() -> None:
    one = a_conductor(msgspec.structs.replace(PLAN, mode=Mode.ATHLETE))
    said = one.tick(0.0)
    assert isinstance(said[-1], Prescribed)
    assert stage_of(one) is Stage.READY
    assert one.touch(is_touched=True, now_s=50.0) == []
    assert stage_of(one) is Stage.HOLD
    assert one.seconds_left(51.0) == pytest.approx(HOLD_S - 1.0)
    (done,) = one.take(a_rep(), 54.0)
    assert isinstance(done, Done)


def test_an_overload_waits_for_a_key_and_the_push_still_counts() -> None:
    one, now_s = lead_to(Stage.HOLD)
    one.touch(is_touched=True, now_s=now_s)
    assert one.overload(now_s + 1.0) == [Called(Call.OVERLOAD)]
    assert one.is_overloaded
    assert one.seconds_left(now_s + 1.0) == pytest.approx(-1.0)
    one.take(a_rep(), now_s + 2.0)
    now_s = wait_for(one, Stage.READY, now_s + 2.0)
    one.tick(now_s + 1e4)
    assert stage_of(one) is Stage.READY
    one.press(Input.GO, now_s + 1e4)
    assert stage_of(one) is Stage.COUNT_IN


def test_athlete_led_no_push_begins_a_hold_after_an_overload_until_a_key_says_so() -> None:
    one = a_conductor(msgspec.structs.replace(PLAN, mode=Mode.ATHLETE))
    one.tick(0.0)
    one.overload(1.0)
    one.touch(is_touched=False, now_s=2.0)
    assert one.touch(is_touched=True, now_s=3.0) == []
    assert stage_of(one) is Stage.READY
    one.press(Input.GO, 4.0)
    assert stage_of(one) is Stage.COUNT_IN


@pytest.mark.parametrize("stage", [Stage.COUNT_IN, Stage.HOLD, Stage.DRILL])
def test_what_was_called_off_does_not_begin_again_by_itself(stage: Stage) -> None:
    one, now_s = lead_to(stage)
    assert Called(Call.STOPPED) in one.press(Input.STOP, now_s)
    assert one.tick(now_s + 1e4) == []
    assert stage_of(one) is Stage.READY
    one.press(Input.GO, now_s + 1e4)
    assert stage_of(one) is Stage.COUNT_IN


@pytest.mark.parametrize(
    "stage", [stage for stage, row in TABLE.items() if row.get(Input.OVERLOAD) is Do.BREAK]
)
def test_after_an_overload_nothing_begins_by_itself_wherever_it_came(stage: Stage) -> None:
    one, now_s = lead_to(stage, msgspec.structs.replace(PLAN, block=(STRAIGHTS, STRAIGHTS)))
    one.overload(now_s)
    if stage in (Stage.HOLD, Stage.COUNT_IN):
        now_s = finish_hold(one, now_s)
    calls: list[object] = []
    for _ in range(600):
        now_s += 0.5
        calls += one.tick(now_s)
    assert Called(Call.GO) not in calls
    assert stage_of(one) is {
        Stage.PAUSED: Stage.PAUSED,
        Stage.DRILL: Stage.OVER,  # it needs no wall, goes on, and was the last one
    }.get(stage, Stage.READY)


def test_an_overloaded_count_in_does_not_begin_again_by_itself() -> None:
    one, now_s = lead_to(Stage.COUNT_IN)
    one.overload(now_s)
    assert one.tick(now_s + 1e4) == []
    assert stage_of(one) is Stage.READY


@pytest.mark.parametrize("stage", [Stage.COUNT_IN, Stage.HOLD, Stage.DRILL])
@pytest.mark.parametrize("what", [Input.SKIP, Input.SWAP, Input.PAUSE])
def test_what_is_broken_off_is_said_to_be_stopped(stage: Stage, what: Input) -> None:
    one, now_s = lead_to(stage)
    can_swap = stage is not Stage.DRILL  # of a drill of all there is no next one
    said = one.press(what, now_s)
    assert (Called(Call.STOPPED) in said) is (can_swap or what is not Input.SWAP)


def test_letting_go_ends_the_overload_and_a_tap_gives_time_again() -> None:
    one, now_s = lead_to(Stage.HOLD)
    one.touch(is_touched=True, now_s=now_s)
    one.overload(now_s)
    one.touch(is_touched=False, now_s=now_s + 1.0)
    assert not one.is_overloaded
    one.tick(now_s + 1.0 + HOLD_S + NO_SHOW_S - 0.1)
    assert stage_of(one) is Stage.HOLD
    one.tick(now_s + 1.0 + HOLD_S + NO_SHOW_S + 0.1)
    assert stage_of(one) is Stage.RESULT


def test_a_cue_goes_with_the_athletes_next_hold_only() -> None:
    plan = msgspec.structs.replace(PLAN, block=(msgspec.structs.replace(STRAIGHTS, sets=2),))
    one, now_s = lead_to(Stage.RESULT, plan)
    shown = one.turn
    assert shown is not None
    assert (shown.number, shown.athlete) == (2, "a1")
    said = one.cue("whole body")
    assert [(word.turn.number, word.cue) for word in said if isinstance(word, Cued)] == [
        (5, "whole body")
    ]
    done = [word for word in run_through(one, now_s)[0] if isinstance(word, Done)]
    assert [word.turn.number for word in done if word.cue] == [5]
    assert one.cue("too late") == []


def test_the_band_follows_from_the_best_and_is_left_out_without_one() -> None:
    block = Block(
        name="band",
        exercises=("rear-straight",),
        seconds=5.0,
        effort=Effort.SUBMAXIMAL,
        target=Target.BAND,
        band_percent=(70.0, 80.0),
    )
    plan = Plan(name="bands", block=(block,), mode=Mode.ROUNDS)
    turns = turns_of(plan, ("a1", "b2"), EXERCISES)
    best = MeasureValue("peak_force", 1000.0, "N", 1.0, 1.0)
    one = GroupConductor(plan, turns, past={("a1", "rear-straight"): best})
    asked = []
    for turn in turns:
        asked.append(one.targets.prescription(turn).band_N)
        assert one.targets.target_N(turn) is None
        assert one.targets.past_best(turn) is None  # a maximal best is no yardstick here
    assert asked == [pytest.approx((700.0, 800.0)), None]


def test_the_number_to_chase() -> None:
    one, now_s = lead_to(Stage.RESULT)
    turn = one.turn
    assert turn is not None
    assert one.targets.target_N(turn) == 500.0
    fixed = msgspec.structs.replace(STRAIGHTS, target=Target.FIXED, fixed_N=640.0)
    assert one.targets.target_N(replace(turn, block=fixed)) == 640.0
    assert one.reps[0].measures["peak_force"].value == 500.0
    one.press(Input.UNDO, now_s)
    assert one.targets.target_N(turn) is None
    assert not one.targets.take_back(turn)


def test_a_session_is_taken_up_at_the_first_open_turn() -> None:
    turns = turns_of(PLAN, PEOPLE, EXERCISES)
    record = SessionRecord("s", "trial", "", PEOPLE, len(turns), None)  # type: ignore[arg-type] # the moment does not matter here
    point = ResumePoint(
        record, frozenset({1}), {3: Closing.PAIN}, {1: 2}, frozenset({("b2", "lead-straight")})
    )
    one = GroupConductor(PLAN, turns, resumed=point)
    one.tick(0.0)
    assert one.turn is not None
    assert one.turn.number == 2
    assert [turn.number for turn in one.order.coming] == [2, 4]
    turn = turns[0]
    assert one.press(Input.REDO, 0.0) == [Named(turn, is_before=True)]
    said = one.press(Input.REDO, 0.0)
    assert [word.turn.number for word in said if isinstance(word, TakenBack)] == [1]
    assert one.turn == turn
    assert stage_of(one) is Stage.PAUSED
    one.press(Input.GO, 0.0)
    (nothing,) = one.press(Input.UNDO, 0.0)  # what was done before it broke off stays
    assert isinstance(nothing, Undone)
    assert nothing.turn is None
    now_s = wait_for(one, Stage.HOLD, 0.0)
    (done,) = one.take(a_rep(), now_s)
    assert isinstance(done, Done)
    assert done.attempt == 3


@pytest.mark.parametrize(
    "stage", [stage for stage in Stage if Input.OLDER in TABLE[stage]], ids=str
)
def test_what_lies_before_the_break_is_named_before_it_is_taken_back(stage: Stage) -> None:
    """The first redo only pauses; the second takes back what the first has named."""
    one, now_s = lead_on(stage)
    before = (one.order.coming, one.order.over, one.results)
    (named,) = one.press(Input.REDO, now_s)
    assert isinstance(named, Named)
    assert one.named == named
    assert (named.turn.number, named.is_before) == (1, True)  # the one that ended last
    assert (one.order.coming, one.order.over, one.results) == before
    now_s += 100.0
    one.tick(now_s)
    assert stage_of(one) in (Stage.PAUSED, Stage.OVER)
    said = one.press(Input.REDO, now_s)
    assert [word.turn.number for word in said if isinstance(word, TakenBack)] == [1]
    assert one.turn == named.turn
    assert one.named is None


def test_each_that_lies_before_the_break_is_named() -> None:
    one, now_s = lead_on(Stage.PAUSED)
    said = [word for _ in range(4) for word in one.press(Input.REDO, now_s)]
    assert [word.turn.number for word in said if isinstance(word, Named)] == [1, 2]
    assert [word.turn.number for word in said if isinstance(word, TakenBack)] == [1, 2]
    assert one.press(Input.REDO, now_s) == []


@pytest.mark.parametrize("no", sorted(COMMANDS - {Input.REDO}))
def test_every_other_command_means_no(no: Input) -> None:
    one, now_s = lead_on(Stage.PAUSED)
    one.press(Input.REDO, now_s)
    one.press(no, now_s)
    assert one.named is None
    assert {1, 2} <= one.results


def test_what_was_shown_as_last_is_redone_at_once_after_a_break_too() -> None:
    one, now_s = lead_on(Stage.READY)
    now_s = finish_hold(one, wait_for(one, Stage.HOLD, now_s))
    shown = one.turn
    said = one.press(Input.REDO, now_s)
    assert [word.turn for word in said if isinstance(word, TakenBack)] == [shown]
    assert not [word for word in said if isinstance(word, Named)]


def test_what_nobody_saw_end_last_is_named_without_a_break_too() -> None:
    one, now_s = lead_to(Stage.RESULT)
    first = one.order.over[0][0]
    one.press(Input.PAIN, now_s)  # the one that is shown cannot come again
    assert one.press(Input.REDO, now_s) == [Named(first, is_before=False)]
    assert 1 in one.results
    said = one.press(Input.REDO, now_s)
    assert [word.turn for word in said if isinstance(word, TakenBack)] == [first]


def test_a_missed_turn_that_comes_again_is_no_older_one() -> None:
    one, now_s = lead_on(Stage.READY)
    now_s = wait_for(one, Stage.HOLD, now_s)
    now_s = wait_for(one, Stage.RESULT, now_s)
    assert one.no_show
    said = one.press(Input.REDO, now_s)
    assert not [word for word in said if isinstance(word, (Named, TakenBack))]
    assert stage_of(one) is Stage.COUNT_IN


def test_a_laptop_that_slept_does_not_run_through_the_session() -> None:
    one = a_conductor()
    one.tick(0.0)
    said = one.tick(3600.0)
    assert sum(word == Called(Call.GO) for word in said) <= 1
    assert not [word for word in said if isinstance(word, Closed)]
    assert one.order.open_turns == 4
    assert MOST_LATE_S < COUNT_IN_S


def test_before_the_first_tick_a_command_finds_the_first_turn() -> None:
    one = a_conductor()
    said = one.press(Input.GO, 5.0)
    assert isinstance(said[0], Turned)
    assert stage_of(one) is Stage.COUNT_IN
    assert one.rep_number == 1
    assert one.plan.prescription.hold_s == HOLD_S


def test_what_was_ended_for_pain_does_not_come_again() -> None:
    one = a_conductor(PLAN, ("a1",))
    one.tick(0.0)
    now_s = do_turn(one, 0.0)
    one.order.stop("a1", "lead-straight")
    assert one.press(Input.REDO, now_s) == []
    one.press(Input.SKIP, now_s)
    assert stage_of(one) is Stage.OVER
    assert one.order.following is None
    assert one.order.party == ()


def test_pain_after_the_last_result_ends_nothing_more() -> None:
    one = a_conductor(PLAN, ("a1",))
    one.tick(0.0)
    now_s = do_turn(one, 0.0)
    now_s = finish_hold(one, wait_for(one, Stage.HOLD, now_s))
    said = one.press(Input.PAIN, now_s)
    assert [type(word) for word in said] == [Advised, Stopped]


def test_go_after_the_last_result_ends_the_session() -> None:
    one = a_conductor(PLAN, ("a1",))
    one.tick(0.0)
    now_s = do_turn(one, 0.0)
    now_s = finish_hold(one, wait_for(one, Stage.HOLD, now_s))
    assert one.phase is Phase.RESULT
    assert one.press(Input.GO, now_s) == [Finished()]


def test_when_all_is_over_nothing_is_shown() -> None:
    one, _ = lead_to(Stage.OVER)
    assert one.is_done
    assert (one.turn, one.rep_number, one.reps) == (None, 0, [])
    assert one.seconds_left(1.0) is None


STORM = st.lists(
    st.one_of(
        st.sampled_from(list(Input)),
        st.floats(0.05, 12.0),
        st.sampled_from(["cue", "cut", "let go"]),
    ),
    max_size=60,
)


@given(STORM, st.sampled_from(list(Mode)), st.sampled_from(list(Order)))
@settings(deadline=None)
def test_no_storm_loses_a_rep_or_hangs(
    storm: list[Input | float | str], mode: Mode, order: Order
) -> None:
    plan = msgspec.structs.replace(PLAN, block=(STRAIGHTS, BAND), mode=mode, order=order)
    one, now_s, given_reps = a_conductor(plan), 0.0, 0
    said: list[object] = list(one.tick(now_s))
    for what in storm:
        now_s += what if isinstance(what, float) else 0.0
        given_reps += what in ("cut", Input.REP)
        said += _strike(one, what, now_s)
        left_s = one.seconds_left(now_s)
        assert left_s is None or math.isfinite(left_s)
        if stage_of(one) in (Stage.PAUSED, Stage.LOST, Stage.OVER):
            assert left_s is None  # nothing goes on by itself
    assert _open_after(one, said, plan) == {turn.number for turn in one.order.coming}
    for at, word in enumerate(said):
        if isinstance(word, Closed) and word.why is Closing.PAIN:
            ended = (word.turn.athlete, word.turn.exercise.key)
            assert ended not in _called(_until_taken_back(said[at:], ended))
    came_out = [w for w in said if isinstance(w, Extra) or (isinstance(w, Done) and w.rep)]
    assert len(came_out) == given_reps
    attempts = [(w.turn.number, w.attempt) for w in said if isinstance(w, Done)]
    assert len(attempts) == len(set(attempts))
    # wherever it was left, the board comes back, somebody goes on, and it ends
    said += one.board(is_there=True, now_s=now_s)
    for _ in range(3000):
        if stage_of(one) is Stage.OVER:
            break
        now_s += 1.0
        said += one.tick(now_s)
        if stage_of(one) in (Stage.PAUSED, Stage.READY):
            said += one.press(Input.GO, now_s)
        elif stage_of(one) is Stage.HOLD:
            one.touch(is_touched=False, now_s=now_s)
            said += one.take(a_rep(), now_s)
    assert stage_of(one) is Stage.OVER
    assert _ledger(said) == {1, 2, 3, 4, 5, 6}


def _open_after(one: GroupConductor, said: list[object], plan: Plan) -> set[int]:
    """Kill it, and take the session up again from what a store has; give the open turns."""
    done: set[int] = set()
    closed: dict[int, Closing] = {}
    attempts: dict[int, int] = {}
    for word in said:
        if isinstance(word, Done):
            done.add(word.turn.number)
            attempts[word.turn.number] = word.attempt
        elif isinstance(word, Closed):
            closed[word.turn.number] = word.why
        elif isinstance(word, TakenBack):
            done.discard(word.turn.number)
        elif isinstance(word, Reopened):
            closed.pop(word.turn.number, None)
    turns = turns_of(plan, PEOPLE, EXERCISES)
    record = SessionRecord("s", plan.name, "", PEOPLE, len(turns), None)  # type: ignore[arg-type] # the moment does not matter here
    stopped = frozenset(one.order.stopped)
    point = ResumePoint(record, frozenset(done), closed, attempts, stopped)
    resumed = GroupConductor(plan, turns, resumed=point)
    return {turn.number for turn in resumed.order.coming}


def _until_taken_back(said: list[object], ended: tuple[str, str]) -> list[object]:
    """Give what was said until a stop for pain was taken back."""
    for at, word in enumerate(said):
        turn = word.turn if isinstance(word, Undone) and word.why is Closing.PAIN else None
        if turn is not None and (turn.athlete, turn.exercise.key) == ended:
            return said[:at]
    return said


def _called(said: list[object]) -> set[tuple[str, str]]:
    """Name who was called to the wall, and for what."""
    turns = [word.turn for word in said if isinstance(word, (Turned, Done))]
    return {(turn.athlete, turn.exercise.key) for turn in turns}


def _strike(one: GroupConductor, what: Input | float | str, now_s: float) -> list[object]:
    """Let one thing of a storm happen."""
    if what == "cue":
        return list(one.cue("snap"))
    if what == "let go":
        return list(one.touch(is_touched=False, now_s=now_s))
    if what == "cut":
        return list(one.take(a_rep(complete=False), now_s))
    if what is Input.DUE or isinstance(what, float):
        return list(one.tick(now_s))
    return give(one, Input(what), now_s)


def _ledger(said: list[object]) -> set[int]:
    """Keep book as a store would, give the turns that are over; none is over twice."""
    over: set[int] = set()
    for word in said:
        if isinstance(word, (Done, Closed)):
            assert word.turn.number not in over
            over.add(word.turn.number)
        elif isinstance(word, (Reopened, TakenBack)):
            over.discard(word.turn.number)
    return over
