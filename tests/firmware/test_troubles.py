"""A board that is reset, hangs, or loses its converter goes on by itself and hides nothing."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import pytest

from tests.firmware.bench import NONE_BROKEN, Played, Sample, breaches, play

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.timeout(300)  # the first of them builds the firmware
COUNTING = [[i] for i in range(500)]
"""Words that tell where they stood."""


def comments(played: Played) -> list[bytes]:
    return [line for line in played.lines if line.startswith(b"#")]


def runs(samples: list[Sample]) -> list[list[Sample]]:
    """Cut where the board has begun anew."""
    cut: list[list[Sample]] = []
    for sample in samples:
        if sample.sequence == 0:
            cut.append([])
        cut[-1].append(sample)
    return cut


def word_of(sample: Sample) -> int:
    return sample.counts[0]


@pytest.mark.parametrize(
    ("event", "words", "away_s"),
    [("reset", b"# start: reset", 0.15), ("hang", b"# start: watchdog", 0.75)],
)
async def test_begins_anew(tmp_path: Path, event: str, words: bytes, away_s: float) -> None:
    played = await play(tmp_path / "b", COUNTING, "--event", f"3.0:{event}")
    assert played.report["resets"] == 1
    assert comments(played) == [b"# start: power-on", words]
    assert len(played.identities) == 2
    before, after = runs(played.samples)
    for run in (before, after):
        assert [s.sequence for s in run] == list(range(len(run)))
        assert [word_of(s) for s in run] == list(range(word_of(run[0]), word_of(run[-1]) + 1))
    # it was away for its start, the converter's settling and the words by which it measures
    assert after[0].micros < 200_000
    assert word_of(after[0]) - word_of(before[-1]) <= away_s * 80
    assert breaches(played.report) == [NONE_BROKEN]


async def test_a_converter_that_fell_silent_is_started_anew(tmp_path: Path) -> None:
    played = await play(tmp_path / "b", COUNTING, "--event", "3.0:stall-1")
    assert comments(played)[1:] == [b"# converter 1 is silent, started anew"]
    assert [c["power_downs"] for c in played.report["converters"]] == [2]
    assert len(played.identities) == 2
    (gap,) = gaps(played.samples)
    # its numbers go on over the time away, as if it had converted: within one
    away = (gap[1].micros - gap[0].micros) / 12_500
    assert away == pytest.approx(89, abs=2)  # 1 s, 4 conversions of settling, 4 to measure by
    assert gap[1].sequence - gap[0].sequence == pytest.approx(away, abs=1)
    assert word_of(gap[1]) - word_of(gap[0]) == 5  # the model makes no words meanwhile
    assert breaches(played.report) == [NONE_BROKEN]


def gaps(samples: list[Sample]) -> list[tuple[Sample, Sample]]:
    """Neighbours that are no neighbours in number."""
    return [(a, b) for a, b in itertools.pairwise(samples) if b.sequence - a.sequence != 1]


@pytest.mark.parametrize(("fault", "cure"), [("unplug", "plug"), ("short", "mend")])
async def test_no_word_is_made_up_while_a_converter_is_gone(
    tmp_path: Path, fault: str, cure: str
) -> None:
    events = ["--event", f"2.0:{fault}-1", "--event", f"4.5:{cure}-1"]
    played = await play(tmp_path / "b", [[1000 + i] for i in range(600)], *events)
    words = [word_of(s) for s in played.samples]
    assert words == sorted(set(words))
    assert words[0] == 1004
    assert words[-1] == 1599
    (gap,) = gaps(played.samples)
    away = (gap[1].micros - gap[0].micros) / 12_500
    assert 200 < away < 300
    assert gap[1].sequence - gap[0].sequence == pytest.approx(away, abs=1)
    assert len(comments(played)) in (3, 4)  # the start, and each second of silence


async def test_a_silent_cell_stops_both_rather_than_halve_the_force(tmp_path: Path) -> None:
    events = ["--event", "2.0:unplug-2", "--event", "5.0:plug-2"]
    rows = [[i, -i] for i in range(600)]
    played = await play(tmp_path / "b", rows, "--cells", "2", *events)
    assert all(len(s.counts) == 2 for s in played.samples)
    assert b"# converter 2 is silent, started anew" in comments(played)
    assert b"# converter 1 is silent, started anew" not in comments(played)
    (gap,) = gaps(played.samples)
    assert gap[1].micros - gap[0].micros > 2_900_000
    shift = sum(gap[1].counts)  # words that cell 1 made while cell 2 was away
    before = [sum(s.counts) for s in played.samples if s.sequence <= gap[0].sequence]
    after = [sum(s.counts) for s in played.samples if s.sequence >= gap[1].sequence]
    assert set(before) == {0}
    assert set(after) == {shift}


async def test_a_moved_rate_pin_is_noticed(tmp_path: Path) -> None:
    events = ["--event", "2.0:wire-10-1", "--event", "8.0:wire-80-1"]
    played = await play(tmp_path / "b", [[i] for i in range(400)], *events)
    assert played.identities == [
        b"I,1,wall,avr-1.0,hx711,80,50",
        b"I,1,wall,avr-1.0,hx711,10,400",
        b"I,1,wall,avr-1.0,hx711,80,50",
    ]
    words = [word_of(s) for s in played.samples]
    assert words == sorted(set(words))
    assert words[-1] == 399


async def test_where_the_port_is_too_slow_the_numbers_tell_what_was_lost(
    tmp_path: Path,
) -> None:
    # 500 samples a second of two cells are more than the port takes
    rows = [[i, i] for i in range(1000)]
    words = ["--cells", "2", "--wired-hz", "500"]
    played = await play(tmp_path / "b", rows, *words)
    lost = sum(b.sequence - a.sequence - 1 for a, b in gaps(played.samples))
    assert lost > 100
    assert played.samples[-1].sequence > 900
    for sample in played.samples:
        assert sample.counts == (sample.sequence + 4,) * 2
