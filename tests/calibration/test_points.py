"""What a table of points says of loads and plates."""

from __future__ import annotations

import numpy as np
import pytest

from strikebridge.calibration.points_table import parse_points
from strikebridge.errors import FormatError

G = 9.81


def test_loads_in_newtons_and_plates_of_one_make() -> None:
    points = parse_points("force_N,reading,plates\n98.1,1e3,iron/a\n196.2,2e3,iron/a+iron/b\n")
    np.testing.assert_allclose(points.steps(G).load_N, [98.1, 196.2])
    assert [plate.make for plate in points.plates(G)] == ["iron", "iron"]
    np.testing.assert_allclose([plate.mass_kg for plate in points.plates(G)], [10.0, 10.0])
    assert points.step == 1.0


def test_tolerances_without_plates_are_one_common_error() -> None:
    points = parse_points("mass_kg,reading,tolerance_kg\n0,0,0\n10,100,0.2\n")
    assert points.plates(G) == ()
    (source,) = points.common(G)
    np.testing.assert_allclose(source.effect_N, [0.0, 0.2 * G])
    assert parse_points("mass_kg,reading\n0,0\n").common(G) == ()


@pytest.mark.parametrize(("at_20_kg", "sources"), [(0.201, 1), (0.205, 2), (0.24, 2)])
def test_two_ways_of_erring_together_count_where_they_differ(
    at_20_kg: float, sources: int
) -> None:
    # the share of the largest load would be 0.2 kg of 20 kg; 20 % more is another way
    points = parse_points(
        f"mass_kg,reading,tolerance_kg\n0,0,0\n20,200,{at_20_kg}\n40,400,0.4\n"
    )
    found = points.common(G)
    assert len(found) == sources
    assert found[0].effect_N[1] == pytest.approx(at_20_kg * G)
    assert all(one.effect_N[1] == pytest.approx(0.2 * G) for one in found[1:])


def test_one_tolerance_for_all_loads_may_also_be_an_error_of_the_gain() -> None:
    points = parse_points("mass_kg,reading,tolerance_kg\n10,100,0.2\n40,400,0.2\n")
    together, in_gain = points.common(G)
    np.testing.assert_allclose(together.effect_N, [0.2 * G, 0.2 * G])
    np.testing.assert_allclose(in_gain.effect_N, [0.05 * G, 0.2 * G])


def test_one_tolerance_in_every_line_is_that_of_each_plate() -> None:
    points = parse_points(
        "mass_kg,reading,tolerance_kg,plates\n0,0,0,\n20,1,0.2,A\n30,2,0.2,A+B\n70,3,0.2,A+B+C\n"
    )
    assert [plate.tolerance_kg for plate in points.plates(G)] == [0.2, 0.2, 0.2]


def test_tolerances_that_do_not_add_up_give_each_plate_its_widest_share() -> None:
    points = parse_points(
        "mass_kg,reading,tolerance_kg,plates\n0,0,0,\n20,1,0.2,A\n10,2,0.1,B\n30,3,0.9,A+B\n"
    )
    np.testing.assert_allclose([plate.tolerance_kg for plate in points.plates(G)], [0.6, 0.3])


@pytest.mark.parametrize(
    ("rows", "line", "words"),
    [
        ("20,1,A\n25,2,A\n", 3, "A cannot weigh 25 kg"),
        ("0,0,\n20,1,A\n10,2,B\n40,3,A+B\n", 5, r"A\+B cannot weigh 40 kg"),
        ("20,1,A\n20,2,A+B\n", 3, "B would weigh nothing"),
        ("5,0,\n20,1,A\n", 2, "no plate cannot weigh 5 kg"),
    ],
)
def test_plates_that_contradict_their_masses_are_refused(
    rows: str, line: int, words: str
) -> None:
    points = parse_points("mass_kg,reading,plates\n" + rows)
    with pytest.raises(FormatError, match=words) as caught:
        points.plates(G)
    assert (caught.value.line, caught.value.column) == (line, "plates")
