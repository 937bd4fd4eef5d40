from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.glance import Glance, Phase, Trace, Trouble
from strikebridge.screens import wall_words as say
from strikebridge.screens.items import Fist, Lane, Number, Words
from strikebridge.screens.look import State
from strikebridge.screens.wall_layout import brick_row, frame
from strikebridge.screens.wall_model import WallModel
from strikebridge.units import ForceUnit
from tests.screens.glances import BASE, GLANCES, HOLDING, IN_BAND, KG_N, RESULT, rise_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from strikebridge.screens.items import Box, Live, Picture

SIZES = [(1024, 600), (1366, 768), (1920, 1080), (1280, 1024), (2560, 1080), (3840, 2160)]
FULL_HD = (1920, 1080)


def picture_of(glance: Glance, size: tuple[int, int] = FULL_HD, now_s: float = 0.0) -> Picture:
    return WallModel("every key").look(glance, size, now_s)


def texts(picture: Picture) -> set[str]:
    return {item.text for item in picture.items if isinstance(item, Words)}


def number(picture: Picture) -> str:
    return next(item.text for item in picture.items if isinstance(item, Number))


def lane_of(picture: Picture) -> Lane:
    assert picture.live.lane is not None
    return picture.live.lane


def live_boxes(live: Live) -> list[Box]:
    boxes = [brick.box for brick in live.bricks]
    boxes += [live.lane.box] if live.lane else []
    return boxes + ([live.trace_box] if live.trace_box else [])


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("name", GLANCES)
def test_nothing_overlaps_and_nothing_leaves_the_wall(name: str, size: tuple[int, int]) -> None:
    picture = picture_of(GLANCES[name], size)
    boxes = [item.box for item in picture.items] + live_boxes(picture.live)
    for box in boxes:
        assert box.w > 0
        assert box.h > 0
        assert box.x >= 0
        assert box.y >= 0
        assert box.right <= size[0] + 1e-6
        assert box.bottom <= size[1] + 1e-6
    for one, other in itertools.combinations(boxes, 2):
        assert not one.overlaps(other)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("waiting", "Waiting for the board."),
        ("trouble", "The board went quiet 3 s ago."),
        ("ready", "Ready when you are"),
        ("ready, a free rep", "6.6 kg to the mark"),
        ("count-in", "Reach 88\u00a0kg"),
        ("hold", "6.6 kg to the mark"),
        ("hold, in the band", "in the band"),
        ("hold, above the band", "above the band: ease off"),
        ("hold, nothing to reach", "pushing"),
        ("hold, stale", "no reading from the board"),
        ("result", "You touched, then pushed. Hit it in one go."),
        ("result", "+2.4 kg on the last (± 0.9 kg), new best"),
        ("result", "held well 93 % ± 3 %"),
        ("result", "no snap"),
        ("rest", "Bartholomew Wetherall-Achterbergen"),
        ("rest", "rest, 18 s left   rep 2 of 5"),
        ("rest, left", "left hand"),
        ("rest, no roster", "Rest"),
    ],
)
def test_what_each_phase_says(name: str, said: str) -> None:
    assert said in texts(picture_of(GLANCES[name]))


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("ready", "1.2"),
        ("count-in", "3"),
        ("hold", "81.4"),
        ("hold, stale", say.DASHES),
        ("result", "84.6"),
        ("result, in pounds", "336.9"),
        ("result, in newtons", "1834"),
        ("result, withheld", say.DASHES),
    ],
)
def test_the_big_number(name: str, shown: str) -> None:
    assert number(picture_of(GLANCES[name])) == shown


def test_every_picture_shows_the_keys() -> None:
    for glance in GLANCES.values():
        assert "every key" in texts(picture_of(glance))
    model = WallModel("every key")
    model.notice = "Saved."
    assert "Saved." in texts(model.look(BASE, FULL_HD, 0.0))


def test_the_fist_is_drawn_on_its_side() -> None:
    for hand, is_right in (("left", False), ("right", True)):
        picture = picture_of(replace(GLANCES["rest"], hand=hand))
        fist = next(item for item in picture.items if isinstance(item, Fist))
        assert (fist.box.x > FULL_HD[0] / 2) is is_right


