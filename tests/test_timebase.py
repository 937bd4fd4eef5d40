"""Times for samples: ticks, arrivals, losses told from delays, and any block size."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.samples import CountBlock, Flag, TimedBlock
from strikebridge.timebase import Timebase
from strikebridge.timebase.arrival_model import ArrivalModel, first_model
from strikebridge.timebase.envelope import fit_envelope, lower_hull

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from strikebridge.samples import Flags, Floats, Ints


@dataclass(eq=False)
class Scene:
    """A board that runs freely, and what becomes of its samples on the way."""

    rate_hz: float
    seconds: float = 40.0
    seed: int = 0
    jitter_s: float = 0.001  # exponential, first in first out
    poll_s: float = 0.0  # the host looks so often
    lost: tuple[int, ...] = ()  # true numbers
    stalls: tuple[tuple[float, float], ...] = ()  # nothing arrives between these times
    rounded_s: float = 0.0
    drift_per_s: float = 0.0
    true_s: Floats = field(init=False)
    number: Ints = field(init=False)
    arrived_us: Ints = field(init=False)

    def __post_init__(self) -> None:
        rng = np.random.default_rng(self.seed)
        number = np.arange(round(self.rate_hz * self.seconds))
        true_s = 0.3 + number / self.rate_hz
        true_s += 0.5 * self.drift_per_s * true_s**2
        arrived_s = true_s + (
            rng.exponential(self.jitter_s, len(number)) if self.jitter_s else 0.0
        )
        if self.poll_s:
            phase = rng.uniform(0.0, self.poll_s)
            arrived_s = np.ceil((arrived_s - phase) / self.poll_s) * self.poll_s + phase
        for begin, end in self.stalls:
            arrived_s[(arrived_s > begin) & (arrived_s < end)] = end
        arrived_s = np.maximum.accumulate(arrived_s)
        if self.rounded_s:
            arrived_s = np.round(arrived_s / self.rounded_s) * self.rounded_s
        keep = ~np.isin(number, self.lost)
        self.true_s, self.number = true_s[keep], number[keep]
        self.arrived_us = np.round(arrived_s[keep] * 1e6).astype(np.int64)


def block(
    arrived_us: ArrayLike,
    ticks_us: ArrayLike | None = None,
    number: ArrayLike | None = None,
    flags: ArrayLike | None = None,
) -> CountBlock:
    size = len(np.asarray(arrived_us))
    return CountBlock(
        np.arange(size) if number is None else np.asarray(number, np.int64),
        np.arange(size, dtype=np.float64)[:, None],
        np.asarray(arrived_us, np.int64),
        None if ticks_us is None else np.asarray(ticks_us, np.int64),
        np.zeros(size, np.uint16) if flags is None else np.asarray(flags, np.uint16),
    )


def cut(whole: CountBlock, start: int, stop: int) -> CountBlock:
    part = slice(start, stop)
    ticks = None if whole.ticks_us is None else whole.ticks_us[part]
    arrived = whole.arrived_us[part]
    return CountBlock(whole.number[part], whole.counts[part], arrived, ticks, whole.flags[part])


@dataclass(eq=False)
class Result:
    number: Ints
    time_s: Floats
    flags: Flags
    rate_hz: Floats
    counts: Floats


def run(whole: CountBlock, size: int | None = None, nominal: float | None = None) -> Result:
    timebase = Timebase(nominal)
    blocks: list[TimedBlock] = []
    step = size or max(1, len(whole))
    for start in range(0, len(whole), step):
        blocks += timebase.feed(cut(whole, start, start + step))
    blocks += timebase.finish()
    result = Result(
        np.concatenate([one.number for one in blocks]),
        np.concatenate([one.time_s for one in blocks]),
        np.concatenate([one.flags for one in blocks]),
        np.concatenate([np.full(len(one), one.rate_hz) for one in blocks]),
        np.concatenate([one.counts for one in blocks]),
    )
    assert len(result.number) == len(whole)
    np.testing.assert_array_equal(result.counts, whole.counts)
    if len(whole) > 1:
        assert (np.diff(result.time_s) > 0.0).all()
        assert (np.diff(result.number) > 0).all()
    return result


def error_periods(scene: Scene, result: Result, after_s: float = 5.0) -> Floats:
    """Error of the times in periods, the constant delay taken out."""
    settled = scene.true_s > after_s
    error = (result.time_s - scene.true_s)[settled] * scene.rate_hz
    return error - np.median(error)


def rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values**2)))


# --- arrivals: the axis ---------------------------------------------------------------------


@pytest.mark.parametrize("start_us", [0, -5_000_000, 1_700_000_000_000_000])
@pytest.mark.parametrize("period_us", [100_000, 12_500, 3_125, 1_000])
def test_exact_stamps_come_out_as_themselves(period_us: int, start_us: int) -> None:
    stamps = start_us + period_us * np.arange(3000)
    result = run(block(stamps))
    np.testing.assert_array_equal(result.time_s, stamps / 1e6)
    np.testing.assert_array_equal(result.number, np.arange(3000))
    np.testing.assert_allclose(result.rate_hz, 1e6 / period_us)


@pytest.mark.parametrize(
    ("rate_hz", "how", "limit_periods"),
    [
        (10.6, {"jitter_s": 0.003}, 0.05),
        (10.6, {"poll_s": 0.016}, 0.1),
        (10.6, {"rounded_s": 0.001}, 0.05),
        (10.6, {"rounded_s": 0.01}, 0.1),
        (76.0, {"jitter_s": 0.001}, 0.05),
        (92.6, {"jitter_s": 0.003}, 0.1),
        (76.0, {"poll_s": 0.016}, 0.1),
        (92.6, {"poll_s": 0.016}, 0.1),
        (92.6, {"poll_s": 0.03}, 0.3),
        (76.0, {"rounded_s": 0.001}, 0.1),
        (76.0, {"rounded_s": 0.01}, 0.1),
        (83.0, {"rounded_s": 0.1}, 0.3),
        (332.0, {"jitter_s": 0.001}, 0.1),
        (332.0, {"poll_s": 0.016}, 0.3),
        (332.0, {"rounded_s": 0.01}, 0.3),
        (970.0, {"jitter_s": 0.001}, 0.3),
        (970.0, {"poll_s": 0.016}, 0.5),
        (83.0, {"drift_per_s": 1e-4}, 0.3),
        (332.0, {"drift_per_s": 1e-4}, 0.3),
    ],
)
def test_times_stay_close_to_the_truth(
    rate_hz: float, how: dict[str, Any], limit_periods: float
) -> None:
    for seed in (11, 12, 13):
        scene = Scene(rate_hz, seed=seed, **how)
        result = run(block(scene.arrived_us))
        assert rms(error_periods(scene, result)) < limit_periods
        assert result.number[-1] == scene.number[-1], "no loss was invented"
        truth_hz = rate_hz / (1.0 + how.get("drift_per_s", 0.0) * 40.0)
        assert result.rate_hz[-1] == pytest.approx(truth_hz, rel=0.01)


def test_rounded_stamps_have_no_bias() -> None:
    scene = Scene(77.0, rounded_s=0.01, jitter_s=0.0)
    result = run(block(scene.arrived_us))
    assert abs(np.mean(result.time_s - scene.true_s)) < 0.001


# --- arrivals: lost or late -----------------------------------------------------------------


@pytest.mark.parametrize("rate_hz", [10.6, 83.0])
@pytest.mark.parametrize("size", [1, 2, 4, 9, 40])
def test_a_hole_is_found_at_its_place(rate_hz: float, size: int) -> None:
    first = round(rate_hz * 20.3)
    lost = tuple(range(first, first + size))
    scene = Scene(rate_hz, jitter_s=0.0008, lost=lost, seed=size)
    result = run(block(scene.arrived_us))
    np.testing.assert_array_equal(result.number, scene.number)
    flagged = result.flags & Flag.GAP_BEFORE != 0
    assert scene.number[flagged].tolist() == [first + size]
    assert np.abs(result.time_s - scene.true_s)[scene.true_s > 5.0].max() < 0.1 / rate_hz


@pytest.mark.parametrize("how", [{"jitter_s": 0.002}, {"poll_s": 0.016}])
@pytest.mark.parametrize("rate_hz", [10.6, 83.0, 320.0])
def test_a_late_bunch_is_never_a_loss(rate_hz: float, how: dict[str, Any]) -> None:
    for seed in range(5):
        stalls = tuple((4.0 + 4.1 * i, 4.0 + 4.1 * i + 0.05 * i + 0.1) for i in range(8))
        scene = Scene(rate_hz, seed=seed, stalls=stalls, **how)
        result = run(block(scene.arrived_us))
        np.testing.assert_array_equal(result.number, scene.number)
        assert not result.flags.any()


def test_single_losses_among_regular_samples_are_all_found() -> None:
    rng = np.random.default_rng(4)
    lost = tuple(int(i) for i in np.flatnonzero(rng.random(3300) < 0.01) if i > 100)
    scene = Scene(82.5, lost=lost, seed=5)
    result = run(block(scene.arrived_us))
    np.testing.assert_array_equal(result.number, scene.number)


@pytest.mark.parametrize(("size", "within_s"), [(1, 5.0), (4, 1.0)])
def test_losses_hidden_in_jitter_are_found_a_little_later(size: int, within_s: float) -> None:
    lost = tuple(range(804 - size, 804)) + tuple(range(2004 - size, 2004))
    scene = Scene(81.0, poll_s=0.0553, jitter_s=0.0005, lost=lost, seed=2)
    result = run(block(scene.arrived_us))
    assert result.number[-1] == scene.number[-1]
    gaps = scene.number[result.flags & np.uint16(Flag.GAP_BEFORE) != 0]
    assert [(gap - 803) // 1200 for gap in gaps.tolist()] == [0, 1]
    assert ((gaps - 803) % 1200 < 81 * within_s).all()


def test_a_hole_in_the_first_second_is_found() -> None:
    scene = Scene(80.0, jitter_s=0.0005, lost=(30, 31, 32, 33), seed=6)
    result = run(block(scene.arrived_us))
    np.testing.assert_array_equal(result.number, scene.number)


def test_a_delay_in_the_first_second_is_no_loss() -> None:
    scene = Scene(80.0, jitter_s=0.0005, stalls=((0.7, 0.8),), seed=6)
    result = run(block(scene.arrived_us))
    np.testing.assert_array_equal(result.number, scene.number)


def test_a_long_gap_anchors_anew() -> None:
    scene = Scene(80.0, 30.0, lost=tuple(range(800, 1603)), seed=7)
    moved = scene.arrived_us + np.where(scene.number > 1600, 4_000, 0)  # another phase
    result = run(block(moved))
    late = result.time_s[scene.number > 1700] - moved[scene.number > 1700] / 1e6
    assert np.abs(late).max() < 0.01
    assert abs(int(result.number[-1]) - int(scene.number[-1])) <= 2


def test_numbers_that_count_losses_themselves_are_kept() -> None:
    scene = Scene(80.0, lost=(500, 501, 502), seed=8)
    result = run(block(scene.arrived_us, number=scene.number + 70))
    np.testing.assert_array_equal(result.number, scene.number + 70)


def test_the_end_decides_what_is_still_held() -> None:
    stamps = np.append(np.arange(200) * 100_000, 200 * 100_000 + 3_000_000)
    result = run(block(stamps))
    assert result.number[-1] == 230
    assert result.time_s[-1] == pytest.approx(23.0)
    scene = Scene(80.0, 10.0, stalls=((9.9, 10.25),), seed=3)
    late = run(block(scene.arrived_us))
    np.testing.assert_array_equal(late.number, scene.number)


# --- arrivals: another rate -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("before_hz", "after_hz"),
    [(10.5, 80.0), (80.0, 10.5), (80.0, 88.0), (80.0, 72.0), (320.0, 80.0)],
)
def test_another_rate_is_followed_within_seconds(before_hz: float, after_hz: float) -> None:
    before, after = Scene(before_hz, 20.0, seed=1), Scene(after_hz, 25.0, seed=2)
    shift_us = 20_000_000
    stamps = np.concatenate([before.arrived_us, after.arrived_us + shift_us])
    truth = np.concatenate([before.true_s, after.true_s + 20.0])
    result = run(block(stamps))
    settled = truth > 20.3 + 5.0
    error = (result.time_s - truth)[settled] * after_hz
    assert rms(error - np.median(error)) < 0.2
    assert result.rate_hz[-1] == pytest.approx(after_hz, rel=0.01)
    lost = np.diff(result.number)[truth[1:] > 28.0] - 1
    assert lost.sum() == 0


@pytest.mark.parametrize(("before_hz", "after_hz"), [(10.0, 11.0), (11.0, 10.0)])
def test_a_rate_a_little_off_is_followed_within_the_window(
    before_hz: float, after_hz: float
) -> None:
    before, after = Scene(before_hz, 20.0, seed=1), Scene(after_hz, 25.0, seed=2)
    result = run(block(np.concatenate([before.arrived_us, after.arrived_us + 20_000_000])))
    truth = np.concatenate([before.true_s, after.true_s + 20.0])
    assert np.abs(result.time_s - truth)[truth > 20.0].max() * after_hz < 1.1
    assert np.abs(result.time_s - truth)[truth > 36.0].max() * after_hz < 0.1


def test_bunches_of_another_rate_are_followed() -> None:
    before, after = Scene(80.0, 20.0, poll_s=0.06), Scene(40.0, 40.0, poll_s=0.06)
    stamps = np.concatenate([before.arrived_us, after.arrived_us + 20_000_000])
    result = run(block(stamps))
    assert result.rate_hz[-1] == pytest.approx(40.0, rel=0.01)
    assert np.diff(result.number)[-1000:].max() == 1


def test_a_little_slower_board_does_not_lose_samples_for_ever() -> None:
    before, after = Scene(76.0, 20.0, seed=3), Scene(74.0, 60.0, seed=4)
    stamps = np.concatenate([before.arrived_us, after.arrived_us + 20_000_000])
    result = run(block(stamps))
    assert result.rate_hz[-1] == pytest.approx(74.0, rel=0.002)
    assert np.diff(result.number)[-2000:].max() == 1


def test_a_clock_set_back_is_caught_up_with() -> None:
    scene = Scene(80.0, seed=5)
    stamps = scene.arrived_us.copy()
    stamps[1600:] -= 300_000
    result = run(block(np.maximum.accumulate(stamps)))
    error = result.time_s - (scene.true_s - np.where(scene.number >= 1600, 0.3, 0.0))
    assert np.abs(error[2000:]).max() < 0.01


# --- arrivals: start, waiting, events -------------------------------------------------------


def waits(scene: Scene) -> Floats:
    """How long after its arrival each sample leaves, on the arrivals' clock."""
    timebase = Timebase()
    whole = block(scene.arrived_us)
    left: list[float] = []
    for i in range(len(whole)):
        count = sum(len(one) for one in timebase.feed(cut(whole, i, i + 1)))
        left += [scene.arrived_us[i] / 1e6] * count
    return np.array(left) - scene.arrived_us[: len(left)] / 1e6


