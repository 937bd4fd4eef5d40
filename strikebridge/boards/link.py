"""The joint between a link and its reader: one bounded, counting queue, stamped on arrival.

Links deliver from any thread (a serial reader thread, a simulated board, an asyncio callback);
one asyncio task takes. The queue owns the stream's clock: every stamp in a recording counts
from its start.
"""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from strikebridge.samples import Chunk, Record

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import CountBlock, Event, Identity, Quantity

FirstLook = Callable[["list[Record]"], None]
"""What is done with records before whoever takes them has his turn."""

QUEUE_LIMIT = 200_000  # records; more than half an hour at 100 chunks a second


class StreamQueue:
    """A bounded queue of records between a link and one asyncio consumer.

    Attributes:
        most_waiting: largest number of records that ever waited.
        refused: records that did not fit; anything but 0 is an error of the consumer.
    """

    def __init__(self, *, limit: int = QUEUE_LIMIT) -> None:
        """Start the stream's clock.

        Args:
            limit: records that may wait before `put` refuses more.
        """
        self._start_ns = time.monotonic_ns()
        self._limit = limit
        self._lock = threading.Lock()
        self._waiting: list[Record] = []
        self._loop: asyncio.AbstractEventLoop | None = None
        self._waiter: asyncio.Future[None] | None = None
        self._first_look: FirstLook | None = None
        self._looked_at: list[Record] = []
        self._error: Exception | None = None
        self._ended = False
        self.most_waiting = 0
        self.refused = 0

    @property
    def waiting(self) -> int:
        """Records that were put and not yet taken."""
        return len(self._waiting)

    def now_us(self) -> int:
        """Read the stream's clock: whole microseconds since its start."""
        return (time.monotonic_ns() - self._start_ns) // 1000

    def put(self, record: Record) -> None:
        """Hand over one record; may be called from any thread, never blocks.

        Args:
            record: a chunk or an event, stamped by `now_us` or by an earlier recording.
        """
        with self._lock:
            if len(self._waiting) >= self._limit:
                self.refused += 1
                return
            self._waiting.append(record)
            self.most_waiting = max(self.most_waiting, len(self._waiting))
            loop = self._loop if len(self._waiting) == 1 else None
        if loop is not None:
            self._call(loop)

    def put_bytes(self, board: str, data: bytes) -> None:
        """Stamp bytes with the time now and hand them over.

        Args:
            board: address of the board.
            data: untouched bytes.
        """
        self.put(Chunk(board, self.now_us(), data))

    def fail(self, error: Exception) -> None:
        """Tell the consumer that the link broke; it sees that after what came before."""
        with self._lock:
            self._error = error
            loop = self._loop
        if loop is not None:
            self._call(loop)

    def end(self) -> None:
        """Tell the consumer that nothing more will come (end of a replayed file)."""
        with self._lock:
            self._ended = True
            loop = self._loop
        if loop is not None:
            self._call(loop)

    def _call(self, loop: asyncio.AbstractEventLoop) -> None:
        try:
            loop.call_soon_threadsafe(self._wake)
        except RuntimeError:  # the loop closed under a delivering link: nobody listens
            return

    def _wake(self) -> None:
        waiter = self._waiter
        if waiter is None or waiter.done():
            return
        if self._first_look is not None:
            # the taker's own turn comes a round of the loop later
            self._looked_at = self.rest()
            try:
                if self._looked_at:
                    self._first_look(self._looked_at)
            except Exception as error:  # noqa: BLE001 - the taker gets it
                waiter.set_exception(error)
                return
        waiter.set_result(None)

    def rest(self) -> list[Record]:
        """Take what still waits, once the link is closed.

        Returns:
            Records in order of arrival.
        """
        with self._lock:
            taken, self._waiting = self._waiting, []
        return taken

    async def take(
        self, *, timeout_s: float, first_look: FirstLook | None = None
    ) -> list[Record] | None:
        """Wait for records and take all that are there.

        Args:
            timeout_s: longest wait [s].
            first_look: called with what is taken, if anything, as soon as it is there; its
                errors are raised here.

        Returns:
            Records in order of arrival, empty after a wait without any, None at the end of the
            stream.

        Raises:
            BoardError: the link broke, and all that came before it was taken.
        """
        loop = asyncio.get_running_loop()
        with self._lock:
            self._loop = loop
            is_idle = not self._waiting and self._error is None and not self._ended
            # a bare future: wait_for would make a task of each wait, and each line waits once
            waiter = self._waiter = loop.create_future() if is_idle else None
        if waiter is not None:
            self._first_look = first_look
            timer = loop.call_later(timeout_s, self._wake)
            try:
                await waiter
            finally:
                timer.cancel()
                self._waiter = None
            if self._looked_at:
                taken, self._looked_at = self._looked_at, []
                return taken
        with self._lock:
            taken, self._waiting = self._waiting, []
            error, ended = self._error, self._ended
            if not taken:
                self._error = None
        if taken:
            if first_look is not None:
                first_look(taken)
            return taken
        if error is not None:
            raise error
        return None if ended else []


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
