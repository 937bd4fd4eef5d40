"""`retest` over a made club: its numbers again by SciPy, its picture, its refusals."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtGui import QImage
from scipy import stats

from strikebridge.cli import run
from tests.store.made_club import make_club

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.timeout(180)


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("club")
    make_club(folder, athletes=12, weeks=6)
    return folder


def test_the_numbers_are_those_of_the_textbook(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["retest", "--exercise", "rear-straight", "--json", "--data", str(data)]
    assert run(words) == 0
    found = json.loads(capsys.readouterr().out)
    tests = np.array(found["tests"])
    assert tests.shape == (len(found["athletes"]), 2)
    assert len(tests) + len(found["left_out"]) <= 12
    differences = tests[:, 1] - tests[:, 0]
    # Hopkins 2000: SD of the differences / sqrt 2; Bland and Altman 1986: bias and limits
    assert found["typical_error"] == pytest.approx(differences.std(ddof=1) / 2**0.5, rel=1e-9)
    bland = found["bland_altman"]
    assert bland["bias"] == pytest.approx(differences.mean(), rel=1e-9)
    half = 1.959964 * differences.std(ddof=1)
    assert bland["limits"][1] - bland["bias"] == pytest.approx(half, rel=1e-6)
    reach = stats.t.ppf(0.975, len(tests) - 1) * differences.std(ddof=1) / len(tests) ** 0.5
    ends = [differences.mean() - reach, differences.mean() + reach]
    np.testing.assert_allclose(bland["bias_95"], ends, rtol=1e-9)
    # the mean squares again, as one-way tables (Shrout and Fleiss 1979)
    between = 2.0 * tests.mean(axis=1).var(ddof=1)
    assert found["mean_squares"]["between"] == pytest.approx(between, rel=1e-9)
    within = tests.var(axis=1, ddof=1).mean()
    one_way = (between - within) / (between + within)
    assert found["icc"]["ICC(1,1)"]["value"] == pytest.approx(one_way, rel=1e-9)
    assert found["icc"]["ICC(1,1)"]["low"] < one_way < found["icc"]["ICC(1,1)"]["high"]


def test_words_and_picture(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["retest", "--exercise", "rear-straight", "--unit", "lb", "--data", str(data)]
    assert run([*words, "--plot", str(tmp_path / "agreement")]) == 0
    out = capsys.readouterr().out
    assert "ICC(2,1)" in out
    (least,) = (line for line in out.splitlines() if line.startswith("  least real change"))
    assert least.endswith(" lb, one test against one; anything less may be chance")
    assert out.index("degrees of freedom") > out.index("last test - first")
    assert "Tests at other set-ups are left out." in out
    image = QImage(str(tmp_path / "agreement.png"))
    assert (image.width(), image.height()) == (1366, 768)
    colours = {
        image.pixelColor(x, y).name() for x in range(0, 1366, 5) for y in range(0, 768, 5)
    }
    assert len(colours) > 3


def test_what_cannot_be_said_is_refused_in_words(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["retest", "--data", str(tmp_path)]) == 1
    assert "test-day" in capsys.readouterr().err
    words = ["retest", "--exercise", "rear-straight", "--data", str(data)]
    assert run([*words, "--until", "2026-01-23"]) == 1
    assert "it takes 3" in capsys.readouterr().err
    assert run([*words, "--plot", str(tmp_path / "none" / "a.png")]) == 1
    assert "could not be written" in capsys.readouterr().err
    assert run([*words, "--tests", "9"]) == 2


def test_equal_tests_say_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = ["athlete,day,exercise,peak,unit"]
    for name in ("Ines Halloran", "Tobias Merrow", "Ayla Sandfort"):
        adult = ["--stance", "orthodox", "--age-group", "adult", "--data", str(tmp_path)]
        assert run(["athletes", "add", name, *adult]) == 0
        rows += [f"{name},2025-11-0{day},rear-straight,80,kg" for day in (3, 7)]
    (tmp_path / "past.csv").write_text("\n".join(rows), encoding="utf-8")
    assert run(["import", str(tmp_path / "past.csv"), "--data", str(tmp_path)]) == 0
    assert run(["retest", "--data", str(tmp_path)]) == 1
    assert "are equal" in capsys.readouterr().err
