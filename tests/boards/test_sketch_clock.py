"""Clocks and running numbers that sketches print."""

import numpy as np
import pytest

from strikebridge.boards.described_lines import DescribedLinesDecoder
from strikebridge.boards.line_shape import parse_shape
from strikebridge.samples import Chunk, CountBlock, Flag


def decode(shape: str, rows: list[tuple[int, bytes]]) -> list[CountBlock]:
    decoder = DescribedLinesDecoder(parse_shape(shape))
    chunks = [Chunk("x", at_us, text + b"\n") for at_us, text in [(0, b"torn"), *rows]]
    one_by_one = [block for chunk in chunks for block in decoder.feed([chunk])]
    at_once = DescribedLinesDecoder(parse_shape(shape)).feed(chunks)
    for name in ("number", "counts", "ticks_us", "flags"):
        parts = [getattr(block, name) for block in one_by_one]
        if parts[0] is not None:
            assert np.concatenate(parts).tolist() == getattr(at_once[0], name).tolist()
    return at_once


@pytest.mark.parametrize(
    ("role", "unit_us", "text"), [("ms", 1000, "{}"), ("us", 1, "{}"), ("s", 10**6, "{:.4f}")]
)
def test_time_and_lost_readings_come_from_the_clock(role: str, unit_us: int, text: str) -> None:
    kept = [n for n in range(60) if n not in (30, 31, 45)]
    rows = []
    for n in kept:
        at_us = 5_000_000 + round(n * 12_500)
        shown = at_us / unit_us if role == "s" else at_us // unit_us
        rows.append((at_us + 700, f"{text.format(shown)},84213".encode()))
    (block,) = decode(f"<{role}>,<count>", rows)
    assert block.number.tolist() == [n + block.number[0] for n in kept]
    assert block.ticks_us is not None
    truth_us = [n * 12_500 for n in kept]
    assert np.abs(block.ticks_us - block.ticks_us[0] - truth_us).max() <= 1000
    gaps = [n for n, flag in zip(kept, block.flags, strict=True) if flag & Flag.GAP_BEFORE]
    assert gaps == [32, 46]


def test_a_clock_that_begins_anew_is_a_restart() -> None:
    rows = [(12_500 * n, b"%d,1" % (90_000 + 12.5 * n)) for n in range(40)]
    rows += [(900_000 + 12_500 * n, b"%d,1" % (300 + 12.5 * n)) for n in range(40)]
    (block,) = decode("<ms>,<count>", rows)
    assert [i for i, flag in enumerate(block.flags) if flag & Flag.RESTARTED] == [40]
    assert block.ticks_us is not None
    assert 300_000 < block.ticks_us[40] - block.ticks_us[39] < 500_000
    assert bool((np.diff(block.ticks_us) > 0).all())


def test_a_clock_that_leaps_ahead_is_a_restart() -> None:
    rows = [
        (100_000 * n, b"%d,1" % (100 * n + (3_600_000 if n >= 30 else 0))) for n in range(60)
    ]
    (block,) = decode("<ms>,<count>", rows)
    assert [i for i, flag in enumerate(block.flags) if flag & Flag.RESTARTED] == [30]


def test_milliseconds_turn_over_after_fifty_days() -> None:
    rows = [(12_500 * n, b"%d,1" % ((2**32 - 200 + 12.5 * n) % 2**32)) for n in range(40)]
    (block,) = decode("<ms>,<count>", rows)
    assert not (block.flags & Flag.RESTARTED).any()
    assert block.ticks_us is not None
    assert np.abs(np.diff(block.ticks_us) - 12_500).max() <= 1000


@pytest.mark.parametrize(("turn", "first"), [(256, 250), (65_536, 65_530), (10**9, 17)])
def test_running_numbers_tell_lost_lines_and_turn_over(turn: int, first: int) -> None:
    kept = [n for n in range(20) if n not in (8, 9)]
    rows = [(100_000 * n, b"%d 84213" % ((first + n) % turn)) for n in kept]
    (block,) = decode("<number> <count>", rows)
    assert (block.number - block.number[0]).tolist() == kept
    assert block.ticks_us is None
    assert [n for n, f in zip(kept, block.flags, strict=True) if f & Flag.GAP_BEFORE] == [10]


def test_a_running_number_that_was_set_anew_is_no_loss() -> None:
    rows = [(100_000 * i, b"%d 84213" % n) for i, n in enumerate([70, 71, 72, 0, 1, 2, 5000])]
    (block,) = decode("<number> <count>", rows)
    assert (block.number - block.number[0]).tolist() == [0, 1, 2, 3, 4, 5, 6]


def test_number_and_clock_together() -> None:
    kept = [n for n in range(40) if n != 20]
    rows = [(12_500 * n, b"%d %d 84213" % (n, 12_500 * n)) for n in kept]
    (block,) = decode("<number> <us> <count>", [*rows, rows[-1]])
    assert (block.number - block.number[0]).tolist() == [*kept, 40]
    assert block.ticks_us is not None
    assert np.diff(block.ticks_us[:-1]).max() == 25_000
