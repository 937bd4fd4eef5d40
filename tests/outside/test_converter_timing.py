"""The firmware on simulated pins, against the data sheet of its converter."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tests.firmware.bench import NONE_BROKEN, play

if TYPE_CHECKING:
    from pathlib import Path

COUNTING = [[i, -i] for i in range(200)]
"""Words of two cells."""


async def test_timing_keeps_to_the_data_sheet(tmp_path: Path) -> None:
    # Data sheet of the HX711: SCK high 0.2 to 50 us, low 0.2 us or more, first pulse 0.1 us or
    # more after DT fell, 25 pulses for channel A at gain 128, more than 60 us high powers down.
    played = await play(tmp_path / "b", COUNTING, "--cells", "2")
    for converter in played.report["converters"]:
        assert converter["breaches"] == NONE_BROKEN
        assert 0.2 <= converter["shortest_high_us"] <= converter["longest_high_us"] < 50.0
        assert converter["shortest_low_us"] >= 0.2
        assert converter["shortest_wait_us"] >= 0.1
        assert converter["reads"] == converter["conversions"]
        assert converter["missed"] == 0
        assert converter["power_downs"] == 1  # the one with which it is started
    assert 0.5 < played.report["asleep"] < 1.0  # it sleeps between the words


async def test_a_step_is_over_after_four_conversions(tmp_path: Path) -> None:
    # Data sheet of the HX711: settling 50 ms at 80 samples a second, 400 ms at 10.
    for strap, settling_s in (([], 0.05), (["--slow"], 0.4)):
        rows = [[0.0, 1000.0], [2.0, 1000.0], [2.000001, 9000.0], [4.0, 9000.0]]
        played = await play(tmp_path / f"b{settling_s}", rows, "--input", *strap)
        made = [(at_us * 1e-6, word) for _, at_us, word in played.board.made()]
        assert {word for at_s, word in made if at_s < 2.0} == {1000}
        assert {word for at_s, word in made if at_s > 2.0 + settling_s} == {9000}
        between = [word for at_s, word in made if 2.0 < at_s < 2.0 + settling_s]
        assert between == sorted(between)
        assert 1000 < between[len(between) // 2] < 9000
        assert np.isin([s.counts[0] for s in played.samples], [word for _, word in made]).all()


async def test_a_start_is_silent_for_four_conversions(tmp_path: Path) -> None:
    # Data sheet of the HX711: the output is valid 400 ms after a power-up at 10 samples a
    # second, and only then does this model say that it is ready.
    played = await play(tmp_path / "b", COUNTING, "--slow")
    first_us = played.board.made()[0][1]
    assert 400_000 < first_us < 402_000
