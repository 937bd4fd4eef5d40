"""A stand-in for org.bluez on a message bus of its own, for bleak's unmodified BlueZ backend.

It serves one adapter and the devices put on it, as BlueZ's D-Bus interfaces do: discovery,
connections, services, characteristics, descriptors, notifications. It lives on a thread with a
loop of its own, so that whatever runs bleak may have its own loop too. It proves our use of
bleak and bleak's use of D-Bus, not BlueZ.
"""

from __future__ import annotations

import asyncio
import contextlib
import shutil
import subprocess
import tempfile
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bleak.backends.bluezdbus import manager as bleak_manager
from dbus_fast import Message, MessageType, Variant
from dbus_fast.aio import MessageBus

from tests.boards import radio_devices as air
from tests.radio.peripheral import Peripheral, Trait, long_uuid
from tests.running import WITHIN_S

if TYPE_CHECKING:
    from collections.abc import Coroutine, Iterator

CONFIGURATION = """<!DOCTYPE busconfig PUBLIC
 "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>system</type><listen>unix:dir={folder}</listen><auth>EXTERNAL</auth>
  <policy context="default">
    <allow send_destination="*" eavesdrop="true"/><allow eavesdrop="true"/><allow own="*"/>
  </policy>
</busconfig>
"""
OBJECTS = "org.freedesktop.DBus.ObjectManager"
PROPERTIES = "org.freedesktop.DBus.Properties"
ADAPTER, DEVICE = "org.bluez.Adapter1", "org.bluez.Device1"
SERVICE, TRAIT, DESCRIPTOR = (
    f"org.bluez.Gatt{kind}1" for kind in ("Service", "Characteristic", "Descriptor")
)
ADAPTER_PATH = "/org/bluez/hci0"
ADVERTISE_EVERY_S = 0.02
REFUSED = "Operation failed with ATT error: 0x13 (Value Not Allowed)"

Interfaces = dict[str, dict[str, Variant]]


