from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.calibration.points import parse_points, read_points
from strikebridge.errors import FormatError

if TYPE_CHECKING:
    from pathlib import Path

G = 9.81


def test_a_table_is_read() -> None:
    points = parse_points(
        "\ufeffmass_kg, reading ,tolerance_kg,direction,run,plates,note\r\n"
        "0,8000,,,,,nothing yet\r\n"
        "\r\n"
        "20,49692.5,0.4,up,1,A,\r\n"
        '30,"70538",0.6,Down,2,A + B,\r\n'.lstrip("\ufeff")
    )
    assert [row.line for row in points.rows] == [2, 4, 5]
    steps = points.steps(G)
    np.testing.assert_allclose(steps.load_N, np.array([0.0, 20.0, 30.0]) * G)
    np.testing.assert_allclose(steps.reading, [8000.0, 49692.5, 70538.0])
    assert list(steps.direction) == [0, 1, -1]
    assert list(steps.run) == [1, 1, 2]
    assert steps.plates == ((), ("A",), ("A", "B"))
    assert steps.labels == ("line 2", "line 4", "line 5")
    assert points.step == 0.1
    assert points.common(G) == ()
    plates = points.plates(G)
    assert [(plate.name, plate.make) for plate in plates] == [("A", ""), ("B", "")]
    np.testing.assert_allclose([plate.mass_kg for plate in plates], [20.0, 10.0])
    np.testing.assert_allclose([plate.tolerance_kg for plate in plates], [0.4, 0.2])


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
    ("text", "line", "column", "words"),
    [
        ("", 1, "reading", "no points"),
        ("mass_kg,reading\n", 1, "reading", "no points"),
        ("0,8000\n20,49692\n", 1, "0", "numbers, not the names"),
        ("mass_lb,reading\n1,2\n", 1, "mass_lb", "mass_lb is not known"),
        ("Mass_kg,reading\n1,2\n", 1, "Mass_kg", "Mass_kg is not known"),
        ("mass_kg,reading,tolerance_g\n1,2,3\n", 1, "tolerance_g", "convert the unit"),
        ("mass_kg,counts\n1,2\n", 1, "mass_kg", "needs reading"),
        ("mass_kg;reading\n1;2\n", 1, "mass_kg;reading", "not known"),
        ("mass_kg,force_N,reading\n1,9.8,2\n", 1, "mass_kg", "one of mass_kg and force_N"),
        ("mass_kg,reading,reading\n1,2,3\n", 1, "reading", "twice"),
        ("mass_kg,reading\n1,2\n2,x\n", 3, "reading", "'x' is no number"),
        ("mass_kg,reading\n1,\n", 2, "reading", "an empty field"),
        ("mass_kg,reading\nnan,2\n", 2, "mass_kg", "no number"),
        ("mass_kg,reading\n1_0,2\n", 2, "mass_kg", "no number"),
        ("mass_kg,reading\n1,1e300\n", 2, "reading", "beyond any cell"),
        ("mass_kg,reading\n-5,2\n", 2, "mass_kg", "negative"),
        ("mass_kg,reading,tolerance_kg\n5,2,-1\n", 2, "tolerance_kg", "negative"),
        ("mass_kg,reading\n1,5,2\n", 2, None, "3 fields.*Decimals need a point"),
        ("mass_kg,reading,direction\n1,2,left\n", 2, "direction", "neither up nor down"),
        ("mass_kg,reading,run\n1,2,one\n", 2, "run", "no whole number"),
        ("mass_kg,reading,plates\n1,2,A++B\n", 2, "plates", "a name is missing"),
        ('mass_kg,reading\n1,"2\n', 2, None, "no CSV"),
    ],
)
def test_a_bad_table_is_one_sentence_with_its_place(
    text: str, line: int | None, column: str | None, words: str
) -> None:
    with pytest.raises(FormatError, match=words) as caught:
        parse_points(text)
    assert (caught.value.line, caught.value.column) == (line, column)


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


def test_a_file_is_read_and_its_absence_said(tmp_path: Path) -> None:
    path = tmp_path / "points.csv"
    path.write_bytes(b"\xef\xbb\xbfmass_kg,reading\r\n1,2\r\n")
    assert len(read_points(path).rows) == 1
    with pytest.raises(FormatError, match="cannot be read"):
        read_points(tmp_path / "none.csv")
    path.write_bytes(b"mass_kg,reading\n1,\xff\n")
    with pytest.raises(FormatError, match="UTF-8"):
        read_points(path)
