"""The acquisition thread: one board, live, whatever is done with its readings.

One thread owns an asyncio loop, the link and the recording, so that a window dragged, a printer
dialogue or a slow paint never costs a sample. While it waits, the thread that reads the port
takes a line as far as the screen (`_look_first`); never are both at work. Who uses it says what
is done with the records (`_feed`), what is shown (`_show`), and what happens after that
(`_act`); a wall is a `station`, a calibration or a check a `rig_station`. Where the board is
lost it is waited for, if so wished, and the recording goes on.
"""

from __future__ import annotations

import asyncio
import logging
import threading
from abc import ABC, abstractmethod
from dataclasses import asdict, dataclass
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from strikebridge.boards.address import ANY_SHAPE, make_decoder, open_link, open_remote
from strikebridge.boards.health import BLINDING, WORDS, WatchedDecoder
from strikebridge.boards.remembered import shape_of
from strikebridge.boards.replay_link import ReplayLink
from strikebridge.boards.stream_queue import SHOW_FIRST_S, StreamQueue
from strikebridge.boards.strikebridge_lines import REQUEST
from strikebridge.boards.trouble import CHECK_PLUG, longest_pause_s, trouble_with
from strikebridge.errors import BoardError, RecordingError, StrikebridgeError
from strikebridge.glance import Trouble
from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import Chunk, Event

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from strikebridge.boards.link import Decoder, Link
    from strikebridge.samples import Identity, Record

log = logging.getLogger(__name__)

TICK_S = 0.05  # longest wait for bytes before time is looked at again
ACT_AFTER_US = 0.9e6 * SHOW_FIRST_S  # `_act` comes so long after a line, when it is shown,
ACT_LATE_US = 10_000  # or when the oldest line has waited this long for it
REOPEN_S = 0.2  # pause between two tries to find a lost board again
STOP_WITHIN_S = 10.0


@dataclass(frozen=True, slots=True)
class Stream:
    """Which board, and what becomes of its bytes.

    Attributes:
        address: address of the board.
        recording: file to record to; None to keep none (a recording played back).
        shape: decoder of the lines, `auto` to find out.
        seconds: length of the stream [s], None to go on until it ends or is stopped.
        is_patient: True to wait for a lost board and go on; False to end with its error.
        data: data folder, in which the shapes of boards are remembered; None to look none up.
        remote: address of a Bluetooth button whose presses are events of this stream, None for
            none.
    """

    address: str
    recording: Path | None = None
    shape: str = "auto"
    seconds: float | None = None
    is_patient: bool = False
    data: Path | None = None
    remote: str | None = None


