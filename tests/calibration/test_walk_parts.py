"""The parts of the plate walk, each by itself."""

from __future__ import annotations

import numpy as np
import pytest

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.calibration.document import walk_of_points
from strikebridge.calibration.frames import Frame, FrameCutter
from strikebridge.calibration.lifts import Lift, Stage
from strikebridge.calibration.load_sense import LoadSense
from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.points_table import parse_points, points_table
from strikebridge.calibration.resolution import Resolution
from strikebridge.calibration.steadiness import Steadiness
from strikebridge.calibration.stretch import Stretch
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.calibration.walk_fit import Anchor, creep_share, judge_point, line_through
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.calibration.walk_view import TakenPoint
from strikebridge.samples import Flag, Quantity, TimedBlock
from tests.calibration.walk_scenes import PLATES, Rig, lead

RATE_HZ = 80.0


def block_of(values: object, first: int = 0, flags: int = 0) -> TimedBlock:
    counts = np.asarray(values, dtype=np.float64).reshape(-1, 1)
    number = np.arange(first, first + len(counts))
    flag = np.full(len(counts), flags, np.uint16)
    return TimedBlock(number, number / RATE_HZ, counts, flag, RATE_HZ)


def frame_of(value: float, time_s: float) -> Frame:
    return Frame(np.array([time_s]), np.array([[value]]), False, False)


# frames


def test_frames_are_cut_by_time_and_glitches_left_out() -> None:
    cutter = FrameCutter(0.1)
    assert cutter.feed(block_of(np.arange(8))) == []
    (first,) = cutter.feed(block_of([8.0], 8))
    np.testing.assert_array_equal(first.sums, np.arange(8.0))
    assert cutter.feed(block_of(np.full(7, 9.0), 9, Flag.BAD_WORD)) == []
    (second,) = cutter.feed(block_of(np.full(17, 5.0), 16, Flag.SATURATED))[:1]
    assert list(second.sums) == [8.0]
    assert not second.is_saturated


def test_a_frame_of_nothing_but_glitches_is_none_and_an_empty_block_is_nothing() -> None:
    cutter = FrameCutter(0.1)
    cutter.feed(block_of(np.full(8, np.nan), 0))
    assert cutter.feed(block_of([1.0], 8)) == []
    assert cutter.feed(block_of([], 9)) == []


# steadiness: what noise, creep and swing do to it, on closed forms


def looks(values: object, load: float = 0.0) -> str | None:
    steadiness = Steadiness()
    value = np.asarray(values, dtype=np.float64)
    steadiness.feed(np.arange(len(value)) / RATE_HZ, value)
    look = steadiness.look(load, 1.0)
    return None if look is None else look.reason


def test_too_few_readings_say_nothing() -> None:
    assert Steadiness().now is None
    assert Steadiness().look(0.0, 1.0) is None
    assert looks(np.zeros(159)) is None


@pytest.mark.parametrize("noise", [0.0, 3.0, 300.0])
def test_white_noise_of_any_size_is_stable(noise: float) -> None:
    draw = np.random.default_rng(3)
    tries = [looks(np.round(draw.normal(0.0, noise, 170))) for _ in range(400)]
    assert tries.count("") >= 398  # six and eight sigma: practically always


@pytest.mark.parametrize(
    ("per_s", "load", "reason"),
    [
        (100.0, 0.0, "it still moves"),
        (100.0, 1_000_000.0, ""),  # 1e-4 of the load a second: that is creep
        (400.0, 1_000_000.0, "it still moves"),
    ],
)
def test_creep_is_borne_as_far_as_the_load_explains_it(
    per_s: float, load: float, reason: str
) -> None:
    draw = np.random.default_rng(3)
    values = per_s * np.arange(200) / RATE_HZ + draw.normal(0.0, 20.0, 200)
    assert looks(np.round(values), load) == reason


@pytest.mark.parametrize("swing_hz", [0.6, 1.0, 3.0])
def test_a_swinging_plate_is_not_stable(swing_hz: float) -> None:
    draw = np.random.default_rng(3)
    time_s = np.arange(400) / RATE_HZ
    values = 3000.0 * np.sin(2.0 * np.pi * swing_hz * time_s) + draw.normal(0.0, 20.0, 400)
    assert looks(np.round(values), 1_000_000.0)