def play(
    model: WallModel, seconds: float, forces: Callable[[int], float], rate_hz: int = 100
) -> list[Picture]:
    """Show a changing force and return what number and texts stood there each time."""
    shown = []
    for index in range(int(seconds * rate_hz)):
        glance = replace(HOLDING, newest_us=index, force_N=forces(index))
        shown.append(model.look(glance, FULL_HD, index / rate_hz))
    return shown


def changes(values: Sequence[object]) -> int:
    return sum(one != other for one, other in itertools.pairwise(values))


def test_digits_of_the_force_change_at_most_ten_times_a_second() -> None:
    shown = play(WallModel(), 3.0, lambda index: (20.0 + index * 0.2) * KG_N)
    count = changes([number(picture) for picture in shown])
    assert 27 <= count <= 30


def test_other_digits_change_at_most_five_times_a_second() -> None:
    shown = play(WallModel(), 3.0, lambda index: (20.0 + index * 0.2) * KG_N)
    ways = [next(t for t in texts(p) if t.endswith("to the mark")) for p in shown]
    assert 13 <= changes(ways) <= 15


def test_beside_a_fast_rise_no_peak_and_no_way_of_a_moment_ago_stand() -> None:
    model = WallModel()
    low_N, rising_N = 40.0 * KG_N, 61.0 * KG_N
    early = replace(HOLDING, force_N=low_N, peak_N=44.0 * KG_N, target_N=85.0 * KG_N)
    assert "peak 44.0 kg" in texts(model.look(early, FULL_HD, 0.0))
    later = model.look(
        replace(early, newest_us=1, force_N=rising_N, peak_N=44.0 * KG_N), FULL_HD, 0.11
    )
    assert number(later) == "61.0"  # the texts are not due before 0.2 s
    assert "peak 61.0 kg" in texts(later)
    assert "24.0 kg to the mark" in texts(later)


def test_block_and_trace_follow_every_look() -> None:
    shown = play(WallModel(), 1.0, lambda index: (20.0 + index * 0.2) * KG_N)
    assert changes([lane_of(picture).share for picture in shown]) == len(shown) - 1


def test_a_tremor_about_the_edge_flashes_less_than_three_times_a_second() -> None:
    low_N = HOLDING.target_N or 0.0
    shown = play(WallModel(), 3.0, lambda index: low_N + (5.0 if index % 2 else -5.0))
    flashes = changes([lane_of(picture).state for picture in shown]) / 2.0
    assert flashes / 3.0 <= 3.0


def test_a_new_phase_shows_at_once() -> None:
    model = WallModel()
    model.look(HOLDING, FULL_HD, 0.0)
    assert number(model.look(RESULT, FULL_HD, 0.001)) == "84.6"
    lb = replace(RESULT, unit=ForceUnit.LB)
    assert number(model.look(lb, FULL_HD, 0.002)) == "186.5"


def test_the_screen_itself_calls_old_data_stale() -> None:
    model = WallModel()
    assert number(model.look(HOLDING, FULL_HD, 0.0)) == "81.4"
    assert number(model.look(HOLDING, FULL_HD, 0.9)) == "81.4"
    assert number(model.look(HOLDING, FULL_HD, 1.1)) == say.DASHES
    assert number(model.look(replace(HOLDING, newest_us=5), FULL_HD, 1.2)) == "81.4"


def test_the_mark_stays_in_its_place_and_the_scale_grows_in_steps() -> None:
    model = WallModel()
    first = model.look(HOLDING, FULL_HD, 0.0)
    assert lane_of(first).marks == pytest.approx((0.72,))
    hard = replace(HOLDING, force_N=130.0 * KG_N, peak_N=130.0 * KG_N)
    grown = model.look(hard, FULL_HD, 1.0)
    assert grown.live.full_N > first.live.full_N
    assert lane_of(grown).share < 1.0
    again = model.look(replace(HOLDING, force_N=1.0), FULL_HD, 2.0).live
    assert again.full_N == grown.live.full_N
    model.look(GLANCES["rest"], FULL_HD, 3.0)
    assert model.look(HOLDING, FULL_HD, 4.0).live.full_N == first.live.full_N


