"""A board that is another process: it writes our lines into a pseudo-terminal of its own."""

from __future__ import annotations

import contextlib
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

FOREIGN = """
import os, pty, sys, time, tty
master, slave = pty.openpty()
tty.setraw(slave)
print(os.ttyname(slave), flush=True)
lines = sys.stdin.buffer.readlines()
os.read(master, 1)            # whoever opened the port asks who is there
period = float(sys.argv[1])
start = time.monotonic()
for n, line in enumerate(lines):
    wait = start + n * period - time.monotonic()
    if wait > 0:
        time.sleep(wait)
    os.write(master, line)
print("written", flush=True)
sys.stdin = None
time.sleep(float(sys.argv[2]))  # keep the port open until it is pulled out
os.close(slave)
"""


@contextlib.contextmanager
def foreign_board(
    lines: list[bytes], *, period_s: float, stays_s: float = 20.0
) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """Start the process; yield the path of its port and the process.

    It prints `written` once all lines are out.
    """
    process = subprocess.Popen(
        [sys.executable, "-c", FOREIGN, str(period_s), str(stays_s)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    path = process.stdout.readline().decode().strip()
    assert Path(path).exists()
    process.stdin.write(b"".join(lines))
    process.stdin.close()
    try:
        yield path, process
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
