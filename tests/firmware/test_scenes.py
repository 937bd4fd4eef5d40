"""Plates and punches pressed on simulated cells, through firmware, `record` and `analyse`.

Each scene is a force on the wall over time. The converters see it through their filter; the
firmware prints what they make; the real serial driver reads it in real time. All scenes run
side by side.
"""

from __future__ import annotations

import contextlib
import json
import signal
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from strikebridge.boards.health import WORDS, Fault
from strikebridge.boards.strikebridge_lines import StrikebridgeLinesDecoder
from strikebridge.cli import run
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk, Flag
from tests.firmware.bench import DEADLINE_S, NONE_BROKEN, Board, breaches, wait_until

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from strikebridge.samples import Floats

pytestmark = [pytest.mark.slow, pytest.mark.timeout(600)]

# Data sheet of the HX711: full scale +-0.5 AVDD / gain at gain 128, 24 bits; a cell of 2 mV/V
# rated 200 kg then gives 2e-3 x 256 x 2^23 / 200 counts a kilogram. Gravity: 3rd CGPM, 1901.
COUNTS_PER_KG = 2e-3 * 256 * 2**23 / 200
GRAVITY_M_PER_S2 = 9.80665
GAIN_N_PER_COUNT = GRAVITY_M_PER_S2 / COUNTS_PER_KG
ZERO_COUNTS = 81_000.0
SHARES = (0.58, 0.42)  # of two cells in the force
PEAK_N = 700.0
ONSET_S, RISE_S = 2.5, 0.12
PLATES_KG = (0.0, 10.0, 20.0, 40.0)
STEP_S = 2.0
SETTLING = 4
GRID_S = 0.004


def punch(time_s: Floats, hold_s: float) -> Floats:
    """A hold with a smooth rise to the plateau and a let-go as smooth."""
    rise = np.clip((time_s - ONSET_S) / RISE_S, 0.0, 1.0)
    fall = np.clip((time_s - ONSET_S - RISE_S - hold_s) / RISE_S, 0.0, 1.0)
    force_N: Floats = PEAK_N * (0.5 - 0.5 * np.cos(np.pi * rise))
    return force_N * (0.5 + 0.5 * np.cos(np.pi * fall))


def plates(time_s: Floats) -> Floats:
    """Plates laid on one after the other."""
    step = np.clip(time_s // STEP_S, 0, len(PLATES_KG) - 1).astype(np.int64)
    force_N: Floats = np.array(PLATES_KG)[step] * GRAVITY_M_PER_S2
    return force_N


@dataclass(frozen=True, slots=True)
class Scene:
    """What is pressed on which board.

    Attributes:
        cells: 1 or 2.
        is_slow: 10 samples a second.
        hold_s: length of the hold [s]; 0 for plates.
        events: further words for the simulator.
    """

    cells: int
    is_slow: bool
    hold_s: float
    events: tuple[str, ...] = ()

    @property
    def length_s(self) -> float:
        """How long it lasts [s]."""
        return STEP_S * len(PLATES_KG) if not self.hold_s else ONSET_S + self.hold_s + 1.5

    @property
    def rate_hz(self) -> int:
        """Nominal rate [1/s]."""
        return 10 if self.is_slow else 80

    def rows(self) -> list[list[float]]:
        """Input of the converters: seconds, counts of each cell with a little noise."""
        time_s = np.arange(0.0, self.length_s, GRID_S)
        force_N = punch(time_s, self.hold_s) if self.hold_s else plates(time_s)
        shares = SHARES if self.cells == 2 else (1.0,)
        counts = np.outer(force_N / GAIN_N_PER_COUNT, shares) + ZERO_COUNTS
        counts += np.random.default_rng(4).normal(0.0, 100.0, counts.shape)
        rows: list[list[float]] = np.column_stack([time_s, counts]).tolist()
        return rows

    def options(self) -> list[str]:
        """Words for the simulator; its converters run off their printed rate, as real ones."""
        slow = ["--slow"] if self.is_slow else []
        words = ["--cells", str(self.cells), "--oscillators", "1.05,1.05", *slow, *self.events]
        return ["--input", "--waits", "--seconds", "60", *words]


SCENES = {
    "punch-80-1": Scene(1, False, 3.2),
    "punch-80-2": Scene(2, False, 3.2),
    "punch-10-1": Scene(1, True, 5.2),
    "punch-10-2": Scene(2, True, 5.2),
    "plates-80-2": Scene(2, False, 0.0),
    "plates-10-1": Scene(1, True, 0.0),
    "reset": Scene(1, False, 3.2, ("--event", "1.2:reset")),
}


@dataclass(frozen=True, slots=True)
class Taken:
    """A recorded scene: the file, what `record` printed, the simulator's report, the board."""

    recording: Path
    document: dict[str, Any]
    report: dict[str, Any]
    board: Board


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Taken]:
    """Play and record all scenes side by side, in real time."""
    folder = tmp_path_factory.mktemp("scenes")
    with contextlib.ExitStack() as stack:
        boards = {
            name: stack.enter_context(Board(folder / name, scene.rows(), *scene.options()))
            for name, scene in SCENES.items()
        }
        recorders = {
            name: stack.enter_context(recorder(board, folder / f"{name}.jsonl"))
            for name, board in boards.items()
        }
        return {
            name: finish(SCENES[name], boards[name], recorders[name], folder / f"{name}.jsonl")
            for name in SCENES
        }


