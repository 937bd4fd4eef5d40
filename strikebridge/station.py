"""One wall, live: the acquisition thread and everything that happens on it.

One thread owns an asyncio loop, the link, the recording and the pipeline, so that a window
dragged, a printer dialogue or a slow paint never costs a sample. Screens get an immutable
Glance and a wake-up, at most one outstanding; keys come in through `press`. Nothing here waits
for a screen.
"""

from __future__ import annotations

import asyncio
import logging
import threading
from collections import deque
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from strikebridge.boards.address import make_decoder, open_link
from strikebridge.boards.link import StreamQueue
from strikebridge.boards.replay_link import ReplayLink
from strikebridge.boards.strikebridge_lines import REQUEST
from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate import certificate_to_json
from strikebridge.calibration.chooser import Chooser, calibrated, chosen_words
from strikebridge.calibration.shelf import Shelf, board_name, of_board
from strikebridge.calls import prescribed, prescription_of
from strikebridge.errors import BoardError, RecordingError, StrikebridgeError
from strikebridge.measures import warm_up
from strikebridge.pipeline import Outcome, Pipeline, Setup, setup_for
from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import (
    Chunk,
    Event,
    Glance,
    Phase,
    Prescription,
    Rep,
    Trouble,
)
from strikebridge.scoreboard import Scoreboard
from strikebridge.session.conductor import Call, Conductor, Key, Plan
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from strikebridge.boards.link import Decoder, Link
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.samples import Identity, Record

log = logging.getLogger(__name__)

TICK_S = 0.05  # longest wait for bytes before time is looked at again
PAINT_FIRST_S = 0.004  # the screen goes first: holds are looked for this long after a line,
JUDGE_LATE_US = 10_000  # or when the oldest line has waited this long
QUIET_S = 1.0  # silence that is said on the wall
REOPEN_S = 0.5  # pause between two tries to find a lost board again
WARM_UP_S = 1.0  # by then the window is there, and no hold is over yet
STOP_WITHIN_S = 10.0
SAID_NOTHING = 20  # unreadable lines without a reading before it is said on the wall


@dataclass(frozen=True, slots=True)
class StationSetup:
    """What a station is to do.

    Attributes:
        address: address of the board.
        plan: what is to be done at the wall; None to watch and record only.
        recording: file to record to; None to keep none (a recording played back).
        data: data folder, whose shelf has the board's certificate; None to look at none.
        certificate: calibration; None to take the newest one of the board from the shelf, else
            the one that the link brings.
        by_hand: plain calibration in place of a certificate.
        shape: decoder of the lines, `auto` to find out.
        unit: the coach's unit.
        athlete: name of whose turn it is.
        exercise: the punch in words.
        seconds: length of the stream [s], None to go on until it ends or is stopped.
        is_patient: True to wait for a lost board and go on; False to end with its error.
    """

    address: str
    plan: Plan = field(default_factory=lambda: Plan(Prescription()))
    recording: Path | None = None
    data: Path | None = None
    certificate: Certificate | None = None
    by_hand: Calibration | None = None
    shape: str = "auto"
    unit: ForceUnit = ForceUnit.KG
    athlete: str = ""
    exercise: str = ""
    seconds: float | None = None
    is_patient: bool = False


