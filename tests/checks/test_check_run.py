from __future__ import annotations

import msgspec
import numpy as np
import pytest

from strikebridge.calibration.certificate import Certificate, plain_certificate
from strikebridge.calibration.steadiness import MOST_SETTLING_S
from strikebridge.checks.check_run import CheckRun, CheckSetup
from strikebridge.checks.check_view import CheckKey, CheckState
from strikebridge.checks.expected import (
    UNCHECKED,
    Reference,
    known_plates,
    plate_reference,
    scale_reference,
    shunt_reference,
)
from strikebridge.checks.history import Verdict
from strikebridge.checks.judging import Past
from strikebridge.errors import CalibrationError
from strikebridge.samples import Flag, TimedBlock
from tests.calibration.walk_scenes import Rig
from tests.checks.made_checks import MADE_AT, calibrated

G = 9.80665
CERTIFICATE = msgspec.structs.replace(
    plain_certificate(
        G / 21_474.8, 84_000.0, made_at=MADE_AT, range_N=(0.0, 1000.0), u_relative=0.002
    ),
    rating_N=1961.33,
)
PLATE = plate_reference(CERTIFICATE, 20.0, 0.1)


def run_of(
    reference: Reference = PLATE, *, certificate: Certificate = CERTIFICATE, free: bool = False
) -> CheckRun:
    return CheckRun(CheckSetup(certificate, reference, Past(), is_hands_free=free))


def lead(run: CheckRun, rig: Rig, *, until: CheckState | None = None, block: int = 8) -> None:
    """Go on until the check ends, or enters a state, or its time is over."""
    while not run.has_ended and rig.now_s < 200.0 and run.state is not until:
        rig.hear(run.feed([rig.block(block)]))


def saturated(block: TimedBlock) -> TimedBlock:
    """The same with the converter at its end."""
    flags = block.flags | np.uint16(Flag.SATURATED)
    return TimedBlock(block.number, block.time_s, block.counts, flags, block.rate_hz)


def state_of(run: CheckRun) -> CheckState:
    return run.state


@pytest.mark.parametrize("rate_hz", [10.0, 80.0, 320.0])
def test_a_check_with_a_plate_comes_out_good(rate_hz: float) -> None:
    run, rig = run_of(), Rig(rate_hz=rate_hz)
    lead(run, rig)
    assert run.state is CheckState.DONE
    assert run.check is not None
    assert run.check.verdict is Verdict.GOOD
    assert run.check.gain is not None
    # creep of 0.15 % is what the rig has
    assert abs(run.check.gain.error) < 0.0016
    assert run.check.levels.zero.n == pytest.approx(3.0 * rate_hz, abs=2 + 0.1 * rate_hz)
    assert rig.now_s < 40.0
    assert [plates for _, plates in rig.steps] == ["", "99", ""]


def test_block_size_changes_nothing() -> None:
    found = []
    for block in (1, 7, 400):
        run, rig = run_of(), Rig(hand_s=0.0)
        rig.masses[99] = 20.0
        # the hand must not depend on the blocks: it follows the clock
        made = [rig.block(8) for _ in range(60)]
        rig.put("99")
        made += [rig.block(8) for _ in range(100)]
        rig.put("")
        made += [rig.block(8) for _ in range(150)]
        whole = TimedBlock(
            np.concatenate([b.number for b in made]),
            np.concatenate([b.time_s for b in made]),
            np.concatenate([b.counts for b in made]),
            np.concatenate([b.flags for b in made]),
            80.0,
        )
        for at in range(0, len(whole), block):
            part = slice(at, at + block)
            run.feed(
                [
                    TimedBlock(
                        whole.number[part],
                        whole.time_s[part],
                        whole.counts[part],
                        whole.flags[part],
                        80.0,
                    )
                ]
            )
        assert run.check is not None
        found.append(run.check)
    assert found[0] == found[1] == found[2]


