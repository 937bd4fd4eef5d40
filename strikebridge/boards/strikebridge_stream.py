"""Decode our own Bluetooth service; firmware_notes/strikebridge-stream.md is its specification.

A block, little-endian, is one notification:

| bytes | field |
| --- | --- |
| 1 | bits 0 and 1: channels less one; bits 2 to 3: 0; bits 4 to 7: version, 1 |
| 2 | sequence number of the first sample, modulo 65536 |
| 4 | the board's clock at the first sample, microseconds modulo 2^32 |
| 2 | microseconds from each sample to the next; left out where there is one sample only |
| 3 each | counts, signed: sample by sample, in it channel by channel |

The counters are those of the line protocol, and so is what is made of them: lost blocks are
told by the sequence number, the time of a sample by the board's clock.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np
from typing_extensions import override

from strikebridge.boards.board_clock import BoardClock
from strikebridge.boards.line_decoder import flag_converter_ends
from strikebridge.boards.radio_lines import NOTIFIED, READ, RadioDecoder, RadioLine
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.boards.strikebridge_lines import read_identity as read_identity_line
from strikebridge.samples import CountBlock, Identity, Quantity

SERVICE = "3059133B6F3C4470A18C3A1E19BA4B0D"
BLOCK = "3059133C6F3C4470A18C3A1E19BA4B0D"
IDENTITY = "3059133D6F3C4470A18C3A1E19BA4B0D"
RATE = "3059133E6F3C4470A18C3A1E19BA4B0D"

VERSION = 1
COUNT_BYTES = 3
HEAD_BYTES = 7
STEP_BYTES = 2
SEQUENCE_TURN = 2**16
CLOCK_TURN_US = 2**32
SLOWEST_HZ, FASTEST_HZ = 1, 4000


@dataclass(frozen=True, slots=True)
class StreamBlock:
    """One notification taken apart.

    Attributes:
        sequence: sequence number of the first sample, 0 to 65535.
        micros: the board's clock at the first sample, 0 to 2^32 - 1 [us].
        step_us: from each sample to the next [us], 0 where there is one sample only.
        channels: counts a sample, 1 to 4.
        counts: all of them, sample by sample, in it channel by channel.
    """

    sequence: int
    micros: int
    step_us: int
    channels: int
    counts: list[int]


def read_block(payload: bytes) -> StreamBlock:
    """Decode a block.

    Args:
        payload: untouched bytes.

    Raises:
        ValueError: it is of another version, or its length fits no whole number of samples.
    """
    if len(payload) < HEAD_BYTES or payload[0] >> 2 != VERSION << 2:
        raise ValueError("no block of version 1")
    channels = (payload[0] & 3) + 1
    sequence, micros = struct.unpack_from("<HI", payload, 1)
    row = COUNT_BYTES * channels
    at, step_us = HEAD_BYTES, 0
    if len(payload) != HEAD_BYTES + row:
        at += STEP_BYTES
        samples, over = divmod(len(payload) - at, row)
        if over or samples < 2:
            raise ValueError(f"a block of {len(payload)} bytes for {channels} channels")
        (step_us,) = struct.unpack_from("<H", payload, HEAD_BYTES)
    counts = [
        int.from_bytes(payload[i : i + COUNT_BYTES], "little", signed=True)
        for i in range(at, len(payload), COUNT_BYTES)
    ]
    return StreamBlock(sequence, micros, step_us, channels, counts)


def read_identity(payload: bytes) -> Identity:
    """Decode the value of the identity characteristic.

    Args:
        payload: text as in an identity line, without asterisk and checksum.

    Raises:
        ValueError: it is another text.
    """
    identity = read_identity_line(close_line(payload).rstrip())
    if identity is None:
        raise ValueError("no identity of version 1")
    return identity


def write_rate(rate_hz: int) -> bytes:
    """Make the value that asks a board for another rate.

    Args:
        rate_hz: readings a second, 1 to 4000.
    """
    return struct.pack("<H", rate_hz)


class StrikebridgeStreamDecoder(RadioDecoder):
    """Turn blocks of our own service into readings."""

    def __init__(self) -> None:
        super().__init__("strikebridge-stream", Quantity.COUNT)
        self._clock = BoardClock()
        self._blocks: list[tuple[StreamBlock, int]] = []

    @classmethod
    @override
    def is_mine(cls, line: RadioLine) -> bool:
        """Say whether it is a payload of our own service."""
        return line.uuid in (BLOCK, IDENTITY, RATE)

    @override
    def take(self, line: RadioLine, arrived_us: int) -> int:
        """Take in one payload; see RadioDecoder."""
        if (line.kind, line.uuid) == (READ, IDENTITY):
            self.identity = read_identity(line.payload)
        if (line.kind, line.uuid) != (NOTIFIED, BLOCK):
            return 0
        block = read_block(line.payload)
        if self.channels not in (0, block.channels):
            raise ValueError("another number of channels in the middle of a stream")
        self._blocks.append((block, arrived_us))
        return block.channels

    @override
    def build(self) -> CountBlock | None:
        """Give out the readings; see RadioDecoder."""
        if not self._blocks:
            return None
        sequence: list[int] = []
        micros: list[int] = []
        arrived: list[int] = []
        counts: list[int] = []
        for block, arrived_us in self._blocks:
            samples = len(block.counts) // block.channels
            sequence += range(block.sequence, block.sequence + samples)
            micros += [block.micros + i * block.step_us for i in range(samples)]
            arrived += [arrived_us] * samples
            counts += block.counts
        self._blocks = []
        arrivals = np.array(arrived, np.int64)
        clock = self._clock.feed(
            np.array(sequence, np.int64) % SEQUENCE_TURN,
            np.array(micros, np.int64) % CLOCK_TURN_US,
            arrivals,
        )
        if not len(clock.number):
            return None
        rows = np.array(counts, np.float64).reshape(-1, self.channels)[clock.kept]
        flag_converter_ends(rows, clock.flags)
        return CountBlock(clock.number, rows, arrivals[clock.kept], clock.ticks_us, clock.flags)
