"""The way to a simulated board: real bytes through a real port, where the system has them.

At its natural speed the board writes into one end of a pseudo-terminal and the ordinary serial
link opens the other, so that everything a real board passes through is passed through here. On
Windows, which has none, and at other speeds the same bytes come without a port, stamped by the
board's own clock.
"""

from __future__ import annotations

import asyncio
import math
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.boards.address import Address
from strikebridge.boards.pseudo_port import PseudoPort, bunched
from strikebridge.boards.serial_link import SerialLink
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.strikebridge_lines import MOST_CHANNELS, REQUEST
from strikebridge.samples import Chunk

if TYPE_CHECKING:
    from strikebridge.boards.stream_queue import StreamQueue
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Event

OPTIONS = (
    *("rate_hz", "seed", "athlete", "rig", "plates_off", "speed", "channels"),
    *("lost", "reset_s", "bunch_ms", "overload"),
)
PLATES_OFF = 0.01  # share of a plate's mass: good plates of a club
FASTEST = 1000.0
POLL_S = 0.001
LED_FRAME_S = 0.5  # at most speed: a frame costs as much as its readings


class SimulatedLink:
    """Read from a board that is not there.

    Attributes:
        address: address as the user wrote it.
        certificate: the calibration that fits the simulated cell.
        is_stamped: True at other than natural speed and on Windows.
        is_replay: False; the athlete may listen.
        board: the model; its `reps` hold the truth.
    """

    is_replay = False

    def __init__(self, address: Address) -> None:
        """Read the address and switch the board on; its time stands still until `open`.

        Args:
            address: `simulated:?rate_hz=80&seed=1&athlete=rounds&speed=1&channels=1`, also
                `lost` (share of lines), `reset_s`, `bunch_ms`, `overload` (share of the cell's
                rating that the second push reaches); `athlete=listens` waits for the go;
                `rig=plates` lies flat, a hand puts plates on as asked, which are off by up to
                `plates_off`; `speed=max` goes as fast as the reader takes it.

        Raises:
            AddressError: an option is unknown or wrong.
        """
        address.check_options(OPTIONS)
        self.address = str(address)
        self._speed = math.inf
        if address.options.get("speed") != "max":
            self._speed = address.number("speed", 1.0, low=0.01, high=FASTEST)
        self._bunch_us = round(address.number("bunch_ms", 0.0, low=0.0, high=1000.0) * 1000.0)
        reset_s = address.number("reset_s", 0.0, low=0.0, high=1e6)
        is_flat = address.choice("rig", "wall", words=("wall", "plates")) == "plates"
        off = address.number("plates_off", PLATES_OFF, low=0.0, high=0.5)
        model = BoardModel(
            rate_hz=address.number("rate_hz", 80.0, low=5.0, high=2000.0),
            seed=address.whole("seed", 1, low=0, high=2**32 - 1),
            channels=address.whole("channels", 1, low=1, high=MOST_CHANNELS),
            is_listening=address.choice("athlete", "rounds", words=("rounds", "listens"))
            == "listens",
            lost_share=address.number("lost", 0.0, low=0.0, high=0.9),
            reset_s=reset_s or None,
            plates_off=off if is_flat else None,
            overload=address.number("overload", 0.0, low=0.0, high=3.0),
        )
        if model.is_listening and self._speed == math.inf:
            model = replace(model, frame_s=LED_FRAME_S)  # a group is led through an hour
        self.board = SimulatedBoard(model)
        self.certificate: Certificate | None = self.board.certificate()
        self.is_stamped = sys.platform == "win32" or self._speed != 1.0
        self._offset_us = 0  # stream's clock less board's clock
        self._port: PseudoPort | None = None
        self._inner: SerialLink | None = None
        self._task: asyncio.Task[None] | None = None
        self._asked = 0

    async def open(self, queue: StreamQueue) -> None:
        """Begin to deliver into `queue`; opened again, the board goes on where it was.

        Raises:
            BoardError: the system gave no pseudo-terminal.
        """
        board_us = round(self.board.now_s * 1e6)
        if self.is_stamped:
            self._offset_us = 0
            self._task = asyncio.create_task(self._deliver(queue))
            self._task.add_done_callback(lambda task: _report(task, queue))
            return
        port = PseudoPort(self.board, self._bunch_us)
        inner = SerialLink(Address("serial", port.path))
        inner.address = self.address
        try:
            await inner.open(queue)
        except BaseException:
            port.close()
            raise
        self._port, self._inner = port, inner
        self._offset_us = queue.now_us() - board_us
        port.start()

    async def _deliver(self, queue: StreamQueue) -> None:
        """Put the board's lines into the queue, no faster than its reader takes them."""
        loop = asyncio.get_running_loop()
        began_s, from_s = loop.time(), self.board.now_s
        queue.put(Chunk(self.address, round(from_s * 1e6), self.board.identity_line()))
        while True:
            if not queue.waiting:
                self._put_frame(queue)
            wait_s = began_s + (self.board.now_s - from_s) / self._speed - loop.time()
            await asyncio.sleep(0.0 if self._speed == math.inf else max(POLL_S, wait_s))

    def _put_frame(self, queue: StreamQueue) -> None:
        for at_us, data in bunched(self.board.next_lines(), self._bunch_us):
            queue.put(Chunk(self.address, at_us, data))
        if self._asked:
            self._asked -= 1
            at_us = round(self.board.now_s * 1e6)
            queue.put(Chunk(self.address, at_us, self.board.identity_line()))

    async def send(self, data: bytes) -> None:
        """Write to the board; it answers a request for its identity.

        Args:
            data: what to write.
        """
        if self._inner is not None:
            await self._inner.send(data)
        else:
            self._asked += data.count(REQUEST)

    async def hear(self, event: Event) -> None:
        """Let the athlete hear what is called out.

        Args:
            event: on the stream's clock.
        """
        at_s = (event.at_us - self._offset_us) * 1e-6
        self.board.hear(event.kind, at_s, event.detail)

    async def close(self) -> None:
        """Stop the board's time and let go of everything; calling it twice does no harm."""
        inner, port, task = self._inner, self._port, self._task
        self._inner = self._port = self._task = None
        if task is not None:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)
        if inner is not None:
            await inner.close()
        if port is not None:
            await asyncio.to_thread(port.close)


def _report(task: asyncio.Task[None], queue: StreamQueue) -> None:
    """Hand an error of the delivering task on to whoever waits for its lines."""
    error = None if task.cancelled() else task.exception()
    if isinstance(error, Exception):
        queue.fail(error)
