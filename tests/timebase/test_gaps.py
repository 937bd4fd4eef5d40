from __future__ import annotations

import numpy as np
import pytest

from strikebridge.samples import Gap, TimedBlock
from strikebridge.timebase.gaps import GapFinder


def timed(*numbers: int) -> TimedBlock:
    """Readings of these running numbers, each at a hundredth of its number in seconds."""
    number = np.array(numbers)
    n = len(number)
    return TimedBlock(number, number / 100.0, np.zeros((n, 1)), np.zeros(n, np.uint16), 100.0)


def test_a_whole_stream_has_no_gap() -> None:
    finder = GapFinder()
    assert finder.feed(timed(7, 8, 9)) == []
    assert finder.feed(timed(10)) == []
    assert finder.feed(timed(11, 12)) == []
    assert finder.lost == 0


def test_what_came_before_the_first_reading_is_no_gap() -> None:
    finder = GapFinder()
    assert finder.feed(timed(5000)) == []
    assert finder.lost == 0


def test_a_gap_between_two_blocks() -> None:
    finder = GapFinder()
    finder.feed(timed(0, 1, 2))
    assert finder.feed(timed(6, 7)) == [Gap(start_s=0.02, end_s=0.06, lost=3)]
    assert finder.feed(timed(9)) == [Gap(0.07, 0.09, 1)]
    assert finder.lost == 4


def test_gaps_inside_a_block_stand_in_order() -> None:
    finder = GapFinder()
    gaps = finder.feed(timed(0, 1, 4, 5, 6, 20, 21))
    assert gaps == [Gap(0.01, 0.04, 2), Gap(0.06, 0.2, 13)]
    assert finder.lost == 15
    # the one before a block comes first
    assert finder.feed(timed(24, 26)) == [Gap(0.21, 0.24, 2), Gap(0.24, 0.26, 1)]
    assert finder.lost == 18


@pytest.mark.parametrize("size", [1, 2, 3, 50])
def test_any_blocks_give_the_same_gaps(size: int) -> None:
    kept = [n for n in range(50) if n not in (3, 4, 10, 30, 31, 32, 48)]
    finder = GapFinder()
    gaps = [
        gap
        for start in range(0, len(kept), size)
        for gap in finder.feed(timed(*kept[start : start + size]))
    ]
    assert gaps == [
        Gap(0.02, 0.05, 2),
        Gap(0.09, 0.11, 1),
        Gap(0.29, 0.33, 3),
        Gap(0.47, 0.49, 1),
    ]
    assert finder.lost == 7