class Station:
    """Run one wall on a thread of its own.

    Attributes:
        setup: what it is to do.
        error: why it ended early, None as long as all is well.
    """

    def __init__(
        self,
        setup: StationSetup,
        *,
        on_outcome: Callable[[Outcome], None] | None = None,
        on_remark: Callable[[str], None] | None = None,
    ) -> None:
        """Prepare; `start` begins.

        Args:
            setup: what it is to do.
            on_outcome: called on the acquisition thread with each rep, contact and gap; must
                not block.
            on_remark: called on the acquisition thread with each sentence that a coach should
                read and that is no trouble; must not block.
        """
        self.setup = setup
        self.error: Exception | None = None
        self._on_outcome = on_outcome
        self._on_remark = on_remark
        self._keys: deque[Key] = deque()
        self._stopping = threading.Event()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="acquisition", daemon=True)
        self._wake: Callable[[], None] | None = None
        self._is_woken = False
        self._glance = Glance(Phase.WAITING, athlete=setup.athlete, unit=setup.unit)
        self._pipeline: Pipeline | None = None
        self._decoder: Decoder | None = None
        self._recorder: RecordingWriter | None = None
        self._conductor = Conductor(setup.plan)
        self._board = Scoreboard(setup.unit, athlete=setup.athlete, exercise=setup.exercise)
        self._newest_us = 0
        self._now_us = 0
        self._owed_us: int | None = None  # oldest arrival in which no holds were looked for
        self._first_us = 0
        self._has_begun = False
        self._is_warm = False
        self._is_held = False  # a hold may be under way
        self._trouble: Trouble | None = None
        self._chooser: Chooser | None = None
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

    def press(self, key: Key) -> None:
        """Press a key; any thread.

        Args:
            key: what the coach pressed.
        """
        self._keys.append(key)

    def listen(self, wake: Callable[[], None]) -> None:
        """Ask to be woken when a newer Glance exists, at most once until `glance` is called.

        Args:
            wake: called on the acquisition thread; must not block.
        """
        self._wake = wake

    def glance(self) -> Glance:
        """Give the newest Glance; any thread."""
        self._is_woken = False
        return self._glance

    @property
    def pipeline(self) -> Pipeline | None:
        """The pipeline, to be read once the station has ended; None before the board opened."""
        return self._pipeline

    @property
    def decoder(self) -> Decoder | None:
        """The decoder, to be read once the station has ended; None before the board opened."""
        return self._decoder

    @property
    def bytes_recorded(self) -> int:
        """Bytes of the board that went into the recording."""
        return 0 if self._recorder is None else self._recorder.bytes_recorded

    @property
    def seconds(self) -> float:
        """Length of the stream so far [s]."""
        return self._now_us * 1e-6

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
        link = open_link(self.setup.address)
        queue = StreamQueue()
        certificate = self._known_certificate(link)
        await link.open(queue)  # what comes before the recording is there waits in the queue
        await link.send(REQUEST)
        try:
            if self.setup.recording is not None:
                self._recorder = RecordingWriter(
                    self.setup.recording, self._header(certificate)
                )
            self._pipeline = pipeline = self._make_pipeline(link, certificate)
            if not link.is_replay and self.setup.plan.prescription != Prescription():
                # holds that nobody counted in have a prescription as well
                pipeline.feed([prescribed(self.setup.plan.prescription, queue.now_us())])
            try:
                await self._follow(link, queue)
            finally:
                await link.close()
                self._end(pipeline, queue)
        finally:
            await link.close()
            if self._recorder is not None:
                self._recorder.close()

    def _known_certificate(self, link: Link) -> Certificate | None:
        """Find the certificate as far as it can be known before the board is open."""
        setup = self.setup
        if setup.certificate is not None or setup.by_hand is not None:
            return setup.certificate
        if link.is_replay or setup.data is None:
            return link.certificate
        shelf, now = Shelf(setup.data), datetime.now().astimezone()
        shelved = shelf.all()
        for sentence in shelf.damaged:
            self._remark(sentence)
        if link.certificate is None:
            self._chooser = Chooser(shelved, setup.address, now)
            return None
        # a link that brings a certificate of its own knows the name of its board beforehand
        found = of_board(shelved, board_name(link.certificate), setup.address)
        if not found:
            return link.certificate
        self._remark(chosen_words(found[0].certificate, now))
        return found[0].certificate

    def _get_to_know(self) -> None:
        """Keep what the board says of itself, and choose its certificate once that is known."""
        pipeline, decoder = self._pipeline, self._decoder
        if pipeline is None or decoder is None:
            return
        identity = decoder.identity
        if identity is not None and identity != self._identity:
            self._identity = identity
            self._note(pipeline.feed([Event("identity", self._now_us, asdict(identity))]))
        if self._chooser is None:
            return
        over_s = (self._newest_us - self._first_us) * 1e-6
        chooser = self._chooser
        certificate = chooser.look(identity, decoder.quantity, decoder.channels, over_s)
        if certificate is not None:
            self._note(pipeline.feed([calibrated(certificate, self._now_us)]))
        if chooser.is_done:
            self._chooser = None
            self._remark(chooser.remark)

    def _remark(self, sentence: str) -> None:
        if not sentence:
            return
        self._board.remark = sentence
        if self._on_remark is not None:
            self._on_remark(sentence)

    def _header(self, certificate: Certificate | None) -> Header:
        stored = None
        if self.setup.by_hand is None and certificate is not None:
            stored = certificate_to_json(certificate)
        started = datetime.now().astimezone().isoformat(timespec="milliseconds")
        return Header(
            board=self.setup.address,
            started=started,
            shape=self.setup.shape,
            calibration=stored,
        )

    def _end(self, pipeline: Pipeline, queue: StreamQueue) -> None:
        """Keep what still waits in the queue, then let go of what is under way."""
        try:
            self._note(pipeline.feed(queue.rest()))
        finally:
            self._note(pipeline.finish())

    def _make_pipeline(self, link: Link, certificate: Certificate | None) -> Pipeline:
        calibration = self.setup.by_hand
        if calibration is None and certificate is not None:
            calibration = Calibration.from_certificate(certificate)
        self._decoder = make_decoder(self.setup.shape)
        setup = Setup(calibration)
        if isinstance(link, ReplayLink):
            setup = setup_for(link.header, setup)
        return Pipeline(self._decoder, setup, recorder=self._recorder)

    async def _follow(self, link: Link, queue: StreamQueue) -> None:
        while not self._stopping.is_set():
            try:
                wait_s = TICK_S if self._owed_us is None else PAINT_FIRST_S
                records = await queue.take(timeout_s=wait_s)
            except BoardError as error:
                if not self.setup.is_patient:
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
            if self.setup.seconds is not None and self.seconds >= self.setup.seconds:
                return

    async def _step(self, link: Link, queue: StreamQueue, records: list[Record]) -> None:
        pipeline = self._pipeline
        if pipeline is None:
            return
        self._now_us = queue.now_us()
        for record in records:
            if isinstance(record, Chunk):
                self._first_us = self._first_us or record.arrived_us
                self._newest_us = record.arrived_us
            else:
                self._follow_replay(record)
        if link.is_stamped:
            self._now_us = self._newest_us
        self._note(pipeline.read(records))
        self._board.add(pipeline.fresh)
        if records and not link.is_stamped:
            # what a screen shows of these lines needs no more; the rest would keep it waiting
            self._publish()
            if self._owed_us is None:
                self._owed_us = self._newest_us
            if self._now_us - self._owed_us < JUDGE_LATE_US:
                return
        is_idle = not records and self._owed_us is None
        await self._judge(link, pipeline, is_shown=is_idle or link.is_stamped)

    async def _judge(self, link: Link, pipeline: Pipeline, *, is_shown: bool) -> None:
        """Look for holds, conduct, look for trouble.

        Args:
            link: the way to the board.
            pipeline: what was read is in there.
            is_shown: True to publish even if no more than the clock has moved.
        """
        self._owed_us = None
        if not self._is_warm and self._now_us >= WARM_UP_S * 1e6:
            self._is_warm = True
            warm_up()
        before = (self._conductor.phase, self._trouble is None, self._is_held)
        self._note(pipeline.judge())
        watch = None if pipeline.detector is None else pipeline.detector.watch()
        self._is_held = watch is not None and watch.onset_s is not None
        self._board.see(watch, self._conductor.plan.prescription)
        if not link.is_replay:
            self._get_to_know()
        await self._conduct(link)
        self._look_for_trouble()
        if is_shown or before != (self._conductor.phase, self._trouble is None, self._is_held):
            self._publish()

    async def _conduct(self, link: Link) -> None:
        """Let keys and time move the conductor, and say aloud what it says."""
        conductor, now_s = self._conductor, self._now_us * 1e-6
        conductor.touch(is_touched=self._is_held, now_s=now_s)
        calls: list[Call] = []
        while self._keys:
            calls += conductor.press(self._keys.popleft(), now_s)
        if self._newest_us:
            if not self._has_begun:
                self._has_begun = True
                calls += conductor.tick(self._first_us * 1e-6)  # from here rounds are counted
            calls += conductor.tick(now_s)
        if link.is_replay:
            return  # the recording already holds what was said then
        for call in calls:
            event = Event(call.value, self._now_us)
            if call is Call.PRESCRIBED:
                event = prescribed(conductor.plan.prescription, self._now_us)
            if self._pipeline is not None:
                self._note(self._pipeline.feed([event]))
            await link.hear(event)

    def _follow_replay(self, event: Event) -> None:
        if event.kind == "prescribed":
            self._conductor.follow(prescription_of(event), event.at_us * 1e-6)

    def _note(self, outcomes: list[Outcome]) -> None:
        for outcome in outcomes:
            if isinstance(outcome, Rep):
                self._conductor.take(outcome, self._now_us * 1e-6)
            if self._on_outcome is not None:
                self._on_outcome(outcome)

    def _look_for_trouble(self) -> None:
        """Say in words what is wrong, if anything is."""
        quiet_s = (self._now_us - self._newest_us) * 1e-6
        pipeline, decoder = self._pipeline, self._decoder
        self._trouble = None
        if quiet_s > QUIET_S:
            what = f"The board went quiet {quiet_s:.0f} s ago."
            if self._newest_us == 0:
                what = "Nothing has come from the board yet."
            advice = "Reps so far are saved. Check the plug; I go on by myself."
            self._trouble = Trouble(what, advice, quiet_s)
        elif (
            pipeline is not None
            and pipeline.readings > 0
            and pipeline.calibration is None
            and self._chooser is None
        ):
            self._trouble = Trouble(
                "This board is not calibrated.",
                "Its readings are recorded. Calibrate it with a few plates: strikebridge "
                "calibrate.",
                self._now_us * 1e-6,
            )
        elif decoder is not None and decoder.unreadable > SAID_NOTHING and not decoder.channels:
            self._trouble = Trouble(
                "The board sends lines that I cannot read.",
                "All is recorded. Check the baud rate, and that the board runs a sketch that "
                "writes numbers.",
                self._now_us * 1e-6,
            )

    def _publish(self) -> None:
        self._glance = self._board.glance(
            self._conductor,
            newest_us=self._newest_us,
            now_us=self._now_us,
            trouble=self._trouble,
        )
        if self._wake is not None and not self._is_woken:
            self._is_woken = True
            self._wake()

    async def _find_again(self, link: Link, queue: StreamQueue, error: BoardError) -> None:
        """Wait for a lost board to come back under the same address; the recording goes on."""
        self._say("lost", queue)
        lost_us = queue.now_us()
        while not self._stopping.is_set():
            await link.close()
            self._now_us = queue.now_us()
            since_s = (self._now_us - lost_us) * 1e-6
            advice = "Reps so far are saved. Check the plug; I go on by myself."
            self._trouble = Trouble(str(error), advice, since_s)
            self._publish()
            await asyncio.sleep(REOPEN_S)
            try:
                await link.open(queue)
                await link.send(REQUEST)
            except BoardError:
                continue
            self._keys.clear()  # pressed at a wall without a board
            self._say("back", queue)
            return

    def _say(self, kind: str, queue: StreamQueue) -> None:
        self._now_us = queue.now_us()
        if self._pipeline is not None:
            self._note(self._pipeline.feed([Event(kind, self._now_us)]))
