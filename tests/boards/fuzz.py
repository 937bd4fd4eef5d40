"""Millions of damaged bytes into every decoder: `python -m tests.boards.fuzz --n 10000000`.

Real captures are cut, repeated, joined, flipped and mixed with noise, and fed in pieces of any
size. For each decoder the table says how many readings came out, and how much the decoder held
at most. The command fails where

* a decoder raised anything,
* a reading came out that no line said, or out of order, or a second time. Of our own lines and
  of those of Bluetooth devices: no line whose checksum a bitwise division finds right and whose
  payload, read a second time by `radio_oracle`, says so. Of any other sketch: no line in which
  all its numbers stand by themselves (no letter or digit glued before them), or no such lines
  one behind the other where a reading is printed on several,
* a decoder held more than `MOST_HELD` bytes.

Each row of the table of boards has `--n` bytes, each sketch a share of them, once through the
finder and once by its description; `--seed` makes other damage.
"""

from __future__ import annotations

import argparse
import json
import pickle
import re
import sys
import time
from collections import deque
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from strikebridge.boards import BOARDS
from strikebridge.boards.address import make_decoder
from strikebridge.samples import Chunk
from tests.boards.radio_oracle import RADIO, RadioOracle
from tests.boards.sketches import SKETCHES, readings, sent

ROOT = Path(__file__).parents[2]
MOST_HELD = 400_000  # 256 lines of 256 bytes, and what Python adds to them
MOST_LINES = 600  # the finder holds lines back: as many are remembered
ROUND = 4000  # bytes damaged at a time
NUMBER = re.compile(rb"(?<![A-Za-z0-9_.])[+-]?[ \t]*(?:\d+(?:[.,]\d*)?|[.,]\d+)")
POINT_NUMBER = re.compile(rb"(?<![A-Za-z0-9_.])[+-]?[ \t]*(?:\d+(?:\.\d*)?|\.\d+)")
OURS = re.compile(rb"(S,\d{1,5},\d{1,10}((?:,-?\d{1,10}){1,4}))\*([0-9A-Fa-f]{4})")


@dataclass
class Row:
    """What was found of one decoder."""

    name: str
    fed: int = 0
    out: int = 0
    held: int = 0
    faults: list[str] = field(default_factory=list)


def captured(shape: str) -> bytes:
    """The text of a capture, without any code of the package."""
    lines = (ROOT / "recordings" / shape / "capture.jsonl").read_bytes().splitlines()[1:]
    return b"".join(json.loads(line).get("text", "").encode() for line in lines)


def bitwise_crc(data: bytes) -> int:
    """CRC-16, polynomial 0x1021, start 0xFFFF, as a division of polynomials."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = ((crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1) & 0xFFFF
    return crc


def damage(text: bytes, chance: np.random.Generator, *, is_fresh: bool = False) -> bytes:
    """Do to a stretch of a capture, its beginning or another, what cables, and worse, do."""
    at = 0 if is_fresh else int(chance.integers(0, max(1, len(text) - ROUND)))
    data = bytearray(text[at : at + ROUND])
    # a board is recognised by its first lines, so they come nearly whole
    for _ in range(int(chance.integers(0, 6 if is_fresh else 60))):
        place = int(chance.integers(0, len(data)))
        kind = int(chance.integers(0, 7))
        size = int(chance.integers(1, 20))
        if kind == 0:
            del data[place : place + size]
        elif kind == 1:
            data[place] ^= 1 << int(chance.integers(0, 8))
        elif kind == 2:
            data[place:place] = data[place : place + size]
        elif kind == 3:
            data[place:place] = chance.bytes(size)
        elif kind == 4:
            data[place : place + 1] = bytes(chance.choice(list(b"\n\r,;. +-*#0:"), 2).tolist())
        elif kind == 5:
            feed = data.find(b"\n", place)
            if feed >= 0:
                del data[feed]
        else:
            data[place:place] = b"HX711 not ready\n"
    return bytes(data)


class Reader(Protocol):
    """Reads a line a second time."""

    def said(self, line: bytes) -> list[tuple[float, ...]]:
        """Give the readings that the line says, in order."""


class Exact:
    """Know which readings the lines fed have said, in order: each comes out once or never."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._tail = b""
        self._said: deque[tuple[float, ...]] = deque(maxlen=MOST_LINES)

    def feed(self, data: bytes) -> None:
        *lines, self._tail = (self._tail + data).split(b"\n")
        for line in lines:
            self._said.extend(self._reader.said(line))

    def end(self) -> None:
        """The decoder takes what it holds for a whole line."""
        self.feed(b"\n")

    def allows(self, row: list[float]) -> bool:
        while self._said:
            if self._said.popleft() == tuple(row):
                return True
        return False