@pytest.mark.parametrize("rate_hz", [2.0, 10.6, 83.0, 320.0])
def test_holds_back_no_longer_than_promised(rate_hz: float) -> None:
    lost = tuple(range(round(rate_hz * 15), round(rate_hz * 15) + 30))
    scene = Scene(rate_hz, 20.0, lost=lost, stalls=((8.0, 8.4),), seed=9)
    wait_s = waits(scene)
    at_start = scene.true_s[: len(wait_s)] < 3.0
    assert wait_s[at_start].max() <= max(2.0, 2.0 / rate_hz) + 1.0 / rate_hz
    assert wait_s[~at_start].max() <= max(0.4, 4.0 / rate_hz) + 1.5 / rate_hz
    assert np.mean(wait_s[~at_start] == 0.0) > 0.9


@pytest.mark.parametrize("count", [1, 2, 3, 11])
def test_streams_too_short_for_a_rate(count: int) -> None:
    stamps = np.arange(count) * 100_000
    result = run(block(stamps))
    np.testing.assert_allclose(result.time_s, stamps / 1e6)
    assert result.rate_hz[0] == pytest.approx(1.0 if count == 1 else 10.0)
    assert run(block(stamps[:1]), nominal=80.0).rate_hz.tolist() == [80.0]


def test_stamps_that_stand_still() -> None:
    result = run(block(np.zeros(50)), nominal=80.0)
    assert result.rate_hz.tolist() == [80.0] * 50
    assert result.number[-1] == 49


