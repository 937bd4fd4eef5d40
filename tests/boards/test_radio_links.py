"""The way to Bluetooth devices, through the real bleak, against two stand-ins for the air.

(a) bleak's unmodified BlueZ backend on a message bus of its own; (b) virtual controllers with
real HCI, L2CAP and ATT bytes. Every test here runs over both.
"""

from __future__ import annotations

import asyncio
import sys
from typing import TYPE_CHECKING, Any

import pytest

from strikebridge.boards import advert_link, radio
from strikebridge.boards.address import make_decoder, open_link, open_remote
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.errors import (
    AddressError,
    BluetoothUnavailableError,
    BoardError,
    BoardLostError,
    BoardNotFoundError,
    NoBluetooth,
)
from strikebridge.samples import Event
from tests.boards import radio_devices as air
from tests.radio.peripheral import (
    Air,
    Peripheral,
    Trait,
    bthome_scale,
    number_device,
    stream_board,
    weight_scale,
)
from tests.radio.virtual_radio import VirtualRadio
from tests.running import WITHIN_S

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

if TYPE_CHECKING or sys.platform == "linux":
    from tests.radio.bluez import Bluez, Bus, hang_up

pytestmark = pytest.mark.ble_virtual


on_linux = pytest.mark.skipif(
    sys.platform != "linux", reason="bleak speaks to BlueZ's message bus on Linux only"
)


