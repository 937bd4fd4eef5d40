"""What the converters make comes out of the serial port, word for word and in time."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.firmware.bench import NONE_BROKEN, address_of, breaches, play

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.timeout(300)  # the first of them builds the firmware
SETTLING = 4  # conversions that the firmware leaves out after a start
ENDS = [0, 1, -1, 8388607, -8388608, 0x555555, -0x555556]
"""Words that a slip of a bit shows in, the end codes of the converter among them."""


def words_of(cells: int, count: int = 300) -> list[list[int]]:
    """Words that tell themselves apart, after some whose bits are awkward."""
    random = np.random.default_rng(8).integers(-(2**23), 2**23, (count, cells))
    rows: list[list[int]] = random.tolist()
    return [[0] * cells] * SETTLING + [[end] * cells for end in ENDS] + rows


@pytest.mark.parametrize("cells", [1, 2])
@pytest.mark.parametrize(("strap", "rate", "settling"), [([], 80, 50), (["--slow"], 10, 400)])
async def test_counts_are_those_of_the_converters(
    tmp_path: Path, cells: int, strap: list[str], rate: int, settling: int
) -> None:
    rows = words_of(cells)
    played = await play(tmp_path / "b", rows, "--cells", str(cells), *strap)
    assert [list(sample.counts) for sample in played.samples] == rows[SETTLING:]
    assert [s.sequence for s in played.samples] == list(range(len(played.samples)))
    assert played.identities == [b"I,1,wall,avr-1.0,hx711,%d,%d" % (rate, settling)]
    assert played.lines[:2] == [b"# start: power-on", played.lines[1]]
    assert played.lines[1].startswith(b"I,")
    assert breaches(played.report) == [NONE_BROKEN] * cells
    assert played.report["dropped"] == 0


async def test_times_are_those_at_which_the_words_were_ready(tmp_path: Path) -> None:
    rows = [[7 * i] for i in range(400)]
    played = await play(tmp_path / "b", rows, "--oscillators", "0.937")
    ready_us = {word: at_us for _, at_us, word in played.board.made()}
    late_us = [s.micros - ready_us[s.counts[0]] for s in played.samples]
    # The board's clock begins a little after the power, and counts whole microseconds.
    assert max(late_us) - min(late_us) < 10.0
    assert -1000.0 < max(late_us) < 0.0
    spacing_us = np.diff([s.micros for s in played.samples])
    assert np.mean(spacing_us) == pytest.approx(1e6 / (80 * 0.937), abs=0.1)


@pytest.mark.parametrize(("fast", "slow"), [(1, 2), (2, 1)])
async def test_two_cells_out_of_step(tmp_path: Path, fast: int, slow: int) -> None:
    factors = {fast: "1.06", slow: "0.95"}
    rows = [[1000 + i, -1000 - i] for i in range(600)]
    oscillators = f"{factors[1]},{factors[2]}"
    played = await play(tmp_path / "b", rows, "--cells", "2", "--oscillators", oscillators)
    assert len(played.samples) > 400
    of_slow = [s.counts[slow - 1] for s in played.samples]
    made = played.board.words(slow)
    first = made.index(of_slow[0])
    assert of_slow == made[first : first + len(of_slow)]  # every word, in order
    of_fast = np.abs([s.counts[fast - 1] for s in played.samples])
    assert set(np.diff(of_fast)) == {1, 2}  # some left out, none twice
    # the older of two words is never older than a period
    ready_us = {word: at_us for _, at_us, word in played.board.made()}
    ages_us = [abs(ready_us[s.counts[0]] - ready_us[s.counts[1]]) for s in played.samples]
    assert max(ages_us) < 1e6 / (80 * 0.95)
    assert [s.sequence for s in played.samples] == list(range(len(played.samples)))
    assert breaches(played.report) == [NONE_BROKEN] * 2
    assert [c["missed"] for c in played.report["converters"]] == [0, 0]


async def test_what_a_wrong_pulse_would_look_like(tmp_path: Path) -> None:
    # The model itself: with its data pin at ground the firmware reads where no word is.
    events = ["--event", "1.0:short-1", "--event", "1.5:mend-1"]
    played = await play(tmp_path / "b", words_of(1), *events)
    assert breaches(played.report) != [NONE_BROKEN]


def heard(at_s: float, line: bytes) -> list[str]:
    """Words for the simulator: a line arrives at the board's port."""
    return ["--event", f"{at_s}:hear-{line.hex()}"]


