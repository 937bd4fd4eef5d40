"""A rig with plates that is another process: it writes our lines as the plates it is told.

Nothing in it comes from strikebridge. Its clock runs `FASTER` times as fast as the wall's, and
the lines carry that clock's ticks, so a walk of two minutes takes seconds.
"""

from __future__ import annotations

import contextlib
import subprocess
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

COUNTS_PER_KG = 21_474.8
ZERO = -31_000.0
FASTER = 12.0

FOREIGN = """
import binascii, contextlib, os, random, select, sys, time, tty
path, faster, per_kg, zero, share = sys.argv[1], *map(float, sys.argv[2:6])
draw = random.Random(5)
master = slave = None

def plug():
    global master, slave
    master, slave = os.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)
    os.symlink(os.ttyname(slave), path + ".new")
    os.replace(path + ".new", path)

plug()
print("plugged", flush=True)
kg = felt = crept = 0.0
number, said = 0, b""
start = time.monotonic()
while True:
    while number / 80.0 > (time.monotonic() - start) * faster:
        ready, _, _ = select.select([0], [], [], 0.002)
        if not ready:
            continue
        told = os.read(0, 4096)
        if not told:
            sys.exit()
        for word in (said + told).split(b"\\n")[:-1]:
            if word == b"pull" and master is not None:
                os.close(slave)
                os.close(master)
                master = None
                print("pulled", flush=True)
            elif word == b"plug" and master is None:
                plug()
                print("plugged", flush=True)
            elif word not in (b"pull", b"plug"):
                kg = float(word)
        said = (said + told).split(b"\\n")[-1]
    felt += share * (kg - felt)
    crept += (0.0005 * felt - crept) / (80.0 * 15.0)
    counts = round(zero + per_kg * (felt + crept) + draw.gauss(0.0, 60.0))
    micros = round(number * 1e6 / 80.0) % 2**32
    payload = b"S,%d,%d,%d" % (number % 65536, micros, counts)
    number += 1
    if master is not None:
        line = b"%s*%04X\\n" % (payload, binascii.crc_hqx(payload, 0xFFFF))
        with contextlib.suppress(BlockingIOError, OSError):
            os.write(master, line)
"""


class ForeignRig:
    """Tell the process what lies on the cell, and when the cable is pulled."""

    def __init__(self, path: Path, process: subprocess.Popen[bytes]) -> None:
        self.path = path
        self.process = process

    def say(self, word: str) -> None:
        """Tell it something that it does not answer."""
        assert self.process.stdin is not None
        self.process.stdin.write(f"{word}\n".encode())
        self.process.stdin.flush()

    def put(self, kg: float) -> None:
        """Let so much lie on the cell."""
        self.say(f"{kg}")

    def pull(self) -> None:
        """Pull the cable out."""
        self.say("pull")
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == b"pulled\n"

    def plug(self) -> None:
        """Plug it in again; the port has another number then, behind the same name."""
        self.say("plug")
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == b"plugged\n"


@contextlib.contextmanager
def foreign_rig(
    folder: Path, *, faster: float = FASTER, share: float = 1.0
) -> Iterator[ForeignRig]:
    """Start the process; its port lies in the folder under one name.

    At 1 times the wall's clock it is an athlete's ball, which takes up a `share` of what is
    missing of the load with each reading; a plate is there at once.
    """
    path = folder / "board"
    words = [str(path), str(faster), str(COUNTS_PER_KG), str(ZERO), str(share)]
    process = subprocess.Popen(
        [sys.executable, "-c", FOREIGN, *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        assert process.stdout.readline() == b"plugged\n"
        yield ForeignRig(path, process)
    finally:
        process.kill()
        process.wait()
        path.unlink(missing_ok=True)  # the system gives its number to another board
        process.stdin.close()
        process.stdout.close()
