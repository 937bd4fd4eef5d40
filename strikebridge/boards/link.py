"""The joint between a board and the program: what a way to it does, what its decoder does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.boards.stream_queue import StreamQueue
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Chunk, CountBlock, Event, Identity, Quantity


class Link(Protocol):
    """The way to one board.

    Attributes:
        address: address as the user wrote it.
        certificate: calibration that the link brings with it (simulated and replayed boards),
            or None.
        is_stamped: True where records bring times of their own (a recording, a simulation that
            runs ahead of the clock), so that "now" is the newest of them.
        is_replay: True where what was called out is among the records already.
    """

    address: str
    certificate: Certificate | None
    is_stamped: bool
    is_replay: bool

    async def open(self, queue: StreamQueue) -> None:
        """Begin to deliver into `queue`.

        Raises:
            BoardNotFoundError: nothing is there.
            BoardBusyError: another program holds it.
        """
        ...

    async def send(self, data: bytes) -> None:
        """Write bytes to the board, as far as it listens."""
        ...

    async def hear(self, event: Event) -> None:
        """Let the board know what was said in the room; only simulated athletes listen."""
        ...

    async def close(self) -> None:
        """Stop delivering and let go of the port; calling it twice does no harm."""
        ...


class Decoder(Protocol):
    """Turn a board's bytes into readings, without any I/O."""

    @property
    def shape(self) -> str:
        """Key in the table BOARDS."""
        ...

    @property
    def quantity(self) -> Quantity:
        """What the numbers are."""
        ...

    @property
    def identity(self) -> Identity | None:
        """What the board said of itself, None until it did."""
        ...

    @property
    def channels(self) -> int:
        """Readings a line, 0 until the first."""
        ...

    @property
    def unreadable(self) -> int:
        """Lines that were no reading and no comment."""
        ...

    @property
    def pause_s(self) -> float:
        """Longest silence that is usual for such a board [s]."""
        ...

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a coach should know of this board, in whole sentences."""
        ...

    def feed(self, chunks: Sequence[Chunk]) -> list[CountBlock]:
        """Decode what has arrived; the same readings come out however the bytes are cut."""
        ...

    def finish(self) -> list[CountBlock]:
        """End the stream; a half line left over is no reading."""
        ...
