"""Several cells: closed forms, refusals, and a Monte-Carlo check of every doubt."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import msgspec
import numpy as np
import pytest

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.budget import t_factor
from strikebridge.calibration.centre import centre_of_pressure
from strikebridge.calibration.certificate import (
    Certificate,
    PlateRecord,
    check_certificate,
    plain_certificate,
)
from strikebridge.calibration.certificate_file import certificate_from_json, certificate_to_json
from strikebridge.calibration.creep import hidden_creep_u
from strikebridge.calibration.gravity import given_gravity
from strikebridge.calibration.plates import Steps
from strikebridge.calibration.platform import Platform, analyse_platform
from strikebridge.calibration.platform_document import (
    platform_certificate,
    platform_document,
)
from strikebridge.calibration.walk import WalkInput
from strikebridge.errors import CalibrationError
from strikebridge.samples import TimedBlock

if TYPE_CHECKING:
    from strikebridge.samples import Floats

G = 9.81
GRAVITY = given_gravity(G)
GAINS = np.array([0.0045, 0.0052, -0.0047, 0.0050])  # N a count; one is wired the other way
ZEROS = np.array([8000.0, -20_000.0, 150_000.0, 0.0])
PLACES_MM = np.array([[-200.0, -150.0], [200.0, -150.0], [200.0, 150.0], [-200.0, 150.0]])


def shares_at(x_mm: float, y_mm: float) -> Floats:
    """How a stiff platform shares a load among four feet (least squares of the moments)."""
    x, y = x_mm / 200.0, y_mm / 150.0
    return (
        np.array([(1 - x) * (1 - y), (1 + x) * (1 - y), (1 + x) * (1 + y), (1 - x) * (1 + y)])
        / 4
    )


CORNERS = [(-150.0, -110.0), (150.0, -110.0), (150.0, 110.0), (-150.0, 110.0)]
LIFTS: list[tuple[tuple[str, ...], tuple[float, float]]] = [
    ((), (0.0, 0.0)),
    *((("A",), corner) for corner in CORNERS),
    *((("A", "B"), corner) for corner in CORNERS),
    (("A", "B", "C"), (0.0, 0.0)),
    ((), (0.0, 0.0)),
]
KG = {"A": 20.0, "B": 20.0, "C": 10.0}


def counts_of(force_N: float, place: tuple[float, float]) -> Floats:
    counts: Floats = ZEROS + force_N * shares_at(*place) / GAINS
    return counts


def walk_of(
    off: dict[str, float] | None = None,
    *,
    noise_counts: float = 0.0,
    draw: np.random.Generator | None = None,
    tolerance: float = 0.02,
) -> tuple[WalkInput, Floats]:
    off = off or {}
    draw = draw or np.random.default_rng(0)
    readings, loads = [], []
    for names, place in LIFTS:
        true_N = G * sum(KG[name] * (1.0 + off.get(name, 0.0)) for name in names)
        readings.append(counts_of(true_N, place) + noise_counts * draw.normal(size=4))
        loads.append(G * sum(KG[name] for name in names))
    n = len(LIFTS)
    steps = Steps(
        np.array(loads),
        np.array(readings).sum(axis=1),
        np.zeros(n, np.int64),
        np.ones(n, np.int64),
        tuple(names for names, _ in LIFTS),
        tuple(f"line {i + 2}" for i in range(n)),
    )
    plates = tuple(PlateRecord(name, kg, kg * tolerance) for name, kg in KG.items())
    return WalkInput(steps, plates, GRAVITY, step=1.0), np.array(readings)


def test_exact_readings_give_each_gain_back() -> None:
    found = analyse_platform(*walk_of())
    np.testing.assert_allclose(found.gains_N, GAINS, rtol=1e-9)
    np.testing.assert_allclose(found.zeros, ZEROS)
    assert found.r_squared == pytest.approx(1.0)
    assert not found.suspects
    force_N, _, _ = found.at(counts_of(300.0, (70.0, -30.0)))
    assert force_N == pytest.approx(300.0, rel=1e-9)


def test_an_error_of_all_plates_scales_every_gain_and_stays_in_the_doubt() -> None:
    walk, readings = walk_of({"A": 0.01, "B": 0.01, "C": 0.01})
    one_make = tuple(msgspec.structs.replace(plate, make="iron") for plate in walk.plates)
    found = analyse_platform(replace(walk, plates=one_make), readings)
    np.testing.assert_allclose(found.gains_N, GAINS / 1.01, rtol=1e-6)
    force_N, u_N, k = found.at(counts_of(300.0, (0.0, 0.0)))
    # 2 % as a rectangle (JCGM 100:2008, 4.3.7), and the 0.5 kg a bend may hide
    assert u_N == pytest.approx(0.02 * force_N / 3.0**0.5, rel=0.02)
    assert k == pytest.approx(0.95 * 3.0**0.5, rel=0.02)
    assert found.budget()[0].term == "plates"


def test_plates_that_creep_longer_than_a_hold_stand_in_the_budget() -> None:
    walk, readings = walk_of(tolerance=0.0001)
    loads_N = walk.steps.load_N
    # every load reads 0.7 of its creep more than a hold would: a gain, whatever the corner
    crept = replace(walk, beyond_hold_N=0.7 * loads_N)
    found = analyse_platform(crept, readings)
    (term,) = [term for term in found.budget() if term.term == "creep"]
    assert term.u_N == pytest.approx(0.7 * hidden_creep_u(found.range_N[1]), rel=1e-6)
    plain = analyse_platform(walk, readings)
    assert "creep" not in {term.term for term in plain.budget()}
    made_at = "2026-03-01T18:30:00+01:00"
    with_it = platform_certificate(crept, found, readings, (), made_at)
    without = platform_certificate(walk, plain, readings, (), made_at)
    assert with_it.u_shape_N == pytest.approx(np.hypot(without.u_shape_N, term.u_N))


def test_a_step_that_does_not_fit_is_named() -> None:
    walk, readings = walk_of(noise_counts=20.0, draw=np.random.default_rng(5))
    readings[3] += counts_of(10.0, CORNERS[2]) - ZEROS
    found = analyse_platform(walk, readings)
    (suspect,) = found.suspects
    assert suspect.name == "line 5"
    assert suspect.off_kg == pytest.approx(10.0 / 9.80665, rel=0.3)
    assert any("The step in line 5" in words for words in found.warnings)


def test_plates_without_tolerance_are_remarked() -> None:
    walk, readings = walk_of(tolerance=0.0)
    found = analyse_platform(walk, readings)
    assert any("No tolerance was given" in words for words in found.warnings)
    assert "plates" not in {term.term for term in found.budget()}
    in_newtons = analyse_platform(replace(walk, gravity=None, plates=()), readings)
    assert not in_newtons.warnings


def rows(walk: WalkInput, which: list[int]) -> WalkInput:
    steps = walk.steps
    cut = Steps(
        steps.load_N[which],
        steps.reading[which],
        steps.direction[which],
        steps.run[which],
        tuple(steps.plates[i] for i in which),
        tuple(steps.labels[i] for i in which),
    )
    return replace(walk, steps=cut)


def refused(which: list[int], words: str) -> None:
    walk, readings = walk_of()
    with pytest.raises(CalibrationError, match=words):
        analyse_platform(rows(walk, which), readings[which])


def test_walks_that_do_not_carry_the_gains_are_refused() -> None:
    refused([1, 2, 3, 4, 5, 6, 7, 8], "No step is without a load")
    refused([0, 1, 2, 3, 4, 10], "6 steps are too few for 4 cells")
    refused([0, 1, 1, 1, 5, 5, 5, 10], r"Cells \d and \d cannot be told apart")
    # never on the right side: cells 2 and 3 share what little they get
    refused([0, 1, 1, 4, 4, 5, 8, 10], r"Cells \d and \d cannot be told apart")


def test_nothing_but_empty_steps_and_a_dead_cell_are_refused() -> None:
    walk, readings = walk_of()
    with pytest.raises(CalibrationError, match="cannot be told apart"):
        analyse_platform(rows(walk, [0, 10] * 4), readings[[0, 10] * 4])
    noisy, readings = walk_of(noise_counts=1e5, draw=np.random.default_rng(2))
    with pytest.raises(CalibrationError, match="hardly felt any load"):
        analyse_platform(noisy, readings)


def test_one_empty_step_lends_its_zero_the_scatter_of_the_walk() -> None:
    walk, readings = walk_of(noise_counts=20.0, draw=np.random.default_rng(5))
    found = analyse_platform(rows(walk, list(range(10))), readings[:10])
    both = analyse_platform(walk, readings)
    assert found.u_zeros == pytest.approx(found.scatter_N / np.abs(found.gains_N) / 2.0)
    assert both.u_zeros == pytest.approx(both.scatter_N / np.abs(both.gains_N) / 8.0**0.5)


def one_trial(draw: np.random.Generator) -> tuple[Platform, float, Floats, Floats]:
    off = {name: draw.uniform(-0.02, 0.02) for name in KG}
    walk, readings = walk_of(off, noise_counts=40.0, draw=draw)
    found = analyse_platform(walk, readings)
    place = (draw.uniform(-180.0, 180.0), draw.uniform(-130.0, 130.0))
    true_N = draw.uniform(150.0, 490.0)
    counts = counts_of(true_N, place) + 40.0 * draw.normal(size=4)
    return found, true_N, counts, np.array(place)


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_the_truth_lies_within_the_doubt_of_force_and_centre() -> None:
    """600 walks: coverage of 95 % within four SD of a binomial, and doubts not padded."""
    draw = np.random.default_rng(11)
    n = 600
    force_hits = np.zeros(n, bool)
    centre_hits = np.zeros((n, 2), bool)
    force_errors, force_u = np.zeros(n), np.zeros(n)
    centre_errors, centre_u = np.zeros((n, 2)), np.zeros((n, 2))
    for i in range(n):
        found, true_N, counts, place = one_trial(draw)
        force_N, u_N, k = found.at(counts)
        force_errors[i], force_u[i] = force_N - true_N, u_N
        force_hits[i] = abs(force_N - true_N) <= k * u_N
        own_N = np.abs(found.gains_N) * np.hypot(40.0, found.u_zeros)
        centre = centre_of_pressure(
            found.cells_at(counts), PLACES_MM, found.relative_covariance, own_N
        )
        assert centre is not None
        centre_errors[i] = np.array([centre.x_mm, centre.y_mm]) - place
        centre_u[i] = [centre.u_x_mm, centre.u_y_mm]
        centre_hits[i] = np.abs(centre_errors[i]) <= t_factor(found.dof) * centre_u[i]
    lowest = 0.95 - 4.0 * np.sqrt(0.95 * 0.05 / n)
    assert force_hits.mean() >= lowest
    assert np.all(centre_hits.mean(axis=0) >= lowest)
    # root mean squares agree: the doubts are as large as the errors, not larger
    assert np.sqrt(np.mean(force_u**2)) == pytest.approx(np.std(force_errors), rel=0.15)
    rms = np.sqrt(np.mean(centre_errors**2, axis=0))
    np.testing.assert_allclose(np.sqrt(np.mean(centre_u**2, axis=0)), rms, rtol=0.15)


def certificate_of(noise_counts: float = 20.0) -> tuple[Platform, Certificate]:
    walk, readings = walk_of(noise_counts=noise_counts, draw=np.random.default_rng(8))
    found = analyse_platform(walk, readings)
    places = tuple((float(x), float(y)) for x, y in PLACES_MM)
    made_at = "2026-03-01T18:30:00+01:00"
    return found, platform_certificate(walk, found, readings, places, made_at)


def test_the_certificate_reads_forces_and_doubts_as_the_platform_does() -> None:
    found, certificate = certificate_of()
    assert certificate_from_json(certificate_to_json(certificate)) == certificate
    assert certificate.points[2].readings == pytest.approx(counts_of(196.2, CORNERS[1]), abs=90)
    counts = counts_of(400.0, (120.0, 40.0))
    block = TimedBlock(
        np.arange(1), np.zeros(1), counts[np.newaxis], np.zeros(1, np.uint16), 80.0
    )
    force = Calibration.from_certificate(certificate).feed(block)
    force_N, u_N, _ = found.at(counts)
    assert force.force_N[0] == pytest.approx(force_N, rel=1e-12)
    np.testing.assert_allclose(force.cells_N[0], found.cells_at(counts), rtol=1e-9)
    assert force.u_common_N[0] == pytest.approx(u_N, rel=0.05)
    # without the covariance between the cells the plates would seem to average out
    alone = msgspec.structs.replace(certificate, between_cells=())
    apart = Calibration.from_certificate(alone).feed(block)
    assert apart.u_common_N[0] < 0.8 * force.u_common_N[0]


def test_a_certificate_of_one_cell_says_nothing_of_platforms() -> None:
    plain = plain_certificate(
        0.005, 0.0, made_at="2026-03-01T18:30:00+01:00", range_N=(0.0, 800.0)
    )
    assert not {"between_cells", "places_mm"} & set(certificate_to_json(plain))
    # the id that such a certificate had before platforms were known
    assert plain.id == "47742710feed"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"between_cells": ((1.0,),)}, "between its cells is not 4 by 4"),
        ({"between_cells": ((1.0, 0.0),) * 4}, "between its cells is not 4 by 4"),
        ({"between_cells": ((-1.0, 0.0, 0.0, 0.0),) * 4}, "negative variance"),
        ({"between_cells": ((np.nan, 0.0, 0.0, 0.0),) * 4}, "not a number"),
        ({"places_mm": ((0.0, 0.0),)}, "1 places for 4 cells"),
        ({"places_mm": ((0.0, np.inf),) * 4}, "not a number"),
    ],
)
def test_impossible_platforms_are_refused(change: dict[str, object], why: str) -> None:
    certificate = msgspec.structs.replace(certificate_of()[1], **change)
    with pytest.raises(CalibrationError, match=why):
        check_certificate(certificate)


def test_a_platform_of_nothing_estimated_has_no_finite_degrees_of_freedom() -> None:
    found, _ = certificate_of()
    walk, readings = walk_of()
    exact = replace(found, scatter_N=0.0, from_readings=np.zeros((4, 4)))
    made_at = "2026-03-01T18:30:00+01:00"
    assert platform_certificate(walk, exact, readings, (), made_at).dof_common is None


def test_the_document_has_a_centre_for_each_step_where_places_are_known() -> None:
    found, _ = certificate_of()
    _, readings = walk_of()
    places = tuple((float(x), float(y)) for x, y in PLACES_MM)
    document = platform_document(found, readings, [readings[3].tolist()], places)
    json.dumps(document, allow_nan=False)
    centres = document["centres"]
    assert isinstance(centres, list)
    assert centres[0] == {"centre_mm": None, "centre_u95_mm": None}  # nothing on it
    assert centres[3]["centre_mm"] == pytest.approx(CORNERS[2], abs=2.0)
    without = platform_document(found, readings, [], ())
    assert without["centres"] is None