@contextlib.contextmanager
def recorder(board: Board, path: Path) -> Iterator[subprocess.Popen[str]]:
    """Run `record` on a board."""
    one = subprocess.Popen(
        [
            *(sys.executable, "-m", "strikebridge", "record", f"serial:{board.port}"),
            *("--output", str(path), "--data", str(path.parent), "--json"),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield one
    finally:
        one.kill()
        one.communicate()


def finish(scene: Scene, board: Board, one: subprocess.Popen[str], path: Path) -> Taken:
    """Wait for the end of a scene and stop its recording as a coach would, with Ctrl-C."""
    wait_until(lambda: board.made_s() > scene.length_s, one)
    one.send_signal(signal.SIGINT)
    out, err = one.communicate(timeout=DEADLINE_S)
    assert one.returncode == 0, err
    *said, last = err.splitlines()
    assert last == "Stopped."
    # on a computer that is too busy the simulated board itself falls behind, and that is said
    said = [line for line in said if WORDS[Fault.RATE][0] not in line]
    is_reset = any("reset" in event for event in scene.events)
    assert [line.startswith("strikebridge: The board started anew.") for line in said] == (
        [True] if is_reset else []
    )
    return Taken(path, json.loads(out), board.stop(), board)


def decoded(recording: Path) -> tuple[StrikebridgeLinesDecoder, Floats, Floats]:
    """Read a recording with the program's decoder: counts, shape (n, cells), and flags."""
    decoder = StrikebridgeLinesDecoder()
    chunks = [record for record in RecordingReader(recording) if isinstance(record, Chunk)]
    blocks = [block for chunk in chunks for block in decoder.feed([chunk])]
    counts = np.concatenate([block.counts for block in blocks])
    return decoder, counts, np.concatenate([block.flags for block in blocks])


def analysed(taken: Taken, scene: Scene, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """What `analyse --json` says of it."""
    gain = ["--gain-n-per-count", str(GAIN_N_PER_COUNT), "--zero-counts", str(ZERO_COUNTS)]
    prescribed = ["--hold-s", str(scene.hold_s // 1)] if scene.hold_s else []
    assert run(["analyse", str(taken.recording), *gain, *prescribed, "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


@pytest.mark.parametrize("name", [name for name in SCENES if name != "reset"])
def test_counts_are_those_of_the_converters(taken: dict[str, Taken], name: str) -> None:
    scene, one = SCENES[name], taken[name]
    decoder, counts, _ = decoded(one.recording)
    for cell in range(scene.cells):
        made = one.board.words(cell + 1)[SETTLING : SETTLING + len(counts)]
        assert counts[:, cell].tolist() == made
    assert decoder.unreadable == 0
    assert one.document["readings"] == len(counts)
    assert len(counts) > (scene.length_s - 1.0) * scene.rate_hz
    assert breaches(one.report) == [NONE_BROKEN] * scene.cells
    assert one.report["dropped"] == 0


@pytest.mark.parametrize("name", SCENES)
def test_the_board_says_who_it_is(taken: dict[str, Taken], name: str) -> None:
    decoder, _, _ = decoded(taken[name].recording)
    identity = decoder.identity
    assert identity is not None
    assert (identity.board, identity.firmware, identity.converter) == (
        "wall",
        "avr-1.0",
        "hx711",
    )
    assert identity.rate_hz == SCENES[name].rate_hz
    assert identity.settling_s == (0.4 if SCENES[name].is_slow else 0.05)


@pytest.mark.parametrize("name", [name for name in SCENES if name.startswith("punch")])
def test_a_punch_is_found_and_measured(
    taken: dict[str, Taken], name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    scene = SCENES[name]
    document = analysed(taken[name], scene, capsys)
    (hold,) = document["holds"]
    assert document["contacts"] == []
    assert document["gaps"] == []
    assert document["rate_hz"] == pytest.approx(1.05 * scene.rate_hz, rel=0.01)
    assert document["settling_s"] == (0.4 if scene.is_slow else 0.05)
    peak = hold["measures"]["peak_force"]
    assert peak["value"] == pytest.approx(PEAK_N, rel=0.002)
    assert hold["measures"]["hold_mean"]["value"] == pytest.approx(PEAK_N, rel=0.002)
    period_s = 1.0 / document["rate_hz"]
    held_s = hold["release_s"] - hold["onset_s"]
    assert held_s == pytest.approx(scene.hold_s + 1.5 * RISE_S, abs=4 * period_s)
    words = ("not measurable",) * 2 if scene.is_slow else ("snap", "steady")
    assert (hold["rise"], hold["hold"]) == words
    assert hold["complete"]


@pytest.mark.parametrize("name", [name for name in SCENES if name.startswith("plates")])
def test_plates_give_the_counts_of_the_data_sheet(
    taken: dict[str, Taken], name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scene, one = SCENES[name], taken[name]
    _, counts, _ = decoded(one.recording)
    total = counts.sum(axis=1)
    made_us = [at_us for cell, at_us, _ in one.board.made() if cell == 1]
    at_s = np.array(made_us)[SETTLING : SETTLING + len(total)] * 1e-6
    means = []
    for step in range(len(PLATES_KG)):
        # from where the converter has settled to the next plate
        is_on = (at_s > STEP_S * step + 0.5) & (at_s < STEP_S * (step + 1) - 0.05)
        means.append(float(np.mean(total[is_on])))
    table = tmp_path / "points.csv"
    steps = (f"{kg},{mean}" for kg, mean in zip(PLATES_KG, means, strict=True))
    table.write_text("\n".join(["mass_kg,reading", *steps, ""]), encoding="utf-8")
    words = ["calibrate", "--points", str(table), "--degree", "1", "--data", str(tmp_path)]
    assert run([*words, "--json"]) == 0
    zero, slope = json.loads(capsys.readouterr().out)["coefficients"]
    assert slope["value"] * GAIN_N_PER_COUNT == pytest.approx(1.0, rel=1e-4)
    assert zero["value"] == pytest.approx(ZERO_COUNTS * scene.cells, abs=50.0)


def test_a_reset_in_the_middle_is_told_and_costs_no_hold(
    taken: dict[str, Taken], capsys: pytest.CaptureFixture[str]
) -> None:
    one = taken["reset"]
    decoder, counts, flags = decoded(one.recording)
    assert one.report["resets"] == 1
    restarts = np.flatnonzero(flags.astype(np.int64) & int(Flag.RESTARTED))
    assert len(restarts) == 1
    made = one.board.words()
    before, after = counts[: restarts[0], 0].tolist(), counts[restarts[0] :, 0].tolist()
    assert before == made[SETTLING : SETTLING + len(before)]
    place = next(i for i in range(len(before), len(made)) if made[i : i + 20] == after[:20])
    assert after == made[place : place + len(after)]
    assert place - len(before) - SETTLING <= 3 * SETTLING  # it is back as soon as it can be
    assert decoder.unreadable <= 1  # the line in which it was cut off
    document = analysed(one, SCENES["reset"], capsys)
    (hold,) = document["holds"]
    assert hold["measures"]["peak_force"]["value"] == pytest.approx(PEAK_N, rel=0.002)
    # how long it was away only the arrivals tell, and on a busy computer they come in bunches
    assert len(document["gaps"]) <= 1
