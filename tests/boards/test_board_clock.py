from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.boards.board_clock import BoardClock
from strikebridge.samples import Flag

TURN = 2**16
CLOCK = 2**32


def unwrap(
    sequence: Any, micros: Any, arrived: Any, *, size: int
) -> tuple[list[int], list[int], list[int]]:
    clock = BoardClock()
    number, ticks, flags = [], [], []
    for i in range(0, len(sequence), size):
        part = slice(i, i + size)
        if size == 1:
            one = clock.feed_one(int(sequence[i]), int(micros[i]), int(arrived[i]))
            if one[0] >= 0:
                number.append(one[0])
                ticks.append(one[1])
                flags.append(one[2])
            continue
        found = clock.feed(
            np.array(sequence[part]) % TURN, np.array(micros[part]) % CLOCK, arrived[part]
        )
        number += found.number.tolist()
        ticks += found.ticks_us.tolist()
        flags += found.flags.tolist()
    return number, ticks, flags


def every_size(
    sequence: Any, micros: Any, arrived: Any
) -> tuple[list[int], list[int], list[int]]:
    sequence = np.asarray(sequence, np.int64) % TURN
    micros = np.asarray(micros, np.int64) % CLOCK
    arrived = np.asarray(arrived, np.int64)
    first, *others = [unwrap(sequence, micros, arrived, size=n) for n in (1, 3, len(sequence))]
    for other in others:
        assert other == first
    return first


@given(
    start=st.integers(0, TURN - 1),
    start_us=st.integers(0, CLOCK - 1),
    period=st.integers(800, 110_000),
    steps=st.lists(st.sampled_from([1, 1, 1, 1, 2, 5, 900]), min_size=1, max_size=60),
    late=st.lists(st.integers(0, 400_000), min_size=60, max_size=60),
)
@settings(deadline=None)
def test_running_board_is_followed_exactly(
    start: int, start_us: int, period: int, steps: list[int], late: list[int]
) -> None:
    true = np.cumsum([0, *steps])
    us = true * period
    arrived = np.maximum.accumulate(us + np.array([*late, 0])[: len(us)])
    number, ticks, flags = every_size(start + true, start_us + us, arrived)
    assert number == true.tolist()
    assert ticks == (start_us + us).tolist()
    assert flags == [0, *[Flag.GAP_BEFORE if step > 1 else 0 for step in steps]]


def test_silence_longer_than_a_turn_of_the_sequence() -> None:
    true = np.concatenate([np.arange(20), np.arange(20) + 3 * TURN + 100])
    us = true * 3125  # 320 a second
    number, ticks, flags = every_size(true, us, us)
    assert number == true.tolist()
    assert ticks == us.tolist()
    assert flags[20] == Flag.GAP_BEFORE


def test_silence_longer_than_a_turn_of_the_clock() -> None:
    true = np.concatenate([np.arange(20), np.arange(20) + 700_000])  # 2.4 hours at 80 a second
    us = true * 12_500
    number, ticks, _ = every_size(true, us, us)
    assert number == true.tolist()
    assert ticks == us.tolist()


@pytest.mark.parametrize("ran_s", [1, 600, 3000, 4200])  # half a turn: 2147 s
def test_reset_is_seen_and_its_length_estimated(ran_s: int) -> None:
    before_us = ran_s * 10**6 + np.arange(40) * 12_500
    sequence = np.concatenate([5000 + np.arange(40), np.arange(10)])
    micros = np.concatenate([before_us, 400_000 + np.arange(10) * 12_500])
    arrived = np.concatenate(
        [np.arange(40) * 12_500, 39 * 12_500 + 900_000 + np.arange(10) * 12_500]
    )
    number, ticks, flags = every_size(sequence, micros, arrived)
    assert flags[40] == Flag.RESTARTED | Flag.GAP_BEFORE
    assert [flag for i, flag in enumerate(flags) if i != 40] == [0] * 49
    assert number[40] - number[39] == 72  # 0.9 s at 80 a second
    assert ticks[40] - ticks[39] == 900_000
    assert np.diff(ticks[40:]).tolist() == [12_500] * 9


def test_reset_before_the_spacing_is_known_counts_as_one_sample() -> None:
    number, ticks, flags = every_size([9, 10, 0, 1], [500, 600, 5, 105], [0, 100, 700, 800])
    assert number == [0, 1, 2, 3]
    assert ticks == [500, 600, 1200, 1300]
    assert flags == [0, 0, Flag.RESTARTED, 0]


def test_spacing_is_remembered_over_two_resets() -> None:
    sequence = [*range(20), 0, 1, 0, 1]
    micros = [*range(10**6, 10**6 + 20 * 1000, 1000), 5, 1005, 5, 1005]
    arrived = [*range(0, 20_000, 1000), 29_000, 30_000, 40_000, 41_000]
    number, _, flags = every_size(sequence, micros, arrived)
    assert number[20:] == [29, 30, 40, 41]
    assert [flags[20], flags[22]] == [Flag.RESTARTED | Flag.GAP_BEFORE] * 2


def test_late_arrivals_are_no_reset() -> None:
    """The host slept for a minute: what lay in the buffer comes late, then there is a leap."""
    true = np.concatenate([np.arange(80), 4880 + np.arange(50)])
    us = true * 12_500
    arrived = us.copy()
    arrived[40:80] = us[80]
    number, _, flags = every_size(true, us, arrived)
    assert number == true.tolist()
    assert flags[80] == Flag.GAP_BEFORE


@pytest.mark.parametrize("error", [0.99, 1.01])
def test_clock_that_runs_wrong_by_a_hundredth_is_no_reset(error: Any) -> None:
    true = np.arange(0, 400_000, 100)
    us = np.round(true * 12_500 * error).astype(np.int64)
    gap = np.concatenate([true[:-50], true[-50:] + 2000])
    us_gap = np.concatenate([us[:-50], us[-50:] + round(2000 * 12_500 * error)])
    number, _, flags = every_size(gap, us_gap, gap * 12_500)
    assert number == gap.tolist()
    assert not any(flag & Flag.RESTARTED for flag in flags)


def test_counter_that_stands_still_goes_on_by_one() -> None:
    number, ticks, _ = every_size([5, 5, 6, 7], [100, 200, 200, 300], [0, 1, 2, 3])
    assert number == [0, 1, 2, 3]
    assert ticks == [100, 200, 201, 301]


def test_repeats_are_dropped() -> None:
    number, ticks, _ = every_size([5, 5, 6, 6, 6, 7], [1, 1, 2, 2, 2, 3], [0] * 6)
    assert number == [0, 1, 2]
    assert ticks == [1, 2, 3]