@pytest.fixture(params=[pytest.param("bluez", marks=on_linux), "controllers"])
async def around(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> AsyncIterator[Air]:
    monkeypatch.setattr(radio, "FIND_WITHIN_S", WITHIN_S)
    monkeypatch.setattr(radio, "CONNECT_WITHIN_S", WITHIN_S)
    if request.param == "bluez":
        bus = request.getfixturevalue("bus")
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
        with Bluez(bus.address) as bluez:
            yield bluez
            await hang_up()
        return
    virtual = await VirtualRadio.create()
    monkeypatch.setattr(radio.BACKENDS, "scanner", virtual.scanner)
    monkeypatch.setattr(radio.BACKENDS, "client", virtual.client)
    yield virtual


class Ear:
    """Takes what a link delivers, and decodes it."""

    def __init__(self) -> None:
        self.queue = StreamQueue()
        self.decoder = make_decoder()
        self.values: list[float] = []
        self.lines: list[str] = []
        self.events: list[Event] = []

    async def until(self, is_enough: Callable[[], bool]) -> None:
        async with asyncio.timeout(WITHIN_S):
            while not is_enough():
                for record in await self.queue.take(timeout_s=0.05) or []:
                    if isinstance(record, Event):
                        self.events.append(record)
                        continue
                    self.lines.append(record.data.decode())
                    for block in self.decoder.feed([record]):
                        self.values += block.counts[:, 0].tolist()


async def lost(queue: StreamQueue) -> BoardLostError:
    """Wait for the loss of the board; what was under way comes before it."""
    async with asyncio.timeout(WITHIN_S):
        while True:
            try:
                await queue.take(timeout_s=0.05)
            except BoardLostError as error:
                return error


KINDS: dict[str, tuple[Callable[[], Peripheral], str, Callable[[int], tuple[bytes, float]]]] = {
    "weight-scale": (
        weight_scale,
        air.WEIGHT,
        lambda i: (air.kilograms(20.0 + i), 20.0 + i),
    ),
    "presentation-format": (
        number_device,
        air.NUMBER,
        lambda i: ((100 + i).to_bytes(2, "little"), (100 + i) / 10.0),
    ),
    "strikebridge-stream": (
        stream_board,
        air.STREAM_BLOCK,
        lambda i: (air.block(i, 12_500 * i, [[84_000 + i]]), 84_000.0 + i),
    ),
}


@pytest.fixture(params=KINDS)
def kind(request: pytest.FixtureRequest) -> str:
    return str(request.param)


async def test_listens_loses_and_finds_again(
    around: Air, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    make, uuid, saying = KINDS[kind]
    device = make()
    await around.add(device)
    link = open_link(f"ble:{device.address}")
    ear = Ear()
    await link.open(ear.queue)
    for i in range(20):
        await around.say(device, uuid, saying(i)[0])
    await ear.until(lambda: len(ear.values) >= 20)
    assert ear.values == [saying(i)[1] for i in range(20)]
    assert ear.decoder.shape == kind
    assert ear.decoder.unreadable == 0
    payload = saying(0)[0].hex().upper()
    assert any(f",{payload}" in line for line in ear.lines)

    await around.take_away(device)
    error = await lost(ear.queue)
    assert link.address in str(error)
    await link.close()
    with monkeypatch.context() as shortly:
        shortly.setattr(radio, "FIND_WITHIN_S", 1.0)
        shortly.setattr(radio, "CONNECT_WITHIN_S", 1.0)
        with pytest.raises(BoardNotFoundError, match="does not answer"):
            await link.open(ear.queue)
    await link.close()

    await around.bring_back(device)
    await link.open(ear.queue)
    for i in range(20, 25):
        await around.say(device, uuid, saying(i)[0])
    await ear.until(lambda: len(ear.values) >= 25)
    assert ear.values[20:] == [saying(i)[1] for i in range(20, 25)]
    await link.close()
    await link.close()


async def test_advertisements_come_go_and_come_again(around: Air) -> None:
    device = bthome_scale()
    await around.add(device)
    link = open_link(f"advert:{device.address}")
    ear = Ear()
    await link.open(ear.queue)
    await ear.until(lambda: ear.values == [0.0])
    for i in range(2, 7):
        await around.advertise(device, air.packet(i, float(i)))
        await ear.until(lambda i=i: ear.values[-1:] == [float(i)])  # type: ignore[misc]
    await around.take_away(device)
    await around.bring_back(device)
    await around.advertise(device, air.packet(9, 9.0))
    await ear.until(lambda: ear.values[-1:] == [9.0])
    assert ear.values == [0.0, 2.0, 3.0, 4.0, 5.0, 6.0, 9.0]
    assert ear.decoder.shape == "bthome"
    await link.close()
    await link.close()
    await link.open(ear.queue)
    await around.advertise(device, air.packet(10, 10.0))
    await ear.until(lambda: ear.values[-1:] == [10.0])
    await link.close()


async def test_search_begins_anew_where_it_went_silent(
    around: Air, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(advert_link, "LISTEN_ANEW_S", 0.05)
    made: list[radio.Scanner] = []
    make = radio.make_scanner

    def note(heard: Any) -> radio.Scanner:
        made.append(make(heard))
        return made[-1]

    monkeypatch.setattr(radio, "make_scanner", note)
    device = bthome_scale()
    link = open_link(f"advert:{device.address}")
    ear = Ear()
    await link.open(ear.queue)
    await ear.until(lambda: len(made) >= 3)
    await around.add(device)
    await ear.until(lambda: ear.values == [0.0])
    await link.close()


@on_linux
async def test_bluetooth_switched_off_under_a_search(
    bus: Bus, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
    monkeypatch.setattr(advert_link, "LISTEN_ANEW_S", 0.05)
    puck = Peripheral("C0:5E:00:00:00:06", service_data=air.press(1, 0))
    with Bluez(bus.address) as bluez:
        scale, remote = (
            open_link("advert:C0:5E:00:00:00:02"),
            open_remote(f"advert:{puck.address}"),
        )
        ear, own = Ear(), StreamQueue()
        await scale.open(own)
        await remote.open(ear.queue)
        bluez.wait_for(bluez.a_switch(is_on=False))
        assert "switched off" in str(await lost(own))
        # the remote is heard again as soon as there is Bluetooth again, and never ends a stream
        bluez.wait_for(bluez.a_switch(is_on=True))
        bluez.wait_for(bluez.a_add(puck))
        bluez.wait_for(bluez.a_advertise(puck, air.press(2, 1)))
        await ear.until(lambda: bool(ear.events))
        assert ear.events[0].detail == {"key": "go"}
        assert not ear.lines
        await remote.close()
        await scale.close()
        await hang_up()


async def test_advertisements_that_cannot_be_read_are_kept(around: Air) -> None:
    key = "231d39c1d7cc1ab1aee224cd096db932"
    device = Peripheral("C0:5E:00:00:00:08", "odd", service_data=b"\x41\x01")
    await around.add(device)
    link = open_link(f"advert:{device.address}?key={key}")
    ear = Ear()
    await link.open(ear.queue)
    await ear.until(lambda: bool(ear.lines))
    await around.advertise(device, b"\x20\x01")
    await ear.until(lambda: "FCD2,2001" in ear.lines[-1])
    await link.close()
    assert not ear.values
    assert not ear.events


async def test_encrypted_advertisements(around: Air) -> None:
    # the published example of the specification's page "Encryption", of the device 54:48:...
    sealed = bytes.fromhex("41E445F3C9962B332211006C7C4519")
    device = Peripheral("54:48:E6:8F:80:A5", "sealed", service_data=sealed)
    await around.add(device)
    link = open_link(f"advert:{device.address}?key=231d39c1d7cc1ab1aee224cd096db932")
    assert "231d" not in link.address
    ear = Ear()
    await link.open(ear.queue)
    await ear.until(lambda: len(ear.lines) >= 4)
    await link.close()
    # as it came, however often; without its encryption, once
    assert ear.lines.count(ear.lines[0]) == len(ear.lines) - 1
    assert f",{sealed.hex().upper()}*" in ear.lines[0]
    assert [line for line in ear.lines if line.startswith("B,p,FCD2,4002CA0903BF13*")]
    # without the key it is kept as it came
    link = open_link(f"advert:{device.address}")
    ear = Ear()
    await link.open(ear.queue)
    await ear.until(lambda: len(ear.lines) >= 2)
    await link.close()
    assert not any(line.startswith("B,p") for line in ear.lines)


async def test_button_is_a_remote(around: Air) -> None:
    device = Peripheral("C0:5E:00:00:00:06", service_data=air.press(1, 0))
    await around.add(device)
    link = open_link(f"advert:{device.address}")
    ear = Ear()
    await link.open(ear.queue)
    await ear.until(lambda: bool(ear.lines))
    for i, button in enumerate((0x01, 0x02, 0x04, 0x80, 0x03, 0x01), start=2):
        before = len(ear.lines)
        await around.advertise(device, air.press(i, button))
        wanted = f"B,a,FCD2,{air.press(i, button).hex().upper()}*"
        await ear.until(lambda b=before, w=wanted: any(w in x for x in ear.lines[b:]))  # type: ignore[misc]
    await link.close()
    keys = [(event.kind, event.detail["key"]) for event in ear.events]
    assert keys == [("key", key) for key in ("go", "redo", "stop", "stop", "go")]


async def test_battery_is_told(around: Air) -> None:
    device = weight_scale()
    await around.add(device)
    link = open_link(f"ble:{device.address}")
    ear = Ear()
    await link.open(ear.queue)
    await around.say(device, air.WEIGHT, air.kilograms(1.0))
    await ear.until(lambda: any("2A19,0B" in line for line in ear.lines))
    await link.close()
    assert any("11 %" in remark for remark in ear.decoder.remarks)


async def test_rate_is_set_or_refused(around: Air) -> None:
    device = stream_board()
    await around.add(device)
    link = open_link(f"ble:{device.address}?rate_hz=10")
    ear = Ear()
    await link.open(ear.queue)
    await ear.until(lambda: ear.decoder.identity is not None)
    await link.close()
    assert device.trait(air.STREAM_RATE).written == [b"\x0a\x00"]
    link = open_link(f"ble:{device.address}?rate_hz=11")
    with pytest.raises(BoardError, match="cannot be set to 11 readings a second"):
        await link.open(ear.queue)
    device = weight_scale()
    await around.add(device)
    with pytest.raises(BoardError, match="cannot be set to 10"):
        await open_link(f"ble:{device.address}?rate_hz=10").open(ear.queue)


async def test_device_that_says_nothing_of_use(around: Air) -> None:
    traits = [Trait("2a37", ("notify",)), Trait("2a38", ("read",), b"\x01")]
    device = Peripheral("C0:5E:00:00:00:07", "Watch", {"180d": traits}, ("180d",))
    await around.add(device)
    with pytest.raises(BoardError, match="none of the open formats"):
        await open_link(f"ble:{device.address}").open(StreamQueue())


async def test_list_of_what_is_in_range(around: Air) -> None:
    button = Peripheral("C0:5E:00:00:00:06", "Puck", service_data=air.press(1, 0))
    sealed = bytes.fromhex("41E445F3C9962B332211006C7C4519")
    others = [
        button,
        Peripheral("C0:5E:00:00:00:08", "Sealed", service_data=sealed),
        Peripheral("C0:5E:00:00:00:09", "Odd", service_data=b"\x20"),
        Peripheral("C0:5E:00:00:00:0A", "Weather", service_data=bytes.fromhex("4002C409")),
        Peripheral("C0:5E:00:00:00:0B"),
    ]
    for device in (weight_scale(), bthome_scale(), number_device(), stream_board(), *others):
        await around.add(device)
    found = {one.address: one for one in await radio.list_devices(1.5)}
    words = {
        "ble:C0:5E:00:00:00:01": "Gym scale, Bluetooth scale",
        "advert:C0:5E:00:00:00:02": "DIY scale, BTHome scale",
        "ble:C0:5E:00:00:00:04": "Wall, board with strikebridge's own service",
        "advert:C0:5E:00:00:00:06": "Puck, BTHome button, for --remote",
    }
    assert {a: found[a].name for a in words} == words
    assert all(found[address].is_board for address in words)
    assert "key" in found["advert:C0:5E:00:00:00:08"].name
    assert not found["ble:C0:5E:00:00:00:03"].is_board
    assert found["ble:C0:5E:00:00:00:03"].name == "Force box, some Bluetooth device"
    in_order = [one.is_board for one in found.values()]
    assert in_order == sorted(in_order, reverse=True)


async def test_closing_while_it_connects(around: Air) -> None:
    device = weight_scale()
    await around.add(device)
    link = open_link(f"ble:{device.address}")
    task = asyncio.create_task(link.open(StreamQueue()))
    await asyncio.sleep(0)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    await link.close()


@pytest.mark.parametrize(
    ("has_adapter", "is_powered", "reason", "says"),
    [
        (False, True, NoBluetooth.MISSING, "has no Bluetooth"),
        (True, False, NoBluetooth.OFF, "switched off"),
    ],
)
@on_linux
async def test_without_bluetooth(
    bus: Bus,
    monkeypatch: pytest.MonkeyPatch,
    has_adapter: bool,
    is_powered: bool,
    reason: NoBluetooth,
    says: str,
) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
    with Bluez(bus.address, has_adapter=has_adapter, is_powered=is_powered):
        for work in (
            lambda: open_link("ble:C0:5E:00:00:00:01").open(StreamQueue()),
            lambda: open_link("advert:C0:5E:00:00:00:01").open(StreamQueue()),
            lambda: radio.list_devices(0.1),
        ):
            with pytest.raises(BluetoothUnavailableError, match=says) as caught:
                await work()
            assert caught.value.reason is reason
        await hang_up()


@on_linux
@pytest.mark.parametrize("address", ["unix:path=/nowhere", "rubbish", "of the test"])
async def test_without_a_message_bus_or_without_bluez(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    if address == "of the test":
        address = request.getfixturevalue("bus").address
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", address)
    with pytest.raises(BluetoothUnavailableError, match="board on a cable"):
        await radio.list_devices(0.1)
    await hang_up()


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("ble:", "names no device"),
        ("advert:", "names no device"),
        ("ble:X?key=1", "no option"),
        ("ble:X?rate_hz=0", "from 1 to 4000"),
        ("advert:C0:5E:00:00:00:01?key=12", "32 hexadecimal digits"),
        ("advert:C0:5E:00:00:00:01?key=no", "32 hexadecimal digits"),
        ("advert:AB-CD?key=231d39c1d7cc1ab1aee224cd096db932", "12 hexadecimal digits"),
    ],
)
def test_addresses_that_will_not_do(address: str, says: str) -> None:
    with pytest.raises(AddressError, match=says):
        open_link(address)
