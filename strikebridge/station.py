"""One wall, live: what happens on the acquisition thread while athletes push.

Every record goes through the pipeline; the conductor hears keys and time; screens get an
immutable Glance and a wake-up, at most one outstanding. Keys come in through `press`. Nothing
here waits for a screen.
"""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING

import msgspec
from typing_extensions import override

from strikebridge.acquisition import Acquisition, Stream
from strikebridge.board_papers import BoardPapers
from strikebridge.boards.replay_link import ReplayLink
from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate_file import certificate_to_json
from strikebridge.calibration.chooser import calibrated
from strikebridge.calibration.rating import rated
from strikebridge.calls import prescribed, prescription_of
from strikebridge.desk import Attempt, Desk
from strikebridge.glance import Glance, Phase, Trouble
from strikebridge.measures import warm_up
from strikebridge.pipeline import Outcome, Pipeline
from strikebridge.samples import Event, Prescription, Rep
from strikebridge.scoreboard import Scoreboard
from strikebridge.session.conductor import Call, Conductor, Key, Plan
from strikebridge.sound.due import Due
from strikebridge.stream_setup import Setup, setup_for
from strikebridge.units import ForceUnit
from strikebridge.verdict.words import BACKWARDS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from strikebridge.boards.link import Link
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.holds import Watch
    from strikebridge.recording import Header
    from strikebridge.samples import Record
    from strikebridge.session.conductor import Leading
    from strikebridge.session.group_table import Input
    from strikebridge.sound.speaker import Speaker
    from strikebridge.sound.tones import Signal