class Loose:
    """Know which numbers stood in each line, in order; a reading comes from `span` of them."""

    def __init__(self, span: int) -> None:
        self._span = span
        self._tail = b""
        self._lines: deque[set[float]] = deque(maxlen=MOST_LINES)

    def feed(self, data: bytes) -> None:
        *lines, self._tail = (self._tail + data).split(b"\n")
        # an empty line or a comment between two that belong together is passed over
        said = (line for line in lines if line.strip(b" \t\r\0")[:1] not in (b"", b"#"))
        self._lines.extend(_numbers(line) for line in said)

    def end(self) -> None:
        """The decoder takes what it holds for a whole line."""
        self.feed(b"\n")

    def allows(self, row: list[float]) -> bool:
        while self._lines:
            here = set().union(*islice(self._lines, self._span))
            self._lines.popleft()
            if here >= set(row):
                return True
        return False


class Ours:
    """Reads our own lines: those whose checksum is right, wherever they stand in the line."""

    def said(self, line: bytes) -> list[tuple[float, ...]]:
        """Give the readings of a line."""
        return [
            tuple(float(text) for text in match[2].split(b",")[1:])
            for match in OURS.finditer(line)
            if bitwise_crc(match[1]) == int(match[3], 16)
        ]


def oracle_of(shape: str) -> Exact | Loose:
    """Choose the oracle of a decoder."""
    if shape == "strikebridge-lines":
        return Exact(Ours())
    if shape in RADIO:
        return Exact(RadioOracle(RADIO[shape], bitwise_crc))
    return Loose(shape.count("<eol>") + 1)


def _numbers(line: bytes) -> set[float]:
    """Numbers that stand by themselves, with their sign and without (a dash, a minus)."""
    found = [*NUMBER.finditer(line), *POINT_NUMBER.finditer(line)]  # a comma may be either
    texts = (match[0].translate(None, b" \t").replace(b",", b".") for match in found)
    values = {float(text) for text in texts}
    return {*values, *(abs(value) for value in values)}


def fuzz(
    name: str, shape: str, text: bytes, n: int, seed: int, spoken: str | None = None
) -> Row:
    """Feed n damaged bytes to a decoder; a fresh one every now and then.

    `spoken` is the shape that the text really has, where the decoder has to find it out.
    """
    chance = np.random.default_rng([seed, len(name)])
    row = Row(name)
    decoder: Any = make_decoder(shape)
    oracle = oracle_of(spoken or shape)
    at_us = 0
    while row.fed < n and not row.faults:
        is_fresh = row.fed == 0 or chance.random() < 0.02
        if is_fresh:
            decoder, oracle = make_decoder(shape), oracle_of(spoken or shape)
        data = damage(text, chance, is_fresh=is_fresh)
        while data and not row.faults:
            size = int(chance.integers(1, 2000))
            piece, data = data[:size], data[size:]
            at_us += int(chance.integers(0, 100_000))
            row.fed += len(piece)
            oracle.feed(piece)
            try:
                blocks = decoder.feed([Chunk("x", at_us, piece)])
                if chance.random() < 0.001:
                    blocks += decoder.finish()
                    oracle.end()
            except Exception as error:  # noqa: BLE001 - whatever it is, it is the finding
                row.faults.append(f"{type(error).__name__}: {error} after {piece[-60:]!r}")
                break
            _check(row, blocks, oracle)
        row.held = max(row.held, len(pickle.dumps(decoder)))
        if row.held > MOST_HELD:
            row.faults.append(f"held {row.held} bytes")
    return row


def _check(row: Row, blocks: list[Any], oracle: Exact | Loose) -> None:
    for block in blocks:
        counts = block.counts.tolist()
        row.out += len(counts)
        for reading in counts:
            if not oracle.allows(reading):
                row.faults.append(f"{reading} was never said")
                return


def campaign(n: int, seed: int) -> list[Row]:
    """Fuzz every row of BOARDS with its capture, then every sketch through the finder."""
    rows = [fuzz(shape, shape, captured(shape), n, seed) for shape in BOARDS]
    return rows + damage_sketches(n, seed)


def damage_sketches(n: int, seed: int) -> list[Row]:
    """Fuzz the finder, and the decoder by each description, with n bytes in all for either."""
    rows, share = [], n // len(SKETCHES)
    for sketch in SKETCHES:
        r = readings(80.0, 30.0, seed)
        text = b"".join(data for _, data in sent(sketch, r))
        rows.append(fuzz(f"auto: {sketch.name}", "auto", text, share, seed, sketch.shape))
        rows.append(fuzz(sketch.shape, sketch.shape, text, share, seed))
    return rows


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--n", type=int, default=1_000_000, help="bytes for each decoder")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(arguments)
    began = time.monotonic()
    rows = campaign(options.n, options.seed)
    print(f"{'decoder':<56}{'bytes':>10}{'readings':>10}{'held':>9}  faults")
    for row in rows:
        print(f"{row.name:<56.56}{row.fed:>10}{row.out:>10}{row.held:>9}  {len(row.faults)}")
    for row in rows:
        for fault in row.faults:
            print(f"{row.name}: {fault}")
    total, faults = sum(row.fed for row in rows), sum(len(row.faults) for row in rows)
    print(f"{total} bytes in {time.monotonic() - began:.0f} s, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
