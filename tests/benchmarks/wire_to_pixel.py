"""From a line written by another process to the end of the first paint that shows it.

    python -m tests.benchmarks.wire_to_pixel [--seconds 10] [--rounds 4] [--rates 80 320]

Each row is a process of its own, the two floors and ours in turn and that several times, since
a computer is quicker in one minute than in the next, all in one run: `line_writer` writes into
a pseudo-terminal; `bare_loop`, or the station and its window, read it and paint. A line counts
as shown when block and trace of a finished paint reach it. Runs on the platform of the
environment: under Xvfb or a real screen, or with QT_QPA_PLATFORM=offscreen.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from strikebridge.glance import Glance
    from strikebridge.samples import Chunk

WARM_UP_S = 3.0  # rest, rise, and the first paints
GAIN_N_PER_COUNT = 0.01
Shown = list[tuple[int, int]]  # instant of the end of a paint [ns], newest line in it
BARE, BARE_ASYNCIO, OURS = "bare loop", "bare on asyncio", "strikebridge"
SIDES = (BARE, BARE_ASYNCIO, OURS)


@dataclass(frozen=True, slots=True)
class Delays:
    """What one process measured.

    Attributes:
        side: whose loop.
        rate_hz: lines a second [1/s].
        paints: paints after the warm-up.
        delay_ms: from write to the end of the first paint that shows it [ms], shape (n,).
    """

    side: str
    rate_hz: float
    paints: int
    delay_ms: NDArray[np.float64]

    def at(self, percent: float) -> float:
        """Give a percentile [ms]."""
        return float(np.percentile(self.delay_ms, percent))


def delays_of(
    shown: Sequence[tuple[int, int]], written_ns: Sequence[int], rate_hz: float
) -> NDArray[np.float64]:
    """Match each line with the first paint that shows it or a later one.

    Args:
        shown: instant of the end of each paint [ns], and the newest line in it.
        written_ns: instant of each write [ns].
        rate_hz: lines a second [1/s].

    Returns:
        Delay of each line after the warm-up [ms].
    """
    first = int(WARM_UP_S * rate_hz)
    newest = np.maximum.accumulate([line for _, line in shown])
    lines = np.arange(first, min(int(newest[-1]) + 1, len(written_ns)))
    at_ns = np.array([instant for instant, _ in shown])[np.searchsorted(newest, lines)]
    delay: NDArray[np.float64] = (at_ns - np.array(written_ns)[lines]) * 1e-6
    return delay


def paint_ours(
    port: str, rate_hz: float, writer: IO[bytes], seconds: float
) -> list[tuple[int, int]]:
    """Run the station and its window on a port."""
    from strikebridge.calibration.apply import Calibration  # noqa: PLC0415 - only in this row
    from strikebridge.recording import RecordingReader  # noqa: PLC0415 - the same
    from strikebridge.samples import (  # noqa: PLC0415 - the same
        Chunk,
        Effort,
        Prescription,
    )
    from strikebridge.screens.app import (  # noqa: PLC0415 - the same
        WindowOptions,
        close_after,
        open_qt,
        open_window,
    )
    from strikebridge.screens.tidying import Tidying  # noqa: PLC0415 - the same
    from strikebridge.session.conductor import Plan  # noqa: PLC0415 - the same
    from strikebridge.station import Station, StationSetup  # noqa: PLC0415 - the same

    painted: list[tuple[int, int, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        recording = Path(folder) / "stream.jsonl"
        station = Station(
            StationSetup(
                address=f"serial:{port}",
                plan=Plan(Prescription(Effort.SUBMAXIMAL, 5.0, (600.0, 690.0))),
                recording=recording,
                by_hand=Calibration.by_hand(GAIN_N_PER_COUNT, 0.0),
            )
        )
        application = open_qt()
        window = open_window(station, WindowOptions())
        window.resize(1366, 768)

        def note(glance: Glance) -> None:
            live = window.wall.live
            if live is not None and live.lane and live.trace_box and len(glance.trace.time_s):
                end_s = float(glance.trace.time_s[-1])
                painted.append((time.monotonic_ns(), glance.newest_us, end_s))

        window.wall.after_paint = note
        tidying = Tidying(window)
        window.after_paint = tidying.after_paint
        station.start()
        writer.write(b"g")
        writer.flush()
        close_after(window, seconds)
        application.exec()
        station.stop()
        tidying.end()
        chunks = [one for one in RecordingReader(recording) if isinstance(one, Chunk)]
    if station.error is not None:
        raise station.error
    return newest_lines(chunks, painted, rate_hz)


def newest_lines(
    chunks: Sequence[Chunk], painted: Sequence[tuple[int, int, float]], rate_hz: float
) -> list[tuple[int, int]]:
    """Find which line each paint showed last.

    Args:
        chunks: as recorded.
        painted: instant of the end of a paint [ns], arrival of the newest bytes in it [us], and
            the end of its trace on the board's clock [s].
        rate_hz: lines a second [1/s].

    Returns:
        Instant of each paint [ns] and the newest line both arrived and in its trace.
    """
    ends, newest, rest = {}, -1, b""
    for chunk in chunks:
        *lines, rest = (rest + chunk.data).split(b"\n")
        for line in lines:
            newest = int(line.split(b",")[1])
        ends[chunk.arrived_us] = newest
    arrived = np.array([ends.get(newest_us, -1) for _, newest_us, _ in painted])
    in_trace = np.array([end_s for *_, end_s in painted]) * rate_hz
    # the board's clock starts anywhere: the usual distance of the two counts is taken for none
    in_trace = np.round(in_trace - np.median(in_trace - arrived)).astype(int)
    shown = np.minimum(arrived, in_trace).tolist()
    return [(at_ns, line) for (at_ns, *_), line in zip(painted, shown, strict=True)]


def paint_bare(
    port: str,
    rate_hz: float,
    writer: IO[bytes],
    seconds: float,
    *,
    is_on_asyncio: bool = False,
) -> list[tuple[int, int]]:
    """Run the bare loop on a port, with or without an asyncio loop in between."""
    from PySide6.QtCore import QTimer  # noqa: PLC0415 - only in this row
    from PySide6.QtWidgets import QApplication  # noqa: PLC0415 - the same

    from tests.benchmarks.bare_loop import BareLoop  # noqa: PLC0415 - the same

    application = QApplication([])
    loop = BareLoop(port, rate_hz, is_on_asyncio=is_on_asyncio)
    loop.show()
    loop.start()
    writer.write(b"g")
    writer.flush()
    QTimer.singleShot(round(seconds * 1000.0), application.quit)
    application.exec()
    loop.stop()
    return loop.shown


def one_row(side: str, rate_hz: float, seconds: float) -> dict[str, object]:
    """Measure in this process.

    Args:
        side: one of SIDES.
        rate_hz: lines a second [1/s].
        seconds: how long lines are written [s].

    Returns:
        Number of paints after the warm-up, and the delays [ms].
    """
    command = [sys.executable, "-m", "tests.benchmarks.line_writer", str(rate_hz), str(seconds)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as writer:
        if writer.stdin is None or writer.stdout is None:
            raise RuntimeError("the writer has no pipes")
        port = writer.stdout.readline().decode().strip()
        if side == OURS:
            shown = paint_ours(port, rate_hz, writer.stdin, seconds + 0.5)
        else:
            shown = paint_bare(
                port,
                rate_hz,
                writer.stdin,
                seconds + 0.5,
                is_on_asyncio=side == BARE_ASYNCIO,
            )
        written_ns = json.loads(writer.stdout.readline())
        writer.stdin.close()
    delay_ms = delays_of(shown, written_ns, rate_hz)
    warm_ns = written_ns[0] + WARM_UP_S * 1e9
    paints = sum(at_ns > warm_ns for at_ns, _ in shown)
    return {"paints": paints, "delay_ms": np.round(delay_ms, 4).tolist()}


def measure(side: str, rate_hz: float, seconds: float) -> Delays:
    """Measure in a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.wire_to_pixel", "--row", side]
    command += ["--rates", str(rate_hz), "--seconds", str(seconds)]
    answer = subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout
    found = json.loads(answer)
    return Delays(side, rate_hz, found["paints"], np.array(found["delay_ms"]))


