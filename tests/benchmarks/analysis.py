"""An hour analysed, beside general-purpose reading and a plain peak search, in the same run.

    python -m tests.benchmarks.analysis [--minutes 60] [--times 3] [--rates 80 1000]

Each row is a process of its own, timed from outside from its start to its end; the largest
memory is what the system says of it once it is gone. The plain programs read the same file and
look for peaks: pandas.read_csv or numpy.loadtxt for a table, json and int for a recording (one
line of the board in each record, its checksum not looked at), then scipy.signal.find_peaks with
a height and a distance. They measure nothing else. Ours is the command `strikebridge analyse
--json`, with every measure, its uncertainty and the verdict. All run from compiled bytecode, as
installed programs do: it is kept in a folder of its own, and a first run that fills it does not
count.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.strikebridge_lines import close_line

if TYPE_CHECKING:
    from strikebridge.samples import Floats

GAIN_N_PER_COUNT = 0.01
ZERO_COUNTS = 84_000
HEAD = (
    "rate /s  file       program   seconds   processor s   largest MB   found   "
    "ours / it: seconds   processor"
)
PERIOD_S = 20.0  # from one hold to the next: a group that takes turns
PEAKS = """
from scipy.signal import find_peaks
force = (counts - numpy.median(counts)) * {gain}
peaks, _ = find_peaks(force, height=50.0, distance={distance})
print(len(peaks))
"""
PANDAS = """
import sys, numpy, pandas
table = pandas.read_csv(sys.argv[1])
time_s, counts = table["time_s"].to_numpy(), table["count_1"].to_numpy()
"""
NUMPY = """
import sys, numpy
time_s, counts = numpy.loadtxt(sys.argv[1], delimiter=",", skiprows=1, unpack=True)
"""
JSON = """
import sys, json, numpy
at_us, counts = [], []
with open(sys.argv[1]) as file:
    next(file)
    for line in file:
        record = json.loads(line)
        at_us.append(record["at_us"])
        counts.append(int(record["text"].split("*")[0].split(",")[3]))
