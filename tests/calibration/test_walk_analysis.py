from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import TYPE_CHECKING

import msgspec
import numpy as np
import pytest

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate_file import certificate_from_json, certificate_to_json
from strikebridge.calibration.document import (
    calibrate_points,
    hysteresis,
    repeatability,
    walk_certificate,
    walk_of_points,
)
from strikebridge.calibration.gravity import given_gravity
from strikebridge.calibration.plates import Steps
from strikebridge.calibration.points_table import parse_points
from strikebridge.calibration.walk import Walk, WalkInput
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.errors import FormatError
from strikebridge.samples import TimedBlock
from tests.calibration.simulated_walk import KITS, campaign, draw_suspect_walk, draw_walk

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.points import Points

GRAVITY = given_gravity(9.81)
G = 9.81
COUNTS = 200.0  # a newton
LADDER = ("", "A", "A+B", "A+B+C", "B", "C", "A+C")
KG = {"A": 20.0, "B": 10.0, "C": 5.0, "D": 2.5}


def table(
    combinations: Sequence[str],
    off: dict[str, float] | None = None,
    tolerance: float = 0.02,
    extra: dict[str, float] | None = None,
) -> Points:
    """Write a table of exact readings, plates off by given shares."""
    off = off or {}
    lines = ["mass_kg,reading,tolerance_kg,plates"]
    for combination in combinations:
        names = combination.split("+") if combination else []
        face = sum(KG[name] for name in names)
        true = sum(KG[name] * (1.0 + off.get(name, 0.0)) for name in names)
        reading = 8000.0 + COUNTS * G * (true + (extra or {}).get(combination, 0.0))
        lines.append(f"{face},{reading:.1f},{face * tolerance},{combination}")
    return parse_points("\n".join(lines))


def analysed(points: Points, degree: int | None = None) -> Walk:
    return analyse_walk(walk_of_points(points, GRAVITY), degree)


def test_right_plates_give_the_gain_and_their_tolerance_as_its_doubt() -> None:
    walk = analysed(table(LADDER))
    np.testing.assert_allclose(walk.fit.coefficients, [8000.0, COUNTS], rtol=1e-5)
    assert not walk.suspects
    force_N, u_N, k = walk.at(8000.0 + COUNTS * 300.0)
    assert force_N == pytest.approx(300.0, rel=1e-5)
    # three plates of their own: less than 2 % / sqrt 3 of one make, more than a third of it
    assert 300.0 * 0.02 / 3.0 < u_N < 300.0 * 0.02 / 3.0**0.5
    assert 1.6 < k < 2.0
    assert walk.budget()[0].term == "plates"
    assert any("weigh them on a trade scale" in words for words in walk.warnings)


def test_plates_of_one_make_are_one_error_that_no_lift_averages_away() -> None:
    points = table(LADDER)
    walk = walk_of_points(points, GRAVITY)
    one_make = tuple(msgspec.structs.replace(plate, make="iron") for plate in walk.plates)
    result = analyse_walk(WalkInput(walk.steps, one_make, GRAVITY, step=0.1))
    _, u_N, k = result.at(8000.0 + COUNTS * 300.0)
    assert u_N == pytest.approx(300.0 * 0.02 / 3.0**0.5, rel=2e-3)
    assert k == pytest.approx(0.95 * 3.0**0.5, rel=0.01)
    assert [source.name for source in result.sources] == ["plates of make iron"]


def test_a_wrong_plate_is_named_and_loses_its_weight() -> None:
    good = {"A": 0.001, "B": -0.001, "C": 0.0}
    points = table(
        ("", "A", "B", "C", "D", "A+B", "A+B+C", "A+B+C+D"), good | {"D": -0.08}, tolerance=0.01
    )
    walk = analysed(points)
    (suspect,) = walk.suspects
    assert (suspect.kind, suspect.name) == ("plate", "D")
    assert suspect.off_kg == pytest.approx(-0.08 * 2.5, rel=0.05)
    assert any("Plate D is off by -0.2 kg" in words for words in walk.warnings)
    assert abs(walk.fit.coefficients[1] / COUNTS - 1.0) < 0.002