@pytest.mark.parametrize("ending", [b"\n", b"\r\n"])
async def test_says_who_it_is_when_asked_and_only_then(tmp_path: Path, ending: bytes) -> None:
    noise = [b"x\n", b"??\n", b"help\n", b"x?\n", b"\n", b"? \n", b"\0?\n"]
    lines = [*noise, b"?" + ending, b"?" + ending]
    asked = [word for i, line in enumerate(lines) for word in heard(0.5 + i / 4, line)]
    played = await play(tmp_path / "b", words_of(1), *asked)
    assert played.identities == [b"I,1,wall,avr-1.0,hx711,80,50"] * 3
    assert [s.counts[0] for s in played.samples] == played.board.words()[SETTLING:]


@pytest.mark.parametrize("options", [["--slow"], ["--event", "0.0:unplug-1"]])
async def test_an_answer_comes_within_a_tenth_of_a_second(
    tmp_path: Path, options: list[str]
) -> None:
    # firmware_notes/strikebridge-lines.md, section 5; also from a board without a converter
    words = [*options, "--seconds", "5", *heard(2.345, b"?\n")]
    played = await play(tmp_path / "b", words_of(1), *words)
    (asked_us,) = played.board.lines_us("heard")
    sent_us = played.board.lines_us("sent")
    assert len(sent_us) == len(played.lines)
    answers_us = [
        at_us - asked_us
        for at_us, line in zip(sent_us, played.lines, strict=True)
        if line.startswith(b"I,") and at_us > asked_us
    ]
    assert answers_us[0] < 100_000.0


async def test_before_it_knows_the_rate_it_leaves_it_empty(tmp_path: Path) -> None:
    events = ["--event", "0.0:unplug-1", *heard(0.5, b"?\n"), "--event", "3.0:plug-1"]
    played = await play(tmp_path / "b", words_of(1), *events)
    assert played.identities == [
        b"I,1,wall,avr-1.0,hx711,,",
        b"I,1,wall,avr-1.0,hx711,80,50",
    ]
    first = next(line for line in played.lines if line.startswith(b"S,"))
    assert played.lines[played.lines.index(first) - 1].startswith(b"I,1,wall,avr-1.0,hx711,80")


async def test_a_rate_that_it_does_not_know_is_left_empty(tmp_path: Path) -> None:
    played = await play(tmp_path / "b", words_of(1), "--wired-hz", "40")
    assert played.identities == [b"I,1,wall,avr-1.0,hx711,,"]
    assert len(played.samples) == 307


async def test_the_rate_is_that_of_the_converter_not_that_of_the_strap(tmp_path: Path) -> None:
    played = await play(tmp_path / "b", words_of(1), "--wired-hz", "10")
    assert played.identities == [b"I,1,wall,avr-1.0,hx711,10,400"]


async def test_counters_go_around(tmp_path: Path) -> None:
    # after 13.6 minutes at 80 a second, and after 71.6 minutes
    events = [
        *("--event", f"1.0:set-{address_of('overflows')}-0001fff8"),
        *("--event", f"2.0:set-{address_of('sequence')}-fff0"),
    ]
    played = await play(tmp_path / "b", [[i] for i in range(400)], *events)
    sequence = [s.sequence for s in played.samples]
    steps = [(b - a) % 2**16 for a, b in itertools.pairwise(sequence)]
    assert 65535 in sequence
    assert sequence.index(0, 1) == sequence.index(65535) + 1
    assert steps.count(1) == len(steps) - 2  # it jumps where either counter was set
    micros = [s.micros for s in played.samples]
    around = [i for i, (a, b) in enumerate(itertools.pairwise(micros)) if b < a]
    assert len(around) == 1
    before, after = micros[around[0]], micros[around[0] + 1]
    assert (after - before) % 2**32 == pytest.approx(12_500, abs=2)