time_s, counts = numpy.array(at_us) * 1e-6, numpy.array(counts)
"""
PLAIN = {"table": {"pandas": PANDAS, "numpy": NUMPY}, "recording": {"json": JSON}}


@dataclass(frozen=True, slots=True)
class Run:
    """One program, run to its end.

    Attributes:
        wall_s: fastest of its runs, from start to end [s].
        cpu_s: least processor time of its runs, which other programs disturb less [s].
        most_mb: largest memory of all runs [MB].
        found: holds or peaks it found.
    """

    wall_s: float
    cpu_s: float
    most_mb: float
    found: int


def force_of(minutes: float, rate_hz: float) -> tuple[Floats, Floats]:
    """Make times [s] and forces [N] of a group that takes turns, with noise and drift."""
    rng = np.random.default_rng(7)
    time_s = np.arange(round(minutes * 60.0 * rate_hz)) / rate_hz
    turn = np.floor(time_s / PERIOD_S).astype(np.int64)
    since_s = time_s - turn * PERIOD_S - 8.0
    peak_N = rng.uniform(150.0, 900.0, size=int(turn[-1]) + 1)[turn]
    rise = 1.0 - np.exp(-np.clip(since_s, 0.0, None) / 0.08)
    fall = np.exp(-np.clip(since_s - 3.0, 0.0, 2.0) / 0.04)
    shape = np.where((since_s > 0.0) & (since_s < 5.0), rise * fall, 0.0)
    tremor = 1.0 + 0.01 * np.sin(2.0 * np.pi * 1.7 * time_s)
    drift_N = 3.0 * np.sin(2.0 * np.pi * time_s / 1800.0)
    return time_s, peak_N * shape * tremor + drift_N + 0.4 * rng.normal(size=len(time_s))


def file_of(folder: Path, kind: str, rate_hz: float) -> Path:
    """Name the file of one kind and rate."""
    return folder / f"{kind}-{rate_hz:g}.{'csv' if kind == 'table' else 'jsonl'}"


def write_files(folder: Path, minutes: float, rate_hz: float) -> None:
    """Write the same hour as a table and as a recording."""
    time_s, force_N = force_of(minutes, rate_hz)
    counts = np.rint(force_N / GAIN_N_PER_COUNT).astype(np.int64) + ZERO_COUNTS
    with file_of(folder, "table", rate_hz).open("w") as file:
        file.write("time_s,count_1\n")
        file.writelines(
            f"{t:.6f},{c}\n" for t, c in zip(time_s.tolist(), counts.tolist(), strict=True)
        )
    late_us = np.random.default_rng(8).integers(300, 900, len(time_s))
    at_us = np.maximum.accumulate(np.rint(time_s * 1e6).astype(np.int64) + late_us)
    header = {
        "strikebridge_recording": 1,
        "board": "simulated:",
        "started": "2026-01-02T03:04Z",
    }
    with file_of(folder, "recording", rate_hz).open("wb") as out:
        out.write(json.dumps(header).encode() + b"\n")
        micros = np.rint(time_s * 1e6).astype(np.int64) % 2**32
        rows = zip(at_us.tolist(), micros.tolist(), counts.tolist(), strict=True)
        for number, (at, micro, count) in enumerate(rows):
            line = close_line(b"S,%d,%d,%d" % (number % 65_536, micro, count))[:-1]
            out.write(b'{"at_us":%d,"text":"%s\\n"}\n' % (at, line))


def wait_for(pid: int) -> tuple[int, float, float]:
    """Wait for a process of ours to end.

    Returns:
        Exit code, processor time [s] and largest memory [MB].

    Raises:
        RuntimeError: this system cannot tell.
    """
    if sys.platform == "win32":
        raise RuntimeError("the largest memory of a process is asked for the POSIX way")
    else:  # noqa: RET506 - mypy has to see which system each half is for
        _, status, usage = os.wait4(pid, 0)
        unit = 2**20 if sys.platform == "darwin" else 2**10
        spent_s = usage.ru_utime + usage.ru_stime
        return os.waitstatus_to_exitcode(status), spent_s, usage.ru_maxrss * unit / 1e6


def run(command: list[str], times: int, cache: Path) -> Run:
    """Run a program some times and keep its fastest time and its largest memory.

    Args:
        command: the program and its words.
        times: how often it is timed.
        cache: folder for bytecode.

    Raises:
        RuntimeError: it did not end well.
    """
    fastest_s, cpu_s, most_mb, output = math.inf, math.inf, 0.0, b""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(cache)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    subprocess.run(command, stdout=subprocess.DEVNULL, env=environment, check=True)
    for _ in range(times):
        start_s = time.perf_counter()
        with subprocess.Popen(command, stdout=subprocess.PIPE, env=environment) as process:
            if process.stdout is None:
                raise RuntimeError("the program has no pipe")
            output = process.stdout.read()
            process.returncode, spent_s, largest_mb = wait_for(process.pid)
        fastest_s = min(fastest_s, time.perf_counter() - start_s)
        cpu_s, most_mb = min(cpu_s, spent_s), max(most_mb, largest_mb)
        if process.returncode != 0:
            raise RuntimeError(f"{command[:4]} ended with {process.returncode}")
    document = json.loads(output)
    found = document if isinstance(document, int) else len(document["holds"])
    return Run(fastest_s, cpu_s, most_mb, found)


def table(minutes: float, rates_hz: tuple[float, ...], times: int) -> list[str]:
    """Run everything and write the table.

    Args:
        minutes: length of each stream.
        rates_hz: sampling rates [1/s].
        times: runs of each program; the fastest counts.
    """
    rows = [HEAD]
    with tempfile.TemporaryDirectory() as name:
        cache = Path(name) / "bytecode"
        for rate_hz in rates_hz:
            _write_elsewhere(Path(name), minutes, rate_hz)
            for kind, plain in PLAIN.items():
                path = file_of(Path(name), kind, rate_hz)
                ours = run(_ours(path), times, cache)
                start = f"{rate_hz:7.0f}  {kind:9s}  "
                rows.append(f"{start}{'ours':7s} {_numbers(ours)}")
                for program, text in plain.items():
                    ending = PEAKS.format(gain=GAIN_N_PER_COUNT, distance=2.0 * rate_hz)
                    words = [sys.executable, "-c", text + ending, str(path)]
                    other = run(words, times, cache)
                    ratios = (
                        f"{ours.wall_s / other.wall_s:18.2f} {ours.cpu_s / other.cpu_s:11.2f}"
                    )
                    rows.append(f"{start}{program:7s} {_numbers(other)} {ratios}")
                path.unlink()
    return rows


def _ours(path: Path) -> list[str]:
    words = ["analyse", str(path), "--json", f"--gain-n-per-count={GAIN_N_PER_COUNT}"]
    return [sys.executable, "-m", "strikebridge", *words, f"--zero-counts={ZERO_COUNTS}"]


def _numbers(done: Run) -> str:
    return f"{done.wall_s:9.2f} {done.cpu_s:13.2f} {done.most_mb:12.0f} {done.found:7d}"


def _write_elsewhere(folder: Path, minutes: float, rate_hz: float) -> None:
    """Write the files in a process of its own: a child's memory counts from its parent's."""
    words = ["--minutes", str(minutes), "--rates", str(rate_hz), "--write", str(folder)]
    subprocess.run([sys.executable, "-m", "tests.benchmarks.analysis", *words], check=True)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=60.0, help="length of each stream")
    parser.add_argument("--times", type=int, default=3, help="runs of each program")
    parser.add_argument("--rates", type=float, nargs="+", default=[80.0, 1000.0])
    parser.add_argument("--write", type=Path, help="only write the files, into this folder")
    options = parser.parse_args()
    if options.write is not None:
        for rate_hz in options.rates:
            write_files(options.write, options.minutes, rate_hz)
        return
    print("\n".join(table(options.minutes, tuple(options.rates), options.times)))


if __name__ == "__main__":
    main()
