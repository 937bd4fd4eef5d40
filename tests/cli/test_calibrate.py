"""`calibrate --points`: the document, the words, the certificate, and every bad table."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import pytest

from strikebridge.calibration.certificate_file import load_certificate
from strikebridge.calibration.shelf import Shelf
from strikebridge.cli import run
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from pathlib import Path

Capture = pytest.CaptureFixture[str]

WALK = """\
mass_kg,reading,tolerance_kg,direction,run,plates
0,8012,0,up,1,
20,49680,0.4,up,1,A
40,91310,0.8,up,1,A+B
50,112190,1.0,up,1,A+B+C
55,122585,1.1,up,1,A+B+C+D
50,112201,1.0,down,1,A+B+C
40,91333,0.8,down,1,A+B
20,49702,0.4,down,1,A
0,8010,0,down,1,
10,28850,0.2,up,2,C
5,18410,0.1,up,2,D
20,49640,0.4,up,2,B
"""


@pytest.fixture
def walk(tmp_path: Path) -> Path:
    path = tmp_path / "walk.csv"
    path.write_text(WALK, "utf-8")
    return path


def document(capsys: Capture, *words: object) -> dict[str, Any]:
    assert run(["calibrate", *map(str, words), "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    found = json.loads(captured.out)
    assert isinstance(found, dict)
    return found


def said(capsys: Capture, *words: object) -> str:
    assert run(["calibrate", *map(str, words)]) == 0
    return capsys.readouterr().out


def test_the_document_has_the_agreed_keys(walk: Path, capsys: Capture) -> None:
    found = document(capsys, "--points", walk, "--at", "50000")
    assert set(found) >= {
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
    assert found["certificate"] is None
    assert [set(one) >= {"term", "u_N"} for one in found["budget"]]
    sizes = [one["u_N"] for one in found["budget"]]
    assert sizes == sorted(sizes, reverse=True)
    assert {one["term"] for one in found["budget"] if not one["common"]} == {
        "one reading",
        "resolution",
    }
    (at,) = found["at"]
    assert at["reading"] == 50000
    line = [one["value"] for one in found["coefficients"]]
    assert line[0] + line[1] * at["force_N"] == pytest.approx(50000)
    assert 0 < at["u95_N"] < at["force_N"] / 10


def test_at_takes_as_many_readings_as_follow_it(walk: Path, capsys: Capture) -> None:
    found = document(
        capsys, "--at", "50000", "-5", "1e5", "--points", walk, "--at=7", "--at", "8"
    )
    assert [one["reading"] for one in found["at"]] == [50000, -5, 1e5, 7, 8]
    assert run(["calibrate", "--points", str(walk), "--at"]) == 2
    assert run(["calibrate", "--points", str(walk), "--at", "nan"]) == 2
    assert run(["calibrate", "--points", str(walk), "--at", "much"]) == 2


def test_degree_and_gravity_are_obeyed(walk: Path, capsys: Capture) -> None:
    assert document(capsys, "--points", walk, "--degree", "2")["degree"] == 2
    given = document(capsys, "--points", walk, "--gravity", "9.81")
    assert given["range_N"][1] == pytest.approx(55 * 9.81)
    assert "gravity" not in [one["term"] for one in given["budget"]]
    # normal gravity of WGS 84 at 51.5 degrees (formula of Somigliana)
    there = document(capsys, "--points", walk, "--latitude", "51.5", "--elevation-m", "0")
    assert there["range_N"][1] == pytest.approx(55 * 9.8120335750, rel=1e-9)


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        ((), "--points FILE"),
        (("--gravity", "9.81", "--latitude", "50"), "not both"),
        (("--elevation-m", "50"), "--elevation-m goes with --latitude"),
        (("--gravity", "981"), "nowhere 981 m/s2"),
        (("--latitude", "95"), "does not exist"),
        (("--latitude", "50", "--elevation-m", "99999"), "No club lies"),
        (("--degree", "3"), "--degree"),
        (("--rating-kg", "0"), "--rating-kg"),
        (("--board", "wall left", "--output", "x.json"), "one word"),
    ],
)
def test_wrong_usage(
    walk: Path, capsys: Capture, words: tuple[str, ...], complaint: str
) -> None:
    points = ["--points", str(walk)] if words else []
    assert run(["calibrate", *points, *words]) == 2
    captured = capsys.readouterr()
    assert complaint in captured.err
    assert captured.out == ""


def test_the_words_say_fit_doubt_and_what_to_do(walk: Path, capsys: Capture) -> None:
    out = said(capsys, "--points", walk, "--at", "50000")
    assert "Straight line through 12 points from 0 to 539 N: 212.4" in out
    assert re.search(r"A force of 55\.0 kg is known to ± 0\.[67] kg \(1\.\d %\)", out)
    rows = re.findall(
        r"^(\w[\w ]*?) {2,}(\d+\.\d+) kg +(\d+)%   (the same|its own)$", out, re.M
    )
    assert [row[0] for row in rows][:2] == ["plates", "gravity"]
    assert sum(int(row[2]) for row in rows) == pytest.approx(100, abs=2)
    assert "Most of the doubt is plates: weigh them on a trade scale" in out
    assert out.count("trade scale") == 1
    assert "50000 is 20.2 ± 0.3 kg" in out
    assert "No certificate was kept." in out
    assert "lbs" not in said(capsys, "--points", walk, "--unit", "lb")


def test_a_wrong_plate_is_named_in_words(tmp_path: Path, capsys: Capture) -> None:
    kg = {"A": 20.0, "B": 10.0, "C": 5.0, "D": 2.5}
    lines = ["mass_kg,reading,tolerance_kg,plates"]
    for on in ("", "A", "B", "C", "D", "A+B", "A+B+C", "A+B+C+D"):
        names = on.split("+") if on else []
        mass = sum(kg[name] for name in names)
        off = -0.2 if "D" in names else 0.0
        lines.append(f"{mass},{2000 * (mass + off):.0f},{mass * 0.01},{on}")
    path = tmp_path / "p.csv"
    path.write_text("\n".join(lines), "utf-8")
    assert "Mind: Plate D is off by -0.2 kg" in said(capsys, "--points", path)
    assert document(capsys, "--points", path)["suspects"][0]["plate"] == "D"


def test_the_certificate_is_kept_where_it_is_wanted(
    walk: Path, tmp_path: Path, capsys: Capture
) -> None:
    output, data = tmp_path / "cert.json", tmp_path / "data"
    words = ["--points", walk, "--output", output, "--data", data, "--board", "wall-left"]
    words += ["--who", "Dana", "--rating-kg", "200"]
    out = said(capsys, *words)
    certificate = load_certificate(output)
    (shelved,) = Shelf(data).all()
    assert shelved.certificate == certificate
    assert (certificate.board, certificate.address) == ("wall-left", "")
    assert certificate.made_by == "Dana"
    assert certificate.rating_N == pytest.approx(200 * 9.80665)
    assert certificate.quantity is Quantity.COUNT
    assert f"Certificate {certificate.id}: {output}" in out
    assert str(shelved.path) in out
    assert "take it by themselves" in out


def test_a_board_without_a_name_is_known_by_its_address(
    walk: Path, tmp_path: Path, capsys: Capture
) -> None:
    found = document(
        capsys, "--points", walk, "--data", tmp_path, "--board", "serial:COM5?baud=9600"
    )
    certificate = Shelf(tmp_path).newest(None, "serial:COM5")
    assert certificate is not None
    assert found["certificate"] == certificate.id


def test_a_file_alone_is_used_by_its_name(walk: Path, tmp_path: Path, capsys: Capture) -> None:
    output = tmp_path / "cert.json"
    assert f"--calibration {output}" in said(capsys, "--points", walk, "--output", output)
    assert not (tmp_path / "user-data").exists()
    other = tmp_path / "other.csv"
    other.write_text(WALK.replace("8012", "8013"), "utf-8")
    assert run(["calibrate", "--points", str(other), "--output", str(output)]) == 1
    assert "Certificates are kept" in capsys.readouterr().err


def scale(tmp_path: Path, error: float) -> Path:
    rows = [f"{mass},{mass * (1.0 + error):.2f},{0.001 * mass}" for mass in range(0, 101, 20)]
    path = tmp_path / "scale.csv"
    path.write_text("\n".join(["mass_kg,reading,tolerance_kg", *rows]), "utf-8")
    return path


def test_a_scale_that_reports_kilograms_is_told_its_error(
    tmp_path: Path, capsys: Capture
) -> None:
    path = scale(tmp_path, -0.018)
    out = said(capsys, "--points", path, "--quantity", "kg")
    assert re.search(r"This scale reads 1\.8 ± 0\.1 % low", out)
    found = document(capsys, "--points", path, "--quantity", "kg", "--latitude", "70")
    # masses against masses: gravity falls out
    assert found["gain_error"]["value"] == pytest.approx(-0.018, abs=1e-6)
    assert found["gain_error"]["u95"] == pytest.approx(0.95 * 0.001, rel=0.2)
    right = said(capsys, "--points", scale(tmp_path, 0.0003), "--quantity", "kg")
    assert "This scale reads right within" in right
    high = said(capsys, "--points", scale(tmp_path, 0.02), "--quantity", "kg")
    assert "% high" in high
    assert "gain_error" not in document(capsys, "--points", path)


def test_forces_against_a_scale_in_newtons(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "n.csv"
    path.write_text("force_N,reading\n0,0\n100,101\n200,202\n300,303.01\n", "utf-8")
    found = document(capsys, "--points", path, "--quantity", "N")
    assert found["gain_error"]["value"] == pytest.approx(0.01, abs=1e-4)


BAD = {
    "no header": ("0,8000\n20,49692\n40,9000\n", 1, "mass_kg"),
    "text in a number": ("mass_kg,reading\n0,1\n20,heavy\n", 3, "reading"),
    "negative mass": ("mass_kg,reading\n0,1\n-20,5\n", 3, "mass_kg"),
    "all the same load": ("mass_kg,reading\n20,1\n20,2\n20,3\n", 4, "mass_kg"),
    "pounds": ("mass_lb,reading\n0,1\n45,5\n90,9\n", 1, "mass_lb"),
    "grams in their own column": ("mass_g,reading\n0,1\n45,5\n90,9\n", 1, "mass_g"),
    "grams called kilograms": ("mass_kg,reading\n0,1\n500,5\n20000,9\n", 4, "mass_kg"),
    "not a number": ("mass_kg,reading\n0,1\n20,nan\n", 3, "reading"),
    "infinity": ("mass_kg,reading\n0,1\ninf,5\n", 3, "mass_kg"),
    "empty": ("", 1, "reading"),
    "empty lines": ("\n\n\n", 1, "reading"),
    "a header alone": ("mass_kg,reading\n", 1, "reading"),
    "a column twice": ("mass_kg,reading,mass_kg\n0,1,0\n", 1, "mass_kg"),
    "ragged": ("mass_kg,reading\n0,1\n20\n", 3, None),
    "decimal commas": ("mass_kg,reading\n0,1\n2,5,9\n", 3, None),
    "semicolons": ("mass_kg;reading\n0;1\n20;5\n", 1, "mass_kg"),
    "a cell left out": ("mass_kg,reading_1,reading_3\n0,1,1\n", 1, "reading_3"),
    "one cell and several": ("mass_kg,reading,reading_1\n0,1,1\n", 1, "reading_1"),
    "one point": ("mass_kg,reading\n20,5\n", 2, "mass_kg"),
    "two points": ("mass_kg,reading\n0,1\n20,5\n", 3, "mass_kg"),
    "readings that do not move": ("mass_kg,reading\n0,5\n20,5\n40,5\n", 4, "mass_kg"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_table_is_one_sentence_with_line_and_column(
    tmp_path: Path, capsys: Capture, name: str
) -> None:
    text, line, column = BAD[name]
    path = tmp_path / "bad.csv"
    path.write_text(text, "utf-8")
    for as_json in ([], ["--json"]):
        assert run(["calibrate", "--points", str(path), *as_json]) == 1
        captured = capsys.readouterr()
        assert captured.out == ""
        assert captured.err.startswith("strikebridge: ")
        assert len(captured.err.splitlines()) == 1
        assert re.search(rf"\b[Ll]ines?( up to)? {line}\b", captured.err), captured.err
        if column is not None:
            assert column in captured.err


def test_two_points_for_a_curve(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "two.csv"
    path.write_text("mass_kg,reading\n0,1\n20,5\n", "utf-8")
    assert run(["calibrate", "--points", str(path), "--degree", "2"]) == 1
    err = capsys.readouterr().err
    assert "Lines up to 3, column mass_kg: 2 points" in err
    assert "needs 4 points at 3 different loads" in err


def test_a_recording_is_no_table_of_steps(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "long.csv"
    rows = "".join(f"{i % 50},{i}\n" for i in range(100_000))
    path.write_text("mass_kg,reading\n" + rows, "utf-8")
    assert run(["calibrate", "--points", str(path)]) == 1
    assert "Line 1002: more than 1000 lines are no plate walk" in capsys.readouterr().err


def test_a_file_that_is_not_there_or_no_text(tmp_path: Path, capsys: Capture) -> None:
    assert run(["calibrate", "--points", str(tmp_path / "none.csv")]) == 1
    assert "cannot be read" in capsys.readouterr().err
    (tmp_path / "b.csv").write_bytes(b"\xff\xfe\x00mass")
    assert run(["calibrate", "--points", str(tmp_path / "b.csv")]) == 1
    assert "UTF-8" in capsys.readouterr().err
    assert run(["calibrate", "--points", str(tmp_path)]) == 1
    assert "cannot be read" in capsys.readouterr().err


PLATFORM = """\
mass_kg,tolerance_kg,plates,reading_1,reading_2
0,0,,1000,-500
20,0.2,A,31000,9500
20,0.2,A,11000,29500
40,0.4,A+B,61000,19505
40,0.4,A+B,21004,59500
0,0,,1002,-501
"""


@pytest.fixture
def platform(tmp_path: Path) -> Path:
    path = tmp_path / "platform.csv"
    path.write_text(PLATFORM, "utf-8")
    return path


def test_several_cells_get_a_gain_each(platform: Path, tmp_path: Path, capsys: Capture) -> None:
    places = ["--cell-at", "-100", "0", "--cell-at", "100", "0"]
    words = ["--points", platform, "--at", "31000,9500", *places]
    found = document(capsys, *words)
    gains = [cell["gain_N_per_reading"]["value"] for cell in found["cells"]]
    # 40 000 counts under 20 kg, however they are shared
    assert gains == pytest.approx([20 * 9.80665 / 40_000] * 2, rel=1e-3)
    (at,) = found["at"]
    assert at["force_N"] == pytest.approx(20 * 9.80665, rel=1e-3)
    # three quarters on the first cell: half way from the middle to it
    assert at["centre_mm"] == pytest.approx([-50.0, 0.0], abs=0.5)
    assert (found["coefficients"], found["lack_of_fit"]) == (None, None)
    output = tmp_path / "cert.json"
    out = said(capsys, *words, "--output", output)
    assert "Gains of 2 cells" in out
    assert re.search(r"31000, 9500 is 20\.0 ± 0\.\d kg at -50 ± \d mm across, 0 ± \d mm", out)
    certificate = load_certificate(output)
    assert len(certificate.cells) == 2
    assert certificate.places_mm == ((-100.0, 0.0), (100.0, 0.0))
    assert "across" not in said(capsys, "--points", platform, "--at", "31000,9500")


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (("--at", "5"), "--at takes 2 readings"),
        (("--at", "5,6,7"), "3 were given"),
        (("--at", "5,many"), "--at"),
        (("--cell-at", "0", "0"), "--cell-at 2 times"),
        (("--degree", "2"), "one cell"),
        (("--quantity", "kg"), "one cell"),
    ],
)
def test_what_does_not_go_with_a_platform(
    platform: Path, capsys: Capture, words: tuple[str, ...], complaint: str
) -> None:
    assert run(["calibrate", "--points", str(platform), *words]) == 2
    assert complaint in capsys.readouterr().err


def test_what_goes_with_a_platform_only(walk: Path, capsys: Capture) -> None:
    assert run(["calibrate", "--points", str(walk), "--cell-at", "0", "0"]) == 2
    assert "reading_1" in capsys.readouterr().err
    assert run(["calibrate", "--points", str(walk), "--at", "5,6"]) == 2
    assert "one cell" in capsys.readouterr().err


def test_a_plate_that_was_never_moved_is_said(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "p.csv"
    path.write_text(
        "mass_kg,reading_1,reading_2\n0,0,0\n20,100,100\n20,100,101\n40,200,200\n0,0,1\n",
        "utf-8",
    )
    assert run(["calibrate", "--points", str(path)]) == 1
    err = capsys.readouterr().err
    assert "Lines up to 6, columns reading_1 to reading_2: Cells 1 and 2 cannot be told" in err
    assert "Put one plate on each corner in turn" in err


def test_a_step_on_a_platform_that_does_not_fit_is_minded(
    tmp_path: Path, capsys: Capture
) -> None:
    path = tmp_path / "p.csv"
    more = "20,0.2,A,31001,9500\n20,0.2,A,11000,29502\n40,0.4,A+B,61500,21500\n"
    path.write_text(PLATFORM + more, "utf-8")
    assert "Mind: The step in line 10" in said(capsys, "--points", path)
