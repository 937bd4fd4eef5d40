"""Two virtual Bluetooth controllers: real HCI, L2CAP and ATT bytes, and no antenna.

bumble plays both sides. The devices of the tests sit behind one controller each, and bleak
reaches them through a backend whose radio is another controller on the same link.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any, cast

from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.descriptor import BleakGATTDescriptor
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import BleakDeviceNotFoundError, BleakError, BleakGATTProtocolError
from bleak.uuids import normalize_uuid_str
from bumble import att, core, hci
from bumble.controller import Controller
from bumble.core import UUID, AdvertisingData
from bumble.device import Connection, Device, Peer
from bumble.gatt import Characteristic, CharacteristicValue, Descriptor, Service
from bumble.hci import Address
from bumble.host import Host
from bumble.link import LocalLink
from bumble.transport.common import AsyncPipeSink
from typing_extensions import override

from tests.boards import radio_devices as air

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from tests.radio.peripheral import Peripheral, Trait

PROPERTIES = {
    "read": Characteristic.Properties.READ,
    "write": Characteristic.Properties.WRITE,
    "notify": Characteristic.Properties.NOTIFY,
    "indicate": Characteristic.Properties.INDICATE,
}
VALUE_NOT_ALLOWED = 0x13
ADVERTISE_EVERY_MS = 20
SERVICE_LISTS = (
    AdvertisingData.INCOMPLETE_LIST_OF_16_BIT_SERVICE_CLASS_UUIDS,
    AdvertisingData.COMPLETE_LIST_OF_16_BIT_SERVICE_CLASS_UUIDS,
    AdvertisingData.COMPLETE_LIST_OF_128_BIT_SERVICE_CLASS_UUIDS,
)


class VirtualController(Controller):
    """bumble's controller, with the end of a cancelled connection that it leaves out.

    The Core Specification (volume 4, part E, 7.8.13) wants a connection-complete event with the
    status "unknown connection identifier" after a cancel.
    """

    @override
    def on_hci_le_create_connection_cancel_command(self, command: Any) -> Any:
        pending, self.pending_le_connection = self.pending_le_connection, None
        if pending is not None:
            event = hci.HCI_LE_Connection_Complete_Event(
                status=hci.HCI_ErrorCode.UNKNOWN_CONNECTION_IDENTIFIER_ERROR,
                connection_handle=0,
                role=0,
                peer_address_type=0,
                peer_address=pending.peer_address,
                connection_interval=0,
                peripheral_latency=0,
                supervision_timeout=0,
                central_clock_accuracy=0,
            )
            asyncio.get_running_loop().call_soon(self.send_hci_packet, event)
        return super().on_hci_le_create_connection_cancel_command(command)


def _device(link: LocalLink, name: str, address: str) -> Device:
    controller = VirtualController(name, link=link, public_address=address)
    host = Host(controller, AsyncPipeSink(controller))
    return Device(name=name, address=Address(address), host=host)


class VirtualRadio:
    """The air between bleak and the devices; everything lives on the running loop.

    Attributes:
        scanner: backend for BleakScanner.
        client: backend for BleakClient.
        central: the controller that bleak uses.
    """

    @classmethod
    async def create(cls) -> VirtualRadio:
        """Switch the radio on."""
        radio = cls()
        await radio.central.power_on()
        return radio

    def __init__(self) -> None:
        self._link = LocalLink()  # type: ignore[no-untyped-call]  # bumble says no types
        self.central = _device(self._link, "central", "F0:F0:F0:F0:F0:F0")
        self.scanner = type("VirtualScanner", (VirtualScanner,), {"radio": self})
        self.client = type("VirtualClient", (VirtualClient,), {"radio": self})
        self._devices: dict[str, Device] = {}
        self._traits: dict[str, dict[str, Characteristic[bytes]]] = {}

    async def add(self, device: Peripheral) -> None:
        """See Air."""
        own = _device(self._link, device.name or "nameless", device.address)
        self._devices[device.address] = own
        self._traits[device.address] = {}
        for uuid, traits in device.services.items():
            made = [self._trait(device, trait) for trait in traits]
            own.add_service(Service(UUID(uuid), made))
        await own.power_on()
        await self.bring_back(device)

    def _trait(self, device: Peripheral, trait: Trait) -> Characteristic[bytes]:
        properties = Characteristic.Properties(0)
        for word in trait.properties:
            properties |= PROPERTIES[word]
        descriptors = []
        if trait.form:
            form = Descriptor(UUID(air.FORMAT), Descriptor.READABLE, trait.form)
            descriptors.append(form)
        value: Any = trait.value
        if trait.allowed:

            def write(_: Connection, data: bytes) -> None:
                if data not in trait.allowed:
                    raise att.ATT_Error(att.ErrorCode(VALUE_NOT_ALLOWED))
                trait.written.append(bytes(data))
                trait.value = bytes(data)

            value = CharacteristicValue(lambda _: trait.value, write)
        permissions = Characteristic.READABLE | Characteristic.WRITEABLE
        made = Characteristic(UUID(trait.uuid), properties, permissions, value, descriptors)
        self._traits[device.address][trait.uuid] = made
        return made

    async def advertise(self, device: Peripheral, service_data: bytes) -> None:
        """See Air."""
        device.service_data = service_data
        await self._devices[device.address].stop_advertising()
        await self.bring_back(device)

    async def say(self, device: Peripheral, uuid: str, payload: bytes) -> None:
        """See Air."""
        own, trait = self._devices[device.address], self._traits[device.address][uuid]
        if "indicate" in device.trait(uuid).properties:
            await own.indicate_subscribers(trait, payload)
        else:
            await own.notify_subscribers(trait, payload)

    async def take_away(self, device: Peripheral) -> None:
        """See Air."""
        own = self._devices[device.address]
        await own.stop_advertising()
        for connection in list(own.connections.values()):
            await connection.disconnect()

    async def bring_back(self, device: Peripheral) -> None:
        """See Air."""
        parts: list[tuple[int, bytes]] = [(AdvertisingData.FLAGS, b"\x06")]
        for uuid in device.advertised:
            kind = (
                AdvertisingData.COMPLETE_LIST_OF_16_BIT_SERVICE_CLASS_UUIDS
                if len(uuid) == 4
                else AdvertisingData.COMPLETE_LIST_OF_128_BIT_SERVICE_CLASS_UUIDS
            )
            parts.append((kind, bytes(UUID(uuid))))
        if device.service_data:
            data = bytes(UUID(air.BTHOME)) + device.service_data
            parts.append((AdvertisingData.SERVICE_DATA_16_BIT_UUID, data))
        if device.name:  # bumble's controller answers no scan requests
            parts.append((AdvertisingData.COMPLETE_LOCAL_NAME, device.name.encode()))
        await self._devices[device.address].start_advertising(
            advertising_data=bytes(AdvertisingData(parts)),
            advertising_interval_min=ADVERTISE_EVERY_MS,
            advertising_interval_max=ADVERTISE_EVERY_MS,
            auto_restart=True,
        )

    async def is_listened_to(self, device: Peripheral, uuid: str) -> bool:
        """See Air."""
        own, trait = self._devices[device.address], self._traits[device.address][uuid]
        return any(trait.handle in one for one in own.gatt_server.subscribers.values())


def _uuid(uuid: Any) -> str:
    return normalize_uuid_str(uuid.to_hex_str("-"))


class VirtualScanner(BaseBleakScanner):
    """Scan with the central's controller."""

    radio: VirtualRadio

    def __init__(
        self, detection_callback: Any, service_uuids: Any, scanning_mode: str, **_: Any
    ) -> None:
        super().__init__(detection_callback, service_uuids)

    @override
    async def start(self) -> None:
        self.seen_devices = {}
        self.radio.central.on("advertisement", self._hear)
        await self.radio.central.start_scanning(legacy=True, active=True)

    @override
    async def stop(self) -> None:
        self.radio.central.remove_listener("advertisement", self._hear)
        await self.radio.central.stop_scanning(legacy=True)

    def _hear(self, advertisement: Any) -> None:
        data: AdvertisingData = advertisement.data
        address = str(advertisement.address).split("/")[0]
        name: Any = data.get(AdvertisingData.COMPLETE_LOCAL_NAME)
        uuids = [
            _uuid(uuid)
            for kind in SERVICE_LISTS
            for some in data.get_all(kind)
            for uuid in cast("list[UUID]", some)
        ]
        service_data = {
            normalize_uuid_str(f"{int.from_bytes(raw[:2], 'little'):04x}"): bytes(raw[2:])
            for raw in data.get_all(AdvertisingData.SERVICE_DATA_16_BIT_UUID, raw=True)
        }
        said = AdvertisementData(
            local_name=name,
            manufacturer_data={},
            service_data=service_data,
            service_uuids=uuids,
            tx_power=None,
            rssi=advertisement.rssi,
            platform_data=(advertisement,),
        )
        device = self.create_or_update_device(address, address, name, advertisement, said)
        self.call_detection_callbacks(device, said)


