"""`export` of a real session, read back by the formats and by the standard library."""

from __future__ import annotations

import csv
import json
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.cli import run
from strikebridge.export.dataset import export_format
from tests.trained import WHO, train

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.timeout(240)


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return train(tmp_path_factory.mktemp("club"))


@pytest.mark.parametrize("key", ["csv", "json", "c3d"])
def test_all_on_record_goes_out_with_its_curves(key: str, data: Path, tmp_path: Path) -> None:
    assert run(["export", str(tmp_path), "--format", key, "--data", str(data)]) == 0
    reps = export_format(key).read(tmp_path).reps
    assert [rep.athlete for rep in reps] == [WHO] * 4
    for rep in reps:
        assert rep.force is not None
        at = {event.label: event.time_s for event in rep.force.events}
        assert at["onset"] < at["peak"] < at["release"]
        peaks = [one.value for one in rep.measures if one.name == "peak_force"]
        if peaks and peaks[0] is not None:  # C3D has no measures
            held = np.array(rep.force.force_N)
            assert peaks[0] == pytest.approx(held.max(), rel=0.05)


def test_a_part_of_it_and_pseudonyms(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["export", "--output", str(tmp_path), "--pseudonyms", "--data", str(data)]
    some = ["--exercise", "lead-straight", "--hand", "right", "--setup", "none"]
    assert run([*words, *some, "--json"]) == 0
    out = json.loads(capsys.readouterr().out)
    assert "days are not" in " ".join(out["cautions"])
    with (tmp_path / "reps.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert out["reps"] == len(rows) == 2
    files = [file.read_text("utf-8") for file in tmp_path.iterdir()]
    assert not any(part in file for part in WHO.split() for file in files)
    assert {row["exercise"] for row in rows} == {"lead-straight"}


def test_without_a_recording_the_numbers_still_go_out(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    [recording] = (data / "recordings").glob("*.jsonl")
    recording.rename(tmp_path / "away")
    try:
        assert run(["export", str(tmp_path / "out"), "--data", str(data)]) == 0
    finally:
        (tmp_path / "away").rename(recording)
    assert "4 reps without a curve" in capsys.readouterr().err
    reps = export_format("csv").read(tmp_path / "out").reps
    assert [rep.force for rep in reps] == [None] * 4
    assert all(rep.measures for rep in reps)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ([], 2, "which folder"),
        (["out", "--output", "out"], 2, "which folder"),
        (["out", "--exercise", "rear-strait"], 2, "Did you mean rear-straight"),
        (["out", "--exercise", "zzz"], 2, "There is no exercise 'zzz'."),
        (["out", "--since", "1.3.2026"], 2, "write it as 2026-03-01"),
        (["out", "--since", "2026-03-02", "--until", "2026-03-01"], 2, "comes before"),
        (["out", "--athlete", "Nobody"], 1, "Nobody"),
    ],
)
def test_mistakes_are_one_sentence(
    words: list[str], code: int, said: str, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["export", *words, "--data", str(data)]) == code
    assert said in capsys.readouterr().err
