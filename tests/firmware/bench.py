"""The firmware on a simulated board: built once, started beside modelled converters.

What runs is the image that is flashed. Its serial port is a pseudo-terminal, opened by the
program's own driver.
"""

from __future__ import annotations

import asyncio
import functools
import json
import os
import platform
import re
import subprocess
import tempfile
import time
from binascii import crc_hqx
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

import pytest

import start
from strikebridge.boards.address import open_link
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.errors import BoardLostError
from strikebridge.samples import Chunk

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

SOURCES = Path(__file__).parents[2] / "firmware_notes" / "avr"
DEADLINE_S = 200.0
SAMPLE = re.compile(rb"S,(\d+),(\d+)((?:,-?\d+)+)\*([0-9A-F]{4})")


@functools.cache
def built() -> Path:
    """Compile firmware and simulator, once for all tests of a process.

    Returns:
        The folder of `strikebridge.elf` and `simulator`.
    """
    if platform.system() != "Linux":
        pytest.skip("The simulator of the firmware runs on Linux only.")
    missing = start.missing_firmware_tools()
    if missing and not os.environ.get("CI"):
        pytest.skip(
            "The firmware was not tried. To enable that: sudo apt-get install "
            + " ".join(missing)
        )
    folder = Path(_folder().name)
    done = subprocess.run(
        ["make", "-C", str(SOURCES), f"BUILD={folder}", "all", "simulator"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == "", "a warning is an error"
    return folder


@functools.cache
def _folder() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="strikebridge-firmware-")


def address_of(symbol: str) -> str:
    """Look up where the firmware keeps a variable, in hexadecimal."""
    names = subprocess.run(
        ["avr-nm", str(built() / "strikebridge.elf")],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    found = re.search(rf"^0080([0-9a-f]{{4}}) . {symbol}$", names, re.M)
    assert found is not None, names
    return found[1]


class Board:
    """A simulated board, running in a process of its own.

    Attributes:
        port: path of its serial port.
        log: file of the words that its converters made.
    """

    def __init__(self, folder: Path, rows: Iterable[Sequence[float]], *options: str) -> None:
        """Put the board on the table; it starts when its port is opened.

        Args:
            folder: for its files; made here.
            rows: what the converters get, as the simulator's `--words` wants it, or as
                `--input` does if that word is among the options.
            options: further words for the simulator.
        """
        folder.mkdir()
        self.port, self.log, feed = (folder / name for name in ("port", "words.log", "feed"))
        feed.write_text("\n".join(" ".join(f"{v:.9g}" for v in row) for row in rows) + "\n")
        # one kind of feed comes from a file, the other through standard input
        source = ["--input", str(feed)] if "--input" in options else ["--words", "-"]
        words = [word for word in options if word != "--input"]
        places = ("--link", str(self.port), "--log", str(self.log), *source)
        program = str(built() / "simulator")
        firmware = str(built() / "strikebridge.elf")
        with feed.open(encoding="utf-8") as rows_again:
            self._process = subprocess.Popen(
                [program, "--firmware", firmware, *places, *words],
                stdin=rows_again,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )

    def __enter__(self) -> Self:
        try:
            wait_until(self.port.is_symlink, self._process)
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self.port.unlink(missing_ok=True)  # its number may be another's port next
        self._process.kill()
        self._process.communicate()
        self.port.unlink(missing_ok=True)  # the system gives its number to another board

    def made_s(self) -> float:
        """Simulated time of the last word [s], 0 before the first."""
        rows = self._rows() if self.log.exists() else []
        return float(rows[-1][1]) * 1e-6 if rows else 0.0

    def report(self) -> dict[str, Any]:
        """Wait for its end and give what the simulator saw."""
        out, err = self._process.communicate(timeout=DEADLINE_S)
        assert self._process.returncode == 0, err
        assert err == ""
        document: dict[str, Any] = json.loads(out)
        return document

    def stop(self) -> dict[str, Any]:
        """End it and give what the simulator saw."""
        self._process.terminate()
        return self.report()

    def words(self, cell: int = 1) -> list[int]:
        """What one of the converters has made, in order."""
        return [word for of, _, word in self.made() if of == cell]

    def made(self) -> list[tuple[int, float, int]]:
        """Every word: cell, simulated time [us], word."""
        return [(int(row[0]), float(row[1]), int(row[2])) for row in self._rows() if row[2:]]

    def lines_us(self, what: str) -> list[float]:
        """When lines ended that the board `sent` or `heard`: simulated time [us]."""
        return [float(row[1]) for row in self._rows() if row[0] == what]

    def _rows(self) -> list[list[str]]:
        text = self.log.read_text()
        return [line.split() for line in text[: text.rfind("\n") + 1].splitlines()]


def wait_until(is_so: Callable[[], bool], *processes: subprocess.Popen[str]) -> None:
    """Wait for a condition while processes run."""
    deadline_s = time.monotonic() + DEADLINE_S
    while not is_so():
        assert time.monotonic() < deadline_s
        for process in processes:
            try:
                process.wait(timeout=0.02)
            except subprocess.TimeoutExpired:
                continue
            raise AssertionError(process.communicate())


@dataclass(frozen=True, slots=True)
class Sample:
    """One line of the board."""

    sequence: int
    micros: int
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Played:
    """What a board has said, and what the simulator saw.

    Attributes:
        lines: everything, line by line.
        samples: the lines of samples; read without the program's decoder.
        report: of the simulator.
        board: the board, for its log.
    """

    lines: list[bytes]
    samples: list[Sample]
    report: dict[str, Any]
    board: Board

    @property
    def identities(self) -> list[bytes]:
        """What it said of itself, without checksum."""
        return [line.partition(b"*")[0] for line in self.lines if line.startswith(b"I,")]


async def play(folder: Path, rows: Iterable[Sequence[float]], *options: str) -> Played:
    """Let a board run as fast as it goes, and read all it says through the serial driver.

    Args:
        folder: for its files; made here.
        rows: what its converters get.
        options: words for the simulator.
    """
    with Board(folder, rows, "--pace", "0", *options) as board:
        lines = (await _all_it_says(board)).split(b"\n")
        assert lines.pop() == b""
        return Played(lines, samples_in(lines), board.report(), board)


async def _all_it_says(board: Board) -> bytes:
    link = open_link(f"serial:{board.port}")
    queue = StreamQueue()
    await link.open(queue)
    text = b""
    try:
        async with asyncio.timeout(DEADLINE_S):
            while True:
                for record in await queue.take(timeout_s=1.0) or ():
                    assert isinstance(record, Chunk)
                    text += record.data
    except BoardLostError:
        return text  # the simulator has ended
    finally:
        await link.close()


def samples_in(lines: Sequence[bytes]) -> list[Sample]:
    """Read the samples; every checksum must be right."""
    samples = []
    for line in lines:
        if line.startswith(b"#"):
            continue
        payload, _, told = line.partition(b"*")
        assert crc_hqx(payload, 0xFFFF) == int(told, 16), line
        match = SAMPLE.fullmatch(line)
        if match is not None:
            counts = tuple(map(int, match[3][1:].split(b",")))
            samples.append(Sample(int(match[1]), int(match[2]), counts))
    return samples


def breaches(report: dict[str, Any]) -> list[dict[str, int]]:
    """How often each converter's data sheet was broken."""
    return [converter["breaches"] for converter in report["converters"]]


NONE_BROKEN = {
    "read_while_busy": 0,
    "wrong_pulses": 0,
    "high_too_long": 0,
    "too_quick": 0,
    "cut_by_next_word": 0,
}
