"""A foreign process that plays a board: timestamped lines into a pseudo-terminal.

    python -m tests.benchmarks.line_writer RATE_HZ SECONDS

It prints the path of the port, waits for one byte on stdin, writes one line of our own
protocol at each instant of its rate, and prints the instant of each write [ns, monotonic clock,
which all processes of the machine share] as JSON. Closing stdin ends it early. It uses none of
our code.
"""

from __future__ import annotations

import binascii
import json
import math
import os
import random
import select
import sys
import time

if sys.platform != "win32":
    import tty

REST_S = 1.5  # quiet first, so that a zero can be found
COUNTS_PER_N = 100.0
LEVEL_N = 640.0
SWAY_N = 40.0


def line_of(sequence: int, rate_hz: float, noise: random.Random) -> bytes:
    """Write one reading: rest, then a push held for ever that sways about its level."""
    at_s = sequence / rate_hz
    force_N = noise.gauss(0.0, 1.0)
    if at_s > REST_S:
        risen = 1.0 - math.exp(-(at_s - REST_S) / 0.05)
        force_N += risen * (LEVEL_N + SWAY_N * math.sin(8.0 * at_s))
    ticks_us = round(sequence * 1e6 / rate_hz) % 2**32
    payload = f"S,{sequence % 65536},{ticks_us},{round(force_N * COUNTS_PER_N)}"
    check = binascii.crc_hqx(payload.encode(), 0xFFFF)
    return f"{payload}*{check:04X}\n".encode()


if sys.platform == "win32":

    def open_port() -> int:
        raise SystemExit("Windows has no pseudo-terminals.")

else:

    def open_port() -> int:
        """Open a pseudo-terminal, print its path, and give the end to write to."""
        here, there = os.openpty()
        tty.setraw(here)
        tty.setraw(there)
        print(os.ttyname(there), flush=True)
        return here


def write_lines(rate_hz: float, seconds: float) -> list[int]:
    """Write lines until the time is over or stdin is closed.

    Args:
        rate_hz: lines a second [1/s].
        seconds: how long [s].

    Returns:
        The instant of each write [ns].
    """
    here = open_port()
    os.read(sys.stdin.fileno(), 1)  # unbuffered, so that select sees what is left
    noise = random.Random(1)
    period_ns = 1e9 / rate_hz
    lines = [line_of(index, rate_hz, noise) for index in range(round(seconds * rate_hz))]
    written_ns: list[int] = []
    start_ns = time.monotonic_ns()
    for index, line in enumerate(lines):
        left_s = (start_ns + index * period_ns - time.monotonic_ns()) * 1e-9
        if left_s > 0.0 and select.select([sys.stdin], [], [], left_s)[0]:
            break
        written_ns.append(time.monotonic_ns())
        os.write(here, line)
    return written_ns


def main() -> None:
    """Play the board that the command line asks for."""
    written_ns = write_lines(float(sys.argv[1]), float(sys.argv[2]))
    print(json.dumps(written_ns), flush=True)
    # the port stays until the reader has let go of it
    os.read(sys.stdin.fileno(), 1)


if __name__ == "__main__":
    main()
