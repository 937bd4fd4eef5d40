from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strikebridge.checks.check_view import CheckState
from strikebridge.checks.check_words import (
    check_lines,
    detail,
    instruction,
    remarks,
    verdict_sentence,
)
from strikebridge.checks.expected import (
    UNCHECKED,
    Reference,
    known_plates,
    plate_reference,
    scale_reference,
    shunt_reference,
)
from strikebridge.checks.judging import Check, Levels, Past, judge_check
from strikebridge.units import ForceUnit
from tests.checks.made_checks import SLOPE, calibrated, level, levels_of, plain

G = 9.80665
MADE = plain(u_relative=0.002)
PLATE = plate_reference(MADE, 20.0, 0.2)
SOUND = Past(zero=(8000.0,), u_zero=(2.0,), noise_N=0.06)


def check(
    force_N: float | None = 20.0 * G,
    *,
    reference: Reference = PLATE,
    past: Past = SOUND,
    zero_N: float = 0.0,
    back_N: float = 0.0,
) -> Check:
    zero = level(8000.0 + SLOPE * zero_N)
    if force_N is None:
        return judge_check(MADE, Levels(zero), UNCHECKED, past)
    on = level(8000.0 + SLOPE * (zero_N + force_N))
    back = level(8000.0 + SLOPE * (zero_N + back_N))
    return judge_check(MADE, Levels(zero, on, back), reference, past)


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (check(), "Good: nothing has moved. Go ahead."),
        (check(None), "Zero and noise are good; the gain is unchecked."),
        (check(zero_N=20.0), "Zero moved since the last check. See that the rig hangs free"),
        (check(1.1 * 20.0 * G), "Gain moved beyond its doubt. Calibrate again before"),
        (check(0.5 * 20.0 * G), "is it the weight that was named"),
        (check(back_N=30.0), "its zero did not come back after a load. Use another cell"),
    ],
)
def test_one_sentence_says_the_verdict(made: Check, words: str) -> None:
    assert words in verdict_sentence(made)


def test_the_table_has_numbers_with_their_doubt() -> None:
    lines = dict(check_lines(check(1.002 * 20.0 * G, zero_N=5.0), ForceUnit.KG))
    assert list(lines) == [
        "zero",
        "since last check",
        "noise",
        "after the load",
        "gain",
        "it reads",
        "this check sees",
    ]
    assert lines["zero"] == "+0.510 ± 0.003 kg from that of the calibration"
    assert lines["since last check"] == "+0.510 ± 0.004 kg, good (1 kg may be warmth and drift)"
    assert lines["noise"] == "0.0061 kg a reading (SD), 1.0 times that of earlier checks"
    assert lines["after the load"] == "+0.000 ± 0.004 kg, back (0.1 kg may stay for a while)"
    assert lines["gain"] == "+0.2 ± 1.1 %, good"
    assert lines["it reads"] == "20.04 kg where 20.00 kg was expected"
    assert lines["this check sees"] == "changes from 2.3 % on; 1.3 % counts as moved"


def test_the_first_check_has_nothing_to_compare_with() -> None:
    lines = dict(check_lines(check(None, past=Past()), ForceUnit.N))
    assert lines["since last check"] == "this is the first check"
    assert lines["gain"] == "unchecked"
    assert lines["noise"] == "0.06 N a reading (SD)"
    assert "after the load" not in lines


def test_moved_is_said_in_the_table() -> None:
    lines = dict(check_lines(check(1.1 * 20.0 * G, zero_N=20.0), ForceUnit.LB))
    assert lines["gain"].endswith("%, moved")
    assert lines["it reads"].startswith("48.5")
    assert "lb, moved (2.2 lb may be" in lines["since last check"]
    bent = dict(check_lines(check(back_N=30.0), ForceUnit.KG))
    assert "kg, not back (0.1 kg" in bent["after the load"]


def test_what_else_a_coach_should_know() -> None:
    assert remarks(check(None)) == [
        "The gain is unchecked: nothing says that 50 kg is still 50 kg."
    ]
    said = remarks(check(past=replace(SOUND, noise_N=0.02)))
    assert "3.0 times as noisy as before" in said[0]
    assert said[1].startswith("Most of the doubt is the plate's.")
    assert "resistor says nothing" in remarks(check(reference=shunt_reference(196.0)))[0]
    made = calibrated({"A": 20.0}, {"A": 0.0}, np.random.default_rng(1))
    same = judge_check(
        made,
        Levels(*levels_of(20.0 * 9.81, np.random.default_rng(2))),
        known_plates(made, ["A"]),
    )
    assert remarks(same) == []


@pytest.mark.parametrize(
    ("reference", "on", "off"),
    [
        (PLATE, "put the plate of 20 ± 0.2 kg on.", "Take the plate off"),
        (scale_reference(MADE, 30.0, 0.5), "pull of 30 ± 0.5 kg on the scale", "Let go"),
        (shunt_reference(300.0), "Connect the resistor that simulates 300 N.", "Disconnect"),
    ],
)
def test_what_to_do_now(reference: Reference, on: str, off: str) -> None:
    assert on in instruction(CheckState.LOAD, reference, is_taking=False)
    assert off in instruction(CheckState.BACK, reference, is_taking=False)
    for state in CheckState:
        sentence = instruction(state, reference, is_taking=True)
        assert sentence[0].isupper()
        assert sentence.endswith(".")


def test_what_to_mind() -> None:
    assert "direction of the punch" in detail(CheckState.LOAD, PLATE, is_late=False)
    assert "not the cell" in detail(CheckState.LOAD, shunt_reference(9.0), is_late=False)
    assert "does not settle" in detail(CheckState.BACK, PLATE, is_late=True)
    assert detail(CheckState.DONE, PLATE, is_late=True) == ""
    assert detail(CheckState.ZERO, PLATE, is_late=False) == ""
