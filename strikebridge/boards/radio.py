"""This computer's Bluetooth: the only door to bleak.

Import this module late, since bleak takes a tenth of a second. Whatever bleak and the system
beneath it raise becomes one of our own errors here.
"""

from __future__ import annotations

import asyncio
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bleak import BleakClient, BleakScanner
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData
from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakDeviceNotFoundError,
    BleakError,
    BleakGATTProtocolError,
)

from strikebridge.boards.bthome import SERVICE as BTHOME
from strikebridge.boards.bthome import is_encrypted, read_advertisement
from strikebridge.boards.radio_lines import plain_uuid
from strikebridge.boards.strikebridge_stream import SERVICE as STREAM
from strikebridge.boards.weight_scale import SERVICE as WEIGHT
from strikebridge.errors import (
    BluetoothUnavailableError,
    BoardError,
    BoardNotFoundError,
    NoBluetooth,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bleak.backends.client import BaseBleakClient
    from bleak.backends.scanner import BaseBleakScanner

Device = BLEDevice
Heard = AdvertisementData
Scanner = BleakScanner
Client = BleakClient
Characteristic = BleakGATTCharacteristic
Refusal = BleakGATTProtocolError
"""What the links know of bleak; `Refusal` is a device's own no to a read or a write."""

FIND_WITHIN_S = 5.0
CONNECT_WITHIN_S = 5.0
NO_BLUEZ = "org.freedesktop.DBus.Error.ServiceUnknown"

REASONS: dict[BleakBluetoothNotAvailableReason, NoBluetooth] = {
    BleakBluetoothNotAvailableReason.NO_BLUETOOTH: NoBluetooth.MISSING,
    BleakBluetoothNotAvailableReason.NO_BLE_CENTRAL_ROLE: NoBluetooth.MISSING,
    BleakBluetoothNotAvailableReason.POWERED_OFF: NoBluetooth.OFF,
    BleakBluetoothNotAvailableReason.DENIED_BY_USER: NoBluetooth.FORBIDDEN,
    BleakBluetoothNotAvailableReason.DENIED_BY_SYSTEM: NoBluetooth.FORBIDDEN,
    BleakBluetoothNotAvailableReason.DENIED_BY_UNKNOWN: NoBluetooth.FORBIDDEN,
}
SENTENCES: dict[NoBluetooth, str] = {
    NoBluetooth.MISSING: "This computer has no Bluetooth that can be used; a board on a cable "
    "works without.",
    NoBluetooth.OFF: "Bluetooth is switched off; switch it on in the system's settings and try "
    "again.",
    NoBluetooth.FORBIDDEN: "This program may not use Bluetooth; allow it in the system's "
    "settings and try again.",
    NoBluetooth.UNKNOWN: "Bluetooth does not answer on this computer; switch it off and on, or "
    "use a board on a cable.",
}


@dataclass(slots=True)
class Backends:
    """Which radio bleak is to use; None for the one of this computer."""

    scanner: type[BaseBleakScanner] | None = None
    client: type[BaseBleakClient] | None = None


BACKENDS = Backends()
"""The radio of this program."""


@dataclass(frozen=True, slots=True)
class RadioBoard:
    """A device in radio range.

    Attributes:
        address: address to be used in commands.
        name: what it is, in words a coach understands.
        is_board: True for one that says itself that it can be used.
        strength_dBm: received strength [dBm]; nearer devices have a larger one.
    """

    address: str
    name: str
    is_board: bool
    strength_dBm: int  # noqa: N815 - the symbol of the unit


@contextmanager
def in_plain_words(address: str) -> Iterator[None]:
    """Turn what bleak raises into our own errors.

    Args:
        address: address of the board, as the user wrote it; empty for a search.

    Raises:
        BluetoothUnavailableError: there is no Bluetooth.
        BoardNotFoundError: the device is not there, or does not answer.
        BoardError: anything else went wrong on the way.
    """
    try:
        yield
    except BleakBluetoothNotAvailableError as error:
        raise _unavailable(REASONS.get(error.reason, NoBluetooth.UNKNOWN), address) from error
    except (BleakDeviceNotFoundError, TimeoutError) as error:
        raise _not_found(address) from error
    except BleakDBusError as error:
        if error.dbus_error == NO_BLUEZ:
            raise _unavailable(NoBluetooth.MISSING, address) from error
        raise _refused(address) from error
    except BleakError as error:
        raise _refused(address) from error
    except (OSError, ValueError, EOFError) as error:  # no message bus, or a broken one
        raise _unavailable(NoBluetooth.MISSING, address) from error


def _unavailable(reason: NoBluetooth, address: str) -> BluetoothUnavailableError:
    return BluetoothUnavailableError(SENTENCES[reason], reason=reason, address=address)


def _not_found(address: str) -> BoardNotFoundError:
    return BoardNotFoundError(
        f"{address} does not answer. Switch it on and come nearer, close the app of a phone "
        "that holds it, then try again; 'strikebridge boards' lists what is in range.",
        address=address,
    )


def _refused(address: str) -> BoardError:
    return BoardError(
        f"The Bluetooth connection to {address} failed. Switch the device off and on, come "
        "nearer, and try again.",
        address=address,
    )


def make_scanner(heard: Callable[[Device, Heard], None]) -> Scanner:
    """Make a scanner; it is not started yet.

    Args:
        heard: called on the event loop with every advertisement.
    """
    return Scanner(heard, backend=BACKENDS.scanner)


async def find(device_id: str, address: str) -> Device:
    """Look for a device until it is heard.

    Args:
        device_id: its address as the system writes it.
        address: address of the board, as the user wrote it.

    Raises:
        BoardError: it was not heard, or there is no Bluetooth.
    """
    found: asyncio.Future[Device] = asyncio.get_running_loop().create_future()

    def hear(device: Device, _: Heard) -> None:
        if device.address.lower() == device_id.lower() and not found.done():
            found.set_result(device)

    with in_plain_words(address):
        async with make_scanner(hear):
            return await asyncio.wait_for(found, FIND_WITHIN_S)


def make_client(device: Device, when_lost: Callable[[Client], None]) -> Client:
    """Make a client; it is not connected yet.

    Args:
        device: as it was found.
        when_lost: called on the event loop when the connection has ended.
    """
    return Client(
        device,
        disconnected_callback=when_lost,
        timeout=CONNECT_WITHIN_S,
        backend=BACKENDS.client,
    )


async def list_devices(seconds: float) -> list[RadioBoard]:
    """List the devices in radio range: boards and scales first, then whatever has a name.

    Args:
        seconds: how long to listen [s].

    Raises:
        BluetoothUnavailableError: there is no Bluetooth.
        BoardError: the search failed.
    """
    heard: dict[str, _Found] = {}

    def hear(device: Device, said: Heard) -> None:
        found = heard.setdefault(device.address, _Found(device.address))
        found.hear(said.local_name or device.name, said)

    scanner = make_scanner(hear)
    with in_plain_words("a search"):
        async with scanner:
            await asyncio.sleep(seconds)
    boards = [found.board for found in heard.values() if found.words or found.name]
    return sorted(boards, key=lambda one: (not one.is_board, -one.strength_dBm))


@dataclass(slots=True)
class _Found:
    """What was heard of a device; its name and its services may come in different packets."""

    device_id: str
    scheme: str = "ble"
    name: str = ""
    words: str = ""
    strength_dBm: int = 0  # noqa: N815 - the symbol of the unit

    def hear(self, name: str | None, said: Heard) -> None:
        """Take in one advertisement."""
        self.name = name or self.name
        self.strength_dBm = said.rssi
        services = {plain_uuid(uuid) for uuid in said.service_uuids}
        data = {plain_uuid(uuid): bytes(value) for uuid, value in said.service_data.items()}
        if STREAM in services:
            self.words = "board with strikebridge's own service"
        elif WEIGHT in services:
            self.words = "Bluetooth scale"
        elif BTHOME in data and (words := _describe_bthome(data[BTHOME])):
            self.scheme, self.words = "advert", words

    @property
    def board(self) -> RadioBoard:
        words = self.words or "some Bluetooth device"
        name = f"{self.name}, {words}" if self.name else words
        address = f"{self.scheme}:{self.device_id}"
        return RadioBoard(address, name, bool(self.words), self.strength_dBm)


def _describe_bthome(service_data: bytes) -> str:
    if is_encrypted(service_data):
        return "BTHome device, encrypted: write its key behind the address, ?key=..."
    try:
        said = read_advertisement(service_data)
    except ValueError:
        return ""
    if said.mass_kg is not None or said.mass_lb is not None:
        return "BTHome scale"
    return "BTHome button, for --remote" if said.has_button else ""
