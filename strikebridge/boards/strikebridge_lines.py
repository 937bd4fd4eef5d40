"""Decode our own line protocol; firmware_notes/strikebridge-lines.md is its specification.

One sample a line, closed by a checksum, so that a torn or mended line is never taken for a
reading. Where a line feed was lost, whole samples inside the run-together line are still found
by their checksum.
"""

from __future__ import annotations

import re
from binascii import crc_hqx, unhexlify
from typing import TYPE_CHECKING

import numpy as np
from typing_extensions import override

from strikebridge.boards.board_clock import BoardClock
from strikebridge.boards.line_decoder import (
    CONVERTER_HIGH,
    CONVERTER_LOW,
    EDGES,
    LineDecoder,
    flag_converter_ends,
)
from strikebridge.boards.plain_numbers import (
    are_integers,
    have_leading_zeros,
    read_integers,
)
from strikebridge.samples import CountBlock, Flag, Identity

if TYPE_CHECKING:
    from strikebridge.boards.lines import Lines
    from strikebridge.samples import Ints

REQUEST = b"?\n"
"""Asks a board to say what it is."""

CRC_START = 0xFFFF
MOST_CHANNELS = 4
MOST_SEQUENCE = 2**16 - 1
MOST_MICROS = 2**32 - 1
SATURATED = int(Flag.SATURATED)
MANY_LINES = 8  # from so many on it pays to read them all at once
MOST_DIGITS = 10**10 - 1
DIGITS_AND_SIGN = b"0123456789ABCDEFabcdef-"

ANY_SAMPLE = rb"(S,\d{1,5},\d{1,10}(?:,-?\d{1,10}){%s})\*([0-9A-Fa-f]{4})"
LIKE_OURS = re.compile(rb"S,\d+,\d+,.*\*[0-9A-Fa-f]{2,4}")
"""A line of this protocol that was damaged; no other shape may take it for its own."""

IDENTITY = re.compile(
    rb"(I,1,([!-)+-~]*),([!-)+-~]*),([!-)+-~]*),(\d+(?:\.\d+)?)?,(\d+(?:\.\d+)?)?)"
    rb"\*([0-9A-Fa-f]{4})"
)


def checksum(payload: bytes) -> int:
    """Compute the checksum of a line: CRC-16, polynomial 0x1021, start 0xFFFF, no reflection.

    Args:
        payload: the bytes from the first letter to the last before the asterisk.
    """
    return crc_hqx(payload, CRC_START)


def close_line(payload: bytes) -> bytes:
    """Complete a line by its checksum and a line feed."""
    return b"%s*%04X\n" % (payload, checksum(payload))


