"""Every way to fail says one sentence on standard error, prints no result and shows no code."""

import json
from pathlib import Path

import pytest

from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.certificate_file import save_certificate
from strikebridge.cli import COMMANDS, run
from tests.cli.streams import count_table, force_table, simulated_recording

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """A folder with one of each kind of file."""
    force_table(tmp_path / "force.csv")
    count_table(tmp_path / "count.csv", 4.5e-4, 1e5)
    simulated_recording(tmp_path / "bare.jsonl", seconds=2.0, is_calibrated=False)
    simulated_recording(tmp_path / "whole.jsonl", seconds=2.0)
    lines = (tmp_path / "whole.jsonl").read_bytes().splitlines(keepends=True)
    (tmp_path / "header_only.jsonl").write_bytes(lines[0])
    (tmp_path / "newer.jsonl").write_bytes(
        lines[0].replace(b'"strikebridge_recording":1', b'"strikebridge_recording":9')
    )
    (tmp_path / "garbage.bin").write_bytes(bytes(range(255, -1, -1)) * 40)
    (tmp_path / "garbage.jsonl").write_bytes(b"{" + bytes(range(255, -1, -1)) * 40)
    (tmp_path / "empty.csv").write_bytes(b"")
    (tmp_path / "head.csv").write_text("time_s,force_N\n")
    (tmp_path / "word.csv").write_text("time_s,force_N\n0.0,1.0\n0.1,heavy\n")
    (tmp_path / "back.csv").write_text("time_s,force_N\n5.0,1.0\n4.0,1.0\n")
    certificate = tmp_path / "certificate.json"
    save_certificate(SimulatedBoard(BoardModel()).certificate(), certificate)
    document = json.loads(certificate.read_text())
    document["cells"][0]["coefficients"][1] *= 1.1  # a hand that wants ten per cent more
    (tmp_path / "altered.json").write_text(json.dumps(document))
    return tmp_path


def fails(capsys: Capture, code: int, *words: str) -> str:
    """Run words that must fail; give the message."""
    assert run(words) == code
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "Traceback" not in captured.err
    message = captured.err.strip()
    assert message
    if code == 1:
        assert len(message.splitlines()) == 1
        assert message.endswith((".", ":"))
    return message


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("missing.csv", "cannot be read"),
        ("garbage.bin", ""),
        ("garbage.jsonl", "not a strikebridge recording"),
        ("newer.jsonl", "newer strikebridge"),
        ("header_only.jsonl", "no readings"),
        ("empty.csv", ""),
        ("head.csv", ""),
        ("word.csv", "3"),
        ("back.csv", ""),
        ("count.csv", "--gain-n-per-count"),
        ("bare.jsonl", "--calibration"),
        ("certificate.json", "not a strikebridge recording"),
        (".", "cannot be read"),
    ],
)
@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_files_that_will_not_do(
    files: Path, capsys: Capture, name: str, says: str, extra: list[str]
) -> None:
    assert says in fails(capsys, 1, "analyse", str(files / name), *extra)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("force.csv", ["--gain-n-per-count", "1"]),
        ("count.csv", ["--gain-n-per-count", "0"]),
        ("count.csv", ["--calibration", "missing.json"]),
        ("count.csv", ["--calibration", "altered.json"]),
        ("count.csv", ["--calibration", "garbage.bin"]),
        ("count.csv", ["--calibration", "whole.jsonl"]),
        ("count.csv", ["--calibration", "."]),
    ],
)
def test_calibrations_that_will_not_do(
    files: Path, capsys: Capture, name: str, words: list[str]
) -> None:
    if words[0] == "--calibration":
        words = [words[0], str(files / words[1])]
    fails(capsys, 1, "analyse", str(files / name), *words)