class Acquisition(ABC):
    """Run one board on a thread of its own.

    Attributes:
        stream: which board.
        error: why it ended early, None as long as all is well.
    """

    SAFE = "What was recorded is safe."
    """What is safe while the board is gone, in the words of whoever uses it."""

    def __init__(self, stream: Stream) -> None:
        """Prepare; `start` begins.

        Args:
            stream: which board.
        """
        self.stream = stream
        self.error: Exception | None = None
        self._address = stream.address
        self._stopping = threading.Event()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="acquisition", daemon=True)
        self._wake: Callable[[], None] | None = None
        self._is_woken = False
        self._shape = stream.shape
        self._decoder: WatchedDecoder | None = None
        self._is_quiet = False
        self._recorder: RecordingWriter | None = None
        self._newest_us = 0
        self._now_us = 0
        self._first_us = 0
        self._owed_us: int | None = None  # arrival of the oldest line not acted on
        self._trouble: Trouble | None = None
        self._identity: Identity | None = None

    def start(self) -> None:
        """Begin; returns at once."""
        self._thread.start()

    def stop(self) -> None:
        """End the recording, let go of the board and join the thread."""
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join(STOP_WITHIN_S)

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait for the stream to end.

        Args:
            timeout_s: longest wait [s], None for ever.

        Returns:
            True if it has ended.
        """
        return self._ended.wait(timeout_s)

    def listen(self, wake: Callable[[], None]) -> None:
        """Ask to be woken when there is something newer to show, once until it is looked at.

        Args:
            wake: called on the thread that is at work with the records; must not block.
        """
        self._wake = wake

    @property
    def decoder(self) -> Decoder | None:
        """The decoder, to be read once the stream has ended; None before the board opened."""
        return self._decoder

    @property
    def bytes_recorded(self) -> int:
        """Bytes of the board that went into the recording."""
        return 0 if self._recorder is None else self._recorder.bytes_recorded

    @property
    def seconds(self) -> float:
        """Length of the stream so far [s]."""
        return self._now_us * 1e-6

    @abstractmethod
    def _prepare(self, link: Link, now_us: int) -> None:
        """Put the stages together: decoder and recorder are there, no record was taken yet."""

    @abstractmethod
    def _feed(self, records: Sequence[Record]) -> None:
        """Take records in order of arrival, chunks and events; record them first."""

    @abstractmethod
    async def _act(self, link: Link) -> bool:
        """Let keys, time and what was fed have their effect.

        Returns:
            True if that has to be shown before the next line comes.
        """

    @abstractmethod
    def _finish(self) -> None:
        """End the stages: nothing more will come."""

    @abstractmethod
    def _show(self) -> None:
        """Make what is to be shown."""

    @abstractmethod
    def _look_up(self, link: Link) -> None:
        """Find out what can be known before the board is opened."""

    @abstractmethod
    def _bide(self) -> None:
        """Do what can be done while there is no board, some times a second, and once after.

        What is pressed in vain is forgotten: nothing may happen of it when the board is back.
        """

    def _header(self) -> Header:
        """Make the header of the recording."""
        started = datetime.now().astimezone().isoformat(timespec="milliseconds")
        return Header(board=self._address, started=started, shape=self._shape)

    def _say(self, kind: str) -> None:
        """Put an event of now into the stream."""
        self._feed([Event(kind, self._now_us)])

    def _publish(self) -> None:
        self._show()
        if self._wake is not None and not self._is_woken:
            self._is_woken = True
            self._wake()

    def _run(self) -> None:
        try:
            asyncio.run(self._live())
        except StrikebridgeError as error:
            self.error = error
            self._trouble = Trouble(str(error), "", 0.0)
        except Exception as error:  # the edge of the thread: nobody else would ever see it
            log.exception("the acquisition thread ended")
            self.error = error
            self._trouble = Trouble(
                f"The program failed: {error}.", "What was recorded up to now is safe.", 0.0
            )
        finally:
            try:
                self._publish()
            finally:
                self._ended.set()

    async def _live(self) -> None:
        link = open_link(self.stream.address)
        self._address = link.address  # without what nobody else may know
        queue = StreamQueue()
        self._shape = shape_of(self.stream.address, self.stream.shape, self.stream.data)
        if isinstance(link, ReplayLink) and self._shape == ANY_SHAPE:
            self._shape = link.header.shape
        self._look_up(link)
        remote = None if self.stream.remote is None else open_remote(self.stream.remote)
        # what comes before the recording is there waits in the queue
        if not await self._open(link, queue):
            return
        await link.send(REQUEST)
        try:
            if remote is not None and not await self._open(remote, queue):
                return
            if self.stream.recording is not None:
                self._recorder = RecordingWriter(self.stream.recording, self._header())
            self._decoder = WatchedDecoder(make_decoder(self._shape))
            self._prepare(link, queue.now_us())
            try:
                await self._follow(link, queue)
            finally:
                await link.close()
                self._end(queue)
        finally:
            await link.close()
            if remote is not None:
                await remote.close()
            if self._recorder is not None:
                self._recorder.close()

    async def _open(self, link: Link, queue: StreamQueue) -> bool:
        """Open a link, which may take seconds over the radio, unless a stop is wished for.

        Returns:
            False if it was stopped; the link is closed then.
        """
        opening = asyncio.create_task(link.open(queue))
        while not opening.done() and not self._stopping.is_set():
            await asyncio.wait({opening}, timeout=TICK_S)
        if not opening.done():
            opening.cancel()
            await asyncio.gather(opening, return_exceptions=True)
            await link.close()
            return False
        await opening
        return True

    def _end(self, queue: StreamQueue) -> None:
        """Keep what still waits in the queue, then let go of what is under way."""
        try:
            self._feed(queue.rest())
        finally:
            self._finish()

    async def _follow(self, link: Link, queue: StreamQueue) -> None:
        look = partial(self._look_first, link, queue)
        while not self._stopping.is_set():
            try:
                wait_s = TICK_S if self._owed_us is None else SHOW_FIRST_S
                records = await queue.take(timeout_s=wait_s, first_look=look)
            except BoardError as error:
                if not self.stream.is_patient:
                    raise
                await self._find_again(link, queue, error)
                continue
            if records is None:
                return
            await self._step(link, queue, records)
            if queue.refused:
                raise RecordingError(
                    f"This computer did not keep up: {queue.refused} pieces of the stream were "
                    "lost. What was recorded before is safe. Close other programs, start again."
                )
            if self.stream.seconds is not None and self.seconds >= self.stream.seconds:
                return

    def _look_first(self, link: Link, queue: StreamQueue, records: list[Record]) -> bool:
        """Take records as far as the screen that waits for them; `_step` does the rest.

        Returns:
            Whether the rest must not wait for the screen any longer.
        """
        self._now_us = queue.now_us()
        for record in records:
            if isinstance(record, Chunk):
                self._first_us = self._first_us or record.arrived_us
                self._newest_us = record.arrived_us
            else:
                self._heed(link, record)
        if link.is_stamped:
            self._now_us = self._newest_us
        self._feed(records)
        if link.is_stamped:
            return True
        # what a screen shows of these lines needs no more; the rest would keep it waiting
        self._publish()
        if self._owed_us is None:
            self._owed_us = self._newest_us
        return self._now_us - self._owed_us >= ACT_LATE_US

    def _heed(self, link: Link, event: Event) -> None:
        """Do what an event of the link asks for, before it is fed; a rig asks for nothing."""
        log.debug("%s sent an event: %s", link.address, event.kind)

    async def _step(self, link: Link, queue: StreamQueue, records: list[Record]) -> None:
        if not records:
            self._now_us = self._newest_us if link.is_stamped else queue.now_us()
        is_shown = link.is_stamped or (not records and self._owed_us is None)
        if records and not link.is_stamped:
            owed_us = self._newest_us if self._owed_us is None else self._owed_us
            self._now_us = queue.now_us()
            if self._now_us - owed_us < ACT_AFTER_US:
                return
        self._owed_us = None
        if not link.is_replay:
            self._get_to_know()
            self._look_after()
        is_new = await self._act(link)
        trouble = self._find_trouble()
        is_new |= (trouble is None) != (self._trouble is None)
        self._trouble = trouble
        if is_shown or is_new:
            self._publish()

    def _get_to_know(self) -> None:
        """Keep what the board says of itself."""
        identity = None if self._decoder is None else self._decoder.identity
        if identity is not None and identity != self._identity:
            self._identity = identity
            self._feed([Event("identity", self._now_us, asdict(identity))])

    def _look_after(self) -> None:
        """Log what began to be wrong with the board, or is over, and say what is passing."""
        decoder = self._decoder
        if decoder is None:
            return
        is_quiet = self._now_us - self._newest_us > longest_pause_s(decoder) * 1e6
        if is_quiet != self._is_quiet:
            self._is_quiet = is_quiet
            self._say("quiet" if is_quiet else "heard")
        for change in decoder.health.changes():
            kind = "fault" if change.has_begun else "fault_over"
            self._feed([Event(kind, self._now_us, {"kind": change.fault.value})])
            if change.has_begun and change.fault not in BLINDING:
                self._remark(" ".join(WORDS[change.fault]))

    def _remark(self, sentence: str) -> None:
        """Say a sentence that is no trouble; whoever has a place for it says it there."""
        log.info(sentence)

    def _find_trouble(self) -> Trouble | None:
        """Say in words what is wrong with the stream, None if nothing is."""
        return trouble_with(
            self._decoder,
            address=self.stream.address,
            newest_us=self._newest_us,
            now_us=self._now_us,
            safe=self.SAFE,
        )

    async def _find_again(self, link: Link, queue: StreamQueue, error: BoardError) -> None:
        """Wait for a lost board to come back under the same address; the recording goes on."""
        self._get_to_know()  # what came last may not have been acted on
        self._now_us = lost_us = queue.now_us()
        self._say("lost")
        while not self._stopping.is_set():
            await link.close()
            self._now_us = queue.now_us()
            since_s = (self._now_us - lost_us) * 1e-6
            self._bide()
            self._trouble = Trouble(str(error), f"{self.SAFE} {CHECK_PLUG}", since_s)
            self._publish()
            await asyncio.sleep(REOPEN_S)
            try:
                if not await self._open(link, queue):
                    return
                await link.send(REQUEST)
            except BoardError:
                continue
            self._now_us = queue.now_us()
            self._bide()
            self._say("back")
            return
