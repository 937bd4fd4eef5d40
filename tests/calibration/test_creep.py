from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.calibration.certificate import CREEP
from strikebridge.calibration.creep import (
    beyond_hold_N,
    creep_share,
    hidden_creep_u,
    likely_share,
    step_times,
)
from strikebridge.calibration.document import scale_error, walk_certificate, walk_of_points
from strikebridge.calibration.gravity import given_gravity
from strikebridge.calibration.points_table import parse_points
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.measures import CREEP_CERTIFIED
from strikebridge.samples import Quantity
from tests.calibration.simulated_walk import KITS, draw_walk, grown

if TYPE_CHECKING:
    from strikebridge.calibration.plates import Steps
    from strikebridge.samples import Floats

GRAVITY = given_gravity(9.81)


def table(share: float, *, with_time: bool = True, seconds: float = 60.0) -> str:
    """Loads that are read twice each, the reading having grown by a share of the load."""
    lines = ["mass_kg,reading" + (",time_s" if with_time else "")]
    at_s = 0.0
    for mass in (0.0, 20.0, 40.0, 60.0):
        for later in (0.0, 1.0):
            reading = 1000.0 + 2000.0 * mass * (1.0 + share * later)
            at_s += seconds
            lines.append(f"{mass},{reading:.3f}" + (f",{at_s}" if with_time else ""))
    return "\n".join(lines)


def share_of(text: str) -> float:
    points = parse_points(text)
    return creep_share(points.steps(9.81), points.time_s)


def test_the_share_is_found() -> None:
    # half of the creep lies in the fitted slope
    assert share_of(table(0.003)) == pytest.approx(0.003 / 1.0015, rel=1e-3)
    assert share_of(table(0.0)) == 0.0


def test_readings_that_fall_creep_as_well() -> None:
    assert share_of(table(-0.003)) == pytest.approx(0.003 / 0.9985, rel=1e-3)


def test_one_stay_is_enough_and_scatter_among_more_adds_doubt() -> None:
    rows = ["mass_kg,reading,time_s", "0,0,0", "50,1000,10", "50,1010,70", "100,2000,80"]
    alone = share_of("\n".join(rows))
    assert alone == pytest.approx(0.01, rel=0.01)
    assert share_of("\n".join([*rows, "100,1995,140"])) > 0.0
    with_other = share_of("\n".join([*rows, "100,2000,140"]))
    mean = 50.0 * 0.5 / (50.0**2 + 100.0**2)  # least squares through zero, by hand
    assert with_other > mean


def test_without_time_or_without_a_stay_nothing_is_known() -> None:
    assert share_of(table(0.003, with_time=False)) == 0.0
    assert share_of("mass_kg,reading,time_s\n0,0,0\n20,100,5\n40,200,9\n") == 0.0
    assert share_of("mass_kg,reading,time_s\n20,100,5\n20,101,9\n") == 0.0
    # the same moment twice is no time, and a cell that does not move has no share
    assert share_of("mass_kg,reading,time_s\n0,0,0\n20,100,5\n20,101,5\n") == 0.0
    assert share_of("mass_kg,reading,time_s\n0,7,0\n20,7,5\n20,7,9\n") == 0.0


def test_a_load_that_was_changed_in_between_did_not_stay() -> None:
    text = "mass_kg,reading,time_s,direction\n0,0,0,up\n20,100,5,up\n20,101,9,down\n"
    assert share_of(text) == 0.0
    text = "mass_kg,reading,time_s,plates\n0,0,0,\n20,100,5,A\n20,101,9,B\n"
    assert share_of(text) == 0.0


def test_creep_stands_in_the_budget_and_in_the_certificate() -> None:
    walk = walk_of_points(parse_points(table(0.003)), GRAVITY)
    result = analyse_walk(walk)
    (term,) = [term for term in result.budget() if term.term == "creep"]
    # half-width a share of the load, rectangular (JCGM 100:2008, 4.3.7)
    assert term.u_N == pytest.approx(walk.creep * result.top_N / np.sqrt(3.0))
    assert term.common
    assert walk_certificate(walk, result, "2026-03-01T18:30:00+01:00").u_shape_N >= term.u_N


def test_times_that_go_back_are_refused() -> None:
    with pytest.raises(ValueError, match="Line 3, column time_s: 4 s lies before"):
        parse_points("mass_kg,reading,time_s\n0,0,5\n20,100,4\n")