def together(rounds: Sequence[Delays]) -> Delays:
    """Put what one side measured in all rounds together."""
    delay_ms = np.concatenate([one.delay_ms for one in rounds])
    paints = sum(one.paints for one in rounds)
    return Delays(rounds[0].side, rounds[0].rate_hz, paints, delay_ms)


def table(rates_hz: Sequence[float], seconds: float, rounds: int) -> list[str]:
    """Measure everything.

    Args:
        rates_hz: lines a second [1/s].
        seconds: of each process [s].
        rounds: processes of each side.

    Returns:
        Lines to print.
    """
    ratios_of = "p50 / bare  p99 / bare  p50 / asyncio  p99 / asyncio"
    rows = [f"lines/s  whose loop       paints/s  p50 ms  p99 ms  {ratios_of}"]
    for rate_hz in rates_hz:
        turns = [[measure(side, rate_hz, seconds) for side in SIDES] for _ in range(rounds)]
        found = {
            side: together(of_it)
            for side, of_it in zip(SIDES, zip(*turns, strict=False), strict=True)
        }
        for side, one in found.items():
            ratios = [
                one.at(percent) / found[floor].at(percent)
                for floor in (BARE, BARE_ASYNCIO)
                for percent in (50, 99)
            ]
            paints_hz = one.paints / rounds / (seconds - WARM_UP_S)
            rows.append(
                f"{rate_hz:7.0f}  {side:15s}  {paints_hz:8.1f}"
                f"  {one.at(50):6.2f}  {one.at(99):6.2f}  {ratios[0]:10.2f}  {ratios[1]:10.2f}"
                f"  {ratios[2]:13.2f}  {ratios[3]:13.2f}"
            )
    return rows


def main() -> None:
    """Print the table, or one row's figures."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--seconds", type=float, default=10.0, help="of each process")
    parser.add_argument("--rounds", type=int, default=4, help="processes of each side")
    parser.add_argument("--rates", type=float, nargs="+", default=[80.0, 320.0])
    parser.add_argument("--row", choices=SIDES)
    asked = parser.parse_args()
    if asked.row:
        print(json.dumps(one_row(asked.row, asked.rates[0], asked.seconds)))
        return
    for line in table(asked.rates, asked.seconds, asked.rounds):
        print(line)


if __name__ == "__main__":
    main()
