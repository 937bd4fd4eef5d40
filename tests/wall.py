"""A board that is another process: it writes our lines into a pseudo-terminal of its own."""

from __future__ import annotations

import contextlib
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

FOREIGN = """
import os, sys, time, tty
master, slave = os.openpty()
tty.setraw(slave)
print(os.ttyname(slave), flush=True)
lines = sys.stdin.buffer.read(int(sys.argv[2])).splitlines(keepends=True)
os.read(master, 1)            # whoever opened the port asks who is there
period = float(sys.argv[1])
start = time.monotonic()
for n, line in enumerate(lines):
    wait = start + n * period - time.monotonic()
    if wait > 0:
        time.sleep(wait)
    os.write(master, line)
print("written", flush=True)
sys.stdin.buffer.read()       # the port stays open until it is pulled out
"""


class ForeignBoard(NamedTuple):
    """A board in a process of its own.

    path: of its port; process: it prints `written` once all lines are out.
    """

    path: str
    process: subprocess.Popen[bytes]

    def wait_until_written(self) -> None:
        """Wait until all lines are out."""
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == b"written\n"

    def pull(self) -> None:
        """Pull the plug: what nobody has read by now is lost with the port."""
        self.process.kill()
        self.process.wait()


@contextlib.contextmanager
def foreign_board(lines: list[bytes], *, period_s: float) -> Iterator[ForeignBoard]:
    """Start the process, and end it afterwards."""
    text = b"".join(lines)
    process = subprocess.Popen(
        [sys.executable, "-c", FOREIGN, str(period_s), str(len(text))],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        path = process.stdout.readline().decode().strip()
        assert Path(path).exists()
        process.stdin.write(text)
        process.stdin.flush()
        yield ForeignBoard(path, process)
    finally:
        process.kill()
        process.wait()
        process.stdin.close()
        process.stdout.close()
