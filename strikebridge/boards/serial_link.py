"""A board on a serial port: the only door to pyserial.

A thread of its own reads, so that nothing the program does delays a stamp. Each piece is
stamped as soon as the read returns. Pseudo-terminals and USB ports are the same to it; any path
is allowed, because the list of ports knows no pseudo-terminals.

A board that was unplugged is looked for by what its plug says of itself: it may come back under
another name. Where the address names no baud rate, it is found by trial.
"""

from __future__ import annotations

import asyncio
import contextlib
import errno
import os
import select
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import serial
from serial.tools import list_ports as ports_of_system

from strikebridge.boards.baud import USUAL_BAUDS, BaudTrial
from strikebridge.boards.stream_queue import SHOW_FIRST_S
from strikebridge.errors import (
    AddressError,
    BoardBusyError,
    BoardError,
    BoardLostError,
    BoardNotFoundError,
)
from strikebridge.samples import Event

if TYPE_CHECKING:
    from serial.tools.list_ports_common import ListPortInfo

    from strikebridge.boards.address import Address
    from strikebridge.boards.stream_queue import StreamQueue
    from strikebridge.calibration.certificate import Certificate

LOOK_UP_S = 0.25  # a blocked read looks up this often, should a cancel have been missed
LAST_READS = 3  # one may come back empty: the cancel that ended the waiting ends it, too
WRITE_WITHIN_S = 1.0
JOIN_WITHIN_S = 2.0
MOST_AT_ONCE = 65536  # more than any system keeps for a port
CAN_SELECT = sys.platform != "win32"  # there only sockets have numbers to wait at

NOBODY_THERE = (errno.ENOENT, errno.ENODEV, errno.ENXIO)
HELD = (errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK)
FORBIDDEN = (errno.EACCES, errno.EPERM)


@dataclass(frozen=True, slots=True)
class Port:
    """A serial port that a board may hang on.

    Attributes:
        address: address to be used in commands.
        name: what the system says of the thing plugged in.
        is_usb: True for something on USB, which a board most likely is.
    """

    address: str
    name: str
    is_usb: bool


def list_ports() -> list[Port]:
    """List the serial ports of this computer, those on USB first.

    Pseudo-terminals and Bluetooth are not among them.
    """
    ports: list[Port] = []
    for found in ports_of_system.comports():
        words = [found.product or found.description, found.manufacturer]
        name = ", ".join(word for word in words if word and word not in ("n/a", found.device))
        is_usb = found.vid is not None
        ports.append(Port(f"serial:{found.device}", name or "serial port", is_usb))
    return sorted(ports, key=lambda port: (not port.is_usb, port.address))


@dataclass(frozen=True, slots=True)
class Plug:
    """What a USB plug says of itself.

    Attributes:
        vendor: number of the maker.
        product: number of the product.
        serial: serial number, empty where it has none.
    """

    vendor: int
    product: int
    serial: str

    @property
    def key(self) -> str:
        """Write it as one word."""
        return f"usb:{self.vendor:04x}:{self.product:04x}:{self.serial}"


def plug_at(path: str) -> Plug | None:
    """Say what is plugged in at a port.

    Args:
        path: name of the port; a link to one will do.

    Returns:
        The plug, None where it is none on USB, or nothing is there.
    """
    real = Path(path).resolve().as_posix() if path.startswith("/") else path
    for found in ports_of_system.comports():
        if found.device in (path, real):
            return _plug(found)
    return None


def ports_of(plug: Plug) -> list[str]:
    """List the ports at which a plug is found now.

    Args:
        plug: what it says of itself; cheap ones have no serial number and may be found twice.
    """
    return [found.device for found in ports_of_system.comports() if _plug(found) == plug]


def _plug(found: ListPortInfo) -> Plug | None:
    if found.vid is None:
        return None
    return Plug(found.vid, found.pid or 0, found.serial_number or "")


