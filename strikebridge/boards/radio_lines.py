"""What a Bluetooth device sends, written as lines, and the decoder that all its kinds share.

A radio delivers payloads, not a stream of bytes, and a payload means something only beside the
characteristic that it belongs to. So the links write one line for each payload:

```
B,n,2A9D,00BC3E*21C3
B,n,<characteristic>,2A00*....             a payload that was notified or indicated
B,n,<characteristic>,2A00,0EFD0527010000*....   the same, with its presentation format
B,r,2A19,64*....                           a value that was read
B,a,FCD2,40065E1F*....                     service data that was advertised
B,p,FCD2,40065E1F*....                     the same, after its encryption was taken off
```

The payload stands there untouched, in hexadecimal, the characteristic or service by its UUID
(four digits where it is one of the Bluetooth SIG's), and the checksum of our own line protocol
closes the line. A recording of a radio is thus read, cut, replayed and recognised as any other,
and whoever opens the file can read it.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from binascii import unhexlify
from dataclasses import dataclass
from typing import TYPE_CHECKING

from typing_extensions import override

from strikebridge.boards.line_decoder import EDGES, LineDecoder, is_idle
from strikebridge.boards.strikebridge_lines import checksum, close_line

if TYPE_CHECKING:
    from strikebridge.boards.lines import Lines
    from strikebridge.samples import CountBlock, Quantity

NOTIFIED = "n"
READ = "r"
ADVERTISED = "a"
DECRYPTED = "p"

MOST_PAYLOAD = 100
"""Bytes of a payload that a line has room for; a longer one is kept, but not read."""

SHORT_UUID = re.compile(r"0000([0-9a-f]{4})-0000-1000-8000-00805f9b34fb")
LINE = re.compile(
    rb"(B,([nrap]),([0-9A-F]{4}|[0-9A-F]{32}),((?:[0-9A-F]{2})*)(?:,([0-9A-F]{14}))?)"
    rb"\*([0-9A-Fa-f]{4})"
)
BATTERY = "2A19"
LOW_BATTERY_PERCENT = 15
HIGHEST_PERCENT = 100  # Battery Level: 101 to 255 are reserved (Bluetooth SIG, GATT XML)


@dataclass(frozen=True, slots=True)
class RadioLine:
    """One payload.

    Attributes:
        kind: `n` notified, `r` read, `a` advertised, `p` advertised and decrypted.
        uuid: characteristic or service, 4 or 32 hexadecimal digits, upper case.
        payload: untouched bytes.
        form: its Characteristic Presentation Format (7 bytes), empty where there is none.
    """

    kind: str
    uuid: str
    payload: bytes
    form: bytes = b""


def plain_uuid(uuid: str) -> str:
    """Write a UUID as it stands in a line.

    Args:
        uuid: in full, with hyphens.

    Returns:
        Four digits for one on the base of the Bluetooth SIG, else 32.
    """
    uuid = uuid.lower()
    short = SHORT_UUID.fullmatch(uuid)
    return (short[1] if short else uuid.replace("-", "")).upper()


def write_line(line: RadioLine) -> bytes:
    """Write a payload as a line."""
    text = f"B,{line.kind},{line.uuid},{line.payload.hex().upper()}"
    if line.form:
        text += f",{line.form.hex().upper()}"
    return close_line(text.encode("ascii"))


def read_line(row: bytes) -> RadioLine | None:
    """Read a line; None where it is none or its checksum is wrong."""
    match = LINE.fullmatch(row.strip(EDGES))
    if match is None or checksum(match[1]) != int(match[6], 16):
        return None
    kind, uuid = match[2].decode("ascii"), match[3].decode("ascii")
    return RadioLine(kind, uuid, unhexlify(match[4]), unhexlify(match[5] or b""))


class RadioDecoder(LineDecoder, ABC):
    """Turn lines of one kind of Bluetooth device into readings; each kind adds its own rules.

    Payloads that could not be read count as unreadable.

    Attributes:
        battery_percent: charge of the device's battery [%], None until it was told.
    """

    def __init__(self, shape: str, quantity: Quantity) -> None:
        """Begin before the first byte.

        Args:
            shape: key in the table BOARDS.
            quantity: what the numbers are, as far as it is known.
        """
        super().__init__(shape, quantity)
        self.battery_percent: int | None = None

    @classmethod
    @abstractmethod
    def is_mine(cls, line: RadioLine) -> bool:
        """Say whether a payload can only come from this kind of device."""

    @abstractmethod
    def take(self, line: RadioLine, arrived_us: int) -> int:
        """Take in one payload; its readings come out with the next `build`.

        Args:
            line: the payload.
            arrived_us: its arrival [us].

        Returns:
            Readings a sample, 0 where the payload holds none.

        Raises:
            ValueError: it is not what it should be.
        """

    @abstractmethod
    def build(self) -> CountBlock | None:
        """Give out the readings taken in since the last call, None where there are none."""

    @classmethod
    def is_reading(cls, row: bytes) -> bool:
        """Say whether a line can only be one of this kind of device."""
        line = read_line(row)
        return line is not None and cls.is_mine(line)

    @property
    @override
    def remarks(self) -> tuple[str, ...]:
        """What a coach should know of this device, in whole sentences."""
        percent = self.battery_percent
        if percent is None or percent > LOW_BATTERY_PERCENT:
            return ()
        return (f"Its battery is down to {percent} %: change it before the session.",)

    @override
    def decode(self, lines: Lines) -> list[CountBlock]:
        """Decode whole lines.

        Args:
            lines: in order of arrival.
        """
        for row, arrived_us in zip(lines.rows, lines.arrived_us.tolist(), strict=True):
            is_first, self._is_first = self._is_first, False
            if is_idle(row):
                continue
            line = read_line(row)
            if line is None:
                self.unreadable += not is_first
            elif line.uuid == BATTERY:
                self._note_battery(line.payload)
            else:
                self._try(line, arrived_us)
        block = self.build()
        return [] if block is None else [block]

    def _try(self, line: RadioLine, arrived_us: int) -> None:
        try:
            self.channels = self.take(line, arrived_us) or self.channels
        except ValueError:
            self.unreadable += 1

    def _note_battery(self, payload: bytes) -> None:
        if len(payload) == 1 and payload[0] <= HIGHEST_PERCENT:
            self.battery_percent = payload[0]
        else:
            self.unreadable += 1
