from __future__ import annotations

import numpy as np
import pytest

from strikebridge.calibration.creep import creep_share
from strikebridge.calibration.document import walk_certificate, walk_of_points
from strikebridge.calibration.gravity import given_gravity
from strikebridge.calibration.points import parse_points
from strikebridge.calibration.walk import analyse_walk

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
