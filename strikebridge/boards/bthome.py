"""Decode BTHome v2, an open format of advertisements: mass, packet id, battery, button.

The service data of UUID 0xFCD2 are a device-info byte (bit 0: encrypted; bits 5 to 7: version),
then objects, each an id and a value, little-endian, in rising order of their ids. A receiver
stops at the first id that it does not know. A device says the same many times over; the packet
id rises with every new content, so that repetitions can be told from news.

Encrypted, the objects are closed by AES-CCM: ciphertext, counter (4 bytes), tag (4 bytes). The
nonce is the device's address, the UUID as sent, the device-info byte and the counter.

Source: the BTHome project's specification, pages "Format" and "Encryption" (state of
2026-04-30). There is no force among its objects, so a load cell speaks of mass.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

SERVICE = "FCD2"
UUID_BYTES = bytes.fromhex("D2FC")

ENCRYPTED = 0x01
VERSION = 2
TAG_BYTES = 4
COUNTER_BYTES = 4
KEY_BYTES = 16
ADDRESS_BYTES = 6

PACKET_ID, BATTERY, MASS_KG, MASS_LB, BUTTON = 0x00, 0x01, 0x06, 0x07, 0x3A
MASS_STEP = 0.01

_BYTES_OF_OBJECTS = (
    (1, (0x00, 0x01, 0x09, 0x0F, 0x10, 0x11, *range(0x15, 0x30), 0x3A, 0x46, 0x57, 0x58, 0x59)),
    (1, (0x60,)),
    (2, (0x02, 0x03, 0x06, 0x07, 0x08, 0x0C, 0x0D, 0x0E, 0x12, 0x13, 0x14, 0x3C, 0x3D, 0x3F)),
    (2, (0x40, 0x41, 0x43, 0x44, 0x45, 0x47, 0x48, 0x49, 0x4A, 0x51, 0x52, 0x56, 0x5A, 0x5D)),
    (2, (0x5E, 0x5F, 0xF0)),
    (3, (0x04, 0x05, 0x0A, 0x0B, 0x42, 0x4B, 0xF2)),
    (4, (0x3E, 0x4C, 0x4D, 0x4E, 0x4F, 0x50, 0x55, 0x5B, 0x5C, 0xF1)),
)
SIZES: dict[int, int] = {
    object_id: size for size, object_ids in _BYTES_OF_OBJECTS for object_id in object_ids
}
"""Id of an object -> bytes of its value."""

WITH_LENGTH = (0x53, 0x54)
"""Objects (text, raw) whose value begins with its length."""


class Press(IntEnum):
    """What was done to a button."""

    PRESS = 0x01
    DOUBLE = 0x02
    TRIPLE = 0x03
    LONG = 0x04
    LONG_DOUBLE = 0x05
    LONG_TRIPLE = 0x06
    HOLD = 0x80


PRESSES: dict[int, Press] = {press.value: press for press in Press}


@dataclass(frozen=True, slots=True)
class Advertisement:
    """What one advertisement says, as far as it is of use here.

    Attributes:
        packet_id: 0 to 255, None where it sent none.
        battery_percent: charge [%], None where it sent none.
        mass_kg: first mass in kilograms, None where it sent none.
        mass_lb: first mass in pounds, None where it sent none.
        press: what was done to the first button that was touched, None for nothing.
        has_button: True for a device with a button, touched or not.
    """

    packet_id: int | None = None
    battery_percent: int | None = None
    mass_kg: float | None = None
    mass_lb: float | None = None
    press: Press | None = None
    has_button: bool = False


def is_encrypted(service_data: bytes) -> bool:
    """Say whether service data are encrypted."""
    return bool(service_data) and bool(service_data[0] & ENCRYPTED)


def read_objects(service_data: bytes) -> list[tuple[int, bytes]]:
    """Take the objects of plain service data apart.

    Args:
        service_data: without the UUID; the first byte is the device-info.

    Returns:
        Ids and values, up to the first id that is not known.

    Raises:
        ValueError: it is of another version, encrypted, or ends within an object.
    """
    if not service_data or service_data[0] >> 5 != VERSION:
        raise ValueError("no BTHome v2")
    if is_encrypted(service_data):
        raise ValueError("encrypted")
    objects: list[tuple[int, bytes]] = []
    at = 1
    while at < len(service_data):
        object_id = service_data[at]
        at += 1
        size = SIZES.get(object_id)
        if object_id in WITH_LENGTH and at < len(service_data):
            size = service_data[at]
            at += 1
        if size is None:
            break
        if at + size > len(service_data):
            raise ValueError("it ends within an object")
        objects.append((object_id, service_data[at : at + size]))
        at += size
    return objects


def read_advertisement(service_data: bytes) -> Advertisement:
    """Read what plain service data say.

    Args:
        service_data: without the UUID; the first byte is the device-info.

    Raises:
        ValueError: it is of another version, encrypted, or ends within an object.
    """
    found: dict[int, int] = {}
    for object_id, value in read_objects(service_data):
        number = int.from_bytes(value, "little")
        # a device with several buttons says "nothing" of those that were left alone
        if object_id not in found or (object_id == BUTTON and not found[BUTTON]):
            found[object_id] = number
    kg, lb, press = found.get(MASS_KG), found.get(MASS_LB), found.get(BUTTON)
    return Advertisement(
        found.get(PACKET_ID),
        found.get(BATTERY),
        None if kg is None else round(kg * MASS_STEP, 2),
        None if lb is None else round(lb * MASS_STEP, 2),
        None if press is None else PRESSES.get(press),
        press is not None,
    )


def counter_of(service_data: bytes) -> int:
    """Read the counter of encrypted service data.

    Raises:
        ValueError: they are too short for one.
    """
    if len(service_data) < 1 + COUNTER_BYTES + TAG_BYTES:
        raise ValueError("too short to be encrypted")
    return int.from_bytes(service_data[-COUNTER_BYTES - TAG_BYTES : -TAG_BYTES], "little")


def decrypt(service_data: bytes, key: bytes, address: bytes) -> bytes | None:
    """Take the encryption off.

    Args:
        service_data: without the UUID; the first byte is the device-info.
        key: 16 bytes.
        address: the device's address, 6 bytes, as it is written.

    Returns:
        Plain service data, the device-info byte saying so; None where the tag does not fit,
        because of a wrong key or a forged or damaged payload.

    Raises:
        ValueError: they are too short to be encrypted.
    """
    from cryptography.exceptions import InvalidTag  # noqa: PLC0415 - only where it is needed
    from cryptography.hazmat.primitives.ciphers.aead import AESCCM  # noqa: PLC0415 - likewise

    counter_of(service_data)
    info, sealed = service_data[:1], service_data[1 : -COUNTER_BYTES - TAG_BYTES]
    counter, tag = (
        service_data[-COUNTER_BYTES - TAG_BYTES : -TAG_BYTES],
        service_data[-TAG_BYTES:],
    )
    nonce = address + UUID_BYTES + info + counter
    try:
        plain = AESCCM(key, tag_length=TAG_BYTES).decrypt(nonce, sealed + tag, None)
    except InvalidTag:
        return None
    return bytes([info[0] & ~ENCRYPTED]) + plain
