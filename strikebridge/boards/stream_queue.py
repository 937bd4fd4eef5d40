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

FirstLook = Callable[["list[Record]"], bool]
"""What is done with records before their taker's turn; true if he must have that now."""

SHOW_FIRST_S = 0.004
"""The screen goes first: so long after the last line [s] its taker goes on with it."""

QUEUE_LIMIT = 200_000  # records; more than half an hour at 100 chunks a second


class StreamQueue:
    """A bounded queue of records between a link and one asyncio consumer.

    While the consumer waits, what he would do first with a board's bytes is done on the thread
    that brings them, so that they are shown before his own thread has even woken up. Only one
    of the two is ever at work with the records.

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
        self._first_look: FirstLook | None = None  # there only while the consumer waits
        self._looking = threading.Lock()
        self._looked_at: list[Record] = []
        self._look_error: Exception | None = None
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
            loop = self._add(record)
        if loop is not None:
            self._call(loop)

    def put_bytes(self, board: str, data: bytes, *, rouses: bool = True) -> None:
        """Stamp bytes with the time now and hand them over; a waiting consumer looks at once.

        Args:
            board: address of the board.
            data: untouched bytes.
            rouses: False to let a consumer who has looked wait on if he can: his work would be
                in the way of the screen. Whoever brings the bytes calls `rouse` soon after.
        """
        chunk = Chunk(board, self.now_us(), data)
        with self._lock:
            loop = self._add(chunk)
            look, self._first_look = self._first_look, None
            if look is not None:
                self._looking.acquire()  # free, for the consumer waits
        if look is not None:
            must_act = self._look(look)
            loop = self._loop if must_act or rouses else None
        if loop is not None:
            self._call(loop)

    def _look(self, look: FirstLook) -> bool:
        """Do what the consumer would do first, in his place.

        Returns:
            Whether he must have his turn now.
        """
        taken, must_act = self.rest(), True
        try:
            must_act = look(taken)
        except Exception as error:  # noqa: BLE001 - the consumer gets it
            self._look_error = error
        with self._lock:
            self._looked_at += taken
            if not must_act and self._waiter is not None:
                self._first_look = look  # he waits on, and looks again if more comes
            self._looking.release()
        return must_act

    def rouse(self) -> None:
        """Give the consumer his turn, if there is something that he has only looked at."""
        with self._lock:
            loop = self._loop if self._looked_at else None
        if loop is not None:
            self._call(loop)

    def _add(self, record: Record) -> asyncio.AbstractEventLoop | None:
        """Append a record; the lock is held.

        Returns:
            The loop that must be woken, None where it is awake or nobody takes yet.
        """
        if len(self._waiting) >= self._limit:
            self.refused += 1
            return None
        self._waiting.append(record)
        self.most_waiting = max(self.most_waiting, len(self._waiting))
        return self._loop if len(self._waiting) == 1 else None

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
        if waiter is not None and not waiter.done():
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
            first_look: called with what is taken, if anything, as soon as it is there, perhaps
                on the thread that brought it, while this call waits; its errors are raised
                here.

        Returns:
            Records in order of arrival, empty after a wait without any, None at the end of the
            stream.

        Raises:
            BoardError: the link broke, and all that came before it was taken.
        """
        await self._wait(timeout_s, first_look)
        with self._lock:
            if not self._looked_at:
                taken, self._waiting = self._waiting, []
            else:
                taken, self._looked_at = self._looked_at, []
                first_look = None
            failure, self._look_error = self._look_error, None
            error, ended = self._error, self._ended
            if not taken:
                self._error = None
        if failure is not None:
            raise failure
        if taken:
            if first_look is not None:
                first_look(taken)
            return taken
        if error is not None:
            raise error
        return None if ended else []

    async def _wait(self, timeout_s: float, first_look: FirstLook | None) -> None:
        """Wait until there is something to take, or the time is over."""
        loop = asyncio.get_running_loop()
        with self._lock:
            self._loop = loop
            if self._waiting or self._error is not None or self._ended:
                return
            # a bare future: wait_for would make a task of each wait, and each line waits once
            waiter = self._waiter = loop.create_future()
            self._first_look = first_look
        timer = loop.call_later(timeout_s, self._wake)
        try:
            await waiter
        finally:
            timer.cancel()
            self._waiter = None
            with self._lock:
                self._first_look = None
            with self._looking:  # whoever began to look ends before anything else is done
                pass
