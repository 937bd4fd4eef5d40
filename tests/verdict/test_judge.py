"""Every word, its limits, its order, and what is said."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.measures import measure
from strikebridge.samples import Effort, Flag, Floats, Hold, Prescription, Status, Verdict
from strikebridge.verdict import Limits, judge
from strikebridge.verdict.limits import DEFAULT_LIMITS
from strikebridge.verdict.words import ATHLETE, figure, weighed
from tests.made_holds import ONSET_S, held, snap, sure

if TYPE_CHECKING:
    from tests.made_holds import Shape

THREE_S = Prescription(hold_s=3.0)
BAND = Prescription(Effort.SUBMAXIMAL, 3.0, (200.0, 240.0))


def ramp(since_s: Floats) -> Floats:
    return 1.0 - np.exp(-np.maximum(since_s, 0.0) / 0.3)


def step_then_push(low: float, pause_s: float) -> Shape:
    def shape(since_s: Floats) -> Floats:
        return low * snap(since_s) + (1.0 - low) * snap(since_s - pause_s)

    return shape


def twice(since_s: Floats) -> Floats:
    first = np.where((since_s > 0.0) & (since_s < 0.2), np.sin(np.pi * since_s / 0.2), 0.0)
    return 0.7 * first + snap(since_s - 0.4)


def sagging(since_s: Floats) -> Floats:
    return snap(since_s) * (1.0 - 0.08 * np.clip(since_s, 0.0, 4.0))


def shaking(since_s: Floats) -> Floats:
    return snap(since_s) * (1.0 + 0.1 * np.sin(2.0 * np.pi * 3.0 * since_s))


def verdict_on(
    hold: Hold, prescription: Prescription = THREE_S, limits: Limits = DEFAULT_LIMITS
) -> Verdict:
    return judge(hold, measure(hold, prescription), prescription, limits)


@pytest.mark.parametrize("rate_hz", [80.0, 320.0, 1000.0])
@pytest.mark.parametrize(
    ("shape", "rise", "faults"),
    [
        (snap, "snap", ()),
        (ramp, "ramp", ("ramp",)),
        (step_then_push(0.3, 0.4), "two-stage", ("two-stage",)),
        (step_then_push(0.5, 1.2), "two-stage", ("two-stage",)),
        (twice, "two-stage", ("double hit", "two-stage")),
    ],
)
def test_words_on_the_rise(
    shape: Shape, rise: str, faults: tuple[str, ...], rate_hz: float
) -> None:
    for noise_N in (0.0, 0.5):
        rng = np.random.default_rng(6)
        found = verdict_on(held(shape, rate_hz=rate_hz, noise_N=noise_N, rng=rng))
        assert (found.rise, found.hold, found.faults) == (rise, "steady", faults)


def test_swings_of_a_slow_ramp_are_no_stages() -> None:
    def slow(since_s: Floats) -> Floats:
        swings = 1.0 + 0.01 * np.sin(2.0 * np.pi * 8.0 * since_s)
        return np.clip(since_s / 2.0, 0.0, 1.0) * swings

    for rate_hz in (80.0, 1000.0):
        assert verdict_on(held(slow, rate_hz=rate_hz, hold_s=6.0)).rise == "ramp"


def test_swings_of_the_plateau_are_no_second_rise() -> None:
    def overshooting(since_s: Floats) -> Floats:
        after = 0.2 * np.exp(-np.maximum(since_s, 0.0) / 0.2)
        return snap(since_s) * (0.8 + after) * (1.0 + 0.04 * np.sin(20.0 * since_s))

    assert verdict_on(held(overshooting)).rise == "snap"


def test_a_short_hold_let_go_within_the_rise_time_is_no_double_hit() -> None:
    assert "double hit" not in verdict_on(held(snap, hold_s=0.7)).faults


def test_an_instant_rise_has_no_stage() -> None:
    def instant(since_s: Floats) -> Floats:
        return (since_s >= -1e-9).astype(np.float64)

    assert verdict_on(held(instant, rate_hz=80.0)).rise == "snap"


@pytest.mark.parametrize(
    ("shape", "hold_s", "word"),
    [
        (snap, 3.2, "steady"),
        (snap, 2.6, "early let-go"),
        (sagging, 3.2, "sagging"),
        (shaking, 3.2, "shaky"),
    ],
)
def test_words_on_the_hold(shape: Shape, hold_s: float, word: str) -> None:
    found = verdict_on(held(shape, hold_s=hold_s, rate_hz=80.0))
    assert found.hold == word
    assert found.faults == (() if word == "steady" else (word,))


def test_early_let_go_is_never_said_without_a_prescribed_time() -> None:
    assert verdict_on(held(snap, hold_s=1.2), Prescription()).hold == "steady"


def test_the_first_word_that_applies_is_said_and_all_faults_are_kept() -> None:
    def many(since_s: Floats) -> Floats:
        return 0.2 + ramp(since_s) * (1.0 - 0.15 * np.clip(since_s, 0.0, 3.0))

    found = verdict_on(held(many, hold_s=2.0, baseline_N=60.0))
    assert (found.rise, found.hold) == ("leaning", "early let-go")
    assert found.faults[:2] == ("leaning", "early let-go")
    assert "sagging" in found.faults
    assert found.sentence == ATHLETE["leaning"]


@pytest.mark.parametrize(
    ("newtons", "share", "is_lean"),
    [
        (300.0, 0.15, True),  # 45 N against max(20 N, 34 N)
        (300.0, 0.09, False),  # 27 N against 33 N
        (100.0, 0.15, False),  # 15 N against 20 N
        (100.0, 0.25, True),
    ],
)
def test_a_lean_is_above_20_newtons_and_a_tenth_of_the_peak(
    newtons: float, share: float, is_lean: bool
) -> None:
    hold = held(lambda since_s: share + snap(since_s), newtons=newtons)
    found = verdict_on(replace(hold, baseline_N=share * newtons))
    assert (found.rise == "leaning") is is_lean


@pytest.mark.parametrize(
    ("lead_s", "is_false", "is_close"),
    # at 1000 readings a second the start and the converter's delay are known to some 3 ms
    [(0.05, True, False), (0.1005, False, True), (0.1035, False, True), (0.2, False, False)],
)
def test_false_start_only_beyond_its_uncertainty(
    lead_s: float, is_false: bool, is_close: bool
) -> None:
    found = verdict_on(held(snap, go_s=ONSET_S - lead_s))
    assert (found.rise == "false start") is is_false
    assert ("false start" in found.faults) is is_false
    assert ("too close to call" in found.detail) is is_close
    reaction = measure(held(snap, go_s=ONSET_S - lead_s), THREE_S)["reaction"]
    assert ("too close to call" in reaction.reason) is is_close
    assert (reaction.status is Status.COARSE) is is_close


def test_outside_a_prescribed_band() -> None:
    high, low = (verdict_on(held(snap, newtons=force), BAND) for force in (300.0, 150.0))
    assert high.hold == low.hold == "outside band"
    assert high.sentence == "Too hard. Ease into the band."
    assert low.sentence == "Too light. Push into the band."
    assert verdict_on(held(snap, newtons=220.0), BAND).hold == "steady"


def test_outside_a_band_without_a_time_goes_by_the_mean() -> None:
    band = replace(BAND, hold_s=None)
    words = [verdict_on(held(snap, newtons=force), band).hold for force in (150, 220, 300)]
    assert words == ["outside band", "steady", "outside band"]


def test_a_slow_board_does_not_praise_a_hold_that_may_have_missed_its_band() -> None:
    def drifting(since_s: Floats) -> Floats:
        return snap(since_s) * np.where(since_s < 1.6, 0.99, 1.01)

    found = verdict_on(
        held(drifting, rate_hz=10.0, newtons=241.0, noise_N=2.0, settling_s=0.4), BAND
    )
    assert found.hold == "not measurable"
    assert found.faults == ()
    assert found.sentence == "That may have been outside the band. Aim for its middle."


def test_a_slow_board_declines_instead_of_guessing() -> None:
    for shape in (snap, ramp, shaking):
        found = verdict_on(held(shape, rate_hz=10.0, settling_s=0.4, hold_s=3.3))
        assert (found.rise, found.hold) == ("not measurable", "not measurable")
        assert found.faults == ()
        assert found.sentence == "That one counts. Same again."


def test_a_slow_board_says_what_is_beyond_doubt() -> None:
    early = verdict_on(held(snap, rate_hz=10.0, settling_s=0.4, hold_s=1.5))
    assert (early.rise, early.hold) == ("not measurable", "early let-go")
    near = verdict_on(held(snap, rate_hz=10.0, settling_s=0.4, hold_s=2.65))
    assert near.hold == "not measurable"
    assert near.faults == ()
    lean = held(lambda since_s: 0.4 + snap(since_s), rate_hz=10.0, baseline_N=120.0, hold_s=3.3)
    assert verdict_on(lean).faults == ("leaning",)


def test_without_an_onset_nothing_is_said_on_the_rise() -> None:
    found = verdict_on(held(snap, onset_sure=False))
    assert (found.rise, found.hold) == ("not measurable", "not measurable")
    assert "start of the rise could not be seen" in found.detail
    freely = verdict_on(held(snap, onset_sure=False), Prescription())
    assert (freely.hold, freely.sentence) == ("steady", "Held steady. Same again.")


def test_too_short_for_a_word_on_the_hold() -> None:
    found = verdict_on(held(snap, hold_s=0.55), Prescription())
    assert (found.rise, found.hold) == ("snap", "not measurable")
    assert found.sentence == "Snapped in. Same again."
    band = Prescription(Effort.SUBMAXIMAL, None, (200.0, 240.0))
    assert verdict_on(held(snap, hold_s=0.55), band).hold == "not measurable"


def test_an_unseen_let_go() -> None:
    cut = held(snap, release_s=None, hold_s=4.5)
    found = verdict_on(cut)
    assert (found.hold, found.faults) == ("steady", ("incomplete",))
    keep = cut.force.time_s < ONSET_S + 2.0
    names = ("number", "time_s", "force_N", "cells_N", "u_own_N", "u_common_N", "flags")
    block = replace(cut.force, **{name: getattr(cut.force, name)[keep] for name in names})
    short = verdict_on(replace(cut, force=block))
    assert (short.hold, short.faults) == ("not measurable", ("incomplete",))
    assert "2.0 s at least" in short.detail


@pytest.mark.parametrize(
    ("flag", "fault"), [(Flag.OVER_RATING, "over rating"), (Flag.SATURATED, "over range")]
)
def test_faults_of_the_kit(flag: Flag, fault: str) -> None:
    hold = held(snap)
    for at_s, expected in ((ONSET_S + 1.0, (fault,)), (0.1, ())):
        flags = hold.force.flags.copy()
        flags[np.searchsorted(hold.force.time_s, at_s)] = flag
        found = verdict_on(replace(hold, force=replace(hold.force, flags=flags)))
        assert found.faults == expected
    assert ATHLETE[fault]


def test_noise_of_the_kit_is_not_the_athlete_shaking() -> None:
    noisy = held(snap, newtons=60.0, noise_N=3.3, rng=np.random.default_rng(2), rate_hz=320.0)
    values = measure(noisy, THREE_S)
    assert sure(values["steadiness"].value) > 5.0
    assert "shaky" not in judge(noisy, values, THREE_S).faults


def test_limits_are_adjustable() -> None:
    assert verdict_on(held(snap), limits=Limits(snap_percent=99.0)).rise == "ramp"
    assert verdict_on(held(sagging), limits=Limits(sag_percent_per_s=-20.0)).hold == "steady"


def test_a_ramp_weighs_least_where_the_band_is_the_task() -> None:
    assert weighed({"ramp", "shaky"}, Effort.MAXIMAL) == ("ramp", "shaky")
    assert weighed({"ramp", "shaky"}, Effort.SUBMAXIMAL) == ("shaky", "ramp")


def test_the_sentence_names_one_thing_and_no_number() -> None:
    for fault, sentence in ATHLETE.items():
        assert not any(character.isdigit() for character in sentence), fault
        assert len(sentence) <= 60
    assert verdict_on(held(twice)).sentence == ATHLETE["double hit"]
    two = verdict_on(held(step_then_push(0.3, 0.4)))
    assert two.sentence == "You touched, then pushed. Hit it in one go."


def test_the_detail_holds_the_numbers() -> None:
    found = verdict_on(held(step_then_push(0.3, 0.4)))
    assert found.detail.startswith("Rise two-stage: paused for 0.")
    assert "at 30 % of the peak" in found.detail
    assert found.detail.endswith(".")
    both = verdict_on(held(sagging, hold_s=2.0))
    assert both.hold == "early let-go"
    assert "held 2.0" in both.detail
    assert "slope -" in both.detail


def test_figures_are_no_finer_than_their_uncertainty() -> None:
    value = measure(held(snap, rate_hz=80.0, settling_s=0.05), THREE_S)["held_time"]
    assert figure(value) == f"{value.value:.2f} s"
    coarse = replace(value, u_own=30.0)
    assert figure(coarse) == "3 s"
    assert figure(replace(value, value=None)) == "0.00 s"
    flat = replace(value, value=-0.0012, unit="%/s", u_own=0.005, u_common=0.0)
    assert figure(flat) == "0.00 %/s"
    assert figure(value, "") == f"{value.value:.2f}"


@pytest.mark.parametrize("gone", ["steadiness", "sag", "preload"])
def test_a_withheld_measure_says_no_word(gone: str) -> None:
    hold = held(snap)
    values = measure(hold, THREE_S)
    values[gone] = replace(values[gone], value=None, u_own=None, reason="no reason at all")
    found = judge(hold, values, THREE_S)
    assert found.faults == ()
    if gone != "preload":
        assert (found.hold, "no reason at all" in found.detail) == ("not measurable", True)
