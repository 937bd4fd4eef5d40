from __future__ import annotations

import math
from dataclasses import replace

import msgspec
import numpy as np
import pytest

from strikebridge.calibration.certificate import Cell
from strikebridge.checks.expected import (
    UNCHECKED,
    known_plates,
    plate_reference,
    scale_reference,
    shunt_reference,
)
from strikebridge.checks.history import CheckRecord, Verdict, Way
from strikebridge.checks.judging import (
    Levels,
    Past,
    full_N,
    judge_check,
    past_of,
)
from strikebridge.checks.level import Level
from strikebridge.errors import CheckError
from tests.calibration.simulated_walk import GAIN, GRAVITY, ZERO
from tests.checks.made_checks import MADE_AT, SLOPE, calibrated, level, levels_of, plain

G = 9.80665
SOUND = Past(zero=(8000.0,), u_zero=(2.0,), noise_N=0.06)


def loaded(force_N: float, back_N: float = 0.0) -> Levels:
    zero = level(8000.0)
    return Levels(zero, level(8000.0 + SLOPE * force_N), level(8000.0 + SLOPE * back_N))


def test_a_zero_alone_is_good_and_says_that_the_gain_is_unchecked() -> None:
    check = judge_check(plain(), Levels(level(8400.0)))
    assert check.verdict is Verdict.GOOD
    assert check.gain is None
    assert check.shift is None
    assert check.back is None
    assert check.zero_N == pytest.approx(2.0)
    assert check.noise_N == pytest.approx(12.0 / SLOPE)
    assert check.noise_ratio is None


@pytest.mark.parametrize(
    ("moved_N", "verdict"),
    # 1 % of 1000 N
    [(9.9, Verdict.GOOD), (10.1, Verdict.ZERO_MOVED), (-10.1, Verdict.ZERO_MOVED)],
)
def test_the_zero_against_that_of_the_last_check(moved_N: float, verdict: Verdict) -> None:
    check = judge_check(plain(), Levels(level(8000.0 + SLOPE * moved_N)), UNCHECKED, SOUND)
    assert check.verdict is verdict
    assert check.shift is not None
    assert check.shift.value_N == pytest.approx(moved_N)
    assert check.noise_ratio == pytest.approx(1.0)


def test_a_noisy_zero_is_not_called_moved() -> None:
    wild = level(8000.0 + SLOPE * 12.0, u=SLOPE * 8.0)
    check = judge_check(plain(), Levels(wild), UNCHECKED, SOUND)
    assert check.verdict is Verdict.GOOD
    assert check.shift is not None
    assert check.shift.u95_N > 12.0


def test_after_an_overload_a_moved_zero_is_damage() -> None:
    past = replace(SOUND, is_after_overload=True)
    levels = Levels(level(8000.0 + SLOPE * 15.0))
    assert judge_check(plain(), levels, UNCHECKED, past).verdict is Verdict.CELL_DAMAGED


def test_a_zero_that_does_not_come_back_is_damage_whatever_the_gain() -> None:
    # 0.5 % of the load may stay
    reference = plate_reference(plain(), 20.0, 0.02)
    good = judge_check(plain(), loaded(20.0 * G, 0.95), reference)
    bent = judge_check(plain(), loaded(22.0 * G, 1.05), reference)
    assert good.verdict is Verdict.GOOD
    assert bent.verdict is Verdict.CELL_DAMAGED
    assert bent.back is not None
    assert bent.back.value_N == pytest.approx(1.05)


def test_a_light_plate_does_not_make_a_judge_of_the_drift() -> None:
    # 0.5 % of 5 kg are 0.25 N; a tenth of the whole of 1000 N allows 0.5 N
    light = plate_reference(plain(), 5.0, 0.005)
    assert full_N(plain()) == 1000.0
    drifted = judge_check(plain(), loaded(5.0 * G, 0.45), light)
    assert drifted.back is not None
    assert drifted.back.value_N > 0.005 * light.load_N
    assert drifted.verdict is Verdict.GOOD
    assert judge_check(plain(), loaded(5.0 * G, 0.55), light).verdict is Verdict.CELL_DAMAGED


def test_the_gain_is_judged_against_its_doubt() -> None:
    certificate = plain(u_relative=0.005)
    reference = plate_reference(certificate, 20.0, 0.2)
    check = judge_check(certificate, loaded(1.004 * 20.0 * G), reference)
    assert check.verdict is Verdict.GOOD
    gain = check.gain
    assert gain is not None
    assert gain.error == pytest.approx(0.004)
    # 0.5 % of the certificate, 1 % / sqrt 3 of the plate, 0.1 % / sqrt 3 creep; means: nothing
    whole = math.hypot(0.005, 0.01 / math.sqrt(3.0), 0.001 / math.sqrt(3.0))
    assert gain.u95 == pytest.approx(1.96 * whole, rel=0.08)
    assert gain.limit > gain.u95
    assert gain.seen == pytest.approx(gain.limit + 1.645 * whole, rel=1e-3)
    moved = judge_check(certificate, loaded(1.03 * 20.0 * G), reference)
    assert moved.verdict is Verdict.GAIN_MOVED
    assert [term.term for term in gain.terms][:2] == ["plate", "certificate"]


