"""What Bluetooth devices send, from the published layouts and from no decoder of ours."""

from __future__ import annotations

import math
import struct
from binascii import crc_hqx

WEIGHT_SERVICE, WEIGHT, FEATURE = "181d", "2a9d", "2a9e"
BATTERY_SERVICE, BATTERY = "180f", "2a19"
BTHOME = "fcd2"
STREAM_SERVICE = "3059133b-6f3c-4470-a18c-3a1e19ba4b0d"
STREAM_BLOCK = "3059133c-6f3c-4470-a18c-3a1e19ba4b0d"
STREAM_IDENTITY = "3059133d-6f3c-4470-a18c-3a1e19ba4b0d"
STREAM_RATE = "3059133e-6f3c-4470-a18c-3a1e19ba4b0d"
NUMBER_SERVICE = "6e5a0001-93c1-4e0b-b3a5-0d9f0c5a7e21"
NUMBER = "6e5a0002-93c1-4e0b-b3a5-0d9f0c5a7e21"
FORMAT = "2904"

NEWTON_TENTHS = bytes.fromhex("0EFF0527010000")
"""sint16, exponent -1, newton (0x2705), name space of the Bluetooth SIG."""
PLAIN_COUNTS = bytes.fromhex("0F000027010000")
"""sint24, exponent 0, unitless (0x2700)."""
IDENTITY = b"I,1,wall,1.0,hx711,80,50"


def line(kind: str, uuid: str, payload: bytes, form: bytes = b"") -> bytes:
    """A payload as a link writes it down."""
    short = uuid.replace("-", "").upper()
    text = f"B,{kind},{short},{payload.hex().upper()}"
    text += f",{form.hex().upper()}" if form else ""
    return b"%s*%04X\n" % (text.encode(), crc_hqx(text.encode(), 0xFFFF))


def kilograms(mass_kg: float) -> bytes:
    """A Weight Measurement in kilograms with nothing optional."""
    return struct.pack("<BH", 0, round(mass_kg / 0.005))


def packet(packet_id: int, mass_kg: float, *, battery: int | None = None) -> bytes:
    """Service data of a BTHome scale."""
    objects = bytes([0x00, packet_id % 256])
    objects += b"" if battery is None else bytes([0x01, battery])
    return b"\x40" + objects + b"\x06" + struct.pack("<H", round(mass_kg * 100))


def press(packet_id: int, button: int) -> bytes:
    """Service data of a BTHome button."""
    return bytes([0x44, 0x00, packet_id % 256, 0x3A, button])


def block(sequence: int, micros: int, rows: list[list[int]], step_us: int = 12_500) -> bytes:
    """A block of our own service."""
    head = struct.pack("<BHI", 0x10 | len(rows[0]) - 1, sequence % 2**16, micros % 2**32)
    step = struct.pack("<H", step_us) if len(rows) > 1 else b""
    counts = b"".join(struct.pack("<i", count)[:3] for row in rows for count in row)
    return head + step + counts


def punch_kg(time_s: float) -> float:
    """A hold of about 50 kg from 4.0 to 7.5 s."""
    rise = 1.0 - math.exp(-max(0.0, time_s - 4.0) / 0.12)
    fall = 1.0 if time_s < 7.5 else math.exp(-(time_s - 7.5) / 0.05)
    return 50.0 * rise * fall + 0.3 * math.sin(17.0 * time_s) * (
        1.0 if 4.0 < time_s < 7.5 else 0
    )