def test_the_noise_is_that_of_neighbours_whatever_drifts() -> None:
    draw = np.random.default_rng(3)
    steadiness = Steadiness()
    time_s = np.arange(1600) / RATE_HZ
    steadiness.feed(time_s, 500.0 * time_s + draw.normal(0.0, 50.0, 1600))
    look = steadiness.look(0.0, 1.0)
    assert look is not None
    assert look.noise == pytest.approx(50.0, rel=0.2)
    assert look.reading == pytest.approx(500.0 * 20.0, abs=120.0)


def test_a_slow_scale_gets_the_eight_readings_it_needs() -> None:
    steadiness = Steadiness()
    for i in range(7):
        steadiness.feed(np.array([i * 0.5]), np.array([20.0]))
        assert steadiness.look(20.0, 0.05) is None
    steadiness.feed(np.array([3.5]), np.array([20.0]))
    look = steadiness.look(20.0, 0.05)
    assert look is not None
    assert look.is_steady
    assert look.noise == pytest.approx(0.05 / 12.0**0.5)


# resolution


@pytest.mark.parametrize("step", [0.1, 0.05, 0.02, 0.01, 0.005])
def test_the_step_of_a_scale_is_found_again(step: float) -> None:
    resolution = Resolution(Quantity.KG)
    for i in range(1, 60):
        resolution.feed(np.array([[i * step]]))
    assert resolution.step == pytest.approx(step)


def test_counts_have_steps_of_one_and_smooth_readings_the_finest() -> None:
    resolution = Resolution(Quantity.COUNT)
    resolution.feed(np.array([0.25]))
    assert resolution.step == 1.0
    smooth = Resolution(Quantity.N)
    smooth.feed(np.array([np.pi]))
    assert smooth.step < 1e-5


# stretch


def test_the_mean_its_spread_and_how_far_it_moved() -> None:
    stretch = Stretch(0.1)
    assert stretch.share == 0.0
    draw = np.random.default_rng(3)
    frames = 0
    while stretch.share < 1.0:
        time_s = (np.arange(8) + 8 * frames) / RATE_HZ + 10.0
        readings = 7000.0 + 30.0 * (time_s - 10.0) + draw.normal(0.0, 5.0, 8)
        stretch.add(Frame(time_s, readings[:, np.newaxis], False, False))
        frames += 1
    point = stretch.point(1, Lift(Stage.WALK, ("A",), 1, 1), 20.0, came_s=5.0)
    assert frames == 30  # three seconds
    assert point.count == 240
    assert point.time_s == pytest.approx(11.5, abs=0.01)
    assert point.came_s == 5.0
    assert point.reading == pytest.approx(7045.0, abs=1.5)
    assert point.moved == pytest.approx(30.0 * 6.5, rel=0.1)
    assert point.sd == pytest.approx(np.hypot(5.0, 30.0 * 3.0 / 12.0**0.5), rel=0.1)


# the load


def test_nothing_is_known_before_the_first_reading() -> None:
    sense = LoadSense(5.0, Quantity.COUNT)
    assert not sense.has_left(0.0, 5.0)
    assert sense.share() is None
    assert not sense.is_half_way(is_loading=True)
    assert not sense.has_grown()
    sense.set_top(50.0, 1000.0)
    assert sense.top is None
    assert sense.set_zero(0.0) == 0.0
    sense.set_top(50.0, 1000.0)
    assert sense.top == Anchor(50.0, 1000.0)


@pytest.mark.parametrize(
    ("change_kg", "reading", "has_left"),
    [
        (20.0, 45.0, False),  # half of the smallest plate is 50
        (20.0, 55.0, True),
        (5.0, 25.0, True),  # a fifth of what is asked for
        (-5.0, -25.0, True),
        (5.0, 15.0, False),
        (0.0, 45.0, False),
        (0.0, 55.0, True),
    ],
)
def test_a_plate_is_told_from_creep(change_kg: float, reading: float, has_left: bool) -> None:
    sense = LoadSense(5.0, Quantity.COUNT)
    sense.set_zero(0.0)
    sense.set_top(50.0, 1000.0)  # 20 a kilogram
    sense.feed(frame_of(reading, 1.0), [])
    assert sense.has_left(0.0, change_kg) is has_left


