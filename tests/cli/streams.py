"""Streams for the tests of the upper floors: tables with known holds, and made recordings.

The force is a closed form: rest, a rise of `1 - exp(-t / RISE_S)` to `LEVEL_N`, a plateau with
a little white noise, a fall. Levels, times and noise are invented.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.certificate_file import certificate_to_json
from strikebridge.calls import prescribed
from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import Chunk, Effort, Event, Prescription

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from strikebridge.samples import Floats

RATE_HZ = 80.0
LEVEL_N = 600.0
RISE_S = 0.06
NOISE_N = 0.4
ONSETS_S = (5.0, 14.0)
HELD_S = 3.2
LENGTH_S = 22.0


def held_force() -> tuple[Floats, Floats]:
    """Times [s] and force [N] of two holds."""
    time_s = np.arange(0.0, LENGTH_S, 1.0 / RATE_HZ)
    force_N = np.random.default_rng(5).normal(0.0, NOISE_N, len(time_s))
    for onset_s in ONSETS_S:
        since_s = np.clip(time_s - onset_s, 0.0, None)
        until_s = np.clip(time_s - onset_s - HELD_S, 0.0, None)
        force_N += LEVEL_N * (1.0 - np.exp(-since_s / RISE_S)) * np.exp(-until_s / 0.05)
    return time_s, force_N


def write_table(path: Path, header: str, rows: Iterable[tuple[str, ...]]) -> Path:
    """Write a CSV."""
    path.write_text("\n".join([header, *(",".join(row) for row in rows), ""]))
    return path


def force_table(path: Path, *, column: str = "force_N", per_newton: float = 1.0) -> Path:
    """Write the two holds as `time_s` and a force or a mass."""
    time_s, force_N = held_force()
    rows = ((f"{t:.4f}", f"{f * per_newton:.6g}") for t, f in zip(time_s, force_N, strict=True))
    return write_table(path, f"time_s,{column}", rows)


def count_table(path: Path, gain_N_per_count: float, zero_counts: float) -> Path:
    """Write the two holds as raw counts."""
    time_s, force_N = held_force()
    counts = np.round(force_N / gain_N_per_count + zero_counts)
    rows = ((f"{t:.4f}", f"{c:.0f}") for t, c in zip(time_s, counts, strict=True))
    return write_table(path, "time_s,count_1", rows)


def simulated_recording(
    path: Path,
    *,
    seconds: float = 16.0,
    seed: int = 3,
    is_calibrated: bool = True,
    lost_share: float = 0.0,
) -> Path:
    """Record the simulated athlete without waiting for him: a go every 8 s from 4 s on."""
    board = SimulatedBoard(BoardModel(seed=seed, lost_share=lost_share))
    header = Header(
        board="simulated:",
        started="2026-11-25T10:00:00+00:00",
        calibration=certificate_to_json(board.certificate()) if is_calibrated else None,
    )
    writer = RecordingWriter(path, header)
    writer.append(Chunk("simulated:", 0, board.identity_line()))
    writer.append(prescribed(Prescription(Effort.MAXIMAL, 3.0), 0))
    go_s = 4.0
    while board.now_s < seconds:
        for line in board.next_lines():
            if line.at_us >= go_s * 1e6:
                writer.append(Event("go", round(go_s * 1e6)))
                go_s += 8.0
            writer.append(Chunk("simulated:", line.at_us, line.data))
    writer.close()
    return path
