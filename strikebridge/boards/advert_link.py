"""The way to a device that only advertises: `advert:<address>`, for scales and buttons.

Nothing is connected to. Each advertisement with BTHome data becomes a line, as it came; of an
encrypted one a second line follows with the encryption taken off, so that a recording can be
read without the key, which is never written down. A press of a button becomes an event.
"""

from __future__ import annotations

import asyncio
import contextlib
from typing import TYPE_CHECKING

from strikebridge.boards import radio
from strikebridge.boards.address import Address
from strikebridge.boards.bthome import (
    ADDRESS_BYTES,
    KEY_BYTES,
    SERVICE,
    Press,
    counter_of,
    decrypt,
    is_encrypted,
    read_advertisement,
)
from strikebridge.boards.radio_lines import (
    ADVERTISED,
    DECRYPTED,
    RadioLine,
    plain_uuid,
    write_line,
)
from strikebridge.errors import AddressError, BoardError, BoardLostError
from strikebridge.samples import Event

if TYPE_CHECKING:
    from strikebridge.boards.stream_queue import StreamQueue
    from strikebridge.calibration.certificate import Certificate

LISTEN_ANEW_S = 20.0
"""A search that heard nothing for so long is begun anew: systems end searches in silence."""

SAME_PRESS_US = 2_000_000
"""Within this the same content without a packet id is the same press, said again."""

KEYS: dict[Press, str] = {
    Press.PRESS: "go",
    Press.DOUBLE: "redo",
    Press.LONG: "stop",
    Press.HOLD: "stop",
}
"""What was done to the button -> the key it stands for."""


class ButtonFollower:
    """Tell presses from their repetitions."""

    def __init__(self) -> None:
        self._packet_id: int | None = None
        self._data = b""
        self._at_us = -SAME_PRESS_US

    def key(self, service_data: bytes, at_us: int) -> str | None:
        """Say what key a new press stands for.

        Args:
            service_data: plain.
            at_us: arrival [us].

        Returns:
            `go`, `redo`, `stop`; None for a repetition, no press, or one without a meaning.
        """
        try:
            said = read_advertisement(service_data)
        except ValueError:
            return None
        if said.packet_id is not None:
            is_same = said.packet_id == self._packet_id
        else:
            is_same = service_data == self._data and at_us - self._at_us < SAME_PRESS_US
        self._packet_id, self._data, self._at_us = said.packet_id, service_data, at_us
        return None if is_same or said.press is None else KEYS.get(said.press)