class SerialLink:
    """Read from and write to a serial port.

    Attributes:
        address: address as the user wrote it; chunks carry it.
        certificate: None; a port knows of no calibration.
        is_stamped: False; stamps are those of arrival.
        is_replay: False.
    """

    is_stamped = False
    is_replay = False

    def __init__(self, address: Address) -> None:
        """Read the address; nothing is opened yet.

        Args:
            address: `serial:<port>?baud=<bits per second>&shape=<shape of its lines>`; the
                shape is for the decoder.

        Raises:
            AddressError: it names no port, or has a wrong option.
        """
        if not address.path:
            raise AddressError(
                "The address serial: names no port; write for example serial:/dev/ttyUSB0.",
                address=str(address),
            )
        address.check_options(("baud", "shape"))
        self.address = str(address)
        self.certificate: Certificate | None = None
        self._path = address.path
        given = address.whole("baud", USUAL_BAUDS[0], low=300, high=4_000_000)
        self._trial = BaudTrial(given)
        self._trial.is_settled = "baud" in address.options
        self._plug: Plug | None = None
        self._port: serial.Serial | None = None
        self._thread: threading.Thread | None = None
        self._is_closing = threading.Event()

    async def open(self, queue: StreamQueue) -> None:
        """Begin to deliver into `queue`; what had arrived before is thrown away as stale.

        Raises:
            BoardNotFoundError: there is no such port, or it is none.
            BoardBusyError: another program holds it.
            BoardError: the user may not open it.
        """
        self._port = await asyncio.to_thread(self._open_port)
        self._is_closing.clear()
        self._thread = threading.Thread(
            target=self._read, args=(self._port, queue), name="serial reader", daemon=True
        )
        self._thread.start()

    def _open_port(self) -> serial.Serial:
        path = self._path if self._plug is None else self._where_is(self._plug)
        port = self._open_at(path)
        self._path = path
        self._plug = plug_at(path) or self._plug
        return port

    def _where_is(self, plug: Plug) -> str:
        """Find the port of a board that was lost; another board may hang at its old one.

        Raises:
            BoardNotFoundError: it is not plugged in, or nobody can say which one it is.
        """
        places = ports_of(plug)
        if plug_at(self._path) == plug:
            return self._path
        if len(places) != 1:
            raise BoardNotFoundError(
                f"The board that was at {self._path} is not plugged in. Plug it in again; "
                "'strikebridge boards' lists what is there.",
                address=self.address,
            )
        return places[0]

    def _open_at(self, path: str) -> serial.Serial:
        try:
            return serial.Serial(
                path,
                self._trial.baud,
                timeout=LOOK_UP_S,
                write_timeout=WRITE_WITHIN_S,
                exclusive=True,
            )
        except (OSError, ValueError) as error:  # pyserial's own error is an OSError
            raise _why_not(error, path, self.address) from error

    def _read(self, port: serial.Serial, queue: StreamQueue) -> None:
        """Deliver bytes until the port closes or breaks; runs on a thread of its own."""
        has_shown = False
        while not self._is_closing.is_set():
            data = b""
            try:
                if has_shown and not select.select([port.fileno()], [], [], SHOW_FIRST_S)[0]:
                    queue.rouse()
                    has_shown = False
                data = port.read(1)
                if data:
                    data += _read_at_once(port)
            except (OSError, TypeError, ValueError) as error:  # closed under a read
                if data:
                    queue.put_bytes(self.address, data)
                if not self._is_closing.is_set():
                    queue.fail(self._loss(error))
                return
            if data:
                queue.put_bytes(self.address, data, rouses=not CAN_SELECT)
                has_shown = CAN_SELECT
                self._try_baud(port, data, queue)
        self._read_rest(port, queue)

    def _read_rest(self, port: serial.Serial, queue: StreamQueue) -> None:
        """Deliver what had arrived when closing was asked for."""
        with contextlib.suppress(OSError, TypeError):  # a broken port has nothing left
            for _ in range(LAST_READS):
                data = _read_at_once(port)
                if data:
                    queue.put_bytes(self.address, data)

    def _try_baud(self, port: serial.Serial, data: bytes, queue: StreamQueue) -> None:
        """Go on to another baud rate where what came is no text."""
        if not self._trial.feed(data):
            return
        with contextlib.suppress(OSError, ValueError):  # a rate that the port does not know
            port.baudrate = self._trial.baud
            queue.put(Event("baud", queue.now_us(), {"baud": self._trial.baud}))

    def _loss(self, cause: Exception) -> BoardLostError:
        loss = BoardLostError(
            f"The board at {self._path} was unplugged or switched off. Everything up to then "
            "is safe; plug it in again.",
            address=self.address,
        )
        loss.__cause__ = cause
        return loss

    async def send(self, data: bytes) -> None:
        """Write bytes to the board.

        Args:
            data: what to write; lost where the board is gone, which the reader reports.
        """
        if self._port is not None:
            await asyncio.to_thread(self._write, self._port, data)

    def _write(self, port: serial.Serial, data: bytes) -> None:
        try:
            port.write(data)
        except (OSError, TypeError):
            return  # the reading side meets the same loss and reports it, once

    async def hear(self, event: Event) -> None:
        """Do nothing: a real athlete hears for himself."""

    async def close(self) -> None:
        """Stop reading and let go of the port; calling it twice does no harm."""
        port, thread = self._port, self._thread
        self._port = self._thread = None
        if port is None or thread is None:
            return
        self._is_closing.set()
        with contextlib.suppress(OSError, TypeError, AttributeError):
            port.cancel_read()  # a broken port has nothing to cancel
        await asyncio.to_thread(thread.join, JOIN_WITHIN_S)
        port.close()


def _read_at_once(port: serial.Serial) -> bytes:
    """Read what has arrived, without waiting."""
    if not CAN_SELECT:
        waiting = port.in_waiting
        return port.read(waiting) if waiting else b""
    # in one step, for a screen waits; pyserial sets ports up to give nothing rather than block
    return os.read(port.fileno(), MOST_AT_ONCE)


def _why_not(error: Exception, path: str, address: str) -> BoardError:
    """Say in a sentence why a port could not be opened, and what to do."""
    number = getattr(error, "errno", None)
    text = str(error)
    if number in NOBODY_THERE or "FileNotFoundError" in text:
        return BoardNotFoundError(
            f"There is no port {path}. Plug the board in; 'strikebridge boards' lists what "
            "is there.",
            address=address,
        )
    if number in HELD or (sys.platform == "win32" and "PermissionError" in text):
        return BoardBusyError(
            f"Another program holds {path}. Close it (a serial monitor, a second strikebridge) "
            "and try again.",
            address=address,
        )
    if number in FORBIDDEN:
        return BoardError(
            f"You may not open {path}. On Linux add yourself to the group that owns it "
            "(sudo usermod -aG dialout $USER), then log out and in again.",
            address=address,
        )
    return BoardNotFoundError(
        f"{path} cannot be opened as a serial port; 'strikebridge boards' lists the ports.",
        address=address,
    )
