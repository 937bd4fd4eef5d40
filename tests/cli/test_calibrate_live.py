"""`calibrate ADDRESS`, on the simulated board whose rig lies flat, faster than life."""

from __future__ import annotations

import contextlib
import csv
import json
import os
import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

from strikebridge.calibration.certificate_file import load_certificate
from strikebridge.calibration.lifts import EXERCISES, Stage
from strikebridge.calibration.walk_view import WalkKey, WalkState, WalkView
from strikebridge.cli import run
from strikebridge.cli.keyboard import Pressed, single_keys
from strikebridge.cli.walking import print_progress
from strikebridge.glance import Trouble
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk, Event
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2
from tests.ptys import posix
from tests.rig import foreign_rig
from tests.running import WITHIN_S

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tests.rig import ForeignRig

ADDRESS = "simulated:?rig=plates&speed=80&seed=3&plates_off=0.002"
PLATES = ("--plate", "A=20±0.04", "--plate", "B=15±0.2%", "--plate", "C=10+-0.02")
POINTS = 7  # a walk up and down with three plates
PER_NEWTON = 2e-3 * 256.0 * 2**23 / 200.0 / STANDARD_GRAVITY_M_PER_S2
"""Counts a newton of a 200 kg cell of 2 mV/V at gain 128 (data sheet of the HX711)."""


def files(data: Path, folder: str) -> list[Path]:
    return sorted((data / folder).glob("*"))


