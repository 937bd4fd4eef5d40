"""A Bluetooth device of the tests, in words that both stand-ins for the air understand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from tests.boards import radio_devices as air


def long_uuid(uuid: str) -> str:
    """A UUID in full."""
    return f"0000{uuid}-0000-1000-8000-00805f9b34fb" if len(uuid) == 4 else uuid


@dataclass(slots=True)
class Trait:
    """A characteristic.

    Attributes:
        uuid: four digits, or in full.
        properties: of `read`, `write`, `notify`, `indicate`.
        value: what a read gives.
        form: descriptor 0x2904, empty for none.
        allowed: values that may be written; others are refused with 0x13.
        written: what was written.
    """

    uuid: str
    properties: tuple[str, ...]
    value: bytes = b""
    form: bytes = b""
    allowed: tuple[bytes, ...] = ()
    written: list[bytes] = field(default_factory=list)


@dataclass(slots=True)
class Peripheral:
    """A device.

    Attributes:
        address: six bytes with colons.
        name: what it advertises; empty for none.
        services: UUID -> its characteristics.
        advertised: UUIDs of services that it advertises.
        service_data: BTHome data that it advertises, empty for none.
    """

    address: str
    name: str = ""
    services: dict[str, list[Trait]] = field(default_factory=dict)
    advertised: tuple[str, ...] = ()
    service_data: bytes = b""

    def trait(self, uuid: str) -> Trait:
        """The characteristic of that UUID."""
        return next(t for traits in self.services.values() for t in traits if t.uuid == uuid)


class Air(Protocol):
    """A stand-in for everything between bleak and the devices."""

    async def add(self, device: Peripheral) -> None:
        """Switch a device on: it advertises, and may be connected to."""
        ...

    async def advertise(self, device: Peripheral, service_data: bytes) -> None:
        """Have it advertise other BTHome data."""
        ...

    async def say(self, device: Peripheral, uuid: str, payload: bytes) -> None:
        """Have it notify or indicate a value to whoever asked for that."""
        ...

    async def take_away(self, device: Peripheral) -> None:
        """Carry it out of range; a connection breaks."""
        ...

    async def bring_back(self, device: Peripheral) -> None:
        """Bring it back into range."""
        ...

    async def is_listened_to(self, device: Peripheral, uuid: str) -> bool:
        """Say whether anybody asked for its values."""
        ...


def weight_scale(address: str = "C0:5E:00:00:00:01") -> Peripheral:
    """A scale of the standard kind."""
    return Peripheral(
        address,
        "Gym scale",
        {
            air.WEIGHT_SERVICE: [
                Trait(air.WEIGHT, ("indicate",)),
                Trait(air.FEATURE, ("read",), bytes.fromhex("38000000")),
            ],
            air.BATTERY_SERVICE: [Trait(air.BATTERY, ("read",), b"\x0b")],
        },
        (air.WEIGHT_SERVICE,),
    )


def bthome_scale(address: str = "C0:5E:00:00:00:02") -> Peripheral:
    """A scale that advertises."""
    return Peripheral(address, "DIY scale", service_data=air.packet(1, 0.0, battery=80))


def number_device(address: str = "C0:5E:00:00:00:03") -> Peripheral:
    """A device that says what its numbers are."""
    return Peripheral(
        address,
        "Force box",
        {
            air.NUMBER_SERVICE: [
                Trait("6e5a0003-93c1-4e0b-b3a5-0d9f0c5a7e21", ("notify",), form=b"\x01" * 7),
                Trait(air.NUMBER, ("read", "notify"), form=air.NEWTON_TENTHS),
            ]
        },
    )


def stream_board(address: str = "C0:5E:00:00:00:04") -> Peripheral:
    """A board with our own service."""
    return Peripheral(
        address,
        "Wall",
        {
            air.STREAM_SERVICE: [
                Trait(air.STREAM_BLOCK, ("notify",)),
                Trait(air.STREAM_IDENTITY, ("read",), air.IDENTITY),
                Trait(
                    air.STREAM_RATE,
                    ("read", "write"),
                    b"\x50\x00",
                    allowed=(b"\x0a\x00", b"\x50\x00"),
                ),
            ]
        },
        (air.STREAM_SERVICE,),
    )