def test_a_moved_zero_does_not_hide_a_moved_gain() -> None:
    reference = plate_reference(plain(), 20.0, 0.02)
    levels = loaded(1.05 * 20.0 * G)
    past = replace(SOUND, zero=(3000.0,))
    assert judge_check(plain(), levels, reference, past).verdict is Verdict.GAIN_MOVED


def test_a_scale_carries_its_own_doubt_and_no_gravity() -> None:
    certificate = msgspec.structs.replace(plain(u_relative=0.003), u_gravity_m_per_s2=0.003 * G)
    check = judge_check(certificate, loaded(30.0 * G), scale_reference(certificate, 30.0, 0.3))
    assert check.gain is not None
    # all of the certificate's doubt was gravity, the same for the scale
    assert {term.term for term in check.gain.terms} == {
        "scale", "creep and warmth", "mean before", "mean after",
    }  # fmt: skip


def test_a_resistor_is_a_force_and_keeps_the_doubt_of_gravity() -> None:
    certificate = msgspec.structs.replace(plain(u_relative=0.003), u_gravity_m_per_s2=0.003 * G)
    check = judge_check(certificate, loaded(300.0), shunt_reference(300.0))
    assert check.gain is not None
    assert check.gain.terms[0].term == "certificate"
    assert check.gain.terms[0].u_N == pytest.approx(0.9)


def test_a_plate_of_a_club_is_taken_for_what_it_is() -> None:
    assert "± 1 kg" in plate_reference(plain(), 20.0, None).words


def test_several_cells_are_added() -> None:
    two = plain(channels=2)
    assert full_N(msgspec.structs.replace(two, rating_N=800.0)) == 1600.0
    zero = Level((8000.0, 8000.0), (2.0, 2.0), 5, (12.0, 12.0), 240, 0.0, 3.0)
    on = replace(zero, reading=(8000.0 + 60.0 * SLOPE, 8000.0 + 40.0 * SLOPE))
    check = judge_check(two, Levels(zero, on, zero), shunt_reference(100.0))
    assert check.gain is not None
    assert check.gain.measured_N == pytest.approx(100.0)
    assert check.noise_N == pytest.approx(math.sqrt(2.0) * 12.0 / SLOPE)


def record(verdict: Verdict, zero: float, noise_N: float = 0.1) -> CheckRecord:
    return CheckRecord(
        at=MADE_AT,
        certificate="abc",
        verdict=verdict,
        way=Way.NONE,
        zero=(zero,),
        u_zero=(1.0,),
        zero_N=0.0,
        noise_N=noise_N,
    )


def test_the_past_is_that_of_a_sound_cell() -> None:
    records = (
        record(Verdict.GOOD, 1.0, 0.1),
        record(Verdict.ZERO_MOVED, 2.0, 0.3),  # the pad was changed: this is the zero now
        record(Verdict.CELL_DAMAGED, 3.0, 9.0),
    )
    past = past_of(plain(), records, is_after_overload=False)
    assert past == Past((2.0,), (1.0,), 0.2)
    assert past_of(plain(), (), is_after_overload=True) == Past(is_after_overload=True)
    # a history of another number of cells says nothing
    assert past_of(plain(channels=2), records, is_after_overload=False) == Past()


PLATES_KG = {"A": 20.0, "B": 10.0, "C": 5.0}


def test_the_error_of_the_same_plate_cancels() -> None:
    # the only plate is 3 % heavier than its face: the certificate's gain is off by as much,
    # and the same plate reads what it read then
    draw = np.random.default_rng(1)
    certificate = calibrated({"A": 20.0}, {"A": 0.03}, draw, tolerance=0.05)
    levels = Levels(*levels_of(20.0 * 9.81 * 1.03, draw))
    same = judge_check(certificate, levels, known_plates(certificate, ["A"]))
    other = judge_check(certificate, levels, plate_reference(certificate, 20.0, 1.0))
    assert same.gain is not None
    assert other.gain is not None
    assert same.gain.is_same
    assert not other.gain.is_same
    assert same.gain.u95 < 0.004
    assert other.gain.u95 > 0.05
    assert same.verdict is Verdict.GOOD
    assert abs(same.gain.error) < 0.003


def test_one_plate_among_several_is_known_as_far_as_the_walk_told_it() -> None:
    draw = np.random.default_rng(2)
    off = {"A": 0.02, "B": -0.02, "C": 0.01}
    certificate = calibrated(PLATES_KG, off, draw)
    levels = Levels(*levels_of(10.0 * 9.81 * 0.98, draw))
    check = judge_check(certificate, levels, known_plates(certificate, ["B"]))
    assert check.gain is not None
    assert check.gain.is_same
    # its face is wrong by 2 %, but the walk saw what it reads
    assert abs(check.gain.error) < 0.003
    assert check.gain.u95 < 0.01
    assert check.gain.expected_N < 10.0 * 9.81 * 0.995