def test_a_walk_creeps_longer_than_a_hold() -> None:
    # 100 N come at 10 s and are read 7 s later, then 200 N at 25 s, read at 40 s
    beyond_N = beyond_hold_N(
        np.array([100.0, 200.0]), np.array([10.0, 25.0]), np.array([17.0, 40.0])
    )
    at_once = math.log(3.0)  # a hold that has lasted 2 s
    expected = np.array(
        [
            math.log(8.0) - at_once,
            math.log(31.0) + math.log(16.0) - 2.0 * at_once,
        ]
    )
    np.testing.assert_allclose(beyond_N, 100.0 * expected / math.log(16.0))
    # taken off again it still gives way for a while
    back_N = beyond_hold_N(np.array([100.0, 0.0]), np.array([0.0, 15.0]), np.array([5.0, 20.0]))
    assert back_N[1] == pytest.approx(100.0 * math.log(21.0 / 6.0) / math.log(16.0))


def test_times_that_nobody_wrote_down_are_guessed_from_the_pace() -> None:
    came_s, read_s = step_times(3, None)
    np.testing.assert_array_equal(np.diff(read_s), [15.0, 15.0])
    np.testing.assert_array_equal(read_s - came_s, [7.5, 7.5, 7.5])
    came_s, read_s = step_times(3, np.array([20.0, 30.0, 70.0]))
    np.testing.assert_array_equal(came_s, [12.5, 25.0, 50.0])
    np.testing.assert_array_equal(read_s, [20.0, 30.0, 70.0])


def test_what_cells_are_known_to_creep_by() -> None:
    # a share drawn evenly from 0.02 to 0.1 %, either way: its root mean square
    shares = np.linspace(0.0002, 0.001, 100_001)
    assert hidden_creep_u(-500.0) == pytest.approx(
        500.0 * float(np.sqrt(np.mean(shares**2))), rel=1e-4
    )


def creep_of(text: str) -> float:
    walk = analyse_walk(walk_of_points(parse_points(text), GRAVITY))
    return sum(term.u_N for term in walk.budget() if term.term == "creep")


def test_a_table_that_shows_no_creep_still_has_its_doubt() -> None:
    exact = "\n0,0\n20,200\n40,400\n60,600"
    # one plate after the other, 15 s apart, read after 7.5 s: what the slope takes of it
    faces, at_once = np.array([0.0, 20.0, 40.0, 60.0]), math.log(3.0)
    crept = [
        sum(20.0 * math.log1p(7.5 + 15.0 * ago) for ago in range(k)) - 20.0 * k * at_once
        for k in range(4)
    ]
    line = np.polyfit(faces, np.array(crept) / math.log(16.0), 1)
    u_share = math.sqrt((0.02**2 + 0.02 * 0.1 + 0.1**2) / 3.0) / 100.0
    expected_N = GRAVITY.value_m_per_s2 * u_share * float(np.polyval(line, 60.0))
    assert creep_of("mass_kg,reading" + exact) == pytest.approx(expected_N, rel=1e-9)
    # slower walks creep longer
    slow = "mass_kg,reading,time_s\n0,0,0\n20,200,60\n40,400,120\n60,600,180"
    assert creep_of(slow) > 1.2 * expected_N
    # forces come from a machine, whose own rules say how long it waits
    assert creep_of("force_N,reading" + exact) == 0.0


def test_a_scale_is_held_against_plates_that_lie_as_long() -> None:
    walk = walk_of_points(parse_points("mass_kg,reading\n0,0.00\n20,20.00\n40,40.00"), GRAVITY)
    error = scale_error(walk, analyse_walk(walk), Quantity.KG)
    plain = replace(walk, beyond_hold_N=None)
    assert error == scale_error(plain, analyse_walk(plain), Quantity.KG)


def ups_and_downs(share: float, noise_N: float = 0.0) -> tuple[Steps, Floats, Floats]:
    """A walk of four plates, twice, on a cell that creeps; readings in newtons."""
    masses = [0.0, 20.0, 40.0, 50.0, 55.0, 50.0, 40.0, 20.0, 0.0] * 2
    ways = ([1] * 5 + [-1] * 4) * 2
    lines = [
        f"{m},0,{'up' if way > 0 else 'down'}" for m, way in zip(masses, ways, strict=True)
    ]
    steps = parse_points("mass_kg,reading,direction\n" + "\n".join(lines)).steps(9.81)
    beyond_N = beyond_hold_N(steps.load_N, *step_times(len(steps), None))
    draw = np.random.default_rng(3)
    z_N = steps.load_N + share * beyond_N + noise_N * draw.normal(size=len(steps))
    return steps, z_N, beyond_N