@pytest.mark.parametrize(
    "words",
    [
        ["measure"],
        ["analyse"],
        ["analyse", "a.csv", "b.csv"],
        ["analyse", "a.csv", "--frobnicate"],
        ["analyse", "a.csv", "--zero-counts", "5"],
        ["analyse", "a.csv", "--gain-n-per-count", "1", "--rating-kg", "100"],
        ["analyse", "a.csv", "--rating-kg", "0"],
        ["analyse", "a.csv", "--gain-n-per-count", "a lot"],
        ["analyse", "a.csv", "--gain-n-per-count", "nan"],
        ["analyse", "a.csv", "--gain-n-per-count", "-inf"],
        ["analyse", "a.csv", "--gain-n-per-count", "1", "--zero-counts", "nan"],
        ["analyse", "a.csv", "--gain-n-per-count", "1", "--calibration", "c.json"],
        ["analyse", "a.csv", "--effort", "submaximal"],
        ["analyse", "a.csv", "--effort", "maximal", "--band-n", "100", "200"],
        ["analyse", "a.csv", "--band-n", "200", "100"],
        ["analyse", "a.csv", "--band-n", "100"],
        ["analyse", "a.csv", "--band-n", "nan", "100"],
        ["analyse", "a.csv", "--band-n", "100", "inf"],
        ["analyse", "a.csv", "--effort", "lazy"],
        ["analyse", "a.csv", "--hold-s", "0"],
        ["analyse", "a.csv", "--hold-s", "nan"],
        ["analyse", "a.csv", "--unit", "stone"],
        ["record", "simulated:"],
        ["record", "--output", "a.jsonl"],
        ["record", "simulated:", "--output", "a.jsonl", "--seconds", "0"],
        ["record", "simulated:", "--output", "a.jsonl", "--seconds", "nan"],
        ["record", "pigeon:post", "--output", "a.jsonl"],
        ["record", "/dev/ttyUSB0", "--output", "a.jsonl"],
        ["record", "simulated:?colour=red", "--output", "a.jsonl"],
        ["record", "simulated:?rate_hz=fast", "--output", "a.jsonl"],
        ["record", "replay:", "--output", "a.jsonl"],
        ["boards", "pigeon:post"],
        ["boards", "simulated:", "--seconds", "0.1"],
        ["boards", "simulated:", "--seconds", "nan"],
        ["demo", "--headless", "--seconds", "0"],
        ["demo", "--headless", "--seconds", "nan"],
        ["demo", "--headless", "--seed", "-1"],
        ["demo", "--seed", "1.5"],
        ["--board"],
    ],
)
def test_wrong_usage_is_exit_code_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture, words: list[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.csv").write_text("time_s,force_N\n0.0,1.0\n")
    fails(capsys, 2, *words)
    assert not (tmp_path / "a.jsonl").exists()


@pytest.mark.parametrize(("speed"), ["fast", "0", "-1", "nan"])
def test_a_speed_that_is_none(files: Path, capsys: Capture, speed: str) -> None:
    words = ["replay", str(files / "whole.jsonl"), "--headless", "--speed", speed]
    assert "speed" in fails(capsys, 2, *words)


@pytest.mark.parametrize(
    "name", ["missing.jsonl", "garbage.jsonl", "force.csv", "newer.jsonl", "."]
)
@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_replay_of_what_is_no_recording(
    files: Path, capsys: Capture, name: str, extra: list[str]
) -> None:
    fails(capsys, 1, "replay", str(files / name), "--headless", *extra)


def test_replay_of_a_recording_without_readings(files: Path, capsys: Capture) -> None:
    words = ["replay", str(files / "header_only.jsonl"), "--headless", "--speed", "max"]
    assert "no readings" in fails(capsys, 1, *words)
    assert "no readings" in fails(capsys, 1, *words, "--json")


def test_replay_of_counts_without_calibration(files: Path, capsys: Capture) -> None:
    words = ["replay", str(files / "bare.jsonl"), "--headless", "--speed", "max"]
    assert "--calibration" in fails(capsys, 1, *words)
    assert "--calibration" in fails(capsys, 1, *words, "--json")


def test_a_file_that_exists_is_left_alone(files: Path, capsys: Capture) -> None:
    before = (files / "whole.jsonl").read_bytes()
    words = ["record", "simulated:?speed=max", "--output", str(files / "whole.jsonl")]
    assert "left alone" in fails(capsys, 1, *words, "--seconds", "1")
    assert (files / "whole.jsonl").read_bytes() == before


def test_a_folder_that_is_not_there(files: Path, capsys: Capture) -> None:
    words = ["record", "simulated:?speed=max", "--output", str(files / "no" / "a.jsonl")]
    assert "cannot be made" in fails(capsys, 1, *words, "--seconds", "1")


def test_a_port_that_is_not_there(tmp_path: Path, capsys: Capture) -> None:
    port = f"serial:{tmp_path / 'ttyNONE'}"
    fails(capsys, 1, "boards", port)
    fails(capsys, 1, "record", port, "--output", str(tmp_path / "a.jsonl"))
    assert not (tmp_path / "a.jsonl").exists()


def test_a_data_folder_that_cannot_be_made(files: Path, capsys: Capture) -> None:
    words = ["demo", "--headless", "--seconds", "1", "--data", str(files / "force.csv" / "x")]
    assert "cannot be written" in fails(capsys, 1, *words)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(capsys: Capture, name: str) -> None:
    assert run([name, "--help"]) == 0
    captured = capsys.readouterr()
    assert captured.out.startswith("Usage: strikebridge")
    assert "None" not in captured.out, "a limit that is not there is not told"
    assert captured.err == ""


def test_the_help_names_every_command(capsys: Capture) -> None:
    assert run(["--help"]) == 0
    out = capsys.readouterr().out
    for name in COMMANDS:
        assert f"  {name} " in out