def test_plates_that_never_lay_on_it_alone_do_not_cancel() -> None:
    made = calibrated(PLATES_KG, dict.fromkeys(PLATES_KG, 0.0), np.random.default_rng(4))
    levels = Levels(*levels_of(25.0 * 9.81, np.random.default_rng(5)))
    bare = msgspec.structs.replace(made, points=())
    no_zero = msgspec.structs.replace(
        made, points=tuple(point for point in made.points if point.plates)
    )
    for certificate, names in ((made, ["A", "C"]), (bare, ["A"]), (no_zero, ["A"])):
        reference = known_plates(certificate, names)
        check = judge_check(certificate, levels, reference)
        assert check.gain is not None
        assert not check.gain.is_same
        assert check.gain.u95 > 0.02


def test_with_a_single_step_the_scatter_about_the_curve_counts() -> None:
    made = calibrated({"A": 20.0}, {"A": 0.0}, np.random.default_rng(4))
    one = msgspec.structs.replace(made, points=(made.points[0], made.points[1]))
    check = judge_check(
        one, Levels(*levels_of(20.0 * 9.81, np.random.default_rng(5))), known_plates(one, ["A"])
    )
    assert check.gain is not None
    assert check.gain.is_same
    again = next(term for term in check.gain.terms if term.term == "putting them on again")
    cell = made.cells[0]
    assert again.u_N == pytest.approx(2.0 * cell.residual_sd / cell.coefficients[1])
    assert again.dof == cell.dof


def test_a_plate_that_the_certificate_does_not_know_is_refused() -> None:
    made = calibrated({"A": 20.0}, {"A": 0.0}, np.random.default_rng(6))
    with pytest.raises(CheckError, match=r"knows no plate B; it was made with: A\."):
        known_plates(made, ["A", "B"])
    with pytest.raises(CheckError, match="made with: none"):
        known_plates(plain(), [])


def alarms(
    n: int, *, is_same: bool, tolerance: float, seed: int
) -> tuple[float, float, list[float]]:
    """Repeat: share of sound rigs called moved, of those moved by what is said to be seen."""
    draw = np.random.default_rng(seed)
    false, found, seen = 0, 0, []
    for _ in range(n):
        off = {name: draw.uniform(-tolerance, tolerance) for name in PLATES_KG}
        certificate = calibrated(PLATES_KG, off, draw, tolerance=tolerance)
        error = off["A"] if is_same else draw.uniform(-tolerance, tolerance)
        true_N = 20.0 * GRAVITY.value_m_per_s2 * (1.0 + error)
        reference = (
            known_plates(certificate, ["A"])
            if is_same
            else plate_reference(certificate, 20.0, tolerance * 20.0)
        )
        sound = judge_check(certificate, Levels(*levels_of(true_N, draw)), reference).gain
        assert sound is not None
        assert sound.is_same is is_same
        false += sound.has_moved
        seen.append(sound.seen)
        levels = Levels(*levels_of(true_N, draw, moved=sound.seen))
        moved = judge_check(certificate, levels, reference).gain
        assert moved is not None
        found += moved.has_moved
    return false / n, found / n, seen


@pytest.mark.slow
@pytest.mark.timeout(240)
@pytest.mark.parametrize(
    ("is_same", "tolerance"), [(True, 0.03), (False, 0.03), (False, 0.002)]
)
def test_false_alarms_and_what_is_seen_by_simulation(is_same: bool, tolerance: float) -> None:
    # of 200 checks 1 % may be false alarms: 3.5 % is 3.5 SD of the binomial off; 95 % are to be
    # found: 90 % is 3.2 SD off
    false, found, seen = alarms(200, is_same=is_same, tolerance=tolerance, seed=11)
    assert false <= 0.035
    assert found >= 0.90
    if is_same:
        assert max(seen) < 0.006  # the same plate shows a change of 1 %, whatever it weighs
    else:
        assert min(seen) > tolerance


def test_a_plate_that_lay_on_a_bent_cell_reads_there_what_it_read() -> None:
    # a curve of degree 2, forced: both sides go through it
    draw = np.random.default_rng(8)
    made = calibrated(dict.fromkeys("ABCDEFG", 10.0), dict.fromkeys("ABCDEFG", 0.0), draw)
    cell = Cell(
        (*made.cells[0].coefficients, 1e-3), ((0.0,) * 3,) * 3, made.cells[0].residual_sd
    )
    bent = msgspec.structs.replace(made, cells=(cell,))
    zero, on = level(ZERO), level(ZERO + GAIN * 20.0 * 9.81)
    check = judge_check(bent, Levels(zero, on, zero), known_plates(bent, ["A", "B"]))
    assert check.gain is not None
    assert check.gain.is_same
    assert abs(check.gain.error) < 1e-3
