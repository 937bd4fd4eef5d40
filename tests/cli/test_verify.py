"""`verify` from the words on the command line to the printed verdict."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import msgspec
import pytest

from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.certificate_file import save_certificate
from strikebridge.calibration.shelf import Shelf
from strikebridge.checks.history import (
    OverloadRecord,
    Verdict,
    append_record,
    board_file,
    read_history,
)
from strikebridge.cli import run
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event
from tests.checks.test_history import check

if TYPE_CHECKING:
    from pathlib import Path

ADDRESS = "simulated:?rig=plates&plates_off=0.01&speed=20"
BOARD = "simulated-1 1.0"

pytestmark = [pytest.mark.slow, pytest.mark.timeout(180)]


def verify(data: Path, *words: str, address: str = ADDRESS) -> int:
    return run(["verify", address, "--data", str(data), *words])


def test_a_plate_within_its_tolerance_is_good(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verify(tmp_path, "--plate", "20±0.3") == 0
    out, err = capsys.readouterr()
    assert out.startswith("Good: nothing has moved. Go ahead.\n")
    assert "it reads          20." in out
    assert "Lay the rig flat and put the plate of 20 ± 0.3 kg on." in err
    assert "Take the plate off" in err
    (record,) = read_history(board_file(tmp_path, BOARD, "")).checks_against(
        SimulatedBoard(BoardModel()).certificate().id
    )
    assert record.verdict is Verdict.GOOD
    # every byte and what was called out is on file
    (recording,) = (tmp_path / "recordings").iterdir()
    kinds = [one.kind for one in RecordingReader(recording) if isinstance(one, Event)]
    assert [kind for kind in kinds if kind != "identity"] == [
        "plate",
        "load",
        "load",
        "load",
        "checked",
    ]


def test_a_plate_far_off_its_face_moves_the_gain(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    off = "simulated:?rig=plates&plates_off=0.5&speed=20&seed=3"
    assert verify(tmp_path, "--plate", "20+-0.02", "--json", address=off) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["verdict"] == "gain moved"
    assert document["gain"]["moved"] is True
    assert abs(document["gain"]["error"]) > document["gain"]["limit"]
    assert document["gain"]["budget"][0]["term"] == "certificate"


def test_without_a_reference_the_gain_is_unchecked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verify(tmp_path, "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["gain"] is None
    assert document["way"] == "none"
    assert document["zero_since_last"] is None
    assert verify(tmp_path, "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["zero_since_last"]["moved"] is False
    assert document["noise"]["ratio"] == pytest.approx(1.0, abs=0.3)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--scale", "30±0.3"), "pull of 30 ± 0.3 kg on the scale"),
        (("--shunt-n", "300±2"), "Connect the resistor that simulates 300 N."),
    ],
)
def test_other_references(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, str], said: str
) -> None:
    assert verify(tmp_path, *words) in (0, 1)
    out, err = capsys.readouterr()
    assert said in err
    assert "gain  " in out


def test_a_moved_zero_is_a_failed_check_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = SimulatedBoard(BoardModel()).certificate()
    before = msgspec.structs.replace(check(1), certificate=made.id, zero=(0.0,), u_zero=(1.0,))
    path = board_file(tmp_path, BOARD, "")
    append_record(path, before)
    assert verify(tmp_path) == 1
    assert capsys.readouterr().out.startswith("Zero moved since the last check. See that")
    assert verify(tmp_path) == 0


def test_after_an_overload_the_gain_must_be_checked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = board_file(tmp_path, BOARD, "")
    now = datetime.now().astimezone()
    append_record(
        path, OverloadRecord(at=now.isoformat(), board=BOARD, force_N=2500.0, rating_N=1961.3)
    )
    assert verify(tmp_path) == 1
    assert "was overloaded since its last good check" in capsys.readouterr().err
    assert verify(tmp_path, "--plate", "20±0.3") == 0
    assert verify(tmp_path) == 0


def test_the_trend_is_said_from_three_checks_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = SimulatedBoard(BoardModel()).certificate()
    now = datetime.now().astimezone()
    zero = made.cells[0].coefficients[0]
    for days in (20, 10):
        at = (now - timedelta(days=days)).isoformat()
        record = msgspec.structs.replace(
            check(1), at=at, certificate=made.id, zero=(zero,), zero_N=0.0
        )
        append_record(board_file(tmp_path, BOARD, ""), record)
    with board_file(tmp_path, BOARD, "").open("a") as file:
        file.write("torn\n")
    assert verify(tmp_path) == 0
    out, err = capsys.readouterr()
    assert "Over 3 checks in 20 days: zero " in out
    assert "1 lines of the history could not be read." in err


def test_a_certificate_by_file_and_by_id(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = SimulatedBoard(BoardModel()).certificate()
    save_certificate(made, tmp_path / "mine.json")
    Shelf(tmp_path).put(msgspec.structs.replace(made, note="newest"))
    Shelf(tmp_path).put(made)
    assert verify(tmp_path, "--certificate", str(tmp_path / "mine.json"), "--json") == 0
    assert json.loads(capsys.readouterr().out)["certificate"] == made.id
    assert verify(tmp_path, "--certificate", made.id, "--json") == 0
    assert json.loads(capsys.readouterr().out)["certificate"] == made.id


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--plate", "20", "--scale", "20±1"), 2, "Give one of --plate, --scale"),
        (("--scale", "30"), 2, "--scale wants what the scale is good for"),
        (("--scale", "much"), 2, "--scale much cannot be read"),
        (("--shunt-n", "0"), 2, "is no load"),
        (("--plate", "20±30"), 2, "nothing is known of so doubtful a load"),
        (("--plate", "A+B"), 1, "knows no plate A or B; it was made with: none."),
        (("--certificate", "no-such"), 1, "No certificate begins with 'no-such'"),
    ],
)
def test_mistakes_are_one_sentence(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    code: int,
    said: str,
) -> None:
    assert verify(tmp_path, *words) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (f"{ADDRESS} --plate x", "knows no plate x; it was made with: none."),
        ("serial:", "names no port"),
        ("serial: --certificate mine.json", "names no port"),
        ("serial:/no/such/port", "there is nothing to check it against"),
    ],
)
def test_no_window_opens_for_what_cannot_work(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: str,
    said: str,
) -> None:
    opened: list[object] = []
    save_certificate(SimulatedBoard(BoardModel()).certificate(), tmp_path / "mine.json")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("strikebridge.cli.verify.run_rig", lambda *one: opened.append(one))
    assert run(["verify", *words.split(), "--window", "--data", str(tmp_path)]) in (1, 2)
    assert said in capsys.readouterr().err
    assert opened == []


def test_a_board_that_was_never_calibrated_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verify(tmp_path, address="serial:/no/such/port") == 1
    assert "on the shelf, so there is nothing to check it against" in capsys.readouterr().err
