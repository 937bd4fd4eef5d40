"""Decode the Weight Scale Service of the Bluetooth SIG: the payloads, and a scale's lines.

Weight Measurement (0x2A9D), little-endian, fields in this order:

| field | bytes | there when | step |
| --- | --- | --- | --- |
| flags | 1 | always | bit 0: pounds; bits 1 to 3: the fields below; the rest reserved |
| weight | 2 | always | 0.005 kg or 0.01 lb; 0xFFFF: the measurement failed |
| time stamp | 7 | flag bit 1 | year (2), month, day, hours, minutes, seconds; 0 = unknown |
| user | 1 | flag bit 2 | 0xFF: unknown user |
| body mass index, height | 2 + 2 | flag bit 3 | 0.1 kg/m2; 0.001 m or 0.1 in |

Source: Bluetooth SIG, Weight Scale Service 1.0.0 (2014-10-21) and its GATT definitions. There
is no sign: such a scale cannot send a pull, and it ends at 327.67 kg.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

from typing_extensions import override

from strikebridge.boards.radio_lines import NOTIFIED, RadioLine
from strikebridge.boards.reading_count import CountedDecoder
from strikebridge.samples import Quantity
from strikebridge.units import POUND_KG

SERVICE = "181D"
MEASUREMENT = "2A9D"
FEATURE = "2A9E"

FAILED = 0xFFFF
UNKNOWN_USER = 0xFF
KG_STEP = 0.005
LB_STEP = 0.01
FEW = 3  # failed measurements in a stream before they are worth a word

SETTLES = (
    "Many such scales send one value when it has settled, and nothing in between: good for how "
    "much, never for how quickly."
)

POUNDS, STAMPED, WITH_USER, WITH_BODY = 1, 2, 4, 8
RESERVED = 0xF0

# Weight Scale Feature, bits 3 to 6
RESOLUTIONS_KG = (None, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005)
RESOLUTIONS_LB = (None, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)


@dataclass(frozen=True, slots=True)
class WeightMeasurement:
    """One value of 0x2A9D.

    Attributes:
        quantity: kg or lb; the unit of `mass`.
        mass: None where the scale says that the measurement failed.
        stamp: year, month, day, hours, minutes, seconds of the scale's clock, 0 where it does
            not know; None where it sent none.
        user: index of the scale's user, None where it sent none or does not know.
        body_mass_index: [kg/m2], None where it sent none.
        height: [m] beside kg, [in] beside lb; None where it sent none.
    """

    quantity: Quantity
    mass: float | None
    stamp: tuple[int, int, int, int, int, int] | None = None
    user: int | None = None
    body_mass_index: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class WeightFeature:
    """The value of 0x2A9E: what a scale can do.

    Attributes:
        has_stamp: it can stamp its measurements.
        has_users: it tells its users apart.
        has_body: it works out the body mass index.
        resolution_kg: its step [kg], None where not specified.
        resolution_lb: its step [lb], None where not specified.
    """

    has_stamp: bool
    has_users: bool
    has_body: bool
    resolution_kg: float | None
    resolution_lb: float | None


def read_measurement(payload: bytes) -> WeightMeasurement:
    """Decode a value of 0x2A9D.

    Args:
        payload: untouched bytes.

    Returns:
        The measurement.

    Raises:
        ValueError: it is shorter than its flags say; or longer, and no reserved flag could
            explain that.
    """
    if not payload:
        raise ValueError("an empty Weight Measurement")
    flags = payload[0]
    size = 3 + 7 * bool(flags & STAMPED) + bool(flags & WITH_USER) + 4 * bool(flags & WITH_BODY)
    if len(payload) < size or (len(payload) > size and not flags & RESERVED):
        raise ValueError(f"a Weight Measurement of {len(payload)} bytes in place of {size}")
    is_lb = bool(flags & POUNDS)
    (raw,) = struct.unpack_from("<H", payload, 1)
    mass = None if raw == FAILED else round(raw * (LB_STEP if is_lb else KG_STEP), 3)
    stamp = user = index = height = None
    at = 3
    if flags & STAMPED:
        stamp = struct.unpack_from("<HBBBBB", payload, at)
        at += 7
    if flags & WITH_USER:
        user = None if payload[at] == UNKNOWN_USER else payload[at]
        at += 1
    if flags & WITH_BODY:
        raw_index, raw_height = struct.unpack_from("<HH", payload, at)
        index = round(raw_index * 0.1, 1)
        height = round(raw_height * (0.1 if is_lb else 0.001), 3)
    quantity = Quantity.LB if is_lb else Quantity.KG
    return WeightMeasurement(quantity, mass, stamp, user, index, height)


def read_feature(payload: bytes) -> WeightFeature:
    """Decode a value of 0x2A9E.

    Args:
        payload: untouched bytes.

    Raises:
        ValueError: it has not four bytes.
    """
    if len(payload) != 4:
        raise ValueError(f"a Weight Scale Feature of {len(payload)} bytes in place of 4")
    bits = int.from_bytes(payload, "little")
    code = bits >> 3 & 0xF
    is_known = code < len(RESOLUTIONS_KG)
    return WeightFeature(
        bool(bits & 1),
        bool(bits & 2),
        bool(bits & 4),
        RESOLUTIONS_KG[code] if is_known else None,
        RESOLUTIONS_LB[code] if is_known else None,
    )


class WeightScaleDecoder(CountedDecoder):
    """Turn what a scale indicates into readings.

    The unit of the first reading is kept; should the scale be switched to the other one, its
    values are converted by the exact pound.

    Attributes:
        feature: what the scale can do, None until it was read.
        failed: measurements that the scale gave up; each is a lost reading.
    """

    def __init__(self) -> None:
        super().__init__("weight-scale", Quantity.KG, is_even=False)
        self.feature: WeightFeature | None = None
        self.failed = 0

    @classmethod
    @override
    def is_mine(cls, line: RadioLine) -> bool:
        """Say whether it is a payload of the Weight Scale Service."""
        return line.uuid in (MEASUREMENT, FEATURE)

    @override
    def take(self, line: RadioLine, arrived_us: int) -> int:
        """Take in one payload; see RadioDecoder."""
        if line.uuid == FEATURE:
            self.feature = read_feature(line.payload)
        if line.uuid != MEASUREMENT or line.kind != NOTIFIED:
            return 0
        measured = read_measurement(line.payload)
        if measured.mass is None:
            self.failed += 1
            self._readings.miss()
            return 0
        if not self.channels:
            self.quantity = measured.quantity
        mass = measured.mass
        if measured.quantity is not self.quantity:
            mass = mass * POUND_KG if self.quantity is Quantity.KG else mass / POUND_KG
        self._readings.add(mass, arrived_us)
        return 1

    @property
    @override
    def remarks(self) -> tuple[str, ...]:
        """What a coach should know of this scale, in whole sentences."""
        remarks = [SETTLES]
        if self.failed >= FEW:
            remarks.append(f"{self.failed} measurements failed: load the scale more evenly.")
        return (*remarks, *super().remarks)