# the line and what fits to it


def point_of(
    kg: float, reading: float, names: tuple[str, ...] = (), **more: float
) -> TakenPoint:
    direction = int(more.get("direction", 1))
    lift = Lift(Stage.WALK, names, direction, 1)
    moved = more.get("moved", 0.0)
    return TakenPoint(1, lift, kg, (reading,), more.get("sd", 0.0), 100, 5.0, 0.0, moved)


def test_no_line_through_one_load_or_through_readings_that_never_change() -> None:
    assert line_through([]) is None
    assert line_through([point_of(5.0, 1.0), point_of(5.0, 2.0)]) is None
    assert line_through([point_of(0.0, 1.0), point_of(5.0, 1.0)]) is None
    line = line_through([point_of(0.0, 10.0), point_of(5.0, 0.0)])
    assert line is not None
    assert (line.zero, line.per_kg) == (10.0, -2.0)
    assert line.mass_kg(4.0) == 3.0


def test_a_point_is_judged_by_what_plates_cell_and_noise_explain() -> None:
    plates = (PlateRecord("A", 20.0, 0.2), PlateRecord("B", 30.0, 0.3))
    anchors = [Anchor(0.0, 0.0), Anchor(50.0, 5000.0)]
    lone = judge_point(point_of(20.0, 2000.0, ("A",)), [], plates)
    assert lone.remark == ""
    good = judge_point(point_of(20.0, 2055.0, ("A",)), anchors, plates)
    # 0.2 of A, 20/50 of 0.5 of all, 0.4 % of 50
    assert good.allowed_kg == pytest.approx(0.2 + 0.2 + 0.2)
    assert good.residual_kg == pytest.approx(0.55)
    assert good.remark == ""
    bad = judge_point(point_of(20.0, 2065.0, ("A",)), anchors, plates)
    assert "20.65 kg where 20 kg should lie" in bad.remark
    assert "There should be A on the cell" in bad.remark
    empty = judge_point(point_of(0.0, 25.0), anchors, ())
    assert "There should be nothing on the cell" in empty.remark
    noisy = judge_point(point_of(20.0, 2065.0, ("A",), sd=100.0), anchors, plates)
    assert noisy.allowed_kg == pytest.approx(0.6 + 5.0 * 1.0 / 10.0)
    assert noisy.remark == ""
    fine = judge_point(point_of(0.0, 0.0), [Anchor(0.0, 0.0), Anchor(1.0, 100.0)], ())
    assert fine.allowed_kg == 0.02


def test_creep_is_what_readings_would_still_have_moved() -> None:
    points = [point_of(0.0, 0.0), point_of(20.0, 2000.0, moved=4.0), point_of(40.0, 4000.0)]
    # moved 0.04 kg under 20 kg, nothing under 40 kg: least squares through zero
    assert creep_share(points) == pytest.approx(20.0 * 0.04 / (20.0**2 + 40.0**2))
    assert creep_share(points[:1]) == 0.0
    back = [point_of(0.0, 0.0), point_of(20.0, 2000.0, direction=-1)]
    assert creep_share(back) == 0.0


# the table


def test_the_table_of_a_walk_is_the_walk() -> None:
    plates = (*PLATES[:3], PlateRecord("D", 5.0, 0.15, "club"))
    walk, rig = PlateWalk(WalkSetup(plates, runs=1, is_hands_free=True)), Rig()
    lead(walk, rig)
    table = parse_points(points_table(walk.points, plates))
    again = walk_of_points(table)
    live = walk.walk_input()
    np.testing.assert_allclose(again.steps.load_N, live.steps.load_N)
    np.testing.assert_allclose(again.steps.reading, live.steps.reading, rtol=1e-9)
    np.testing.assert_array_equal(again.steps.direction, live.steps.direction)
    assert {plate.name: plate.make for plate in again.plates} == {
        "A": "",
        "B": "",
        "C": "",
        "club/D": "club",
    }
    one, other = analyse_walk(again), analyse_walk(live)
    np.testing.assert_allclose(one.fit.coefficients, other.fit.coefficients, rtol=1e-8)
    assert one.at(1e6)[1] == pytest.approx(other.at(1e6)[1], rel=0.02)