class Bus:
    """A message bus of its own.

    Attributes:
        address: for DBUS_SYSTEM_BUS_ADDRESS.
    """

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="sb"))  # a socket's path must be short
        configuration = self._folder / "bus.conf"
        configuration.write_text(CONFIGURATION.format(folder=self._folder), encoding="utf-8")
        self._daemon = subprocess.Popen(
            ["dbus-daemon", f"--config-file={configuration}", "--nofork", "--print-address=1"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self._daemon.stdout is not None
        self.address = self._daemon.stdout.readline().strip()

    def close(self) -> None:
        """End it."""
        self._daemon.terminate()
        self._daemon.wait()
        assert self._daemon.stdout is not None
        self._daemon.stdout.close()
        shutil.rmtree(self._folder, ignore_errors=True)


class Bluez:
    """The stand-in, a context manager; its methods may be called from any thread or loop.

    Attributes:
        calls: names of the methods that were called, in order.
    """

    def __init__(
        self, address: str, *, has_adapter: bool = True, is_powered: bool = True
    ) -> None:
        """Begin; nothing is on the bus yet.

        Args:
            address: address of the bus.
            has_adapter: False for a computer without Bluetooth.
            is_powered: False where Bluetooth is switched off.
        """
        self._address = address
        self._adapter = (has_adapter, is_powered)
        self._objects: dict[str, Interfaces] = {}
        self._devices: dict[str, Peripheral] = {}
        self._in_range: set[str] = set()
        self._owners: dict[str, Trait] = {}
        self._beat = 0
        self._tasks: set[asyncio.Task[None]] = set()
        self.calls: list[str] = []
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)

    def __enter__(self) -> Bluez:
        self._thread.start()
        self.wait_for(self._begin())
        return self

    def __exit__(self, *_: object) -> None:
        self.wait_for(self._end())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(WITHIN_S)
        self._loop.close()

    def wait_for(self, work: Coroutine[Any, Any, Any]) -> Any:
        """Do something on the stand-in's loop, from a thread without a loop."""
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(WITHIN_S)

    def play(
        self, device: Peripheral, uuid: str, payloads: Iterator[bytes], every_s: float
    ) -> None:
        """Have a device say one payload after the other, whether anybody listens or not."""

        async def go_on() -> None:
            at_s = self._loop.time()
            for payload in payloads:
                await self.a_say(device, uuid, payload)
                at_s += every_s
                await asyncio.sleep(at_s - self._loop.time())

        self._loop.call_soon_threadsafe(self._spawn, go_on())

    async def _do(self, work: Coroutine[Any, Any, Any]) -> Any:
        return await asyncio.wrap_future(asyncio.run_coroutine_threadsafe(work, self._loop))

    async def add(self, device: Peripheral) -> None:
        """See Air."""
        await self._do(self.a_add(device))

    async def advertise(self, device: Peripheral, service_data: bytes) -> None:
        """See Air."""
        await self._do(self.a_advertise(device, service_data))

    async def say(self, device: Peripheral, uuid: str, payload: bytes) -> None:
        """See Air."""
        await self._do(self.a_say(device, uuid, payload))

    async def take_away(self, device: Peripheral) -> None:
        """See Air."""
        await self._do(self.a_take_away(device))

    async def bring_back(self, device: Peripheral) -> None:
        """See Air."""
        await self._do(self.a_bring_back(device))

    async def is_listened_to(self, device: Peripheral, uuid: str) -> bool:
        """See Air."""
        return bool(await self._do(self.a_is_listened_to(device, uuid)))

    async def _begin(self) -> None:
        self._bus = await MessageBus(bus_address=self._address).connect()
        self._bus.add_message_handler(self._answer)
        has_adapter, is_powered = self._adapter
        if has_adapter:
            self._objects[ADAPTER_PATH] = {
                ADAPTER: {
                    "Address": Variant("s", "00:11:22:33:44:55"),
                    "AddressType": Variant("s", "public"),
                    "Name": Variant("s", "stand-in"),
                    "Alias": Variant("s", "stand-in"),
                    "Powered": Variant("b", is_powered),
                    "Discovering": Variant("b", False),
                    "UUIDs": Variant("as", []),
                    "Roles": Variant("as", ["central"]),
                }
            }
        await self._bus.request_name("org.bluez")
        self._spawn(self._advertise_all())

    async def _end(self) -> None:
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        self._bus.disconnect()
        await _until_closed(self._bus)

    def _spawn(self, work: Coroutine[Any, Any, None]) -> None:
        task = self._loop.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _advertise_all(self) -> None:
        """Have every device in range heard, over and over, while somebody searches."""
        while True:
            await asyncio.sleep(ADVERTISE_EVERY_S)
            adapter = self._objects.get(ADAPTER_PATH, {}).get(ADAPTER, {})
            if "Discovering" not in adapter or not adapter["Discovering"].value:
                continue
            self._beat += 1
            for path in self._in_range:
                self._set(path, DEVICE, RSSI=Variant("n", -50 - self._beat % 3))

    async def a_switch(self, *, is_on: bool) -> None:
        """Switch Bluetooth on or off, as one does in the system's settings."""
        self._set(ADAPTER_PATH, ADAPTER, Powered=Variant("b", is_on))
        if not is_on:
            self._set(ADAPTER_PATH, ADAPTER, Discovering=Variant("b", False))

    async def a_add(self, device: Peripheral) -> None:
        """Put a device on the adapter."""
        path = _path(device)
        self._devices[path] = device
        self._in_range.add(path)
        said: dict[str, Variant] = {
            "Address": Variant("s", device.address),
            "AddressType": Variant("s", "public"),
            "Alias": Variant("s", device.name or device.address.replace(":", "-")),
            "Paired": Variant("b", False),
            "Trusted": Variant("b", False),
            "Blocked": Variant("b", False),
            "Connected": Variant("b", False),
            "ServicesResolved": Variant("b", False),
            "Adapter": Variant("o", ADAPTER_PATH),
            "UUIDs": Variant("as", [long_uuid(uuid) for uuid in device.advertised]),
            "RSSI": Variant("n", -50),
        }
        if device.name:
            said["Name"] = Variant("s", device.name)
        if device.service_data:
            said["ServiceData"] = _service_data(device.service_data)
        self._put(path, DEVICE, said)

    async def a_advertise(self, device: Peripheral, service_data: bytes) -> None:
        """Change what it advertises."""
        device.service_data = service_data
        if _path(device) in self._in_range:
            self._set(_path(device), DEVICE, ServiceData=_service_data(service_data))

    async def a_say(self, device: Peripheral, uuid: str, payload: bytes) -> None:
        """Notify or indicate."""
        path = self._trait_path(device, uuid)
        if path is not None and self._objects[path][TRAIT]["Notifying"].value:
            self._set(path, TRAIT, Value=Variant("ay", payload))

    async def a_is_listened_to(self, device: Peripheral, uuid: str) -> bool:
        """Say whether notifications were asked for."""
        path = self._trait_path(device, uuid)
        return path is not None and bool(self._objects[path][TRAIT]["Notifying"].value)

    async def a_take_away(self, device: Peripheral) -> None:
        """Carry it out of range."""
        self._in_range.discard(_path(device))
        self._drop(_path(device))

    async def a_bring_back(self, device: Peripheral) -> None:
        """Bring it back."""
        self._in_range.add(_path(device))

    def _trait_path(self, device: Peripheral, uuid: str) -> str | None:
        wanted = device.trait(uuid)
        prefix = f"{_path(device)}/"
        return next(
            (p for p, t in self._owners.items() if t is wanted and p.startswith(prefix)), None
        )

    def _put(self, path: str, interface: str, properties: dict[str, Variant]) -> None:
        self._objects.setdefault(path, {})[interface] = properties
        self._signal(
            "/", OBJECTS, "InterfacesAdded", "oa{sa{sv}}", path, {interface: properties}
        )

    def _remove(self, path: str) -> None:
        interfaces = list(self._objects.pop(path, {}))
        self._owners.pop(path, None)
        self._signal("/", OBJECTS, "InterfacesRemoved", "oas", path, interfaces)

    def _set(self, path: str, interface: str, **changed: Variant) -> None:
        self._objects[path][interface].update(changed)
        self._signal(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", interface, changed, [])

    def _signal(self, path: str, interface: str, member: str, kind: str, *body: Any) -> None:
        self._bus.send(Message.new_signal(path, interface, member, kind, list(body)))

    def _drop(self, path: str) -> None:
        """End a connection, as BlueZ tells it."""
        if not self._objects[path][DEVICE]["Connected"].value:
            return
        self._set(path, DEVICE, ServicesResolved=Variant("b", False))
        for inner in sorted(
            (p for p in self._objects if p.startswith(f"{path}/")), reverse=True
        ):
            self._remove(inner)
        self._set(path, DEVICE, Connected=Variant("b", False))

    async def _connect(self, message: Message) -> None:
        path = str(message.path)
        if path not in self._in_range:
            error = "br-connection-page-timeout"
            self._bus.send(Message.new_error(message, "org.bluez.Error.Failed", error))
            return
        self._set(path, DEVICE, Connected=Variant("b", True))
        self._bus.send(Message.new_method_return(message))
        handle = 1
        for uuid, traits in self._devices[path].services.items():
            service = f"{path}/service{handle:04x}"
            handle += 1
            self._put(
                service,
                SERVICE,
                {
                    "UUID": Variant("s", long_uuid(uuid)),
                    "Device": Variant("o", path),
                    "Primary": Variant("b", True),
                    "Includes": Variant("ao", []),
                },
            )
            for trait in traits:
                handle = self._put_trait(service, trait, handle)
        self._set(path, DEVICE, ServicesResolved=Variant("b", True))

    def _put_trait(self, service: str, trait: Trait, handle: int) -> int:
        path = f"{service}/char{handle:04x}"
        self._owners[path] = trait
        self._put(
            path,
            TRAIT,
            {
                "UUID": Variant("s", long_uuid(trait.uuid)),
                "Service": Variant("o", service),
                "Value": Variant("ay", b""),
                "Notifying": Variant("b", False),
                "Flags": Variant("as", list(trait.properties)),
                "MTU": Variant("q", 247),
            },
        )
        handle += 2
        for uuid in ["2902"] * bool({"notify", "indicate"} & set(trait.properties)) + (
            [air.FORMAT] if trait.form else []
        ):
            self._put(
                f"{path}/desc{handle:04x}",
                DESCRIPTOR,
                {
                    "UUID": Variant("s", long_uuid(uuid)),
                    "Characteristic": Variant("o", path),
                    "Value": Variant("ay", trait.form if uuid == air.FORMAT else b"\0\0"),
                },
            )
            handle += 1
        return handle

    def _answer(self, message: Message) -> Message | bool | None:
        """Answer a method call."""
        if message.message_type is not MessageType.METHOD_CALL:
            return None
        if message.destination not in ("org.bluez", self._bus.unique_name):
            return None
        self.calls.append(str(message.member))
        if message.member == "GetManagedObjects":
            return Message.new_method_return(message, "a{oa{sa{sv}}}", [self._objects])
        if message.path not in self._objects:
            unknown = "org.freedesktop.DBus.Error.UnknownObject"
            return Message.new_error(message, unknown, "no such object")
        if message.member == "Connect":
            self._spawn(self._connect(message))
            return True
        return self._answer_at_once(message)

    def _answer_at_once(self, message: Message) -> Message:
        member, path = str(message.member), str(message.path)
        if member == "GetAll":
            body = [self._objects[path][str(message.body[0])]]
            return Message.new_method_return(message, "a{sv}", body)
        if member == "ReadValue":
            return Message.new_method_return(message, "ay", [self._value(path)])
        if member == "WriteValue" and not self._write(path, bytes(message.body[0])):
            return Message.new_error(message, "org.bluez.Error.Failed", REFUSED)
        self._do_simple(member, path)
        return Message.new_method_return(message)

    def _do_simple(self, member: str, path: str) -> None:
        if member in ("StartDiscovery", "StopDiscovery"):
            self._set(path, ADAPTER, Discovering=Variant("b", member == "StartDiscovery"))
        elif member in ("StartNotify", "StopNotify"):
            self._set(path, TRAIT, Notifying=Variant("b", member == "StartNotify"))
        elif member == "Disconnect":
            self._drop(path)

    def _value(self, path: str) -> bytes:
        if path in self._owners:
            return self._owners[path].value
        return bytes(self._objects[path][DESCRIPTOR]["Value"].value)

    def _write(self, path: str, data: bytes) -> bool:
        trait = self._owners[path]
        if data not in trait.allowed:
            return False
        trait.written.append(data)
        trait.value = data
        return True


async def hang_up() -> None:
    """Close the connections to the bus that bleak keeps for each loop as long as it lives."""
    while bleak_manager._global_instances:
        loop, manager = bleak_manager._global_instances.popitem()
        bus = manager._bus
        if bus is not None and loop is asyncio.get_running_loop():
            bus.disconnect()
            await _until_closed(bus)
        elif bus is not None:
            with contextlib.suppress(RuntimeError):  # its loop is closed
                bus._finalize(None)


async def _until_closed(bus: MessageBus) -> None:
    await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]  # dbus-fast says no types


def _path(device: Peripheral) -> str:
    return f"{ADAPTER_PATH}/dev_{device.address.replace(':', '_')}"


def _service_data(data: bytes) -> Variant:
    return Variant("a{sv}", {long_uuid(air.BTHOME): Variant("ay", data)})
