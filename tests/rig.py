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
import binascii, os, random, select, sys, time, tty
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
    print("plugged", flush=True)

def pull():
    global master, slave
    # the name goes first: another's port may get the number that it leads to
    os.unlink(path)
    os.close(slave)
    os.close(master)
    master = slave = None
    print("pulled", flush=True)

kg = felt = crept = 0.0
said = b""

def hear(within_s):
    global kg, said
    if not select.select([0], [], [], within_s)[0]:
        return
    told = os.read(0, 4096)
    if not told:
        sys.exit()
    *words, said = (said + told).split(b"\\n")
    for word in words:
        if word == b"pull":
            pull()
        elif word == b"plug":
            plug()
        else:
            kg = float(word)

def give(line):
    global start
    # a reader that lags behind stops the clock: no line is lost, and none is late
    since = time.monotonic()
    while master is not None and line:
        if select.select([], [master], [], 0.002)[1]:
            line = line[os.write(master, line):]
        else:
            hear(0.0)
    start += time.monotonic() - since

plug()
number = 0
start = time.monotonic()
while True:
    hear(0.0)
    while (early_s := start + number / (80.0 * faster) - time.monotonic()) > 0.0:
        hear(early_s)
    felt += share * (kg - felt)
    crept += (0.0005 * felt - crept) / (80.0 * 15.0)
    counts = round(zero + per_kg * (felt + crept) + draw.gauss(0.0, 60.0))
    micros = round(number * 1e6 / 80.0) % 2**32
    payload = b"S,%d,%d,%d" % (number % 65536, micros, counts)
    number += 1
    give(b"%s*%04X\\n" % (payload, binascii.crc_hqx(payload, 0xFFFF)))
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
