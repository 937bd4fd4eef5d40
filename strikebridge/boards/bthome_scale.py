"""Turn BTHome v2 advertisements of one device into readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import override

from strikebridge.boards.bthome import SERVICE, is_encrypted, read_advertisement
from strikebridge.boards.radio_lines import ADVERTISED, DECRYPTED, RadioLine
from strikebridge.boards.reading_count import CountedDecoder
from strikebridge.samples import Flag, Quantity
from strikebridge.units import POUND_KG

if TYPE_CHECKING:
    from strikebridge.boards.bthome import Advertisement

TURN = 256  # of the packet id
MOST_MISSED = 100  # packets; a larger step of the id is a device that began anew


class BthomeDecoder(CountedDecoder):
    """Turn advertisements into readings.

    A packet id that was there before is a repetition; one that leaps counts what was missed.
    Without a packet id every advertisement is a reading, since nothing tells a repetition from
    a load that stands still. Of an encrypted device the lines that were decrypted are read.

    Attributes:
        sealed: encrypted advertisements.
    """

    def __init__(self) -> None:
        super().__init__("bthome", Quantity.KG, is_even=False)
        self.sealed = 0
        self._packet_id: int | None = None
        self._is_new_start = False

    @classmethod
    @override
    def is_mine(cls, line: RadioLine) -> bool:
        """Say whether it is an advertisement of BTHome."""
        return line.kind in (ADVERTISED, DECRYPTED) and line.uuid == SERVICE

    @override
    def take(self, line: RadioLine, arrived_us: int) -> int:
        """Take in one advertisement; see RadioDecoder."""
        if not self.is_mine(line):
            return 0
        if line.kind == ADVERTISED and is_encrypted(line.payload):
            self.sealed += 1
            return 0
        said = read_advertisement(line.payload)
        if said.battery_percent is not None:
            self._note_battery(bytes([said.battery_percent]))
        if said.packet_id is not None and self._is_repetition(said.packet_id):
            return 0
        mass = self._mass(said)
        if mass is None:
            return 0
        flags = Flag.RESTARTED if self._is_new_start else Flag.CLEAR
        self._readings.add(mass, arrived_us, int(flags))
        self._is_new_start = False
        return 1

    @property
    @override
    def remarks(self) -> tuple[str, ...]:
        """What a coach should know of this device, in whole sentences."""
        remarks = []
        if self.sealed and not self.channels:
            remarks.append(
                "What it sends is encrypted: write its key behind its address, "
                "advert:<address>?key=<32 hexadecimal digits>."
            )
        return (*remarks, *super().remarks)

    def _is_repetition(self, packet_id: int) -> bool:
        """Follow the packet id."""
        before, self._packet_id = self._packet_id, packet_id
        if before is None:
            return False
        step = (packet_id - before) % TURN
        if step > MOST_MISSED:
            self._is_new_start = True
        else:
            self._readings.miss(max(0, step - 1))
        return step == 0

    def _mass(self, said: Advertisement) -> float | None:
        """Give the mass in the unit of the stream; the first reading chooses it."""
        if not self.channels and said.mass_kg is None and said.mass_lb is not None:
            self.quantity = Quantity.LB
        if self.quantity is Quantity.KG:
            if said.mass_kg is None and said.mass_lb is not None:
                return said.mass_lb * POUND_KG
            return said.mass_kg
        if said.mass_lb is None and said.mass_kg is not None:
            return said.mass_kg / POUND_KG
        return said.mass_lb