WARM_UP_S = 1.0  # by then the window is there, and no hold is over yet


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
        rating_N: what one cell is rated for [N], in place of what the certificate says.
        shape: decoder of the lines, `auto` to find out.
        unit: the coach's unit.
        athlete: name of whose turn it is.
        exercise: the punch in words.
        seconds: length of the stream [s], None to go on until it ends or is stopped.
        is_patient: True to wait for a lost board and go on; False to end with its error.
        remote: address of a Bluetooth button that serves as a remote, None for none.
        speaker: plays the tones, opened and closed by the station; None for silence.
    """

    address: str
    plan: Plan = field(default_factory=lambda: Plan(Prescription()))
    recording: Path | None = None
    data: Path | None = None
    certificate: Certificate | None = None
    by_hand: Calibration | None = None
    rating_N: float | None = None
    shape: str = "auto"
    unit: ForceUnit = ForceUnit.KG
    athlete: str = ""
    exercise: str = ""
    seconds: float | None = None
    is_patient: bool = False
    remote: str | None = None
    speaker: Speaker | None = None


class Station(Acquisition):
    """Run one wall on a thread of its own.

    Attributes:
        setup: what it is to do.
    """

    SAFE = "Reps so far are saved."

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
            on_outcome: called with each rep, contact and gap, on the acquisition thread or that
                of the port; must not block.
            on_remark: called with each sentence that a coach should read and that is no
                trouble, on the acquisition thread or that of the port; must not block.
        """
        super().__init__(
            Stream(
                setup.address,
                setup.recording,
                setup.shape,
                setup.seconds,
                setup.is_patient,
                setup.data,
                setup.remote,
            )
        )
        self.setup = setup
        self._on_outcome = on_outcome
        self._on_remark = on_remark
        self._keys: deque[Key] = deque()
        self._glance = Glance(Phase.WAITING, athlete=setup.athlete, unit=setup.unit)
        self._pipeline: Pipeline | None = None
        self._conductor = Conductor(setup.plan)
        self._board = Scoreboard(setup.unit, athlete=setup.athlete, exercise=setup.exercise)
        self._certificate: Certificate | None = None
        self._has_begun = False
        self._is_warm = False
        self._is_held = False  # a hold may be under way
        self._papers = BoardPapers(setup.data, self._board, self._remark)
        self._is_backwards_said = False
        self._due = Due()
        self._desk = Desk()

    @override
    def start(self) -> None:
        if self.setup.speaker is not None:
            self.setup.speaker.open()
        super().start()

    @override
    def stop(self) -> None:
        super().stop()
        if self.setup.speaker is not None:
            self.setup.speaker.close()

    def press(self, key: Key) -> None:
        """Press a key; any thread.

        Args:
            key: what the coach pressed.
        """
        self._keys.append(key)

    def command(self, command: Input, turn: int | None = None) -> None:
        """Say what the coach of a group wants: free reps know no more than their keys.

        Args:
            command: one of `group_table.COMMANDS`.
            turn: number of the turn that is meant.
        """

    def glance(self) -> Glance:
        """Give the newest Glance; any thread."""
        self._is_woken = False
        return self._glance

    def desk(self) -> Desk:
        """Give the reps of the set for the coach's page; any thread."""
        return self._desk

    def cue(self, number: int) -> None:
        """Note a cue: free reps have no list of them, so nothing is noted.

        Args:
            number: which of the list, from 1.
        """

    @property
    def _leading(self) -> Leading:
        """Who says what happens next at the wall."""
        return self._conductor

    @property
    def pipeline(self) -> Pipeline | None:
        """The pipeline, to be read once the station has ended; None before the board opened."""
        return self._pipeline

    @override
    def _look_up(self, link: Link) -> None:
        setup = self.setup
        if setup.certificate is not None or setup.by_hand is not None:
            self._certificate = setup.certificate
        elif link.is_replay:
            self._certificate = link.certificate
        else:
            self._certificate = self._papers.look_up(link.certificate, link.address)

    @override
    def _prepare(self, link: Link, now_us: int) -> None:
        calibration = self.setup.by_hand
        if calibration is None and self._certificate is not None:
            calibration = Calibration.from_certificate(self._certificate)
        setup = Setup(calibration, rating_N=self.setup.rating_N)
        if isinstance(link, ReplayLink):
            setup = setup_for(link.header, setup)
        self._pipeline = Pipeline(self._decoder, setup, recorder=self._recorder)
        if not link.is_replay and self.setup.rating_N is not None:
            self._feed([rated(self.setup.rating_N, now_us)])
        if not link.is_replay and self.setup.plan.prescription != Prescription():
            # holds that nobody counted in have a prescription as well
            self._feed([prescribed(self.setup.plan.prescription, now_us)])

    def _choose(self) -> None:
        """Choose the board's certificate once the board is known."""
        if self._decoder is None or not self._papers.is_choosing:
            return
        over_s = (self._newest_us - self._first_us) * 1e-6
        certificate = self._papers.choose(self._decoder, self._address, over_s)
        if certificate is not None:
            self._feed([calibrated(certificate, self._now_us)])

    @override
    def _remark(self, sentence: str) -> None:
        if not sentence:
            return
        self._board.remark = sentence
        if self._on_remark is not None:
            self._on_remark(sentence)

    @override
    def _header(self) -> Header:
        stored = None
        if self.setup.by_hand is None and self._certificate is not None:
            stored = certificate_to_json(self._certificate)
        return msgspec.structs.replace(super()._header(), calibration=stored)

    @override
    def _feed(self, records: Sequence[Record]) -> None:
        pipeline = self._pipeline
        if pipeline is None:
            return
        self._note(pipeline.read(records))
        self._board.add(pipeline.fresh)
        self._papers.mind_rating(pipeline.calibration, pipeline.fresh)

    @override
    def _finish(self) -> None:
        if self._pipeline is not None:
            self._note(self._pipeline.finish())
            self._papers.mind_rating(self._pipeline.calibration, self._pipeline.fresh)
        self._papers.keep_overload(self._identity, self._certificate, self._address)

    @override
    def _heed(self, link: Link, event: Event) -> None:
        if event.kind == "prescribed":
            self._conductor.follow(prescription_of(event), event.at_us * 1e-6)
        elif event.kind == "key" and not link.is_replay:
            self.press(Key(str(event.detail["key"])))

    @override
    async def _act(self, link: Link) -> bool:
        if not self._is_warm and self._now_us >= WARM_UP_S * 1e6:
            self._is_warm = True
            # beside this thread: it may take seconds, and the bytes are recorded here
            threading.Thread(target=warm_up, name="warm-up", daemon=True).start()
        if not link.is_replay:
            self._choose()
            if self._papers.has_overload_to_keep:
                self._papers.keep_overload(self._identity, self._certificate, self._address)
        before = (self._leading.phase, self._is_held)
        if self._pipeline is not None:
            self._note(self._pipeline.judge())
        watch = self._watch()
        self._is_held = watch is not None and watch.onset_s is not None
        if watch is not None and watch.pulls and not self._is_backwards_said:
            self._is_backwards_said = True
            self._remark(BACKWARDS)
        self._board.see(watch, self._leading.plan.prescription)
        await self._conduct(link)
        if not link.is_replay:
            self._sound()
        return before != (self._leading.phase, self._is_held)

    async def _conduct(self, link: Link) -> None:
        """Let keys and time move the conductor, and say aloud what it says."""
        conductor, now_s = self._conductor, self._now_us * 1e-6
        conductor.touch(is_touched=self._is_held, now_s=now_s)
        calls: list[Call] = []
        if self._papers.is_overload_new:
            self._papers.is_overload_new = False
            calls += conductor.overload(now_s)
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
            self._feed([event])
            await link.hear(event)

    def _take(self, rep: Rep) -> None:
        """Let the conductor have a finished rep."""
        self._conductor.take(rep, self._now_us * 1e-6)

    def _sound(self) -> None:
        """Play what is due, waiting for nothing, and keep what was played."""
        speaker, now_us = self.setup.speaker, self._now_us
        signals = self._signals()
        if speaker is None:
            return
        for signal in signals:
            played = speaker.play(signal)
            if played is not None:
                self._feed([Event("sound", now_us, asdict(played))])
        said = speaker.take_remark()
        if said and self._on_remark is not None:
            self._on_remark(said)

    def _signals(self) -> tuple[Signal, ...]:
        """Say what is to be heard now, in order."""
        leading = self._leading
        left_s = leading.seconds_left(self._now_us * 1e-6)
        return self._due.feed(leading.phase, left_s, is_held=self._is_held)

    def _note(self, outcomes: list[Outcome]) -> None:
        for outcome in outcomes:
            if isinstance(outcome, Rep):
                self._take(outcome)
            if self._on_outcome is not None:
                self._on_outcome(outcome)

    def _watch(self) -> Watch | None:
        detector = None if self._pipeline is None else self._pipeline.detector
        return None if detector is None else detector.watch()

    @override
    def _find_trouble(self) -> Trouble | None:
        trouble, pipeline = super()._find_trouble(), self._pipeline
        if trouble is not None or pipeline is None or self._papers.is_choosing:
            return trouble
        if pipeline.readings > 0 and pipeline.calibration is None:
            return Trouble(
                "This board is not calibrated.",
                "Its readings are recorded. Calibrate it with a few plates: strikebridge "
                "calibrate.",
                self._now_us * 1e-6,
            )
        return None

    def _lay_out(self) -> None:
        """Lay the reps that count onto the coach's desk, if they are others than before."""
        reps = self._leading.reps
        if [one.rep for one in self._desk.attempts] != reps:
            attempts = (Attempt(number, rep) for number, rep in enumerate(reps, start=1))
            self._desk = replace(self._desk, attempts=tuple(attempts))

    @override
    def _show(self) -> None:
        self._lay_out()
        self._glance = self._with_turn(self._look_at_all())

    def _look_at_all(self) -> Glance:
        """Put the newest Glance together."""
        return self._board.glance(
            self._leading,
            newest_us=self._newest_us,
            now_us=self._now_us,
            trouble=self._trouble,
        )

    def _with_turn(self, glance: Glance) -> Glance:
        """Add whose turn it is, where there is more to it than a name."""
        return glance

    @override
    def _bide(self) -> None:
        self._keys.clear()  # pressed at a wall without a board
