"""`progress` over a made club: words and JSON say what was found, and mistakes are said."""

from __future__ import annotations

import contextlib
import json
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli import run
from strikebridge.club.selection import Selection
from strikebridge.records import Camp, camp
from strikebridge.store.database import open_store
from tests.store.made_club import Made, make_club

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.timeout(180)


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Made]:
    data = tmp_path_factory.mktemp("club")
    return data, make_club(data, athletes=12, weeks=15)


def looked_at(data: Path, selection: Selection) -> Camp:
    with contextlib.closing(open_store(data)) as store:
        return camp(store, selection)


def test_the_document_is_what_progress_found(
    club: tuple[Path, Made], capsys: pytest.CaptureFixture[str]
) -> None:
    data, made = club
    person = made.athletes[3]
    assert run(["progress", person.name.upper(), "--json", "--data", str(data)]) == 0
    document = json.loads(capsys.readouterr().out)
    found = looked_at(data, Selection(athlete=person.id))
    assert len(document["standings"]) == len(found.standings) > 0
    for written, standing in zip(document["standings"], found.standings, strict=True):
        overview = standing.overview
        assert written["athlete"] == person.name
        assert written["heading"] == overview.heading.value
        assert written["best"]["value"] == overview.best.number
        assert [one["value"] for one in written["scores"]] == [
            score.value for score in overview.run.scores
        ]
        assert (written["change"] is None) == (overview.change is None)
        if overview.change is not None:
            assert written["change"]["least_real"] == overview.change.least_real
            assert written["change"]["word"] == overview.change.word.value
    pooled = [one.pooled for one in found.sides()]
    assert [one["pooled"] and one["pooled"]["value"] for one in document["sides"]] == [
        one and one.value for one in pooled
    ]
    assert any(one is not None and one.value < -5.0 for one in pooled)  # lead is 85 % of rear


def test_the_board_has_a_row_for_each_kind(
    club: tuple[Path, Made], capsys: pytest.CaptureFixture[str]
) -> None:
    data, made = club
    words = ["progress", "--exercise", "rear-straight", "--data", str(data)]
    assert run([*words, "--hand", "right", "--unit", "lb"]) == 0
    lines = capsys.readouterr().out.splitlines()
    right = [one.name for one in made.athletes if one.stance.value == "orthodox"]
    rows = [line for line in lines if any(line.startswith(name) for name in right)]
    assert {line.split("  ")[0] for line in rows} == set(right)
    assert all(" lb" in row and "left" not in row for row in rows)
    assert lines[0].startswith("rear straight, 2025-")
    assert "form" in lines[1]
    assert "cannot tell" not in {cell for row in rows for cell in row.split("  ")[-3:]}
    assert run(words) == 0
    everyone = capsys.readouterr().out
    assert all(one.name in everyone for one in made.athletes)
    assert "Typical error of a session" in everyone


def test_an_athlete_in_words(
    club: tuple[Path, Made], capsys: pytest.CaptureFixture[str]
) -> None:
    data, made = club
    assert run(["progress", made.athletes[3].name, "--data", str(data)]) == 0
    out = capsys.readouterr().out
    change, error = (
        next(line for line in out.splitlines() if line.startswith(f"  {name} "))
        for name in ("change", "typical error")
    )
    assert change.endswith(" kg or more would be real")
    assert "degrees of freedom" in error  # in second place
    assert "pad 1.45 m high, 0.60 m away, ball, glove, fist, feet side-on, elbow 180°" in out
    assert "lead straight against rear straight: the rear side is the stronger: real" in out
    assert "None" not in out
    assert "nan" not in out


def test_a_measure_that_is_no_force_keeps_its_unit(
    club: tuple[Path, Made], capsys: pytest.CaptureFixture[str]
) -> None:
    data, made = club
    words = ["progress", made.athletes[3].name, "--measure", "rfd_150", "--data", str(data)]
    assert run(words) == 0
    out = capsys.readouterr().out
    assert " N/s on 20" in out
    assert " kg" not in out


def test_days_and_nothing_that_fits(
    club: tuple[Path, Made], capsys: pytest.CaptureFixture[str]
) -> None:
    data, made = club
    words = ["progress", made.athletes[0].name, "--json", "--data", str(data)]
    assert run([*words, "--since", "2025-01-01", "--until", "2025-12-05"]) == 0
    document = json.loads(capsys.readouterr().out)
    days = [score["at"] for one in document["standings"] for score in one["scores"]]
    assert days
    assert max(days) < "2025-12-06"
    assert run(["progress", "--until", "2020-01-01", "--data", str(data)]) == 0
    assert "Nothing on record that fits" in capsys.readouterr().out


def test_nobody_yet_and_wrong_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["progress", "--data", str(tmp_path)]) == 0
    assert "Nothing on record yet" in capsys.readouterr().out
    assert run(["progress", "--json", "--data", str(tmp_path)]) == 0
    assert json.loads(capsys.readouterr().out)["standings"] == []
    assert run(["progress", "Nobody", "--data", str(tmp_path)]) == 1
    assert "Nobody" in capsys.readouterr().err
    assert run(["progress", "--hand", "third", "--data", str(tmp_path)]) == 2
