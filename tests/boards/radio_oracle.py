"""A second reading of what Bluetooth devices send, by no code of the package.

Source of the layouts: Bluetooth SIG, Weight Scale Service 1.0.0; Bluetooth Core Specification,
volume 3, part G, 3.3.3.5 (0x2904), and the SIG's assigned numbers (values from memory);
BTHome's specification, page "Format"; firmware_notes/strikebridge-stream.md.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from fractions import Fraction

LINE = re.compile(
    rb"(B,([nrap]),([0-9A-F]{4}|[0-9A-F]{32}),((?:[0-9A-F]{2})*?)(?:,([0-9A-F]{14}))?)"
    rb"\*([0-9A-Fa-f]{4})"
)
POUND_KG = 0.45359237
STREAM_BLOCK = "3059133C6F3C4470A18C3A1E19BA4B0D"
WHOLE = {4: 1, 6: 2, 7: 3, 8: 4, 9: 6, 12: -1, 14: -2, 15: -3, 16: -4, 17: -6}
"""Kind of a whole number -> its bytes, below 0 where it has a sign."""

Said = Iterator[tuple[float, ...]]
Read = Callable[[str, str, bytes, bytes], Said]


def _small(data: bytes, *, signed: bool = False) -> int:
    return sum(byte << 8 * i for i, byte in enumerate(data)) - (
        1 << 8 * len(data) if signed and data[-1] & 0x80 else 0
    )


def weights(kind: str, uuid: str, payload: bytes, _form: bytes) -> Said:
    """Weight Measurement: the mass in kilograms, and as a scale in pounds would have it."""
    if (kind, uuid) != ("n", "2A9D") or not payload:
        return
    flags = payload[0]
    size = 3 + sum(size for bit, size in ((2, 7), (4, 1), (8, 4)) if flags & bit)
    raw = _small(payload[1:3])
    if len(payload) < size or (len(payload) > size and flags < 16) or raw == 0xFFFF:
        return
    yield (raw / 100 if flags & 1 else raw * 5 / 1000, float(flags & 1))


def masses(kind: str, uuid: str, data: bytes, _form: bytes) -> Said:
    """BTHome: the first mass among objects of one, two, three or more bytes."""
    if kind not in ("a", "p") or uuid != "FCD2" or not data or data[0] & 0xE1 != 0x40:
        return
    at = 1
    while at + 1 < len(data):
        kind_of = data[at]
        if kind_of in (6, 7) and at + 3 <= len(data):
            yield (_small(data[at + 1 : at + 3]) / 100, float(kind_of == 7))
            return
        if kind_of not in (0, 1):
            return
        at += 2


def numbers(_kind: str, _uuid: str, payload: bytes, form: bytes) -> Said:
    """A whole number by its presentation format."""
    if len(form) != 7 or form[0] not in WHOLE or len(payload) != abs(WHOLE[form[0]]):
        return
    exponent = _small(form[1:2], signed=True)
    number = _small(payload, signed=WHOLE[form[0]] < 0)
    yield (float(number * Fraction(10) ** exponent),)


def blocks(kind: str, uuid: str, payload: bytes, _form: bytes) -> Said:
    """A block of our own service: its samples in order."""
    if (kind, uuid) != ("n", STREAM_BLOCK) or len(payload) < 10 or payload[0] & 0xFC != 0x10:
        return
    channels = payload[0] % 4 + 1
    rest = payload[7:] if len(payload) == 7 + 3 * channels else payload[9:]
    if len(rest) % (3 * channels):
        return
    counts = [float(_small(rest[i : i + 3], signed=True)) for i in range(0, len(rest), 3)]
    for i in range(0, len(counts), channels):
        yield tuple(counts[i : i + channels])


RADIO: dict[str, Read] = {
    "weight-scale": weights,
    "bthome": masses,
    "presentation-format": numbers,
    "strikebridge-stream": blocks,
}
"""Shape -> what its payloads say."""
IN_UNITS = (weights, masses)


class RadioOracle:
    """Reads the lines of one kind of device; the first mass says the unit of all."""

    def __init__(self, read: Read, checksum: Callable[[bytes], int]) -> None:
        self._read = read
        self._checksum = checksum
        self._is_lb: bool | None = None

    def said(self, line: bytes) -> list[tuple[float, ...]]:
        """Give the readings of a line, in order; a line is whole or nothing."""
        match = LINE.fullmatch(line.strip(b" \t\r\0"))
        if match is None or self._checksum(match[1]) != int(match[6], 16):
            return []
        payload, form = (bytes.fromhex((match[i] or b"").decode()) for i in (4, 5))
        found = list(self._read(match[2].decode(), match[3].decode(), payload, form))
        return [self._in_unit(*one) for one in found] if self._read in IN_UNITS else found

    def _in_unit(self, mass: float, is_lb: float) -> tuple[float, ...]:
        if self._is_lb is None:
            self._is_lb = bool(is_lb)
        if self._is_lb == bool(is_lb):
            return (mass,)
        return (mass / POUND_KG if self._is_lb else mass * POUND_KG,)