def test_three_plates_and_no_tolerance_name_nobody() -> None:
    walk = analysed(table(LADDER, {"C": 0.05}, tolerance=0.0))
    assert not walk.suspects
    assert any("No tolerance was given" in words for words in walk.warnings)


def test_three_plates_two_of_which_agree_name_the_third() -> None:
    walk = analysed(table(LADDER, {"C": 0.08}, tolerance=0.005))
    assert [suspect.name for suspect in walk.suspects] == ["C"]


def test_a_plate_against_which_all_contradict_one_another_is_not_accused() -> None:
    walk = analysed(table(LADDER, {"A": 0.0, "B": 0.05, "C": -0.05}, tolerance=0.005))
    assert not [suspect for suspect in walk.suspects if suspect.kind == "plate"]


def test_two_plates_always_together_are_said_to_be_so() -> None:
    walk = analysed(table(("", "A", "A+B+C", "B+C", "A", "A+B+C")))
    assert any("B and C cannot be told apart: lift B once more" in w for w in walk.warnings)


@pytest.mark.parametrize("tolerance", [0.005, 0.0])
def test_two_plates_that_contradict_each_other(tolerance: float) -> None:
    lifts = ("", "A", "B", "A+B", "A", "B")
    walk = analysed(table(lifts, {"B": 0.05}, tolerance))
    assert any("contradict each other by 5.0 %" in words for words in walk.warnings)
    assert not any("contradict" in words for words in analysed(table(lifts)).warnings)


def test_a_step_that_does_not_fit_is_named_by_its_line() -> None:
    lifts = (*LADDER, *LADDER)
    points = table(lifts, extra={"A+C": 0.0})
    rows = list(points.rows)
    jitter = np.resize([0.4, -0.3, 0.1], len(rows))
    rows = [
        replace(row, readings=(row.readings[0] + step,))
        for row, step in zip(rows, jitter, strict=True)
    ]
    rows[9] = replace(rows[9], readings=(rows[9].readings[0] + COUNTS * G * 1.5,))
    walk = analysed(type(points)(tuple(rows), points.column))
    (suspect,) = walk.suspects
    assert (suspect.kind, suspect.name) == ("point", "line 11")
    assert suspect.off_kg == pytest.approx(1.5 * G / 9.80665, rel=0.02)
    assert any("The step in line 11" in words for words in walk.warnings)


def test_a_straight_line_stays_straight_when_plates_could_feign_the_bend() -> None:
    lifts = ("", "A", "A+B", "A+B+C", "A+B+C+D", "B", "C", "D") * 2
    assert analysed(table(lifts, {"A": 0.02, "C": -0.02, "D": 0.015})).fit.degree == 1


def curved_table(
    bend: float,
    combinations: Sequence[str] = ("", "A", "B", "C", "D", "A+B", "A+B+C", "A+B+C+D") * 2,
) -> Points:
    points = table(combinations, tolerance=1e-5)
    rows = [
        replace(
            row, readings=(row.readings[0] + bend * row.load**2 + (5.0 if i % 2 else -5.0),)
        )
        for i, row in enumerate(points.rows)
    ]
    return type(points)(tuple(rows), points.column)


def test_a_cell_that_bends_gets_its_curve() -> None:
    walk = analysed(curved_table(1.0))
    assert walk.fit.degree == 2
    assert walk.fit.coefficients[2] * G**2 == pytest.approx(1.0, rel=0.05)


def test_a_bend_that_the_coach_forbids_stays_in_the_doubt() -> None:
    straight = analysed(curved_table(1.0), degree=1)
    curved = analysed(curved_table(1.0), degree=2)
    middle = 8000.0 + COUNTS * 150.0 + 1.0 * (150.0 / G) ** 2
    force_N, u_N, k = straight.at(middle)
    assert abs(force_N - 150.0) < k * u_N
    assert u_N > 3.0 * curved.at(middle)[1]


