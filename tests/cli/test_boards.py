"""`strikebridge boards` on real ports: what is said, asked, and kept."""

import contextlib
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from strikebridge.cli import run
from tests.boards.sketches import CONFUSABLE, SKETCHES, readings, sent
from tests.ptys import open_pty, posix
from tests.running import WITHIN_S
from tests.wall import foreign_board

Capture = pytest.CaptureFixture[str]
SKETCH = {sketch.name: sketch for sketch in SKETCHES}
RATE_HZ = 80.0


def lines_of(name: str, seconds: float = 3.0) -> list[bytes]:
    return [data for _, data in sent(SKETCH[name], readings(RATE_HZ, seconds))]


def watched(capsys: Capture, lines: list[bytes], *words: str) -> dict[str, Any]:
    with foreign_board(lines, period_s=1.0 / RATE_HZ) as (path, _):
        assert run(["boards", f"serial:{path}", "--seconds", "2", "--json", *words]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


@posix
def test_an_unknown_sketch_is_understood(capsys: Capture) -> None:
    found = watched(capsys, lines_of("name:value pairs"))
    assert found["understood"]
    assert found["shape"] == "t:<ms> temp:<skip> raw:<count> kg:<skip>"
    assert (found["quantity"], found["channels"], found["questions"]) == ("count", 1, [])
    assert found["first"] == [float(readings(RATE_HZ).raw[1, 0])]
    assert found["rate_hz"] == pytest.approx(RATE_HZ, rel=0.02)


@posix
def test_a_unit_that_nobody_said_is_asked(capsys: Capture) -> None:
    found = watched(capsys, lines_of("decimal"))
    assert (found["understood"], found["quantity"]) == (True, "unknown")
    assert "What unit" in found["questions"][0]


@posix
def test_confusable_lines_are_asked_about_and_the_answer_is_kept(
    capsys: Capture, tmp_path: Path
) -> None:
    line, _ = CONFUSABLE["two decimals"]
    r = readings(RATE_HZ, 3.0)
    lines = [text.encode() + b"\n" for i in range(len(r.raw)) for text in line(r, i)]
    found = watched(capsys, lines)
    assert (found["understood"], found["readings"]) == (False, 0)
    assert "is the load" in found["questions"][0]

    with foreign_board(lines, period_s=1.0 / RATE_HZ) as (path, _):
        port = tmp_path / "port"
        port.symlink_to(path)
        words = ["boards", f"serial:{port}", "--seconds", "1"]
        assert run([*words, "--shape", "<kg> <skip>"]) == 0
        said = capsys.readouterr().out
        assert "a line with kilograms, then a number left out" in said
        assert "Kept for this board: <kg> <skip>" in said
    with foreign_board(lines, period_s=1.0 / RATE_HZ) as (path, _):
        port.unlink()
        port.symlink_to(path)
        recording = tmp_path / "a.jsonl"
        words = ["record", f"serial:{port}", "--output", str(recording), "--seconds", "1.5"]
        assert run([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["readings"] > 60
    assert json.loads(recording.read_text().splitlines()[0])["shape"] == "<kg> <skip>"


@posix
def test_a_shape_that_fits_no_line_is_not_kept(capsys: Capture) -> None:
    with foreign_board(lines_of("framed"), period_s=0.001) as (path, _):
        words = ["boards", f"serial:{path}", "--seconds", "0.5", "--shape", "<kg>;<kg>"]
        assert run(words) == 0
    said = capsys.readouterr().out
    assert "No line of this board fits <kg>;<kg>; nothing was kept." in said


def test_what_is_no_shape_is_wrong_usage(capsys: Capture) -> None:
    assert run(["boards", "serial:/dev/nowhere", "--shape", "<stone>"]) == 2
    assert "There is no <stone>" in capsys.readouterr().err
    assert run(["boards", "--shape", "<kg>"]) == 2
    assert "goes with the ADDRESS" in capsys.readouterr().err


@posix
@pytest.mark.parametrize(
    ("name", "asked", "answer", "kept"),
    [
        ("framed", "Enter if that is right", "", "*<count>#"),
        ("framed", "Enter if that is right", "*<kg>#", "*<kg>#"),
        ("decimal", "Unit", "kg", "<kg>"),
        ("decimal", "Unit", "later", ""),
    ],
)
def test_a_coach_confirms_or_corrects_once(
    tmp_path: Path, name: str, asked: str, answer: str, kept: str
) -> None:
    """The command in a terminal of its own, with a hand at its keyboard."""
    with contextlib.ExitStack() as afterwards:
        path, _ = afterwards.enter_context(
            foreign_board(lines_of(name), period_s=1.0 / RATE_HZ)
        )
        keyboard = open_pty()
        afterwards.callback(keyboard.pull)
        process = afterwards.enter_context(
            subprocess.Popen(
                [
                    *(sys.executable, "-m", "strikebridge", "boards", f"serial:{path}"),
                    *("--seconds", "1.5", "--data", str(tmp_path)),
                ],
                stdin=keyboard.theirs,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
            )
        )
        afterwards.callback(process.kill)
        assert process.stdout is not None
        said = b""
        while asked.encode() not in said:
            piece = os.read(process.stdout.fileno(), 1)
            assert piece, said
            said += piece
        keyboard.write(answer.encode() + b"\n")
        rest, _ = process.communicate(timeout=WITHIN_S)
    assert process.returncode == 0
    file = tmp_path / "boards.json"
    if not kept:
        assert not file.exists()
        return
    assert f"Kept for this board: {kept}".encode() in rest
    assert json.loads(file.read_text()) == {f"serial:{path}": kept}
