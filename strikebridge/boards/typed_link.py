"""The way to a plain scale without a port: nothing comes, the coach types what it shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.errors import AddressError
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from strikebridge.boards.address import Address
    from strikebridge.boards.stream_queue import StreamQueue
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Event

SCHEME = "typed"


class TypedLink:
    """Deliver nothing.

    Attributes:
        address: `typed:` or `typed:?unit=lb`.
        certificate: None.
        is_stamped: False.
        is_replay: False.
        unit: what the scale shows.
    """

    is_stamped = False
    is_replay = False

    def __init__(self, address: Address) -> None:
        """Read the address.

        Args:
            address: its option `unit` is kg, lb or N.

        Raises:
            AddressError: it has a path, or an option that is unknown or wrong.
        """
        if address.path:
            raise AddressError(
                "The address typed: needs nothing behind it but ?unit=kg, lb or N.",
                address=str(address),
            )
        address.check_options(("unit",))
        words = [unit.value for unit in ForceUnit]
        self.unit = ForceUnit(address.choice("unit", ForceUnit.KG.value, words=words))
        self.address = str(address)
        self.certificate: Certificate | None = None

    async def open(self, queue: StreamQueue) -> None:
        """Do nothing: there is no port."""

    async def send(self, data: bytes) -> None:
        """Say nothing: a plain scale does not listen."""

    async def hear(self, event: Event) -> None:
        """Do nothing: a real athlete hears for himself."""

    async def close(self) -> None:
        """Do nothing: there is nothing to let go of."""