class VirtualClient(BaseBleakClient):
    """Connect with the central's controller."""

    radio: VirtualRadio

    def __init__(
        self, address_or_ble_device: Any, services: Any = None, **options: Any
    ) -> None:
        super().__init__(address_or_ble_device, **options)
        self._connection: Connection | None = None

    @property
    @override
    def name(self) -> str:
        return self.address

    @property
    @override
    def mtu_size(self) -> int:
        return 23 if self._connection is None else self._connection.att_mtu

    @property
    @override
    def is_connected(self) -> bool:
        return self._connection is not None

    @override
    async def connect(self, pair: bool, **_: Any) -> None:
        central = self.radio.central
        try:
            self._connection = await central.connect(
                Address(self.address), timeout=self._timeout
            )
        except (core.TimeoutError, TimeoutError) as error:
            raise BleakDeviceNotFoundError(self.address, "it does not answer") from error
        self._connection.on("disconnection", self._gone)
        peer = Peer(self._connection)
        await peer.request_mtu(247)
        await peer.discover_services()
        self.services = await self._table(peer)

    async def _table(self, peer: Peer) -> BleakGATTServiceCollection:
        table = BleakGATTServiceCollection()
        for service in peer.services:
            own = BleakGATTService(service, service.handle, _uuid(service.uuid))
            table.add_service(own)
            await service.discover_characteristics()
            for one in service.characteristics:
                await one.discover_descriptors()
                words: Any = [word for word, bit in PROPERTIES.items() if one.properties & bit]
                trait = BleakGATTCharacteristic(
                    one, one.handle, _uuid(one.uuid), words, lambda: self.mtu_size - 3, own
                )
                table.add_characteristic(trait)
                for each in one.descriptors:
                    descriptor = BleakGATTDescriptor(each, each.handle, _uuid(each.type), trait)
                    table.add_descriptor(descriptor)
        return table

    def _gone(self, _: int) -> None:
        if self._connection is None:
            return
        self._connection = None
        if self._disconnected_callback is not None:
            self._disconnected_callback()

    @override
    async def disconnect(self) -> None:
        if self._connection is not None:
            await self._connection.disconnect()

    async def _ask(self, work: Awaitable[Any]) -> Any:
        if self._connection is None:
            raise BleakError("Not connected")
        try:
            return await work
        except att.ATT_Error as error:
            raise BleakGATTProtocolError(error.error_code) from error

    @override
    async def pair(self, *_: Any, **__: Any) -> None:
        raise NotImplementedError

    @override
    async def unpair(self) -> None:
        raise NotImplementedError

    @override
    async def read_gatt_char(
        self, characteristic: BleakGATTCharacteristic, **_: Any
    ) -> bytearray:
        return bytearray(await self._ask(characteristic.obj.read_value()))

    @override
    async def read_gatt_descriptor(
        self, descriptor: BleakGATTDescriptor, **_: Any
    ) -> bytearray:
        return bytearray(await self._ask(descriptor.obj.read_value()))

    @override
    async def write_gatt_char(
        self, characteristic: BleakGATTCharacteristic, data: Any, response: bool
    ) -> None:
        await self._ask(characteristic.obj.write_value(bytes(data), with_response=response))

    @override
    async def write_gatt_descriptor(self, descriptor: BleakGATTDescriptor, data: Any) -> None:
        await self._ask(descriptor.obj.write_value(bytes(data), with_response=True))

    @override
    async def start_notify(
        self,
        characteristic: BleakGATTCharacteristic,
        callback: Callable[[bytearray], None],
        **_: Any,
    ) -> None:
        def hear(value: bytes) -> None:
            callback(bytearray(value))

        prefers_notify = "notify" in characteristic.properties
        await self._ask(characteristic.obj.subscribe(hear, prefers_notify))

    @override
    async def stop_notify(self, characteristic: BleakGATTCharacteristic) -> None:
        await self._ask(characteristic.obj.unsubscribe())