def test_without_a_reference_one_step_is_enough() -> None:
    run, rig = run_of(UNCHECKED), Rig(zero=84_000.0 + 2_000.0)
    view = run.view()
    assert (view.state, view.steps_done, view.steps_total) == (CheckState.ZERO, 0, 1)
    assert "alone" in view.instruction
    lead(run, rig)
    assert run.check is not None
    assert run.check.verdict is Verdict.GOOD
    assert run.check.gain is None
    assert run.check.zero_N == pytest.approx(2_000.0 * G / 21_474.8, abs=0.05)
    assert run.view().check is run.check
    assert run.view().steps_done == 1
    assert run.view().keys == ()


def test_what_is_shown_on_the_way() -> None:
    run, rig = run_of(), Rig()
    seen: dict[tuple[str, str], list[str]] = {}
    while not run.has_ended:
        view = run.view()
        seen.setdefault((view.state, view.instruction), []).append(view.steadiness)
        if view.state is CheckState.LOAD and view.force_N is not None and view.is_stable:
            assert view.wanted_N == pytest.approx(20.0 * G)
        rig.hear(run.feed([rig.block(4)]))
    asked = [words for _, words in seen]
    assert asked[0].startswith("Leave the rig alone")
    assert asked[2].startswith("Lay the rig flat and put the plate of 20 ± 0.1 kg on")
    assert asked[4].startswith("Take the plate off")
    assert asked.count("Hands off: the mean is being taken.") == 3
    waiting = seen["load", asked[2]]
    assert waiting[0] == "waiting for the load"
    assert {"not stable yet", "not stable yet: it still moves"} & set(waiting)
    assert "still loaded" in seen["back", asked[4]]
    assert run.view().instruction == "The check is done."
    assert run.view().steadiness == ""


def test_a_wrong_plate_is_judged_and_not_waited_for() -> None:
    run, rig = run_of(), Rig(off_kg={99: -10.0})
    lead(run, rig)
    assert run.check is not None
    assert run.check.verdict is Verdict.GAIN_MOVED


def test_a_bent_cell_is_found() -> None:
    run, rig = run_of(), Rig()
    lead(run, rig, until=CheckState.BACK)
    rig.zero += 0.3 * rig.per_kg
    lead(run, rig)
    assert run.check is not None
    assert run.check.verdict is Verdict.CELL_DAMAGED


def test_a_pull_need_not_be_stable() -> None:
    run, rig = run_of(scale_reference(CERTIFICATE, 20.0, 0.5)), Rig()
    lead(run, rig, until=CheckState.LOAD)
    at_s = rig.now_s
    hand = np.random.default_rng(3)
    while run.state is CheckState.LOAD and rig.now_s < at_s + 30.0:
        rig.next = None
        rig.load_kg = 20.0 + hand.normal(0.0, 0.3)
        rig.hear(run.feed([rig.block(8)]))
    assert run.state is CheckState.BACK
    lead(run, rig)
    assert run.check is not None
    assert run.check.verdict is Verdict.GOOD
    assert run.check.gain is not None
    # the hand's tremor is in the doubt of the mean
    assert run.check.gain.u95 > 0.01


def test_a_pull_let_go_too_early_begins_again() -> None:
    run, rig = run_of(scale_reference(CERTIFICATE, 20.0, 0.5)), Rig()
    lead(run, rig, until=CheckState.LOAD)
    while not (run.view().taking_share > 0.3):
        rig.hear(run.feed([rig.block(8)]))
    assert run.view().instruction == "Hold it there."
    rig.load_kg = 0.0
    for _ in range(8):
        run.feed([rig.block(8)])
    assert run.view().taking_share == 0.0
    assert run.state is CheckState.LOAD


