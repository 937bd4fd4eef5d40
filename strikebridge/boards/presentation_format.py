"""Decode any characteristic that describes itself: the descriptor 0x2904, and its readings.

Characteristic Presentation Format, seven bytes, little-endian:

| field | bytes | here |
| --- | --- | --- |
| format | 1 | what kind of number: the table FORMATS |
| exponent | 1, signed | value = number x 10^exponent; for whole numbers only |
| unit | 2 | the table UNITS; any other unit is not for a wall |
| name space, description | 1 + 2 | which of several it is; not looked at |

Source: Bluetooth Core Specification, volume 3, part G, 3.3.3.5, and Bluetooth SIG Assigned
Numbers (formats and units); values from memory. Medical floats (formats 0x16, 0x17) as in
ISO/IEEE 11073-20601.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

from typing_extensions import override

from strikebridge.boards.line_decoder import flag_converter_ends
from strikebridge.boards.reading_count import CountedDecoder
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from strikebridge.boards.radio_lines import RadioLine
    from strikebridge.samples import CountBlock

DESCRIPTOR = "2904"
SIZE = 7

UNITS: dict[int, Quantity] = {
    0x2700: Quantity.COUNT,  # unitless
    0x2702: Quantity.KG,
    0x2705: Quantity.N,
    0x27B8: Quantity.LB,
}
"""Unit of the Bluetooth SIG -> what the numbers are."""

WHOLE: dict[int, tuple[int, bool]] = {
    0x04: (1, False),
    0x06: (2, False),
    0x07: (3, False),
    0x08: (4, False),
    0x09: (6, False),
    0x0C: (1, True),
    0x0E: (2, True),
    0x0F: (3, True),
    0x10: (4, True),
    0x11: (6, True),
}
"""Format of whole numbers -> bytes, and whether they have a sign."""

FLOATS: dict[int, tuple[int, str]] = {0x14: (4, "<f"), 0x15: (8, "<d")}
"""Format of IEEE 754 numbers -> bytes, and how struct calls them."""

MEDICAL: dict[int, tuple[int, int]] = {0x16: (2, 12), 0x17: (4, 24)}
"""Format of medical floats -> bytes, and bits of the mantissa; the rest is the exponent."""


@dataclass(frozen=True, slots=True)
class PresentationFormat:
    """What a descriptor 0x2904 says.

    Attributes:
        format: a key of WHOLE, FLOATS or MEDICAL.
        exponent: power of ten that whole numbers are multiplied with.
        quantity: what the numbers are; unitless ones are counts as long as they are whole.
    """

    format: int
    exponent: int
    quantity: Quantity

    @property
    def size(self) -> int:
        """Bytes of a value."""
        for table in (WHOLE, FLOATS, MEDICAL):
            if self.format in table:
                return table[self.format][0]
        raise ValueError(f"format 0x{self.format:02X}")


def read_format(descriptor: bytes) -> PresentationFormat | None:
    """Decode a descriptor 0x2904.

    Args:
        descriptor: its value.

    Returns:
        The format; None where it is of the wrong length, or the unit is no force, no mass and
        no count, or the numbers are of a kind that is not read here.
    """
    if len(descriptor) != SIZE:
        return None
    kind, exponent, unit = struct.unpack_from("<BbH", descriptor)
    quantity = UNITS.get(unit)
    if quantity is None or not any(kind in table for table in (WHOLE, FLOATS, MEDICAL)):
        return None
    if quantity is Quantity.COUNT and (kind not in WHOLE or exponent < 0):
        quantity = Quantity.UNKNOWN  # a number with decimals is no count of a converter
    return PresentationFormat(kind, exponent, quantity)


def read_value(form: PresentationFormat, payload: bytes) -> float:
    """Decode a value.

    Args:
        form: its format.
        payload: untouched bytes.

    Returns:
        The number; NaN or infinite where a float says so.

    Raises:
        ValueError: it has another length than its format.
    """
    if len(payload) != form.size:
        raise ValueError(f"a value of {len(payload)} bytes in place of {form.size}")
    if form.format in WHOLE:
        number = int.from_bytes(payload, "little", signed=WHOLE[form.format][1])
        # dividing by a whole power of ten is exact to the last digit, multiplying is not
        return (
            number * 10.0**form.exponent
            if form.exponent >= 0
            else number / 10.0**-form.exponent
        )
    if form.format in FLOATS:
        return float(struct.unpack(FLOATS[form.format][1], payload)[0])
    return read_medical_float(payload, MEDICAL[form.format][1])


def read_medical_float(payload: bytes, mantissa_bits: int) -> float:
    """Decode an SFLOAT or FLOAT of ISO/IEEE 11073-20601.

    Args:
        payload: two or four bytes, little-endian.
        mantissa_bits: 12 or 24; the bits above are the exponent. Both are signed.

    Returns:
        The number; NaN for "not a number", "not at this resolution" and the reserved value.
    """
    whole = int.from_bytes(payload, "little", signed=True)
    exponent = whole >> mantissa_bits
    mantissa = whole & ((1 << mantissa_bits) - 1)
    half = 1 << (mantissa_bits - 1)
    if exponent == 0 and half - 2 <= mantissa <= half + 2:
        return {half - 2: math.inf, half + 2: -math.inf}.get(mantissa, math.nan)
    mantissa -= 2 * half if mantissa >= half else 0
    return mantissa * 10.0**exponent if exponent >= 0 else mantissa / 10.0**-exponent


class PresentationFormatDecoder(CountedDecoder):
    """Turn the notifications of a characteristic that describes itself into readings.

    It is taken to sample evenly, as a converter does; the period is found from the arrivals.
    """

    def __init__(self) -> None:
        super().__init__("presentation-format", Quantity.UNKNOWN, is_even=True)
        self._form = b""
        self._format: PresentationFormat | None = None

    @classmethod
    @override
    def is_mine(cls, line: RadioLine) -> bool:
        """Say whether the payload comes with a format that can be read."""
        return read_format(line.form) is not None

    @override
    def take(self, line: RadioLine, arrived_us: int) -> int:
        """Take in one payload; see RadioDecoder."""
        if not line.form:
            return 0
        if line.form != self._form:
            self._change(line.form)
        if self._format is None:
            raise ValueError("a presentation format that is not read here")
        value = read_value(self._format, line.payload)
        if not math.isfinite(value):
            self._readings.miss()
            return 0
        self._readings.add(value, arrived_us)
        return 1

    @override
    def build(self) -> CountBlock | None:
        """Give out the readings; see RadioDecoder."""
        block = super().build()
        if block is not None and self.quantity is Quantity.COUNT:
            flag_converter_ends(block.counts, block.flags)
        return block

    def _change(self, form: bytes) -> None:
        """Take another format; the quantity of a stream cannot change."""
        found = read_format(form)
        if self.channels and found is not None and found.quantity is not self.quantity:
            raise ValueError("another unit in the middle of a stream")
        self._form, self._format = form, found
        if found is not None:
            self.quantity = found.quantity
