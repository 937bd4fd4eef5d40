"""Calibration points as a table: what is read, what is refused and where, what is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.calibration.lifts import Lift, Stage
from strikebridge.calibration.points_table import parse_points, points_table, read_points
from strikebridge.calibration.walk_view import TakenPoint
from strikebridge.errors import FormatError
from tests.calibration.walk_scenes import PLATES

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


def test_a_file_is_read_and_its_absence_said(tmp_path: Path) -> None:
    path = tmp_path / "points.csv"
    path.write_bytes(b"\xef\xbb\xbfmass_kg,reading\r\n1,2\r\n")
    assert len(read_points(path).rows) == 1
    with pytest.raises(FormatError, match="cannot be read"):
        read_points(tmp_path / "none.csv")
    path.write_bytes(b"mass_kg,reading\n1,\xff\n")
    with pytest.raises(FormatError, match="UTF-8"):
        read_points(path)


def test_a_table_of_several_cells_and_of_no_point() -> None:
    lift = Lift(Stage.WALK, ("A",), 0, 0)
    point = TakenPoint(1, lift, 20.0, (1.0, 2.5), 0.1, 8, 3.0, 1.0)
    text = points_table([point], PLATES)
    assert text.splitlines() == [
        "mass_kg,reading_1,reading_2,tolerance_kg,direction,run,plates,time_s",
        "20,1,2.5,0.4,,1,A,3.000",
    ]
    assert point.label == "point 1 (A)"
    assert points_table([], PLATES).startswith("mass_kg,reading,")