class AdvertLink:
    """Listen to what a device advertises.

    Attributes:
        address: address as the user wrote it, without the key; chunks carry it.
        certificate: None; a device knows of no calibration.
        is_stamped: False; stamps are those of arrival.
        is_replay: False.
    """

    is_stamped = False
    is_replay = False

    def __init__(self, address: Address, *, only_keys: bool = False) -> None:
        """Read the address; nothing is listened to yet.

        Args:
            address: `advert:<address>?key=<32 hexadecimal digits>&mac=<12 digits>`; the key for
                an encrypted device, its hardware address where the system hides it (macOS).
            only_keys: True for a remote: presses are delivered, and nothing else.

        Raises:
            AddressError: it names no device, or has a wrong option.
        """
        if not address.path:
            raise AddressError(
                "The address advert: names no device; 'strikebridge boards' lists them.",
                address=str(address),
            )
        address.check_options(("key", "mac"))
        self.address = str(Address(address.scheme, address.path))
        self.certificate: Certificate | None = None
        self._device_id = address.path.lower()
        self._only_keys = only_keys
        self._key: bytes | None = None
        self._mac = b""
        if "key" in address.options:
            self._key = self._hex(address.options["key"], KEY_BYTES, "key")
            mac = address.options.get("mac", address.path)
            self._mac = self._hex(mac, ADDRESS_BYTES, "mac")
        self._counter = -1
        self._button = ButtonFollower()
        self._scanner: radio.Scanner | None = None
        self._watch: asyncio.Task[None] | None = None
        self._heard_s = 0.0

    def _hex(self, text: str, size: int, name: str) -> bytes:
        """Read hexadecimal digits, with or without colons."""
        try:
            data = bytes.fromhex(text.replace(":", ""))
        except ValueError:
            data = b""
        if len(data) != size:
            raise AddressError(
                f"{name} will not do in {self.address}; write {2 * size} hexadecimal digits.",
                address=self.address,
            )
        return data

    async def open(self, queue: StreamQueue) -> None:
        """Begin to deliver into `queue`; whether the device is there shows when it speaks.

        Raises:
            BluetoothUnavailableError: there is no Bluetooth.
            BoardError: the search could not be begun.
        """
        self._counter = -1
        await self._start(queue)
        self._watch = asyncio.create_task(self._keep_listening(queue))

    async def _start(self, queue: StreamQueue) -> None:
        def hear(device: radio.Device, said: radio.Heard) -> None:
            if device.address.lower() != self._device_id:
                return
            for uuid, data in said.service_data.items():
                if plain_uuid(uuid) == SERVICE:
                    self._heard_s = asyncio.get_running_loop().time()
                    self._take(bytes(data), queue)

        scanner = radio.make_scanner(hear)
        with radio.in_plain_words(self.address):
            await scanner.start()
        self._scanner = scanner
        self._heard_s = asyncio.get_running_loop().time()

    async def _keep_listening(self, queue: StreamQueue) -> None:
        """Begin the search anew where it has gone silent."""
        loop = asyncio.get_running_loop()
        while True:
            wait_s = self._heard_s + LISTEN_ANEW_S - loop.time()
            if wait_s > 0.0:
                await asyncio.sleep(wait_s)
                continue
            try:
                await self._stop()
                await self._start(queue)
            except BoardError as error:
                if self._only_keys:  # a remote that is gone does not end what it steers
                    self._heard_s = loop.time()
                    continue
                loss = BoardLostError(str(error), address=self.address)
                loss.__cause__ = error
                queue.fail(loss)
                return

    def _take(self, data: bytes, queue: StreamQueue) -> None:
        """Deliver one advertisement: as it came, decrypted, and as a press."""
        at_us = queue.now_us()
        self._deliver(ADVERTISED, data, queue)
        plain: bytes | None = data
        if is_encrypted(data):
            plain = self._open_up(data)
            if plain is not None:
                self._deliver(DECRYPTED, plain, queue)
        key = None if plain is None else self._button.key(plain, at_us)
        if key is not None:
            queue.put(Event("key", at_us, {"key": key}))

    def _deliver(self, kind: str, data: bytes, queue: StreamQueue) -> None:
        if not self._only_keys:
            queue.put_bytes(self.address, write_line(RadioLine(kind, SERVICE, data)))

    def _open_up(self, data: bytes) -> bytes | None:
        """Take the encryption off; None without the key, and for a repeated or forged one."""
        if self._key is None:
            return None
        try:
            counter = counter_of(data)
            plain = decrypt(data, self._key, self._mac) if counter > self._counter else None
        except ValueError:
            return None
        if plain is not None:
            self._counter = counter
        return plain

    async def _stop(self) -> None:
        scanner, self._scanner = self._scanner, None
        if scanner is not None:
            with contextlib.suppress(BoardError), radio.in_plain_words(self.address):
                await scanner.stop()

    async def send(self, data: bytes) -> None:
        """Say nothing: whoever only advertises does not listen."""

    async def hear(self, event: Event) -> None:
        """Do nothing: a real athlete hears for himself."""

    async def close(self) -> None:
        """Stop listening; calling it twice does no harm."""
        watch, self._watch = self._watch, None
        if watch is not None:
            watch.cancel()
            await asyncio.gather(watch, return_exceptions=True)
        await self._stop()
