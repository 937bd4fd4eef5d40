"""From the start of a process to its first painted window, beside an empty window.

    python -m tests.benchmarks.start_up [--times 10]

The floor imports the same libraries (numpy, msgspec, pyserial, click, platformdirs, Qt with the
names that a window with keys and a timer needs) and shows an empty window. Ours is the command
`strikebridge window` itself. Both are timed from outside, by a process that starts them in turn
and waits for the word `painted`.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

EMPTY = """
import asyncio, logging, threading
import click, msgspec, numpy, platformdirs, serial, serial.tools.list_ports, typing_extensions
from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QFont, QPainter
from PySide6.QtWidgets import QApplication, QMainWindow, QWidget
class Empty(QWidget):
    def paintEvent(self, event):
        painter = QPainter(self)
        painter.end()
        tell()
application = QApplication([])
window = QMainWindow()
window.setCentralWidget(Empty())
window.resize(1280, 720)
window.show()
application.exec()
"""
WALL = """
import tempfile
from strikebridge.cli import run
from strikebridge.screens import app
plain = app.open_window
def open_and_tell(stage, options):
    window = plain(stage, options)
    window.wall.after_paint = lambda glance: tell()
    return window
app.open_window = open_and_tell
with tempfile.TemporaryDirectory() as folder:
    run(["window", "--board", "simulated:", "--data", folder])
"""
TELL = """
import os, sys
def tell():
    os.write(1, b"painted\\n")
    sys.stdin.read()
    os._exit(0)
"""
SIDES = {"empty window": EMPTY, "strikebridge": WALL}


def seconds_to_paint(program: str, cache: Path) -> float:
    """Start a program and wait for its first paint.

    Args:
        program: source text that prints `painted` and ends when stdin is closed.
        cache: folder for bytecode: installed programs start from theirs.

    Returns:
        Time from before its start to the word [s].
    """
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(cache)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    start_s = time.perf_counter()
    command = [sys.executable, "-c", TELL + program]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment
    ) as process:
        if process.stdin is None or process.stdout is None:
            raise RuntimeError("the program has no pipes")
        word = process.stdout.readline()
        painted_s = time.perf_counter() - start_s
        process.stdin.close()
        process.stdout.read()
    if word.strip() != b"painted":
        raise RuntimeError("the program ended before it painted")
    return painted_s


def table(times: int) -> list[str]:
    """Start both in turn, once more than counted to warm the disk's cache.

    Args:
        times: starts that count.

    Returns:
        Lines to print.
    """
    found: dict[str, list[float]] = {side: [] for side in SIDES}
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(times + 1):
            for side, program in SIDES.items():
                found[side].append(seconds_to_paint(program, Path(folder)))
    medians = {side: statistics.median(seconds[1:]) for side, seconds in found.items()}
    floor_s = medians["empty window"]
    rows = ["window          median s   fastest s   median / floor"]
    for side, median_s in medians.items():
        fastest_s = min(found[side][1:])
        rows.append(
            f"{side:12s}  {median_s:10.3f}  {fastest_s:10.3f}  {median_s / floor_s:15.2f}"
        )
    return rows


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Time to the first painted window.")
    parser.add_argument("--times", type=int, default=10)
    for line in table(parser.parse_args().times):
        print(line)


if __name__ == "__main__":
    main()
