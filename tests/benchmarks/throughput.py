"""Decoder, timebase and detector in samples a second, beside numpy.loadtxt on the same text.

    python -m tests.benchmarks.throughput [--minutes 10]

numpy.loadtxt reads the same numbers without the checksum, into one array, and does no more;
it is the plainest general-purpose reading there is. All rows are from one run.
"""

from __future__ import annotations

import argparse
import io
import time
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.address import make_decoder
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.calibration.apply import Calibration
from strikebridge.holds import HoldDetector
from strikebridge.samples import Chunk
from strikebridge.timebase import Timebase

if TYPE_CHECKING:
    from collections.abc import Sequence

AT_ONCE = 20_000
RATES_HZ = (10.0, 80.0, 320.0)


def seconds_of_loadtxt(chunks: Sequence[Chunk]) -> float:
    """Read the fields of the same lines with numpy."""
    plain = b"\n".join(chunk.data.split(b"*")[0][2:] for chunk in chunks)
    start_s = time.perf_counter()
    np.loadtxt(io.BytesIO(plain), delimiter=",")
    return time.perf_counter() - start_s


def seconds_of_stages(chunks: Sequence[Chunk], board: SimulatedBoard) -> tuple[float, int]:
    """Run decoder, timebase, calibration and detector; count the holds."""
    decoder, timebase = make_decoder("strikebridge-lines"), Timebase()
    calibration = Calibration.from_certificate(board.certificate())
    detector = HoldDetector(4.0 / board.model.rate_hz)
    found = 0
    start_s = time.perf_counter()
    for first in range(0, len(chunks), AT_ONCE):
        for block in decoder.feed(chunks[first : first + AT_ONCE]):
            for timed in timebase.feed(block):
                found += len(detector.feed(calibration.feed(timed)))
    return time.perf_counter() - start_s, found


def table(minutes: float) -> list[str]:
    """Run all rates and write the table."""
    rows = ["rate /s   samples   loadtxt /s    ours /s   ratio   found"]
    for rate_hz in RATES_HZ:
        board = SimulatedBoard(BoardModel(rate_hz=rate_hz, seed=3))
        chunks: list[Chunk] = []
        while board.now_s < minutes * 60.0:
            chunks += [Chunk("x", line.at_us, line.data) for line in board.next_lines()]
        plain_s = seconds_of_loadtxt(chunks)
        ours_s, found = seconds_of_stages(chunks, board)
        n = len(chunks)
        rows.append(
            f"{rate_hz:7.0f} {n:9d} {n / plain_s:12.0f} {n / ours_s:10.0f} "
            f"{ours_s / plain_s:7.1f} {found:7d}"
        )
    return rows


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0, help="length of each stream")
    print("\n".join(table(parser.parse_args().minutes)))


if __name__ == "__main__":
    main()
