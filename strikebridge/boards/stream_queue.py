"""The queue between a link and its reader: bounded, counting, stamped on arrival.

Links deliver from any thread (a serial reader thread, a simulated board, an asyncio callback);
one asyncio task takes. The queue owns the stream's clock: every stamp in a recording counts
from its start.
"""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable

from strikebridge.samples import Chunk, Record

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
