"""`record`, `replay`, `boards` and `demo` on the simulated board."""

import contextlib
import json
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.cli import run
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk, Event
from tests.cli.streams import simulated_recording
from tests.running import WITHIN_S

Capture = pytest.CaptureFixture[str]
PROGRAM = ("-m", "strikebridge")


def document_of(capsys: Capture, *words: str | Path) -> dict[str, Any]:
    """Run a command that must print one JSON document and nothing else."""
    assert run([*map(str, words), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert isinstance(document, dict)
    return document


def test_record_says_what_it_has_written(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "a.jsonl"
    words = ["record", "simulated:?speed=max&seed=3", "--output", str(path), "--seconds", "9"]
    document = document_of(capsys, *words)
    assert set(document) == {"recording", "bytes", "readings", "seconds"}
    assert document["recording"] == str(path)
    assert document["seconds"] >= 9.0
    reader = RecordingReader(path)
    chunks = [record for record in reader if isinstance(record, Chunk)]
    assert reader.damaged == 0
    assert document["bytes"] == sum(len(chunk.data) for chunk in chunks)
    readings = b"".join(chunk.data for chunk in chunks).count(b"\nS,")
    assert document["readings"] == readings
    board = SimulatedBoard(BoardModel(seed=3))
    assert readings / document["seconds"] == pytest.approx(board.real_rate_hz, rel=0.01)
    assert reader.header.calibration is not None
    assert reader.header.board == "simulated:?speed=max&seed=3"


def test_record_prints_holds_as_they_come(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "a.jsonl"
    words = ["record", "simulated:?speed=max&seed=3", "--output", str(path), "--seconds", "9"]
    assert run([*words, "--hold-s", "3", "--unit", "N"]) == 0
    out = capsys.readouterr().out
    assert re.search(r"^hold 1   peak \d+ ± \d+ N   ", out)
    assert re.search(
        rf"^{re.escape(str(path))}: \d+ bytes, \d+ readings, \d+\.\d s$", out, re.M
    )


def test_record_by_hand_keeps_no_certificate(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "a.jsonl"
    words = ["record", "simulated:?speed=max", "--output", str(path), "--seconds", "2"]
    document_of(capsys, *words, "--gain-n-per-count", "4.5e-4")
    assert RecordingReader(path).header.calibration is None


def test_what_was_recorded_is_analysed_and_replayed_alike(
    tmp_path: Path, capsys: Capture
) -> None:
    path = tmp_path / "a.jsonl"
    words = ["record", "simulated:?speed=max&seed=5&lost=0.01", "--output", str(path)]
    document_of(capsys, *words, "--seconds", "20")
    offline = document_of(capsys, "analyse", path)
    played = document_of(capsys, "replay", path, "--headless", "--speed", "max")
    assert played == offline
    assert len(offline["holds"]) >= 2
    assert sum(gap["lost"] for gap in offline["gaps"]) > 0


@pytest.mark.parametrize("speed", ["max", "1000", "40"])
def test_the_speed_of_a_replay_changes_nothing(
    tmp_path: Path, capsys: Capture, speed: str
) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=10.0)
    offline = document_of(capsys, "analyse", path)
    assert document_of(capsys, "replay", path, "--headless", "--speed", speed) == offline


def test_a_replay_in_the_terminal_shows_the_holds(tmp_path: Path, capsys: Capture) -> None:
    path = simulated_recording(tmp_path / "a.jsonl")
    assert run(["replay", str(path), "--headless", "--speed", "max"]) == 0
    assert re.findall(r"^hold \d", capsys.readouterr().out, re.M) == ["hold 1", "hold 2"]


def test_a_name_that_looks_like_options_can_be_replayed(
    tmp_path: Path, capsys: Capture
) -> None:
    path = simulated_recording(tmp_path / "a?speed=4", seconds=10.0)
    document = document_of(capsys, "replay", path, "--headless", "--speed", "max")
    assert document == document_of(capsys, "analyse", path)


def test_one_board_is_watched(capsys: Capture) -> None:
    words = ["boards", "simulated:?speed=max&seed=3", "--seconds", "0.5"]
    document = document_of(capsys, *words)
    # the keys that other programs may rely on
    assert set(document) == {
        "address",
        "identity",
        "understood",
        "shape",
        "quantity",
        "channels",
        "first",
        "last",
        "readings",
        "rate_hz",
        "noise_sd",
        "drift_per_min",
        "lost",
        "unreadable_lines",
        "questions",
    }
    board = SimulatedBoard(BoardModel(seed=3))
    assert document["understood"]
    assert (document["shape"], document["quantity"]) == ("strikebridge-lines", "count")
    assert document["rate_hz"] == pytest.approx(board.real_rate_hz, rel=1e-3)
    assert document["questions"] == []
    assert run(words) == 0
    out = capsys.readouterr().out
    assert "simulated-3 1.0" in out
    assert f"rate      {board.real_rate_hz:.1f} /s" in out


def test_the_ports_are_listed(capsys: Capture) -> None:
    document = document_of(capsys, "boards", "--no-bluetooth")
    assert isinstance(document["boards"], list)
    assert run(["boards", "--no-bluetooth"]) == 0
    out = capsys.readouterr().out
    assert len(out.splitlines()) == max(1, len(document["boards"]))


def started(words: Sequence[str], program: Sequence[str] = PROGRAM) -> subprocess.Popen[str]:
    """Start a command line of its own."""
    return subprocess.Popen(
        [sys.executable, *program, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_the_demo_finds_the_same_holds_each_time(tmp_path: Path) -> None:
    data = ["--data", str(tmp_path)]
    words = ["demo", "--headless", "--seconds", "11", "--seed", "1", *data]
    runs = [started(words), started(words)]
    try:
        outs = [one.communicate(timeout=WITHIN_S) for one in runs]
    finally:
        for one in runs:
            one.kill()
            one.communicate()
    assert [one.returncode for one in runs] == [0, 0]
    holds = [re.findall(r"^hold \d+   .*$", out, re.M) for out, _ in outs]
    assert holds[0]
    assert holds[0] == holds[1]
    count = len(holds[0])
    assert f"\n{count} hold{'' if count == 1 else 's'}, recorded in " in outs[0][0]
    assert all(err == "" for _, err in outs)
    recordings = sorted((tmp_path / "recordings").glob("demo-*.jsonl"))
    assert len(recordings) == 2
    for recording in recordings:
        reader = RecordingReader(recording)
        kinds = [record.kind for record in reader if isinstance(record, Event)]
        assert kinds[:4] == ["prescribed", "identity", "prescribed", "go"]
        assert reader.damaged == 0


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows hands Ctrl-C to a whole group")
def test_ctrl_c_ends_a_recording_well(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    one = started(["record", "simulated:", "--output", str(path)])
    try:
        wait_for_readings(path, one)
        one.send_signal(signal.SIGINT)
        out, err = one.communicate(timeout=WITHIN_S)
    finally:
        one.kill()
        one.communicate()
    assert one.returncode == 0
    assert err == "Stopped.\n"
    assert re.search(r"a\.jsonl: \d+ bytes, \d+ readings", out)
    reader = RecordingReader(path)
    assert any(isinstance(record, Chunk) for record in reader)
    assert reader.damaged == 0


def wait_for_readings(path: Path, one: subprocess.Popen[str]) -> None:
    """Wait until the first reading is in the file."""
    deadline_s = time.monotonic() + WITHIN_S
    while time.monotonic() < deadline_s:
        if path.exists() and b'"text":"S,' in path.read_bytes():
            return
        with contextlib.suppress(subprocess.TimeoutExpired):
            one.wait(timeout=0.01)
            break
    one.kill()
    raise AssertionError(one.communicate())


SAYS_WHAT_ARRIVES = """
import sys
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.cli import run
from strikebridge.samples import Chunk

add = StreamQueue._add

def add_aloud(self, record):
    if isinstance(record, Chunk):
        print(record.arrived_us, flush=True)
    return add(self, record)

StreamQueue._add = add_aloud
sys.exit(run(sys.argv[1:]))
"""
"""The command line, which also tells of each line when it arrived."""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no kill -9")
@pytest.mark.parametrize("seed", range(3))
def test_kill_9_costs_less_than_a_tenth_of_a_second(
    tmp_path: Path, capsys: Capture, seed: int
) -> None:
    """Of what had arrived when the program was killed, at most the last tenth is missing."""
    path = tmp_path / "a.jsonl"
    words = ["record", f"simulated:?seed={seed}", "--output", str(path), "--json"]
    one = started(words, ["-c", SAYS_WHAT_ARRIVES])
    try:
        wait_for_readings(path, one)
        with pytest.raises(subprocess.TimeoutExpired):
            one.wait(timeout=random.Random(seed).uniform(0.05, 1.0))
    finally:
        one.kill()
        out, _ = one.communicate(timeout=WITHIN_S)
    arrived_us = [int(line) for line in out.split("\n")[:-1]]
    reader = RecordingReader(path)
    chunks = [record for record in reader if isinstance(record, Chunk)]
    assert reader.damaged <= 1
    assert [chunk.arrived_us for chunk in chunks] == arrived_us[: len(chunks)]
    assert arrived_us[-1] - chunks[-1].arrived_us < 100_000
    document = document_of(capsys, "analyse", path)
    assert document["calibration"] is not None