def test_a_rig_that_never_settles_is_said_and_taken_on_a_key() -> None:
    for free in (False, True):
        run, rig = run_of(UNCHECKED, free=free), Rig()
        while not run.has_ended and rig.now_s < MOST_SETTLING_S + 8.0:
            rig.load_kg = 3.0 * np.sin(rig.now_s * 3.0)
            run.feed([rig.block(4)])
        assert run.has_ended is free
        if not free:
            assert "does not settle" in run.view().detail
            run.press(CheckKey.NEXT)
            assert run.view().steadiness == "taking the mean"
            while not run.has_ended:
                rig.load_kg = 3.0 * np.sin(rig.now_s * 3.0)
                run.feed([rig.block(4)])
            assert run.check is not None


def test_a_mean_that_moves_begins_again() -> None:
    run, rig = run_of(), Rig()
    while run.view().taking_share < 0.5:
        rig.hear(run.feed([rig.block(8)]))
    rig.next = None
    rig.load_kg = 2.0  # somebody leans on it
    for _ in range(10):
        run.feed([rig.block(8)])
    assert run.view().taking_share == 0.0
    assert run.state is CheckState.ZERO


def test_redo_begins_the_check_again_and_cancel_ends_it() -> None:
    run, rig = run_of(), Rig()
    lead(run, rig, until=CheckState.LOAD)
    calls = run.press(CheckKey.REDO)
    assert state_of(run) is CheckState.ZERO
    assert [call.kind for call in calls] == ["plate", "load"]
    assert calls[1].detail == {"step": 1, "plates": "", "mass_kg": 0.0}
    rig.hear(calls)
    lead(run, rig, until=CheckState.LOAD)
    calls = run.press(CheckKey.CANCEL)
    assert state_of(run) is CheckState.CANCELLED
    assert calls[-1].kind == "cancelled"
    assert run.check is None
    assert "Nothing was decided" in run.view().instruction
    assert run.press(CheckKey.NEXT) == []
    run.lose()
    assert run.feed([rig.block(80)]) == []


def test_a_broken_stream_begins_the_step_again() -> None:
    run, rig = run_of(), Rig()
    while run.view().taking_share < 0.5:
        rig.hear(run.feed([rig.block(8)]))
    rig.n += 400  # five seconds that never came
    run.feed([rig.block(8), rig.block(8)])
    assert run.view().taking_share == 0.0
    assert run.view().steadiness == "not stable yet"
    lead(run, rig)
    assert run.check is not None
    assert run.check.verdict is Verdict.GOOD


def test_a_converter_at_its_end_is_no_level() -> None:
    run, rig = run_of(UNCHECKED), Rig()
    for _ in range(200):
        run.feed([saturated(rig.block(8))])
    assert run.state is CheckState.ZERO
    assert run.view().taking_share == 0.0


def test_a_very_slow_board_takes_longer() -> None:
    run, rig = run_of(UNCHECKED), Rig(rate_hz=2.0)
    lead(run, rig, block=1)
    assert run.check is not None
    assert run.check.levels.zero.n >= 8


def test_a_board_with_another_number_of_cells_is_refused() -> None:
    run = run_of(shunt_reference(200.0))
    made = Rig().block(80)
    both = np.hstack([made.counts, made.counts])
    two = TimedBlock(made.number, made.time_s, both, made.flags, made.rate_hz)
    with pytest.raises(CalibrationError, match="2 cells"):
        run.feed([two])


def test_the_result_is_called_out_in_plain_values() -> None:
    run, rig = run_of(), Rig()
    calls = []
    while not run.has_ended:
        new = run.feed([rig.block(8)])
        rig.hear(new)
        calls += new
    assert calls[-1].kind == "checked"
    assert calls[-1].detail["verdict"] == "good"
    assert calls[-1].detail["way"] == "plate"
    assert isinstance(calls[-1].detail["gain_error"], float)


def test_plates_of_the_calibration_keep_their_numbers() -> None:
    made = calibrated({"A": 20.0, "B": 10.0}, {"A": 0.0, "B": 0.0}, np.random.default_rng(1))
    run, rig = CheckRun(CheckSetup(made, known_plates(made, ["B"]))), Rig()
    rig.hear(run.feed([rig.block(8)]))
    assert rig.masses == {2: 10.0}