def test_the_band_has_two_marks_with_their_forces() -> None:
    picture = picture_of(IN_BAND)
    low, high = lane_of(picture).marks
    assert low < lane_of(picture).share < high
    assert {"60 kg", "69 kg"} <= texts(picture)
    assert lane_of(picture).state is State.THERE


def test_a_hard_rep_far_above_the_band_stays_on_the_lane() -> None:
    picture = picture_of(replace(IN_BAND, peak_N=4000.0, force_N=4000.0))
    assert lane_of(picture).share < 1.0
    assert lane_of(picture).state is State.OVER


def test_bricks_fill_with_time_and_with_what_was_good() -> None:
    bricks = picture_of(HOLDING).live.bricks
    assert [brick.over for brick in bricks] == pytest.approx([1.0, 0.8, 0.0])
    assert [brick.good for brick in bricks] == pytest.approx([0.86, 0.8, 0.0])
    assert len(picture_of(IN_BAND).live.bricks) == 5
    assert brick_row(frame(*FULL_HD).bricks, 0) == ()


def test_a_result_shows_every_brick_as_over() -> None:
    early = replace(RESULT, elapsed_s=1.0, bricks=(0.9,))
    bricks = picture_of(early).live.bricks
    assert [brick.over for brick in bricks] == [1.0, 1.0, 1.0]
    assert [brick.good for brick in bricks] == [0.9, 0.0, 0.0]


def test_a_snap_is_a_cliff_and_a_push_a_slope() -> None:
    """The share of the lane's area above the block's edge tells them apart."""
    snap = lane_of(picture_of(replace(RESULT, rise=rise_of(sharp_s=0.02)))).edge
    slope = Trace(np.linspace(0.0, 0.5, 41), np.linspace(0.0, 84.6 * KG_N, 41))
    push = lane_of(picture_of(replace(RESULT, rise=slope))).edge
    widest = max(along for _, along in snap)
    assert np.mean([along for _, along in snap]) > 0.9 * widest
    assert np.mean([along for _, along in push]) == pytest.approx(0.5 * widest, rel=0.02)
    one_sample = Trace(np.zeros(1), np.zeros(1))
    assert lane_of(picture_of(replace(RESULT, rise=one_sample))).edge == ()


def test_result_judges_the_peak_even_when_the_board_has_gone() -> None:
    lane = lane_of(picture_of(replace(RESULT, stale=True, force_N=None)))
    assert lane.state is State.PUSH
    assert lane.share == pytest.approx(84.6 / 88.0 * 0.72)


@pytest.mark.parametrize(
    ("force_kg", "band_kg", "target_kg", "state"),
    [
        (0.5, None, None, State.REST),
        (20.0, None, None, State.PUSH),
        (0.5, None, 80.0, State.REST),
        (79.0, None, 80.0, State.PUSH),
        (80.0, None, 80.0, State.THERE),
        (500.0, None, 80.0, State.THERE),
        (59.0, (60.0, 70.0), None, State.PUSH),
        (60.0, (60.0, 70.0), None, State.THERE),
        (70.1, (60.0, 70.0), None, State.OVER),
        (None, None, None, State.STALE),
    ],
)
def test_states(
    force_kg: float | None,
    band_kg: tuple[float, float] | None,
    target_kg: float | None,
    state: State,
) -> None:
    glance = replace(
        BASE,
        force_N=None if force_kg is None else force_kg * KG_N,
        band_N=None if band_kg is None else (band_kg[0] * KG_N, band_kg[1] * KG_N),
        target_N=None if target_kg is None else target_kg * KG_N,
    )
    assert say.state_of(glance) is state


def test_words_of_the_block() -> None:
    waiting = replace(BASE, phase=Phase.HOLD)
    assert say.standing_text(waiting, State.REST) == "Go!"
    assert say.standing_text(replace(waiting, peak_N=5.0), State.REST) == "86.8 kg to the mark"
    free = replace(BASE, target_N=None)
    assert say.standing_text(free, State.REST) == ""
    near = replace(HOLDING, force_N=88.1 * KG_N)
    assert say.standing_text(near, State.PUSH) == "at the mark"
    assert say.standing_text(near, State.THERE) == "mark reached"
    assert say.standing_text(replace(near, force_N=None), State.STALE).startswith("no reading")


