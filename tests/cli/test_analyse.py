"""`strikebridge analyse`: tables and recordings in, words or one document out."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.certificate_file import save_certificate
from strikebridge.cli import run
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2
from tests.cli.streams import (
    HELD_S,
    LEVEL_N,
    NOISE_N,
    ONSETS_S,
    count_table,
    force_table,
    held_force,
    simulated_recording,
    write_table,
)

Capture = pytest.CaptureFixture[str]


def only_document(capsys: Capture, *words: str | Path) -> dict[str, Any]:
    """Run a command that must print one JSON document, without NaN, and nothing else."""
    assert run([*map(str, words), "--json"]) == 0

    def refuse(constant: str) -> float:
        raise AssertionError(constant)

    document = json.loads(capsys.readouterr().out, parse_constant=refuse)
    assert isinstance(document, dict)
    return document


def check_the_two_holds(document: dict[str, Any], *, tolerance_N: float = 1.0) -> None:
    """Check what is known of the two holds of `held_force`."""
    holds = document["holds"]
    assert len(holds) == len(ONSETS_S)
    for hold, onset_s in zip(holds, ONSETS_S, strict=True):
        assert hold["complete"]
        assert hold["onset_s"] == pytest.approx(onset_s, abs=0.02)
        # force falls to half after 0.05 s x ln 2
        let_go_s = onset_s + HELD_S + 0.05 * math.log(2.0)
        assert hold["release_s"] == pytest.approx(let_go_s, abs=0.02)
        mean = hold["measures"]["hold_mean"]
        assert mean["value"] == pytest.approx(LEVEL_N, abs=tolerance_N)
        peak = hold["measures"]["peak_force"]
        assert LEVEL_N - 1.0 < peak["value"] < LEVEL_N + 5.0 * NOISE_N
        assert peak["unit"] == "N"


@pytest.mark.parametrize(
    ("gain", "zero"),
    [
        ("-4.5e-4", "-1e5"),
        ("4.5e-4", "84211"),
        ("-0.00045", "0"),
        ("4.5E-04", "-1.0E+5"),
    ],
)
def test_counts_with_a_plain_gain(
    tmp_path: Path, capsys: Capture, gain: str, zero: str
) -> None:
    table = count_table(tmp_path / "a.csv", float(gain), float(zero))
    document = only_document(
        capsys, "analyse", table, "--gain-n-per-count", gain, "--zero-counts", zero
    )
    check_the_two_holds(document)
    assert document["calibration"] == "by hand"
    assert document["recording"] == "a.csv"
    assert document["rate_hz"] == pytest.approx(80.0, rel=2e-3)
    assert document["gaps"] == []


def test_a_wrong_starting_zero_is_tracked_away(tmp_path: Path, capsys: Capture) -> None:
    table = count_table(tmp_path / "a.csv", -4.5e-4, -1e5)
    document = only_document(
        capsys, "analyse", table, "--gain-n-per-count=-4.5e-4", "--zero-counts=-1.1e5"
    )
    check_the_two_holds(document)


def test_a_table_of_newtons(tmp_path: Path, capsys: Capture) -> None:
    document = only_document(capsys, "analyse", force_table(tmp_path / "a.csv"))
    check_the_two_holds(document)
    assert document["calibration"] is None


def test_a_table_of_kilograms(tmp_path: Path, capsys: Capture) -> None:
    # a kilogram shown is what standard gravity gives that weight: 3rd CGPM, 1901
    table = force_table(
        tmp_path / "a.csv", column="mass_kg", per_newton=1.0 / STANDARD_GRAVITY_M_PER_S2
    )
    check_the_two_holds(only_document(capsys, "analyse", table))


def test_bunched_and_repeated_stamps(tmp_path: Path, capsys: Capture) -> None:
    time_s, force_N = held_force()
    # a host that looks every 48 ms and stamps all it finds alike, to the millisecond
    stamps_s = np.ceil(time_s / 0.048) * 0.048
    rows = ((f"{t:.3f}", f"{f:.6g}") for t, f in zip(stamps_s, force_N, strict=True))
    document = only_document(
        capsys, "analyse", write_table(tmp_path / "a.csv", "time_s,force_N", rows)
    )
    assert document["rate_hz"] == pytest.approx(80.0, rel=0.01)
    assert document["gaps"] == []
    for hold, onset_s in zip(document["holds"], ONSETS_S, strict=True):
        assert hold["onset_s"] == pytest.approx(onset_s, abs=0.1)
        assert hold["measures"]["hold_mean"]["value"] == pytest.approx(LEVEL_N, abs=1.0)


def test_what_was_prescribed_is_heard(tmp_path: Path, capsys: Capture) -> None:
    table = force_table(tmp_path / "a.csv")
    plain = only_document(capsys, "analyse", table)
    asked = only_document(capsys, "analyse", table, "--hold-s", "3")
    in_band = only_document(
        capsys,
        "analyse",
        table,
        "--effort",
        "submaximal",
        "--hold-s",
        "3",
        "--band-n",
        "550",
        "650",
    )
    assert plain["holds"][0]["measures"]["hold_quality"]["status"] == "withheld"
    assert asked["holds"][0]["measures"]["hold_quality"]["value"] is not None
    assert in_band["holds"][0]["measures"]["hold_quality"]["value"] > 90.0


def test_a_recording_brings_its_certificate(tmp_path: Path, capsys: Capture) -> None:
    recording = simulated_recording(tmp_path / "a.jsonl")
    document = only_document(capsys, "analyse", recording)
    board = SimulatedBoard(BoardModel(seed=3))
    assert document["calibration"] == board.certificate().id
    assert document["rate_hz"] == pytest.approx(board.real_rate_hz, rel=1e-3)
    assert [hold["onset_s"] for hold in document["holds"]] == pytest.approx(
        [4.3, 12.3], abs=0.2
    )


def test_a_certificate_file_is_as_good(tmp_path: Path, capsys: Capture) -> None:
    bare = simulated_recording(tmp_path / "bare.jsonl", is_calibrated=False)
    whole = simulated_recording(tmp_path / "whole.jsonl")
    save_certificate(SimulatedBoard(BoardModel(seed=3)).certificate(), tmp_path / "cert.json")
    from_file = only_document(capsys, "analyse", bare, "--calibration", tmp_path / "cert.json")
    from_header = only_document(capsys, "analyse", whole)
    assert from_file["holds"] == from_header["holds"]


def test_people_read_lines_in_their_own_unit(tmp_path: Path, capsys: Capture) -> None:
    table = force_table(tmp_path / "a.csv")
    for unit, shown in (("kg", "61"), ("N", "600"), ("lb", "135")):
        assert run(["analyse", str(table), "--unit", unit]) == 0
        out = capsys.readouterr().out
        assert f" {unit} " in out
        peak = out.split("peak ")[1].split(" ")[0]
        assert float(peak) == pytest.approx(float(shown), rel=0.01)
        assert "2 holds, 0 contacts, 0 samples lost" in out


def test_lost_lines_are_told(tmp_path: Path, capsys: Capture) -> None:
    recording = simulated_recording(tmp_path / "a.jsonl", lost_share=0.02)
    document = only_document(capsys, "analyse", recording)
    assert sum(gap["lost"] for gap in document["gaps"]) > 5
    assert run(["analyse", str(recording)]) == 0
    assert " samples lost" in capsys.readouterr().out


def test_damaged_lines_are_told_on_the_side(tmp_path: Path, capsys: Capture) -> None:
    recording = simulated_recording(tmp_path / "a.jsonl")
    with recording.open("ab") as file:
        file.write(b'{"at_us":99,"te')
    assert run(["analyse", str(recording), "--json"]) == 0
    captured = capsys.readouterr()
    assert "1 damaged lines of a.jsonl were left out." in captured.err
    assert len(json.loads(captured.out)["holds"]) == 2