def test_events_map_onto_the_arrivals_clock() -> None:
    timebase = Timebase()
    assert timebase.rate_hz is None
    assert timebase.to_stream_s(2_000_000) == (2.0, 1.0)
    scene = Scene(80.0, 20.0)
    timebase.feed(block(scene.arrived_us[:5]))
    assert timebase.rate_hz is None
    assert timebase.to_stream_s(2_000_000) == (2.0, 1.0)
    timebase.feed(block(scene.arrived_us[5:85], number=np.arange(5, 85)))
    time_s, u_s = timebase.to_stream_s(1_000_000)
    assert time_s == 1.0
    assert 0.0 < u_s < 0.02
    timebase.feed(block(scene.arrived_us[85:], number=np.arange(85, len(scene.number))))
    time_s, u_s = timebase.to_stream_s(15_000_000)
    assert time_s == 15.0
    assert 0.0005 <= u_s < 0.001
    assert timebase.rate_hz == pytest.approx(80.0, rel=0.005)


def test_nothing_in_nothing_out() -> None:
    timebase = Timebase()
    assert timebase.feed(block([])) == []
    assert timebase.finish() == []
    timebase.feed(block(np.arange(100) * 12_500))
    assert timebase.finish() == []


@pytest.mark.parametrize("nominal", [0.0, -80.0])
def test_refuses_a_rate_that_is_none(nominal: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        Timebase(nominal)


# --- ticks ----------------------------------------------------------------------------------


def ticked(scene: Scene, clock: float = 1.0, start: int = 12_345) -> CountBlock:
    ticks = start + np.round((scene.true_s - scene.true_s[0]) * clock * 1e6).astype(np.int64)
    return block(scene.arrived_us, ticks, scene.number)


@pytest.mark.parametrize("rate_hz", [10.6, 83.0, 970.0])
@pytest.mark.parametrize("clock", [0.99, 1.0, 1.01])
def test_ticks_are_the_axis(rate_hz: float, clock: float) -> None:
    scene = Scene(rate_hz, jitter_s=0.004, lost=(60, 61, 62, 63), stalls=((7.0, 7.4),))
    whole = ticked(scene, clock)
    result = run(whole)
    assert whole.ticks_us is not None
    expected = scene.arrived_us[0] + whole.ticks_us - whole.ticks_us[0]
    np.testing.assert_array_equal(result.time_s, expected / 1e6)
    np.testing.assert_array_equal(result.number, scene.number)
    np.testing.assert_allclose(result.rate_hz, rate_hz / clock, rtol=0.006)


@pytest.mark.parametrize("clock", [0.99, 1.0, 1.01])
def test_events_map_onto_the_board_clock(clock: float) -> None:
    """The mapping is the fastest delivery, so it may miss by that delay and no more."""
    for seed in range(5):
        scene = Scene(80.0, 30.0, seed, jitter_s=0.004, stalls=((25.0, 25.5), (28.0, 28.4)))
        whole = ticked(scene, clock)
        timebase = Timebase()
        timebase.feed(whole)
        time_s, u_s = timebase.to_stream_s(29_000_000)
        truth_s = scene.arrived_us[0] / 1e6 + (29.0 - scene.true_s[0]) * clock
        assert abs(time_s - truth_s) < 3.0 * u_s
        assert 0.0005 <= u_s < 0.003


def test_events_before_there_is_much_to_go_by() -> None:
    timebase = Timebase()
    scene = Scene(80.0, 30.0)
    whole = ticked(scene)
    timebase.feed(cut(whole, 0, 3))
    assert timebase.to_stream_s(1_000_000) == (1.0, 1.0)
    timebase.feed(cut(whole, 3, 25))
    time_s, u_s = timebase.to_stream_s(600_000)
    assert time_s == pytest.approx(0.6, abs=0.003)
    assert u_s < 0.005


def test_the_first_rate_needs_twelve_samples_or_a_second() -> None:
    timebase = Timebase()
    fast = block(np.arange(12) * 12_500, np.arange(12) * 12_500)
    assert timebase.feed(cut(fast, 0, 11)) == []
    assert [len(one) for one in timebase.feed(cut(fast, 11, 12))] == [12]
    slow = block(np.arange(5) * 500_000, np.arange(5) * 500_000)
    timebase = Timebase()
    assert timebase.feed(cut(slow, 0, 2)) == []
    assert [len(one) for one in timebase.feed(cut(slow, 2, 3))] == [3]
    assert timebase.rate_hz == pytest.approx(2.0)


def test_a_lone_ticked_sample() -> None:
    assert run(block([7_000_000], [5])).time_s.tolist() == [7.0]
    assert run(block([7_000_000], [5])).rate_hz.tolist() == [1.0]
    assert run(block([7_000_000], [5]), nominal=10.0).rate_hz.tolist() == [10.0]


def test_a_restart_begins_the_estimates_anew() -> None:
    first, second = Scene(80.0, 20.0), Scene(80.0, 20.0, seed=1)
    pause_us = 25_000_000
    ticks = np.concatenate(
        [ticked(first, 1.01).ticks_us, ticked(second, 0.99, start=24_000_000).ticks_us]
    )
    stamps = np.concatenate([first.arrived_us, second.arrived_us + pause_us])
    flags = np.zeros(len(stamps), np.uint16)
    flags[len(first.number)] = Flag.RESTARTED
    whole = block(stamps, ticks, flags=flags)
    timebase = Timebase()
    blocks = timebase.feed(whole)
    second_s = np.concatenate([one.time_s for one in blocks])[len(first.number) :]
    host_s, board_s = 40.0, second_s[0] + (40.0 - 25.0 - second.true_s[0]) * 0.99
    time_s, u_s = timebase.to_stream_s(round(host_s * 1e6))
    assert abs(time_s - board_s) < 0.003
    assert u_s < 0.003


def test_ticks_that_fall_are_bridged_by_the_arrivals() -> None:
    stamps = np.arange(100) * 12_500
    ticks = stamps.copy()
    ticks[50:] -= ticks[50]
    stamps[50:] += 2_000_000
    for size in (None, 1, 7):
        result = run(block(stamps, ticks), size)
        np.testing.assert_allclose(result.time_s, stamps / 1e6, atol=1e-9)


def with_trouble() -> CountBlock:
    """A board of 80 a second: repeated ticks, a flagged restart, ticks that fall unflagged."""
    first, second, third = (Scene(80.0, long_s, jitter_s=0.004) for long_s in (9.0, 9.3, 9.0))
    starts = (12_345, 20_000_000, 5_000)
    scenes = zip((first, second, third), starts, strict=True)
    ticks = np.concatenate([ticked(scene, 1.004, start).ticks_us for scene, start in scenes])
    for at in (300, 301, 305, 900, 1700):
        ticks[at] = ticks[at - 1]
    ticks[302] = ticks[301] + 1  # behind the time that the repeated ones were given
    stamps = np.concatenate(
        [first.arrived_us, second.arrived_us + 12_000_000, third.arrived_us + 24_000_000]
    )
    flags = np.zeros(len(stamps), np.uint16)
    flags[len(first.number)] = Flag.RESTARTED
    flags[500] = Flag.SATURATED
    return block(stamps, ticks, flags=flags)


@pytest.mark.parametrize("upto", [150, 310, 725, 729, 800, 1463, 1470, 1701, 2184])
def test_lines_that_come_alone_are_timed_like_a_block(upto: int) -> None:
    whole = with_trouble()
    at_once, one_by_one = Timebase(), Timebase()
    blocks = at_once.feed(cut(whole, 0, upto))
    alone = [timed for n in range(upto) for timed in one_by_one.feed(cut(whole, n, n + 1))]
    np.testing.assert_array_equal(
        np.concatenate([one.time_s for one in alone]),
        np.concatenate([one.time_s for one in blocks]),
    )
    np.testing.assert_array_equal(
        np.concatenate([np.full(len(one), one.rate_hz) for one in alone]),
        np.concatenate([np.full(len(one), one.rate_hz) for one in blocks]),
    )
    assert at_once.rate_hz == one_by_one.rate_hz
    for later_us in (0, 1_000_000):
        at_us = int(whole.arrived_us[upto - 1]) + later_us
        assert at_once.to_stream_s(at_us) == one_by_one.to_stream_s(at_us)


def test_ticks_of_a_coarse_clock_still_rise() -> None:
    ticks = np.arange(3000) // 4 * 4_000
    for size in (None, 1, 7):
        result = run(block(np.arange(3000) * 1_000, ticks), size)
        assert np.abs(result.time_s - ticks / 1e6).max() < 1e-5
        assert result.rate_hz[-1] == pytest.approx(1000.0, rel=0.01)


@pytest.mark.parametrize(("before_hz", "after_hz"), [(80.0, 10.5), (10.5, 80.0), (80.0, 81.0)])
def test_ticks_follow_another_rate(before_hz: float, after_hz: float) -> None:
    before, after = Scene(before_hz, 20.0, jitter_s=0.0), Scene(after_hz, 30.0, jitter_s=0.0)
    stamps = np.concatenate([before.arrived_us, after.arrived_us + 20_000_000])
    result = run(block(stamps, stamps))
    settled = result.time_s > (30.0 if abs(after_hz / before_hz - 1.0) > 0.05 else 48.0)
    np.testing.assert_allclose(result.rate_hz[settled], after_hz, rtol=0.006)


def test_a_stream_keeps_its_kind_of_clock() -> None:
    stamps = np.arange(20) * 12_500
    timebase = Timebase()
    timebase.feed(block(stamps, stamps))
    with pytest.raises(ValueError, match="had board ticks"):
        timebase.feed(block(stamps[-1:] + 12_500, number=[20]))
    timebase = Timebase()
    timebase.feed(block(stamps))
    with pytest.raises(ValueError, match="had no board ticks"):
        timebase.feed(block(stamps[-1:] + 12_500, stamps[-1:], number=[20]))


# --- properties -----------------------------------------------------------------------------


@st.composite
def scenes(draw: st.DrawFn) -> Scene:
    rate_hz = draw(st.sampled_from([5.0, 10.0, 80.0, 320.0, 1000.0]))
    rate_hz *= draw(st.floats(0.83, 1.17))
    seconds = draw(st.floats(1.0, min(20.0, 4000.0 / rate_hz)))
    count = round(rate_hz * seconds)
    holes = draw(st.lists(st.tuples(st.integers(1, count), st.integers(1, 50)), max_size=4))
    stalls = draw(
        st.lists(st.tuples(st.floats(0.5, seconds + 0.5), st.floats(0.01, 0.5)), max_size=3)
    )
    return Scene(
        rate_hz,
        seconds,
        draw(st.integers(0, 1000)),
        jitter_s=draw(st.sampled_from([0.0, 0.0005, 0.003, 0.02])),
        poll_s=draw(st.sampled_from([0.0, 0.0, 0.016, 0.1])),
        lost=tuple(i for first, size in holes for i in range(first, first + size)),
        stalls=tuple((begin, begin + length) for begin, length in stalls),
        rounded_s=draw(st.sampled_from([0.0, 0.0, 0.001, 0.01, 0.1])),
    )


@settings(max_examples=40, deadline=None)
@given(scene=scenes(), size=st.integers(1, 50), has_ticks=st.booleans())
def test_any_block_size_gives_the_same_bits(scene: Scene, size: int, has_ticks: bool) -> None:
    whole = ticked(scene, 1.003) if has_ticks else block(scene.arrived_us)
    at_once, in_pieces = run(whole), run(whole, size)
    np.testing.assert_array_equal(at_once.time_s, in_pieces.time_s)
    np.testing.assert_array_equal(at_once.number, in_pieces.number)
    np.testing.assert_array_equal(at_once.flags, in_pieces.flags)
    np.testing.assert_array_equal(at_once.rate_hz, in_pieces.rate_hz)


@settings(max_examples=40, deadline=None)
@given(
    steps_us=st.lists(st.integers(0, 3_000_000), min_size=1, max_size=300),
    size=st.integers(1, 20),
)
def test_any_stamps_at_all_give_rising_times(steps_us: list[int], size: int) -> None:
    whole = block(np.cumsum(steps_us))
    np.testing.assert_array_equal(run(whole).time_s, run(whole, size).time_s)


@settings(max_examples=30, deadline=None)
@given(scene=scenes(), shift_us=st.integers(-(10**9), 10**12))
def test_a_shift_of_the_stamps_shifts_the_times(scene: Scene, shift_us: int) -> None:
    here, there = run(block(scene.arrived_us)), run(block(scene.arrived_us + shift_us))
    np.testing.assert_allclose(there.time_s - shift_us / 1e6, here.time_s, atol=2e-3)
    np.testing.assert_array_equal(there.number, here.number)


@given(
    heights=st.lists(st.floats(0.0, 100.0), min_size=2, max_size=40),
    slope=st.floats(-5.0, 5.0),
    offset=st.floats(-100.0, 100.0),
)
def test_the_envelope_lies_under_all_points(
    heights: list[float], slope: float, offset: float
) -> None:
    points = [(float(i), offset + slope * i + height) for i, height in enumerate(heights)]
    line = fit_envelope(points)
    assert min(y - line.at(x) for x, y in points) > -1e-6
    hull = lower_hull(points)
    assert hull[0] == points[0]
    assert hull[-1] == points[-1]


def test_short_spacings_beside_a_loss_are_bunching() -> None:
    spacing = np.full(40, 10_000.0)
    spacing[5], spacing[20] = 5_000.0, 20_000.0
    y = np.concatenate(([0.0], np.cumsum(spacing)))
    assert first_model(np.arange(41.0), y, 0, 1e6).period_us > 10_100.0
    spacing[5] = 10_000.0
    y = np.concatenate(([0.0], np.cumsum(spacing)))
    assert first_model(np.arange(41.0), y, 0, 1e6).period_us == pytest.approx(10_000.0)


def test_a_model_without_points_doubts_by_its_scatter() -> None:
    x = np.arange(20.0)
    model = first_model(x, 12_500.0 * x + 1000.0 * (x % 2), 0, 1e6)
    assert isinstance(model, ArrivalModel)
    assert model.doubt_us() == pytest.approx(1000.0)
    assert not model.explain_without_losses(0)


def test_a_burst_of_ticked_lines_is_no_drift() -> None:
    ticks = np.arange(200) * 12_500
    timebase = Timebase()
    timebase.feed(block(np.full(200, 5_000_000), ticks))
    time_s, _ = timebase.to_stream_s(5_000_000)
    assert time_s == pytest.approx(5.0 + ticks[-1] / 1e6)