def test_few_loads_that_do_not_follow_a_line_ask_for_more() -> None:
    text = "force_N,reading\n" + "".join(
        f"{load},{2 * load + 0.01 * load**2 + step}\n"
        for load in (0, 50, 100, 200)
        for step in (0.1, -0.1)
    )
    document = calibrate_points(parse_points(text))
    assert document["degree"] == 1
    assert any("Use at least six different loads" in words for words in warnings_of(document))
    more = text + "".join(
        f"{load},{2 * load + 20 * math.sin(load)}\n" for load in (20, 70, 120, 150) * 2
    )
    document = calibrate_points(parse_points(more), degree=1)
    assert any("Look at the points again" in words for words in warnings_of(document))


def warnings_of(document: dict[str, object]) -> list[str]:
    found = document["warnings"]
    assert isinstance(found, list)
    return [str(words) for words in found]


def test_the_document_survives_strict_json_and_names_every_field() -> None:
    points = parse_points(
        "mass_kg,reading,tolerance_kg,direction,run\n"
        "0,0,0,up,1\n10,1000,0.2,up,1\n20,2000,0.4,up,1\n10,1004,0.2,down,1\n"
        "0,2,0,down,1\n10,1001,0.2,up,2\n"
    )
    document = calibrate_points(points, gravity=GRAVITY, at=[1000.0, 2500.0])
    assert json.loads(json.dumps(document, allow_nan=False)) == document
    assert set(document) == {
        "degree",
        "coefficients",
        "covariance",
        "residual_sd",
        "dof",
        "r_squared",
        "lack_of_fit",
        "hysteresis",
        "repeatability",
        "range_N",
        "suspects",
        "warnings",
        "budget",
        "at",
    }
    assert document["hysteresis"] == pytest.approx(4.0 / 2000.0)
    assert document["repeatability"] == pytest.approx(1.0 / 2000.0)
    said = warnings_of(document)
    assert any("2500 lies above the largest calibrated load" in words for words in said)
    assert any("Which plates lay on the cell was not said" in words for words in said)
    budget = document["budget"]
    assert isinstance(budget, list)
    # 0.4 kg of 20 kg, rectangular
    assert budget[0]["term"] == "plates"
    assert budget[0]["u_N"] == pytest.approx(0.4 * G / 3.0**0.5, rel=0.01)


@pytest.mark.parametrize(
    ("rows", "words"),
    [("20,1\n20,2\n20,3\n", "All loads are the same"), ("0,1\n20,2\n", "2 points")],
)
def test_a_table_that_carries_no_fit_names_its_column(rows: str, words: str) -> None:
    with pytest.raises(FormatError, match=words) as caught:
        calibrate_points(parse_points("force_N,reading\n" + rows))
    assert caught.value.column == "force_N"
    assert caught.value.line == rows.count("\n") + 1


@pytest.mark.parametrize("readings", [(5, 5, 5, 5), (0, 9, 1, 8)])
def test_readings_that_do_not_follow_the_loads_are_refused(readings: Sequence[int]) -> None:
    rows = "".join(f"{10 * i},{reading}\n" for i, reading in enumerate(readings))
    with pytest.raises(FormatError, match="readings do not follow the loads"):
        calibrate_points(parse_points("mass_kg,reading\n" + rows))


def test_a_curve_that_turns_back_is_refused() -> None:
    rows = "".join(f"{x},{100 * x - 6.5 * x * x}\n" for x in range(9))
    with pytest.raises(FormatError, match="turns back within the loads"):
        calibrate_points(parse_points("mass_kg,reading\n0,0\n" + rows), degree=2)


def test_two_points_are_too_few_for_a_curve() -> None:
    with pytest.raises(FormatError, match="Lines up to 3, column mass_kg: 2 points"):
        calibrate_points(parse_points("mass_kg,reading\n0,1\n20,2\n"), degree=2)


def test_zero_and_one_plate_leave_the_bend_to_what_is_known_of_cells() -> None:
    points = parse_points("force_N,reading\n0,0\n500,1000\n0,1\n500,1001\n")
    document = calibrate_points(points)
    budget = document["budget"]
    assert isinstance(budget, list)
    shape = next(term["u_N"] for term in budget if term["term"] == "lack of fit")
    # 0.05 % of the largest load, rectangular, averaged over the range
    assert 0.1 < shape < 0.0005 * 500.0