@pytest.mark.parametrize("share", [0.0, 0.0005, -0.001, 0.02])
def test_readings_say_how_much_they_crept(share: float) -> None:
    steps, z_N, beyond_N = ups_and_downs(share)
    # by a plain fit with all columns, and what a drift of 0.02 % in all would feign of it
    x = steps.load_N / steps.load_N.max()
    loop = 4.0 * x * (1.0 - x) * steps.direction
    columns = np.column_stack([beyond_N, np.ones_like(x), x, x**2, loop])
    feigned = np.linalg.lstsq(columns, np.linspace(-1e-4, 1e-4, 18) * steps.load_N.max())[0][0]
    u = abs(float(feigned)) / math.sqrt(3.0)
    known = hidden_creep_u(1.0)
    trust = 1.0 if share > 0.01 else known**2 / (known**2 + u**2)
    expected = math.hypot(trust * share, math.sqrt(trust) * u)
    assert likely_share(steps, (), z_N, beyond_N) == pytest.approx(expected, rel=1e-6)
    assert likely_share(steps, (), z_N, beyond_N) < max(known, 1.2 * abs(share))


def test_noise_leaves_what_is_known_of_cells() -> None:
    steps, z_N, beyond_N = ups_and_downs(0.0005, noise_N=5.0)
    assert likely_share(steps, (), z_N, beyond_N) == pytest.approx(hidden_creep_u(1.0), rel=0.1)


def test_a_short_walk_says_nothing_of_it() -> None:
    steps, z_N, beyond_N = ups_and_downs(0.0)
    assert likely_share(steps, (), z_N, 0.0 * beyond_N) == hidden_creep_u(1.0)
    few = parse_points(
        "mass_kg,reading,direction\n" + "".join(f"{m},0,up\n" for m in range(8))
    ).steps(9.81)
    history_N = beyond_hold_N(few.load_N, *step_times(8, None))
    assert likely_share(few, (), few.load_N, history_N) == hidden_creep_u(1.0)


def test_scatter_counts_with_its_few_degrees_of_freedom() -> None:
    steps, z_N, beyond_N = ups_and_downs(0.0005, noise_N=0.1)
    x = steps.load_N / steps.load_N.max()
    loop = 4.0 * x * (1.0 - x) * steps.direction
    columns = np.column_stack([beyond_N, np.ones_like(x), x, x**2, loop])
    found, squares, _, _ = np.linalg.lstsq(columns, z_N)
    feigned = np.linalg.lstsq(columns, np.linspace(-1e-4, 1e-4, 18) * steps.load_N.max())[0][0]
    # 18 steps less 5 unknowns; the variance of t with 13 degrees of freedom is 13 / 11
    variance = float(squares[0]) / 11.0 * float(np.linalg.inv(columns.T @ columns)[0, 0])
    u2 = variance + float(feigned) ** 2 / 3.0
    trust = hidden_creep_u(1.0) ** 2 / (hidden_creep_u(1.0) ** 2 + u2)
    expected = math.sqrt((trust * float(found[0])) ** 2 + trust * u2)
    assert likely_share(steps, (), z_N, beyond_N) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("held_s", [0.2, 1.0, 2.0, 6.0])
def test_creep_is_covered_by_the_certificate_whenever_a_hold_is_read(held_s: float) -> None:
    """Creep by a power of time, which is not the package's law; all else the same twice."""
    kit, inside = KITS["plates 0.1 %"], []
    left = CREEP_CERTIFIED.creep_share / math.sqrt(3.0)
    for seed in range(60):
        walk, cell, _ = draw_walk(kit, np.random.default_rng(seed))
        still, _, _ = draw_walk(replace(kit, creep=0.0), np.random.default_rng(seed))
        result = analyse_walk(walk, 1)
        walked = result.fit.slope(0.0) / analyse_walk(still, 1).fit.slope(0.0) - 1.0
        terms = result.terms_at(cell.top_N, above_zero=True)
        (certified_N,) = (term.u_N for term in terms if term.term == CREEP)
        off = cell.creep * float(grown(held_s)) - walked
        inside.append(abs(off) <= 2.0 * math.hypot(certified_N / cell.top_N, left))
    assert np.mean(inside) >= 0.95
