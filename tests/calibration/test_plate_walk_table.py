"""Every cell of the table at the head of `plate_walk`, on a rig that is known exactly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.calibration.creep import beyond_hold_N
from strikebridge.calibration.lifts import Lift, Stage
from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.calibration.walk_view import TakenPoint, WalkKey, WalkState
from strikebridge.errors import CalibrationError
from strikebridge.samples import Flag, Quantity, TimedBlock
from tests.calibration.walk_scenes import PLATES, Rig, flagged, lead

if TYPE_CHECKING:
    from collections.abc import Callable

UP_AND_DOWN = 9  # points of one run with four plates
BEFORE = 5  # steps before the first point: zero, twice to the top and off


def begun(rig: Rig, setup: WalkSetup | None = None) -> PlateWalk:
    walk = PlateWalk(setup or WalkSetup(PLATES, runs=1))
    rig.hear(walk.feed([rig.block(80)]))
    assert state_of(walk) is WalkState.READY
    rig.hear(walk.press(WalkKey.NEXT))
    return walk


def state_of(walk: PlateWalk) -> WalkState:
    """The state, not narrowed by what was asserted of it before."""
    return walk.state


def until(
    walk: PlateWalk, rig: Rig, is_there: Callable[[], bool], most_s: float = 60.0
) -> None:
    end_s = rig.now_s + most_s
    while not is_there():
        assert rig.now_s < end_s, walk.view()
        rig.hear(walk.feed([rig.block(8)]))


def at(walk: PlateWalk, rig: Rig, state: WalkState, points: int) -> None:
    until(walk, rig, lambda: walk.state is state and len(walk.points) == points, 200.0)


def wait_for(walk: PlateWalk, rig: Rig, seconds: float) -> None:
    end_s = rig.now_s + seconds
    until(walk, rig, lambda: rig.now_s >= end_s, seconds + 1.0)


# ready


def test_ready_waits_for_a_key_and_says_what_to_mind() -> None:
    rig = Rig()
    walk = PlateWalk(WalkSetup(PLATES))
    wait_for(walk, rig, 30.0)
    view = walk.view()
    assert state_of(walk) is WalkState.READY
    assert "everything off" in view.instruction
    assert "direction of the punch" in view.detail
    assert "zero it again" in view.detail
    assert view.lift is None
    walk.press(WalkKey.REDO)
    assert state_of(walk) is WalkState.READY
    kinds = [call.kind for call in walk.press(WalkKey.NEXT)]
    assert kinds == ["plate"] * 4 + ["load"]
    assert state_of(walk) is WalkState.SETTLING


# waiting


def test_waiting_waits_for_the_plate_however_long_it_takes() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.WAITING, 1)
    rig.next = None
    wait_for(walk, rig, 120.0)
    assert state_of(walk) is WalkState.WAITING
    assert walk.view().instruction == "Put plate A on."
    assert walk.view().steadiness == "waiting for the load"
    rig.put("1")
    at(walk, rig, WalkState.TAKING, 1)


def test_waiting_next_takes_what_is_there() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.WAITING, 2)
    rig.next = None
    walk.press(WalkKey.NEXT)
    assert state_of(walk) is WalkState.TAKING
    pressed_s = rig.now_s
    at(walk, rig, WalkState.QUESTION, 3)
    assert walk.points[-1].residual_kg == pytest.approx(-15.0, abs=0.1)
    # its load came when the coach said so, not with that of the step before
    assert walk.points[-1].came_s == pytest.approx(pressed_s, abs=0.2)
    steps = walk.walk_input()
    came_s = np.array([point.came_s for point in walk.points])
    read_s = np.array([point.time_s for point in walk.points])
    np.testing.assert_array_equal(
        steps.longer_N, beyond_hold_N(steps.steps.load_N, came_s, read_s)
    )


def test_waiting_redo_takes_the_last_point_back() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.WAITING, 2)
    rig.next = None
    first = walk.points[-1]
    rig.hear(walk.press(WalkKey.REDO))
    assert (walk.state, len(walk.points)) == (WalkState.SETTLING, 1)
    at(walk, rig, WalkState.WAITING, 2)
    again = walk.points[-1]
    assert again.number == first.number == 2
    assert again.time_s > first.time_s
    assert rig.steps[-3:] == [(8, "1+2"), (7, "1"), (8, "1+2")]


def test_waiting_redo_of_the_exercise_takes_no_point_back() -> None:
    rig = Rig()
    walk = begun(rig)
    until(walk, rig, lambda: walk.view().steps_done == 2)
    rig.hear(walk.press(WalkKey.REDO))
    assert walk.view().steps_done == 1
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW


def test_waiting_for_the_first_plates_redo_takes_the_zero_again() -> None:
    rig = Rig()
    walk = begun(rig)
    until(walk, rig, lambda: walk.view().steps_done == 1)
    rig.hear(walk.press(WalkKey.REDO))
    assert walk.view().steps_done == 0
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW


# settling


def test_settling_next_takes_a_reading_that_moves() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.SETTLING, 1)
    assert not walk.view().is_stable
    walk.press(WalkKey.NEXT)
    at(walk, rig, WalkState.WAITING, 2)


def test_settling_goes_back_to_waiting_where_the_plate_goes_away_again() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.SETTLING, 1)
    rig.put("")
    at(walk, rig, WalkState.WAITING, 1)


@pytest.mark.parametrize("state", [WalkState.SETTLING, WalkState.TAKING])
def test_redo_begins_the_step_under_way_again(state: WalkState) -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, state, 2)
    calls = walk.press(WalkKey.REDO)
    assert [call.kind for call in calls] == ["redone", "load"]
    assert (walk.state, len(walk.points)) == (WalkState.SETTLING, 2)
    at(walk, rig, WalkState.TAKING, 2)


def test_a_reading_that_never_settles_is_said_and_taken_by_a_key_only() -> None:
    rig = Rig(swing_kg=1.0)
    walk = begun(rig)
    wait_for(walk, rig, 30.0)
    assert state_of(walk) is WalkState.SETTLING
    assert "does not settle" in walk.view().detail
    assert walk.view().steadiness == "not stable yet: it swings"
    walk.press(WalkKey.NEXT)
    until(walk, rig, lambda: walk.view().steps_done == 1)


def test_without_hands_it_is_taken_all_the_same_and_remembered() -> None:
    rig = Rig(swing_kg=1.0)
    walk = PlateWalk(WalkSetup(PLATES, runs=1, is_hands_free=True))
    until(walk, rig, lambda: walk.view().steps_done == 1)
    assert walk.remarks == ["Step 1 never became stable (it swings); it was taken so."]


def test_nothing_is_taken_at_the_end_of_the_converter() -> None:
    rig = Rig()
    walk = begun(rig)
    for _ in range(100):
        walk.feed([flagged(rig.block(8), Flag.SATURATED)])
    assert state_of(walk) is WalkState.SETTLING
    assert "end of its range" in walk.view().detail
    walk.press(WalkKey.NEXT)
    assert state_of(walk) is WalkState.SETTLING
    at(walk, rig, WalkState.TAKING, 0)
    walk.feed([flagged(rig.block(16), Flag.SATURATED)])
    assert state_of(walk) is WalkState.SETTLING


# taking


def test_taking_begins_again_where_somebody_touches_it() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.TAKING, 2)
    wait_for(walk, rig, 1.0)
    assert 0.2 < walk.view().taking_share < 0.6
    rig.load_kg += 3.0
    at(walk, rig, WalkState.SETTLING, 2)
    rig.load_kg -= 3.0
    at(walk, rig, WalkState.WAITING, 3)
    assert not walk.points[-1].remark


def test_next_means_nothing_while_the_mean_is_taken() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.TAKING, 1)
    assert walk.press(WalkKey.NEXT) == []
    assert state_of(walk) is WalkState.TAKING
    assert WalkKey.NEXT not in walk.view().keys


# question


def wrong_at(rig: Rig, step: int, plates: str) -> PlateWalk:
    rig.wrong[step] = plates
    walk = begun(rig)
    lead(walk, rig)
    assert state_of(walk) is WalkState.QUESTION
    return walk


def test_a_point_that_does_not_fit_is_said_at_once() -> None:
    rig = Rig()
    walk = wrong_at(rig, BEFORE + 3, "1+3")  # C in place of B
    view = walk.view()
    assert "does not fit" in view.instruction
    assert "30.0" in view.detail
    assert "35 kg should lie" in view.detail
    assert len(view.points) == 3
    wait_for(walk, rig, 60.0)
    assert state_of(walk) is WalkState.QUESTION


def test_question_next_keeps_the_point_and_the_end_names_it() -> None:
    rig = Rig()
    walk = wrong_at(rig, BEFORE + 3, "1+3")
    rig.hear(walk.press(WalkKey.NEXT))
    assert state_of(walk) is WalkState.WAITING
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert [point.number for point in walk.points if point.remark] == [3]
    warnings = analyse_walk(walk.walk_input()).warnings
    assert any("Point 3 (A+B, up) is off by -5" in words for words in warnings)


def test_question_redo_takes_it_again() -> None:
    rig = Rig()
    walk = wrong_at(rig, BEFORE + 3, "1+3")
    rig.hear(walk.press(WalkKey.REDO))
    assert (walk.state, len(walk.points)) == (WalkState.SETTLING, 2)
    at(walk, rig, WalkState.WAITING, 3)
    assert not walk.points[-1].remark


def test_question_is_answered_by_putting_the_plates_right() -> None:
    rig = Rig()
    walk = wrong_at(rig, BEFORE + 3, "1+3")
    rig.put("1+2")
    at(walk, rig, WalkState.WAITING, 3)
    assert not walk.points[-1].remark


def test_without_hands_a_point_that_does_not_fit_is_kept_and_remembered() -> None:
    rig = Rig()
    rig.wrong[BEFORE + 3] = "1+3"
    walk = PlateWalk(WalkSetup(PLATES, runs=1, is_hands_free=True))
    lead(walk, rig)
    assert state_of(walk) is WalkState.DONE
    assert len(walk.remarks) == 1
    assert walk.remarks[0].startswith("point 3 (A+B, up): This does not fit")


# review, done, cancelled


def test_review_redo_then_next_finishes() -> None:
    rig = Rig()
    walk = begun(rig)
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert walk.view().steps_done == walk.view().steps_total == BEFORE + UP_AND_DOWN
    rig.hear(walk.press(WalkKey.REDO))
    assert len(walk.points) == UP_AND_DOWN - 1
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert [call.kind for call in walk.press(WalkKey.NEXT)] == ["finished"]
    assert walk.has_ended
    assert len(walk.points) == UP_AND_DOWN


def test_what_has_ended_hears_and_takes_nothing() -> None:
    rig = Rig()
    walk = begun(rig)
    assert [call.kind for call in walk.press(WalkKey.CANCEL)] == ["cancelled"]
    before = walk.view()
    assert walk.press(WalkKey.NEXT) == []
    wait_for(walk, rig, 5.0)
    assert walk.view() == before
    assert before.keys == ()


def test_quit_finishes_after_the_first_walk_and_cancels_before() -> None:
    rig = Rig()
    walk = begun(rig, WalkSetup(PLATES, runs=2))
    at(walk, rig, WalkState.WAITING, UP_AND_DOWN - 1)
    assert not walk.view().can_finish
    assert WalkKey.CANCEL in walk.view().keys
    at(walk, rig, WalkState.WAITING, UP_AND_DOWN + 2)
    assert walk.view().can_finish
    assert WalkKey.QUIT in walk.view().keys
    walk.press(WalkKey.QUIT)
    assert state_of(walk) is WalkState.DONE
    assert len(walk.points) == UP_AND_DOWN + 2
    assert analyse_walk(walk.walk_input()).fit.r_squared > 0.9999


def test_quit_cancels_before_and_keeps_the_points() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.WAITING, 4)
    walk.press(WalkKey.QUIT)
    assert state_of(walk) is WalkState.CANCELLED
    assert len(walk.view().points) == 4
    assert [plate.name for plate in walk.walk_input().plates] == ["A", "B", "C"]


# the exercise


def test_plates_that_come_one_by_one_are_followed_to_the_top() -> None:
    rig = Rig()
    walk = begun(rig)
    until(walk, rig, lambda: walk.view().steps_done == 1)
    rig.next = None
    rig.put("1")
    until(walk, rig, lambda: walk.view().steps_done == 2)  # took A for the top
    rig.next = None
    assert "still missing" in walk.view().detail
    rig.put("1+2")
    wait_for(walk, rig, 6.0)
    rig.put("1+2+3+4")
    wait_for(walk, rig, 6.0)
    assert walk.view().steps_done == 2
    assert walk.view().load_kg == pytest.approx(50.0, abs=0.1)
    rig.put("")
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert not walk.remarks


def test_the_second_time_all_plates_must_lie_on_it() -> None:
    rig = Rig()
    walk = begun(rig)
    until(walk, rig, lambda: walk.view().steps_done == 3)
    rig.next = None
    rig.put("1+2")
    wait_for(walk, rig, 10.0)
    assert (walk.state, walk.view().steps_done) == (WalkState.SETTLING, 3)
    rig.put("1+2+3+4")
    until(walk, rig, lambda: walk.view().steps_done == 4)
    rig.next = None
    rig.put("1")
    wait_for(walk, rig, 10.0)
    assert walk.view().steps_done == 4
    rig.put("")
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW


def test_a_cell_that_does_not_come_back_is_said() -> None:
    rig = Rig()
    walk = begun(rig)
    until(walk, rig, lambda: walk.view().steps_done == 2)
    rig.zero += 1.0 * rig.per_kg
    until(walk, rig, lambda: len(walk.points) == 1)
    assert any("The empty cell moved by 2.0 %" in words for words in walk.remarks)


def test_a_step_taken_by_a_key_that_changed_nothing_is_no_top() -> None:
    rig = Rig()
    walk = begun(rig)
    until(walk, rig, lambda: walk.view().steps_done == 1)
    rig.next = None
    walk.press(WalkKey.NEXT)
    assert walk.view().steps_done == 2
    assert walk.view().load_kg is None


def test_more_than_the_rating_is_said() -> None:
    rig = Rig()
    walk = begun(rig, WalkSetup(PLATES, runs=1, rating_kg=52.0))
    until(walk, rig, lambda: len(walk.points) == 4)
    rig.next = None
    rig.load_kg = 60.0
    wait_for(walk, rig, 3.0)
    assert "rated for" in walk.view().detail


def test_plates_above_the_rating_are_refused_once_the_cells_are_known() -> None:
    rig, setup = Rig(), WalkSetup(PLATES, rating_kg=40.0)
    with pytest.raises(CalibrationError, match="the cell is rated for 40 kg"):
        PlateWalk(setup).feed([rig.block(80)])
    two = PlateWalk(setup)
    two.feed([Rig(channels=2).block(80)])  # 80 kg together
    assert two.state is WalkState.READY


# several cells


def test_under_a_platform_the_heaviest_plate_goes_over_each_cell() -> None:
    rig = Rig(channels=3)
    walk = begun(rig)
    seen: list[str] = []
    while walk.state is not WalkState.REVIEW:
        rig.hear(walk.feed([rig.block(8)]))
        if walk.view().instruction not in seen:
            seen.append(walk.view().instruction)
    assert [f"Put plate A on, right over cell {n}." in seen for n in (1, 2, 3)] == [True] * 3
    assert len(walk.points) == UP_AND_DOWN + 6
    assert [point.lift.cell for point in walk.points[-6:]] == [1, 0, 2, 0, 3, 0]
    assert all(len(point.readings) == 3 for point in walk.points)
    assert not walk.remarks


# the stream


def test_a_hole_begins_the_step_again_and_loses_no_point() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.TAKING, 3)
    rig.n += 800  # ten seconds without a reading
    walk.feed([rig.block(16)])
    assert (walk.state, len(walk.points)) == (WalkState.SETTLING, 3)
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert len(walk.points) == UP_AND_DOWN


def test_a_loss_said_by_the_station_and_a_reset_of_the_board_do_the_same() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.TAKING, 3)
    walk.lose()
    assert (walk.state, len(walk.points)) == (WalkState.SETTLING, 3)
    assert walk.view().reading is None
    at(walk, rig, WalkState.TAKING, 3)
    walk.feed([flagged(rig.block(8), Flag.RESTARTED), rig.block(16)])
    assert (walk.state, len(walk.points)) == (WalkState.SETTLING, 3)
    at(walk, rig, WalkState.WAITING, 4)
    walk.lose()
    assert state_of(walk) is WalkState.WAITING
    walk.press(WalkKey.NEXT)  # nothing has come yet
    assert state_of(walk) is WalkState.SETTLING
    lead(walk, rig)
    assert len(walk.points) == UP_AND_DOWN


def test_glitches_are_left_out() -> None:
    rig = Rig()
    walk = begun(rig)
    at(walk, rig, WalkState.TAKING, 0)
    block = rig.block(8)
    bad = flagged(block, Flag.BAD_WORD)
    wild = TimedBlock(bad.number, bad.time_s, bad.counts * 40.0, bad.flags, bad.rate_hz)
    walk.feed([wild])
    at(walk, rig, WalkState.WAITING, 0)
    until(walk, rig, lambda: walk.view().steps_done == 1)


@pytest.mark.parametrize("size", [1, 7, 80])
def test_the_same_readings_give_the_same_points_however_they_are_cut(size: int) -> None:
    whole = recorded_points(8)
    assert recorded_points(size) == whole


def recorded_points(size: int) -> list[TakenPoint]:
    """Play one stream of readings, in which hands had their own pace, in blocks of a size."""
    rig = Rig(hand_s=1.0)
    leader = PlateWalk(WalkSetup(PLATES, runs=1, is_hands_free=True))
    blocks = []
    while not leader.has_ended:
        block = rig.block(8)
        blocks.append(block)
        rig.hear(leader.feed([block]))
    number = np.concatenate([block.number for block in blocks])
    time_s = np.concatenate([block.time_s for block in blocks])
    counts = np.concatenate([block.counts for block in blocks])
    flags = np.concatenate([block.flags for block in blocks])
    walk = PlateWalk(WalkSetup(PLATES, runs=1, is_hands_free=True))
    for i in range(0, len(number), size):
        part = slice(i, i + size)
        walk.feed([TimedBlock(number[part], time_s[part], counts[part], flags[part], 80.0)])
    return list(walk.points)


# plates that cannot be told apart


def test_one_more_lift_is_asked_for_where_two_plates_cannot_be_told_apart() -> None:
    pair = ("C", "D")
    lifts = (
        Lift(Stage.ZERO, ()),
        *(
            Lift(Stage.EXERCISE, names, way)
            for names, way in ((("A", "B", *pair), 1), ((), -1))
        ),
        *(
            Lift(Stage.WALK, names, way, 1)
            for names, way in (
                *(((), 1), (("A",), 1), (("A", "B"), 1), (("A", "B", *pair), 1)),
                *((("A", "B"), -1), (("A",), -1), ((), -1)),
            )
        ),
    )
    rig = Rig()
    walk = begun(rig, WalkSetup(PLATES, lifts=lifts))
    until(walk, rig, lambda: len(walk.points) == 7, 200.0)
    view = walk.view()
    assert view.instruction == "Put plate C on."
    assert "cannot be told from another" in view.detail
    assert view.lift is not None
    assert view.lift.stage is Stage.EXTRA
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert len(walk.points) == 8
    assert not any("told apart" in words for words in analyse_walk(walk.walk_input()).warnings)


def test_points_that_carry_no_line_end_the_walk_without_another_lift() -> None:
    lifts = (Lift(Stage.ZERO, ()), Lift(Stage.WALK, (), 1, 1), Lift(Stage.WALK, (), -1, 1))
    rig = Rig()
    walk = begun(rig, WalkSetup(PLATES, lifts=lifts))
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert walk.view().line is None


def test_two_points_are_too_few_to_tell_plates_apart() -> None:
    names = ("A", "B", "C", "D")
    lifts = (
        Lift(Stage.ZERO, ()),
        *(Lift(Stage.EXERCISE, names, 1), Lift(Stage.EXERCISE, (), -1)),
        *(Lift(Stage.WALK, ("A",), 1, 1), Lift(Stage.WALK, ("A", "B"), 1, 1)),
    )
    rig = Rig()
    walk = begun(rig, WalkSetup(PLATES, lifts=lifts))
    lead(walk, rig)
    assert walk.state is WalkState.REVIEW
    assert len(walk.points) == 2


def test_a_walk_without_points_ends_as_well() -> None:
    rig = Rig()
    walk = begun(rig, WalkSetup(PLATES, lifts=(Lift(Stage.ZERO, ()),)))
    lead(walk, rig)
    assert state_of(walk) is WalkState.REVIEW
    assert not walk.can_finish


def test_a_scale_says_its_own_unit() -> None:
    walk = PlateWalk(WalkSetup(PLATES), Quantity.KG)
    assert walk.view().quantity == "kg"