def test_the_rating_of_the_cell_comes_before_everything_else() -> None:
    near = replace(HOLDING, strain="near the rating")
    assert say.state_of(near) is State.OVER
    assert say.standing_text(near, State.OVER) == "Near the cell's limit: ease off"
    over = replace(HOLDING, strain="over the rating", elapsed_s=3.0)
    assert say.standing_text(over, State.OVER) == "Stop! Let go"
    assert say.standing_text(replace(over, stale=True), State.STALE).startswith("no reading")
    assert "Stop! Let go" in texts(picture_of(over))


def test_what_has_to_be_done_first_is_said_when_ready() -> None:
    ready = replace(BASE, warning="Cell overloaded: verify first")
    assert say.ready_text(ready) == ready.warning


def test_a_hold_that_is_over_says_let_go() -> None:
    over = replace(HOLDING, elapsed_s=3.0, seconds_left=0.0)
    assert say.standing_text(over, State.PUSH) == "Let go"
    assert say.seconds_text(over) == ""
    assert say.standing_text(over, State.STALE) == "no reading from the board"
    assert say.standing_text(replace(over, phase=Phase.READY), State.PUSH) != "Let go"


def test_aims() -> None:
    assert say.aim_text(replace(BASE, target_N=None)) == "As hard as you can"
    assert say.aim_text(IN_BAND) == "Stay between 60 and 69\u00a0kg"


def test_doubt_is_said_and_never_made_up() -> None:
    assert say.doubt_text(HOLDING) == "± 0.7 kg"
    assert say.doubt_text(RESULT) == "± 0.8 kg"
    assert say.doubt_text(replace(HOLDING, force_u95_N=None)) == "± not known"
    assert say.doubt_text(replace(HOLDING, force_u95_N=math.inf)) == "± not known"
    assert say.doubt_text(replace(HOLDING, stale=True)) == ""


def test_changes_within_their_doubt_are_level() -> None:
    level = replace(RESULT, change_last_N=0.4 * KG_N, change_best="level with best")
    assert say.change_text(level) == "level with the last (± 0.9 kg), level with best"
    assert say.change_text(replace(RESULT, change_last_N=None, change_best="")) == ""


def test_quality_with_and_without_doubt() -> None:
    assert say.quality_text(replace(RESULT, quality_u95_percent=None)) == "held well 93 %"
    assert say.quality_text(replace(RESULT, quality_percent=None)) == ""


def test_counting_says_three_two_one() -> None:
    seconds = [2.999, 2.001, 2.0, 1.001, 1.0, 0.001, 0.0]
    counted = [say.count_text(replace(BASE, seconds_left=left)) for left in seconds]
    assert counted == ["3", "3", "2", "2", "1", "1", "1"]
    assert say.count_text(replace(BASE, seconds_left=None)) == "1"


def test_trouble_comes_before_everything_else() -> None:
    trouble = Trouble("The cell is over its rating.", "Stop.", 0.2)
    both = "The cell is over its rating. Stop."
    for glance in (BASE, HOLDING, RESULT):
        assert both in texts(picture_of(replace(glance, trouble=trouble)))


def test_what_the_coach_should_know_is_said_before_the_first_rep() -> None:
    first = replace(BASE, rep_number=0, target_N=None, remark="Calibration ab, made 1 day ago.")
    assert say.remark_text(first) == first.remark
    assert first.remark in texts(picture_of(first))
    assert say.remark_text(replace(first, rep_number=1)) == ""
    assert say.remark_text(replace(first, target_N=800.0)) == ""  # the row is the mark's


def test_since_when() -> None:
    glances = [Glance(Phase.WAITING, trouble=Trouble("x", "y", s)) for s in (0.2, 7.9, 185.0)]
    words = [say.since_text(glance) for glance in glances]
    assert words == ["began just now", "began 7 s ago", "began 3 min ago"]
    assert say.since_text(BASE) == ""
    assert say.trouble_text(BASE) == ""


def test_reps_and_rests() -> None:
    assert say.rep_text(replace(BASE, rep_number=0)) == ""
    assert say.rep_text(replace(BASE, rep_total=None)) == "rep 2"
    assert say.rest_text(Glance(Phase.REST)) == "rest"
    assert say.next_name(Glance(Phase.REST, exercise="lead hook")) == "lead hook"
    assert say.peak_text(BASE) == ""