class StrikebridgeLinesDecoder(LineDecoder):
    """Turn lines of our own protocol into readings.

    A line with a remainder that is no reading counts as unreadable, too.
    """

    def __init__(self) -> None:
        super().__init__("strikebridge-lines")
        self._clock = BoardClock()
        self._sample = re.compile(ANY_SAMPLE % b"1,4")
        self._counted: set[int] = set()  # lines of this feed that need not be counted again

    @staticmethod
    def is_reading(line: bytes) -> bool:
        """Say whether a line can only be one of this protocol."""
        line = line.strip(EDGES)
        match = re.fullmatch(ANY_SAMPLE % b"1,4", line)
        if match is not None:
            return checksum(match[1]) == int(match[2], 16)
        return read_identity(line) is not None

    @override
    def decode(self, lines: Lines) -> list[CountBlock]:
        """Decode whole lines.

        Args:
            lines: in order of arrival.
        """
        if not self.channels:
            self._find_channels(lines.rows)
        if len(lines) == 1 and (match := self._sample.fullmatch(lines.rows[0])) is not None:
            return self._decode_one(match, lines.arrived_us)
        if len(lines) >= MANY_LINES:
            plain = self._read_plain(lines.rows)
            if plain is not None:
                self._is_first = False
                return self._block(plain, lines.arrived_us)
        payloads, sums, places = self._sift(lines.rows)
        self._is_first = False
        if not payloads:
            return []
        numbers = np.fromstring(b",".join([p[2:] for p in payloads]), np.int64, sep=",")
        numbers = numbers.reshape(len(payloads), self.channels + 2)
        told = np.frombuffer(unhexlify(b"".join(sums)), ">u2")
        is_good = told == [crc_hqx(payload, CRC_START) for payload in payloads]
        is_good &= (numbers[:, 0] <= MOST_SEQUENCE) & (numbers[:, 1] <= MOST_MICROS)
        if not is_good.all():
            bad = {place for place, good in zip(places, is_good, strict=True) if not good}
            self.unreadable += len(bad - self._counted)
            numbers = numbers[is_good]
            places = [place for place, good in zip(places, is_good, strict=True) if good]
        arrived_us = lines.arrived_us
        if len(places) != len(lines):
            arrived_us = arrived_us[places]
        return self._block(numbers, arrived_us) if places else []

    def _read_plain(self, rows: list[bytes]) -> Ints | None:
        """Read many lines at once where every one of them is a whole sample, and no more.

        Returns:
            Sequence number, microseconds and counts, shape (n, 2 + channels); None where one
            line is not plainly so, and `_sift` has to look at them one by one.
        """
        if rows[0].endswith(b"\r"):
            rows = [row.removesuffix(b"\r") for row in rows]
        # only the marks that make a line are left, and they have to stand in their order
        marks = b"\n".join(rows).translate(None, DIGITS_AND_SIGN)
        if marks != b"\n".join([b"S" + b"," * (self.channels + 2) + b"*"] * len(rows)):
            return None
        payloads = [row[:-5] for row in rows]
        fields = b",".join(payloads).replace(b"S,", b"")
        if not are_integers(fields) or have_leading_zeros(fields):
            return None
        numbers = read_integers(fields, len(rows))
        is_good = (numbers[:, 0] <= MOST_SEQUENCE) & (numbers[:, 1] <= MOST_MICROS)
        is_good &= (numbers[:, :2] >= 0).all(axis=1) & (abs(numbers) <= MOST_DIGITS).all(axis=1)
        if not is_good.all():
            return None
        try:
            told = np.frombuffer(unhexlify(b"".join([row[-4:] for row in rows])), ">u2")
        except ValueError:
            return None
        sums = [crc_hqx(payload, CRC_START) for payload in payloads]
        return numbers if len(told) == len(rows) and (told == sums).all() else None

    def _decode_one(self, match: re.Match[bytes], arrived_us: Ints) -> list[CountBlock]:
        """Decode a line that came alone, as they do live, at a fraction of the cost."""
        sequence, micros, *counts = map(int, match[1][2:].split(b","))
        is_good = checksum(match[1]) == int(match[2], 16)
        if not is_good or sequence > MOST_SEQUENCE or micros > MOST_MICROS:
            self.unreadable += not self._is_first
            self._is_first = False
            return []
        self._is_first = False
        number, ticks_us, flags = self._clock.feed_one(sequence, micros, int(arrived_us[0]))
        if number < 0:
            return []
        if max(counts) >= CONVERTER_HIGH or min(counts) <= CONVERTER_LOW:
            flags |= SATURATED
        return [
            CountBlock(
                np.array((number,)),
                np.array((counts,), np.float64),
                arrived_us,
                np.array((ticks_us,)),
                np.array((flags,), np.uint16),
            )
        ]

    def _block(self, numbers: Ints, arrived_us: Ints) -> list[CountBlock]:
        """Make readings of rows of sequence number, microseconds and counts."""
        clock = self._clock.feed(numbers[:, 0], numbers[:, 1], arrived_us)
        if not len(clock.number):
            return []
        counts = numbers[:, 2:][clock.kept].astype(np.float64)
        flag_converter_ends(counts, clock.flags)
        arrived_us = arrived_us[clock.kept]
        return [CountBlock(clock.number, counts, arrived_us, clock.ticks_us, clock.flags)]

    def _find_channels(self, rows: list[bytes]) -> None:
        """Learn from the first line with a right checksum how many readings a line has."""
        for row in rows:
            for match in self._sample.finditer(row):
                if checksum(match[1]) == int(match[2], 16):
                    self.channels = match[1].count(b",") - 2
                    self._sample = re.compile(ANY_SAMPLE % (b"%d" % self.channels))
                    return

    def _sift(self, rows: list[bytes]) -> tuple[list[bytes], list[bytes], list[int]]:
        """Find what looks like a sample.

        Returns:
            The samples without checksum; their checksums in hexadecimal; the index of the line
            that each stood in.
        """
        payloads: list[bytes] = []
        sums: list[bytes] = []
        places: list[int] = []
        self._counted = {0} if self._is_first else set()
        fullmatch = self._sample.fullmatch
        for place, row in enumerate(rows):
            match = fullmatch(row) or fullmatch(row.strip(EDGES))
            if match is not None:
                payloads.append(match[1])
                sums.append(match[2])
                places.append(place)
            elif not self._is_other(row.strip(EDGES)):
                for match in self._sample.finditer(row):
                    payloads.append(match[1])
                    sums.append(match[2])
                    places.append(place)
                if place not in self._counted:
                    self._counted.add(place)
                    self.unreadable += 1
        return payloads, sums, places

    def _is_other(self, line: bytes) -> bool:
        """Take in a line that is whole but no sample: empty, a comment, an identity."""
        if not line or line.startswith(b"#"):
            return True
        identity = read_identity(line)
        if identity is None:
            return False
        self.identity = identity
        return True


def read_identity(line: bytes) -> Identity | None:
    """Read an identity line, or see that it is none.

    Args:
        line: with its checksum, without anything at its ends.
    """
    match = IDENTITY.fullmatch(line)
    if match is None or checksum(match[1]) != int(match[7], 16):
        return None
    board, firmware, converter = (match[part].decode("ascii") for part in (2, 3, 4))
    rate_hz = float(match[5]) if match[5] else None
    settling_s = float(match[6]) / 1000.0 if match[6] else None
    return Identity(board, firmware, converter, rate_hz, settling_s)