def test_three_points_both_ways_leave_no_room_and_still_give_an_answer() -> None:
    points = parse_points("mass_kg,reading,direction\n0,0,up\n20,2000,up\n10,1003,down\n")
    document = calibrate_points(points, gravity=GRAVITY, at=[1000.0])
    assert document["dof"] == 1
    json.dumps(document, allow_nan=False)


def test_hysteresis_and_repeatability_need_something_to_compare() -> None:
    steps = walk_of_points(parse_points("force_N,reading\n0,1\n1,2\n2,3\n")).steps
    assert hysteresis(steps) is None
    assert repeatability(steps) is None
    flat = Steps(
        np.zeros(2), np.ones(2), np.array([1, -1]), np.array([1, 1]), ((), ()), ("1", "2")
    )
    assert hysteresis(flat) is None


def test_the_certificate_of_a_walk_reads_forces_as_the_walk_does() -> None:
    walk_input, cell, _ = draw_walk(KITS["plates 2 %, each its own"], np.random.default_rng(4))
    walk = analyse_walk(walk_input)
    certificate = walk_certificate(walk_input, walk, "2026-03-01T18:30:00+01:00")
    assert certificate_from_json(certificate_to_json(certificate)) == certificate
    assert certificate.points[1].plates == ("A",)
    assert {term.term for term in certificate.budget} >= {"plates", "readings"}
    reading = cell.reading(0.8 * cell.top_N, 1)
    block = TimedBlock(
        np.arange(1), np.zeros(1), np.array([[reading]]), np.zeros(1, np.uint16), 80.0
    )
    force = Calibration.from_certificate(certificate).feed(block)
    force_N, u_N, _ = walk.at(reading)
    assert force.force_N[0] == pytest.approx(force_N, rel=1e-12)
    assert force.u_common_N[0] == pytest.approx(u_N, rel=0.1)
    assert certificate.coverage == pytest.approx(2.0, abs=0.1)


def test_loads_in_newtons_make_a_certificate_without_gravity() -> None:
    walk_input = walk_of_points(
        parse_points("force_N,reading\n0,0\n100,200\n200,400\n300,600\n")
    )
    walk = analyse_walk(walk_input)
    certificate = walk_certificate(walk_input, walk, "2026-03-01T18:30:00+01:00")
    assert certificate.u_relative == 0.0
    assert certificate.plates == ()
    assert "gravity" not in {term.term for term in certificate.budget}


def test_a_walk_of_nothing_estimated_has_no_finite_degrees_of_freedom() -> None:
    # scatter that no step shows leaves the plates, whose limits are taken as known
    walk_input = walk_of_points(table(LADDER), GRAVITY)
    walk = replace(analyse_walk(walk_input), scatter_N=0.0)
    certificate = walk_certificate(walk_input, walk, "2026-03-01T18:30:00+01:00")
    assert certificate.dof_common is None


@pytest.mark.slow
@pytest.mark.timeout(240)
@pytest.mark.parametrize("name", KITS)
def test_the_true_force_lies_within_its_plus_minus(name: str) -> None:
    # a tenth of the campaign, whose full run is the command; 93 % less 2.5 SD of 200 draws
    covered, width = campaign(KITS[name], 200)
    assert np.all(covered >= 0.93 - 2.5 * math.sqrt(0.93 * 0.07 / 200))
    assert np.all(width <= 1.25 * 1.1)


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_one_plate_of_six_three_percent_off_is_named() -> None:
    draw = np.random.default_rng(2)
    named = 0
    for _ in range(60):
        walk, wrong = draw_suspect_walk(draw, off=0.03)
        named += [suspect.name for suspect in analyse_walk(walk).suspects] == [wrong]
    assert named >= 54


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_nobody_is_accused_where_all_are_right() -> None:
    draw = np.random.default_rng(3)
    accused = sum(
        bool(analyse_walk(draw_suspect_walk(draw, off=None)[0]).suspects) for _ in range(60)
    )
    assert accused <= 2