def rows_of(table: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_it_goes_by_itself_and_keeps_everything(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["calibrate", ADDRESS, *PLATES, "--runs", "1", "--hands-free"]
    words += ["--data", str(tmp_path), "--who", "a coach", "--rating-kg", "200"]
    assert run(words) == 0
    out, err = capsys.readouterr()
    assert "Put plates A, B and C on." in err
    assert "Take plate C off." in err
    assert "mount the rig, and zero it again" in err
    assert "Straight line through 7 points" in out
    assert "plates" in out
    assert "3 A+B up" in out
    (path,) = files(tmp_path, "certificates")
    certificate = load_certificate(path)
    assert path.name.startswith("simulated-3-")
    assert certificate.id in out
    assert certificate.board == "simulated-3 1.0"
    assert certificate.made_by == "a coach"
    assert certificate.rating_N == pytest.approx(200.0 * STANDARD_GRAVITY_M_PER_S2)
    assert [plate.name for plate in certificate.plates] == ["A", "B", "C"]
    assert len(certificate.points) == POINTS
    gain = certificate.cells[0].coefficients[1]
    assert gain == pytest.approx(PER_NEWTON, rel=certificate.coverage * 0.003)
    (recording,) = files(tmp_path, "recordings")
    assert any(isinstance(record, Chunk) for record in RecordingReader(recording))
    (points,) = files(tmp_path, "points")
    assert len(rows_of(points)) == POINTS
    # the points say the same again, and the board is known from now on
    assert run(["calibrate", "--points", str(points), "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    assert again["coefficients"][1]["value"] == pytest.approx(gain, rel=1e-6)
    record = ["record", "simulated:?speed=80&seed=3", "--output", str(tmp_path / "r.jsonl")]
    assert run([*record, "--seconds", "10", "--data", str(tmp_path)]) == 0
    out, err = capsys.readouterr()
    assert certificate.id in out + err


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_json_is_the_document_and_nothing_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "plates.csv"
    table.write_text("name,mass_kg,tolerance_kg\nA,20,\nB,15,0.1\n", encoding="utf-8")
    output = tmp_path / "certificate.json"
    words = ["calibrate", ADDRESS, "--plates", str(table), "--runs", "1", "--hands-free"]
    words += ["--data", str(tmp_path), "--json", "--output", str(output)]
    assert run(words) == 0
    out, err = capsys.readouterr()
    document = json.loads(out)
    assert "how far A may be off: taken as ±3%" in err
    assert document["certificate"] == load_certificate(output).id
    assert document["range_N"][1] == pytest.approx(35.0 * STANDARD_GRAVITY_M_PER_S2)
    assert document["degree"] == 1


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_a_platform_on_two_cells_gets_a_gain_for_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["calibrate", f"{ADDRESS}&channels=2", *PLATES[:4], "--runs", "1", "--hands-free"]
    words += ["--data", str(tmp_path), "--cell-at", "-200", "0", "--cell-at", "200", "0"]
    assert run(words) == 0
    out, err = capsys.readouterr()
    assert "Put plate A on, right over cell 2." in err
    assert "Gains of 2 cells" in out
    (path,) = files(tmp_path, "certificates")
    for cell in load_certificate(path).cells:
        assert cell.coefficients[1] == pytest.approx(PER_NEWTON, rel=0.01)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["simulated:"], "No plates were named"),
        (["simulated:", "--plate", "heavy"], "is no plate"),
        (["simulated:", "--plate", "A=20", "--plate", "A=20"], "Two plates are called A"),
        (["simulated:", "--plate", "A=20", "--plates", "x.csv"], "not both"),
        (["simulated:", "--plate", "A=20", "--points", "x.csv"], "not both"),
        (["simulated:", "--plate", "A=20", "--at", "5"], "not both"),
        (["--plate", "A=20"], "name its ADDRESS"),
        (["--hands-free"], "name its ADDRESS"),
        (["simulated:?rig=table", "--plate", "A=20", "--plate", "B=10"], "rig=table"),
    ],
)
def test_wrong_words_are_wrong_usage(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["calibrate", *words, "--data", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert said in err
    assert out == ""


@pytest.mark.parametrize(
    ("content", "said"),
    [(None, "cannot be read"), (b"\xff\xfe", "not text in UTF-8"), (b"name\nA\n", "Line 1")],
)
def test_a_table_of_plates_that_cannot_be_used(
    content: bytes | None, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "plates.csv"
    if content is not None:
        table.write_bytes(content)
    assert run(["calibrate", "simulated:", "--plates", str(table)]) == 1
    assert said in capsys.readouterr().err


def test_a_rating_below_the_plates_is_refused_before_anything_is_loaded(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["calibrate", ADDRESS, *PLATES, "--rating-kg", "40", "--hands-free"]
    words += ["--data", str(tmp_path)]
    assert run(words) == 1
    assert "the cell is rated for 40 kg" in capsys.readouterr().err
    assert files(tmp_path, "certificates") == []


def test_a_board_that_is_not_there_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["calibrate", f"serial:{tmp_path}/none", *PLATES, "--data", str(tmp_path)]
    assert run(words) == 1
    assert "There is no port" in capsys.readouterr().err


# keys, in a process of its own


class Terminal:
    """The command in a process, and what it has said so far."""

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self.process = process
        self.said = ""
        self._heard = 0  # so much of it was waited for

    def wait_for(self, words: str) -> None:
        """Wait until it says something after what was waited for before."""
        assert self.process.stderr is not None
        end_s = time.monotonic() + WITHIN_S
        while words not in self.said[self._heard :]:
            assert time.monotonic() < end_s, self.said
            more = os.read(self.process.stderr.fileno(), 4096)
            assert more, self.said
            self.said += more.decode(errors="replace")
        self._heard = self.said.index(words, self._heard) + len(words)

    def press(self, keys: bytes) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(keys)
        self.process.stdin.flush()

    def end(self) -> tuple[int, str]:
        out, err = self.process.communicate(timeout=WITHIN_S)
        return self.process.returncode, self.said + err.decode() + out.decode()


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    started = []

    def start(*more: str, address: str = ADDRESS) -> Terminal:
        words = [sys.executable, "-m", "strikebridge", "calibrate", address, *PLATES]
        process = subprocess.Popen(
            [*words, "--data", str(tmp_path), *more],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        started.append(process)
        return Terminal(process)

    yield start
    for process in started:
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout, process.stderr):
            if pipe is not None:
                pipe.close()


def lay_up_to_plate_a(shown: Terminal, rig: ForeignRig) -> None:
    """Exercise the cell, then put plate A on; after it the walk waits for plate B."""
    for _ in range(EXERCISES):
        shown.wait_for("Put plates A, B and C on.")
        rig.put(45.0)
        shown.wait_for("Take everything off")
        rig.put(0.0)
    shown.wait_for("Put plate A on.")
    rig.put(20.0)
    shown.wait_for("Put plate B on.")


def wait_for_calls(data: Path, kind: str, count: int) -> None:
    """Wait until the recording of a walk has so many of what was called out."""
    (recording,) = files(data, "recordings")
    end_s = time.monotonic() + WITHIN_S

    def has_called() -> bool:
        called = [one.kind for one in RecordingReader(recording) if isinstance(one, Event)]
        return called.count(kind) >= count

    while not has_called():
        assert time.monotonic() < end_s


@posix
@pytest.mark.slow
@pytest.mark.timeout(240)
def test_enter_begins_r_redoes_and_q_cancels_midway(
    terminal: Callable[..., Terminal], tmp_path: Path
) -> None:
    with foreign_rig(tmp_path) as rig:
        shown = terminal("--runs", "1", address=f"serial:{rig.path}")
        shown.wait_for("then begin")
        shown.wait_for("direction of the punch")
        shown.press(b"x\n")
        lay_up_to_plate_a(shown, rig)
        shown.press(b"r")
        wait_for_calls(tmp_path, "redone", 1)
        wait_for_calls(tmp_path, "point", 3)  # the empty cell, plate A, plate A again
        rig.put(35.0)
        shown.wait_for("Put plate C on.")
        shown.press(b"q")
        code, said = shown.end()
    assert code == 1
    (points,) = files(tmp_path, "points")
    assert len(rows_of(points)) == 3
    assert f"3 points are kept in {points}" in said
    assert "there is no certificate" in said
    assert "Traceback" not in said
    assert files(tmp_path, "certificates") == []
    (recording,) = files(tmp_path, "recordings")
    kinds = [r.kind for r in RecordingReader(recording) if not isinstance(r, Chunk)]
    assert kinds.count("redone") == 1
    assert kinds[-1] == "cancelled"


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_enter_finishes_what_is_complete(
    terminal: Callable[..., Terminal], tmp_path: Path
) -> None:
    shown = terminal("--runs", "1")
    shown.wait_for("then begin")
    shown.press(b"\n")
    shown.wait_for("All steps are done")
    shown.press(b" ")
    code, said = shown.end()
    assert code == 0, said
    assert "Certificate" in said
    assert len(files(tmp_path, "certificates")) == 1


@posix
@pytest.mark.slow
@pytest.mark.timeout(240)
def test_ctrl_c_midway_keeps_the_points(
    terminal: Callable[..., Terminal], tmp_path: Path
) -> None:
    with foreign_rig(tmp_path) as rig:
        shown = terminal("--hands-free", address=f"serial:{rig.path}")
        lay_up_to_plate_a(shown, rig)
        shown.process.send_signal(signal.SIGINT)
        code, said = shown.end()
    assert code == 1
    (points,) = files(tmp_path, "points")
    assert str(points) in said
    assert len(rows_of(points)) == 2
    assert "Traceback" not in said


@pytest.mark.slow
def test_without_anybody_at_the_keys_hands_free_is_asked_for(
    terminal: Callable[..., Terminal],
) -> None:
    shown = terminal()
    assert shown.process.stdin is not None
    shown.process.stdin.close()
    shown.process.stdin = None
    code, said = shown.end()
    assert code == 2
    assert "Add --hands-free" in said


@contextlib.contextmanager
def standard_input(descriptor: int) -> Iterator[None]:
    """Let another file be the standard input of this process for a while."""
    before = os.dup(0)
    os.dup2(descriptor, 0)
    try:
        yield
    finally:
        os.dup2(before, 0)
        os.close(before)


@pytest.mark.skipif(sys.platform == "win32", reason="a console has other keys")
def test_each_character_of_a_pipe_is_a_key_until_it_ends() -> None:
    read, write = os.pipe()
    try:
        with standard_input(read), single_keys() as keys:
            assert keys.take() == []
            os.write(write, b"xR \x1b[5~\x1b[6~q")
            pressed = [Pressed.REDO, Pressed.NEXT, Pressed.REDO, Pressed.NEXT, Pressed.QUIT]
            assert keys.take() == pressed
            assert keys.take() == []
            os.close(write)
            assert keys.take() == [Pressed.ENDED]
            assert keys.take() == [Pressed.ENDED]
    finally:
        os.close(read)


if sys.platform != "win32":  # Windows has no pseudo-terminals
    import pty
    import termios

    @pytest.mark.slow
    @pytest.mark.timeout(240)
    def test_a_clicker_at_a_terminal_and_the_terminal_afterwards(tmp_path: Path) -> None:
        master, slave = pty.openpty()
        before = termios.tcgetattr(slave)
        said = b""

        def wait_for(words: bytes) -> None:
            nonlocal said
            end_s = time.monotonic() + WITHIN_S
            while words not in said:
                assert time.monotonic() < end_s, said
                said += os.read(master, 4096)

        with foreign_rig(tmp_path) as rig:
            words = [sys.executable, "-m", "strikebridge", "calibrate", f"serial:{rig.path}"]
            process = subprocess.Popen(
                [*words, *PLATES, "--data", str(tmp_path)],
                stdin=slave,
                stdout=slave,
                stderr=slave,
            )
            try:
                wait_for(b"then begin")
                os.write(master, b"\x1b[6~")  # PageDown: forward on a clicker
                wait_for(b"Put plates A, B and C on.")
                rig.put(45.0)
                wait_for(b"kg   ")
                os.write(master, b"b")  # black screen
                wait_for(b"there is no certificate")
                assert process.wait(WITHIN_S) == 1
                assert termios.tcgetattr(slave) == before
            finally:
                process.kill()
                process.wait()
                os.close(master)
                os.close(slave)

    def test_a_terminal_gives_keys_one_by_one_and_is_left_as_it_was() -> None:
        master, slave = pty.openpty()
        before = termios.tcgetattr(slave)
        try:
            with standard_input(slave), single_keys() as keys:
                assert termios.tcgetattr(slave) != before
                os.write(master, b"r")
                end_s = time.monotonic() + WITHIN_S
                pressed: list[Pressed] = []
                while not pressed and time.monotonic() < end_s:
                    pressed = keys.take()
                assert pressed == [Pressed.REDO]
            assert termios.tcgetattr(slave) == before
        finally:
            os.close(master)
            os.close(slave)


# the lines that are printed


def view_of(**more: object) -> WalkView:
    plain: dict[str, object] = {"steps_total": 12, "instruction": "Put plate A on."}
    return WalkView(WalkState.WAITING, Stage.WALK, **plain | more)  # type: ignore[arg-type]


def test_a_trouble_is_said_once_however_long_it_lasts(
    capsys: pytest.CaptureFixture[str],
) -> None:
    show = print_progress()
    for seconds in (2, 3, 14):
        trouble = Trouble(f"The board went quiet {seconds} s ago.", "All is safe.", seconds)
        show(view_of(trouble=trouble))
    show(view_of())
    show(view_of(remarks=("point 1: off.",)))
    show(view_of(remarks=("point 1: off.", "point 2: off.")))
    err = capsys.readouterr().err.splitlines()
    assert err == [
        "The board went quiet 2 s ago. All is safe.",
        "[ 1/12] Put plate A on.",
        "The board is back.",
        "Mind: point 1: off.",
        "Mind: point 2: off.",
    ]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "(Enter, q end)"),
        ({"reading": 84211.4}, "84211.4 count   waiting for the load   (Enter, q end)"),
        (
            {"reading": 1.0, "load_kg": 20.014, "taking_share": 0.5},
            "20.01 kg   waiting for the load 50 %   (Enter, q end)",
        ),
    ],
)
def test_the_reading_stands_in_one_line(
    more: dict[str, object], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    keys = (WalkKey.NEXT, WalkKey.QUIT)
    show = print_progress(is_tty=True)
    show(view_of(keys=keys, steadiness="waiting for the load", **more))
    assert capsys.readouterr().err.endswith(f"\r        {said}")
