"""The way to a Bluetooth device that is connected to: `ble:<address>`.

Three kinds are known by what they offer: our own streaming service; a characteristic that
notifies and describes itself as a force, a mass or a count; the Weight Scale Service. The first
of these that is there is listened to. Each payload becomes one line, stamped on arrival.
"""

from __future__ import annotations

import asyncio
import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.boards import radio
from strikebridge.boards.presentation_format import DESCRIPTOR, read_format
from strikebridge.boards.radio_lines import (
    BATTERY,
    NOTIFIED,
    READ,
    RadioLine,
    plain_uuid,
    write_line,
)
from strikebridge.boards.strikebridge_stream import (
    BLOCK,
    FASTEST_HZ,
    IDENTITY,
    RATE,
    SLOWEST_HZ,
    write_rate,
)
from strikebridge.boards.weight_scale import FEATURE, MEASUREMENT
from strikebridge.errors import AddressError, BoardError, BoardLostError

if TYPE_CHECKING:
    from strikebridge.boards.address import Address
    from strikebridge.boards.stream_queue import StreamQueue
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Event

TALKS = {"notify", "indicate"}


@dataclass(frozen=True, slots=True)
class Source:
    """What is listened to.

    Attributes:
        characteristic: it notifies or indicates.
        form: its presentation format, empty where its kind needs none.
        about: UUID of a characteristic that is read once before, empty for none.
    """

    characteristic: radio.Characteristic
    form: bytes = b""
    about: str = ""


class BleLink:
    """Listen to a Bluetooth device.

    Attributes:
        address: address as the user wrote it; chunks carry it.
        certificate: None; a device knows of no calibration.
        is_stamped: False; stamps are those of arrival.
        is_replay: False.
    """

    is_stamped = False
    is_replay = False

    def __init__(self, address: Address) -> None:
        """Read the address; nothing is connected yet.

        Args:
            address: `ble:<address>?rate_hz=320`; the rate is for boards with our own service.

        Raises:
            AddressError: it names no device, or has a wrong option.
        """
        if not address.path:
            raise AddressError(
                "The address ble: names no device; 'strikebridge boards' lists them.",
                address=str(address),
            )
        address.check_options(("rate_hz",))
        self.address = str(address)
        self.certificate: Certificate | None = None
        self._device_id = address.path
        self._rate_hz: int | None = None
        if "rate_hz" in address.options:
            self._rate_hz = address.whole("rate_hz", 80, low=SLOWEST_HZ, high=FASTEST_HZ)
        self._client: radio.Client | None = None
        self._queue: StreamQueue | None = None
        self._has_asked = False
        self._battery: asyncio.Task[None] | None = None

    async def open(self, queue: StreamQueue) -> None:
        """Find the device, connect, and begin to deliver into `queue`.

        Raises:
            BluetoothUnavailableError: there is no Bluetooth.
            BoardNotFoundError: the device does not answer.
            BoardError: it has nothing to listen to, or the connection failed.
        """
        device = await radio.find(self._device_id, self.address)
        client = radio.make_client(device, self._lose)
        self._queue, self._has_asked = queue, False
        try:
            with radio.in_plain_words(self.address):
                await client.connect()
                self._client = client
                await self._listen(client, queue)
        except BaseException:
            await self.close()
            raise

    async def _listen(self, client: radio.Client, queue: StreamQueue) -> None:
        """Read what the device says of itself, then have it speak."""
        there = {plain_uuid(one.uuid): one for one in client.services.characteristics.values()}
        source = await self._choose(client, there)
        if self._rate_hz is not None:
            await self._set_rate(client, there.get(RATE), self._rate_hz)
        if source.about in there:
            await self._read(client, there[source.about], queue)
        battery = there.get(BATTERY)
        uuid = plain_uuid(source.characteristic.uuid)

        def hear(_: radio.Characteristic, payload: bytearray) -> None:
            self._deliver(queue, RadioLine(NOTIFIED, uuid, bytes(payload), source.form))
            # a battery is everyone's; by its first reading the shape of the stream is known
            if battery is not None and not self._has_asked:
                self._has_asked = True
                self._battery = asyncio.create_task(self._ask(client, battery, queue))

        await client.start_notify(source.characteristic, hear)

    async def _choose(
        self, client: radio.Client, there: dict[str, radio.Characteristic]
    ) -> Source:
        """Choose what to listen to.

        Raises:
            BoardError: the device has nothing that can be read.
        """
        talking = {uuid: one for uuid, one in there.items() if TALKS & set(one.properties)}
        if BLOCK in talking:
            return Source(talking[BLOCK], about=IDENTITY)
        for one in talking.values():
            for descriptor in one.descriptors:
                if plain_uuid(descriptor.uuid) == DESCRIPTOR:
                    form = bytes(await client.read_gatt_descriptor(descriptor))
                    if read_format(form) is not None:
                        return Source(one, form)
        if MEASUREMENT in talking:
            return Source(talking[MEASUREMENT], about=FEATURE)
        raise BoardError(
            f"{self.address} speaks none of the open formats that can be read: a weight scale, "
            "a number with its unit, or strikebridge's own service.",
            address=self.address,
        )

    async def _set_rate(
        self, client: radio.Client, rate: radio.Characteristic | None, rate_hz: int
    ) -> None:
        """Ask for another rate.

        Raises:
            BoardError: the device has none to set, or has not this one.
        """
        try:
            if rate is not None:
                await client.write_gatt_char(rate, write_rate(rate_hz), response=True)
                return
        except radio.Refusal:
            pass
        raise BoardError(
            f"{self.address} cannot be set to {rate_hz} readings a second; choose a rate that "
            "it has, or leave rate_hz out.",
            address=self.address,
        )

    async def _ask(
        self, client: radio.Client, battery: radio.Characteristic, queue: StreamQueue
    ) -> None:
        """Read the battery; a device that will not tell is as good as one that cannot."""
        with contextlib.suppress(BoardError), radio.in_plain_words(self.address):
            await self._read(client, battery, queue)

    async def _read(
        self, client: radio.Client, characteristic: radio.Characteristic, queue: StreamQueue
    ) -> None:
        payload = bytes(await client.read_gatt_char(characteristic))
        self._deliver(queue, RadioLine(READ, plain_uuid(characteristic.uuid), payload))

    def _deliver(self, queue: StreamQueue, line: RadioLine) -> None:
        queue.put_bytes(self.address, write_line(line))

    def _lose(self, client: radio.Client) -> None:
        """Tell the reader that the connection ended, unless it was ended here."""
        if self._client is not client or self._queue is None:
            return
        self._queue.fail(
            BoardLostError(
                f"The Bluetooth connection to {self.address} broke. Everything up to then is "
                "safe; look at its battery and come nearer.",
                address=self.address,
            )
        )

    async def send(self, data: bytes) -> None:
        """Say nothing: what a device tells of itself is read when it is opened."""

    async def hear(self, event: Event) -> None:
        """Do nothing: a real athlete hears for himself."""

    async def close(self) -> None:
        """End the connection; calling it twice does no harm."""
        client, battery = self._client, self._battery
        self._client = self._battery = None
        if battery is not None:
            battery.cancel()
            await asyncio.gather(battery, return_exceptions=True)
        if client is not None:
            with contextlib.suppress(BoardError), radio.in_plain_words(self.address):
                await client.disconnect()
