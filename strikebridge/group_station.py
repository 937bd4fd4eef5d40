"""One wall, live, with a group: the conductor leads, and all that happens is written down.

It is a station that leads through a plan instead of free repetitions. What the conductor says
goes into the recording as events, by random ids only, and into the database by the bookkeeper.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING

from typing_extensions import override

from strikebridge.club.training import ClosedTurn, Closing, CueRecord
from strikebridge.day_stops import SEE_SOMEONE, DayStops
from strikebridge.glance import Phase
from strikebridge.samples import Event, Rep
from strikebridge.scoreboard import shown
from strikebridge.session.attempts import Attempts
from strikebridge.session.chase import origin
from strikebridge.session.group_table import Input, Stage
from strikebridge.session.happenings import (
    Advised,
    Closed,
    Cued,
    Done,
    Finished,
    Named,
    Reopened,
    Stopped,
    TakenBack,
    Turned,
    Undone,
)
from strikebridge.session.lineup import called, follower, notes_of, places
from strikebridge.session.pain_words import STOPPED, pain_words
from strikebridge.session.undone import ASKED, named_words, undone_words
from strikebridge.session_notes import SessionNotes
from strikebridge.sound.tones import Signal
from strikebridge.station import Station

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from strikebridge.boards.link import Link
    from strikebridge.bookkeeper import Bookkeeper
    from strikebridge.club.athlete import Athlete
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.glance import Glance
    from strikebridge.pipeline import Outcome
    from strikebridge.session.conductor import Key, Leading
    from strikebridge.session.group_conductor import GroupConductor
    from strikebridge.session.happenings import Happening
    from strikebridge.session.turns import Turn
    from strikebridge.station import StationSetup

STANDING_STILL = frozenset((Stage.PAUSED, Stage.LOST))
UNDER_WAY = frozenset((Stage.COUNT_IN, Stage.HOLD, Stage.DRILL))
ADVICE_S = 8.0  # how long a stop for pain stands on the wall, or until a pause is over


@dataclass(frozen=True, slots=True)
class GroupSetup:
    """What a group is to do, and where it is written down.

    Attributes:
        session: id of the session.
        conductor: leads through the plan.
        athletes: id -> athlete, everybody of the session.
        book: writes everything down.
        rig_setup: how wall and fist are set up.
        cues: the coach's own list of cues.
        stops: what stops for pain of this day and of those before mean for it.
        on_happening: called with everything that happens, on the acquisition thread or that
            of the port, with a rep on the writing thread once it is on the disk; must not
            block.
    """

    session: str
    conductor: GroupConductor
    athletes: Mapping[str, Athlete]
    book: Bookkeeper
    rig_setup: RigSetup
    cues: tuple[str, ...] = ()
    stops: DayStops = field(default_factory=DayStops)
    on_happening: Callable[[Happening], None] | None = None


class GroupStation(Station):
    """Run one wall with a group.

    Attributes:
        group: what the group is to do.
    """

    def __init__(
        self,
        setup: StationSetup,
        group: GroupSetup,
        *,
        on_outcome: Callable[[Outcome], None] | None = None,
        on_remark: Callable[[str], None] | None = None,
    ) -> None:
        """Prepare; `start` begins.

        Args:
            setup: what the station is to do; its plan is not used.
            group: what the group is to do.
            on_outcome: as for `Station`.
            on_remark: as for `Station`.
        """
        super().__init__(setup, on_outcome=on_outcome, on_remark=on_remark)
        self.group = group
        self._leads = group.conductor
        recording = None if setup.recording is None else setup.recording.name
        self._notes = SessionNotes(group.session, group.athletes, group.rig_setup, recording)
        self._began_at = datetime.now().astimezone()
        self._commands: deque[tuple[Input, int | None] | str] = deque()
        self._said: deque[Happening] = deque()
        self._turn: Turn | None = None
        self._laid_out: tuple[object, ...] = ()  # what the desk was made for
        self._cue = ""
        self._is_drill = self._is_still = False
        self._target_N: float | None = None
        self._target_from = ""
        self._advice: tuple[str, ...] = ()
        self._advised_us = 0
        self._told, self._told_us = "", 0
        if group.stops.today:
            self._advise(" ".join((*group.stops.today, SEE_SOMEONE)))
        self._is_awaited = False  # where the push itself begins the hold, it may come now
        self._attempts = Attempts()

    @override
    def press(self, key: Key) -> None:
        """Press a key; any thread.

        Args:
            key: what the coach pressed.
        """
        self.command(Input(key.value))

    @override
    def command(self, command: Input, turn: int | None = None) -> None:
        """Say what the coach wants; any thread.

        Args:
            command: one of `group_table.COMMANDS`.
            turn: number of the turn that is meant, None for the one shown.
        """
        self._commands.append((command, turn))

    @override
    def cue(self, number: int) -> None:
        """Note a cue of the coach's list; any thread.

        Args:
            number: which, from 1; one that is not on the list means nothing.
        """
        if 1 <= number <= len(self.group.cues):
            self._commands.append(self.group.cues[number - 1])

    @property
    @override
    def _leading(self) -> Leading:
        return self._leads

    @override
    def _bide(self) -> None:
        """Let what is only timed go on, and hear what needs no board: pain above all."""
        leads, now_s = self._leads, self._now_us * 1e-6
        self._hear(leads.board(is_there=False, now_s=now_s))
        self._obey(now_s)
        self._hear(leads.tick(now_s))
        for event in self._act_on_all():
            self._feed([event])
        if leads.is_done:
            self._stopping.set()

    @override
    async def _conduct(self, link: Link) -> None:
        """Let keys and time move the session, and act on what happens."""
        leads, now_s = self._leads, self._now_us * 1e-6
        self._hear(leads.touch(is_touched=self._is_held, now_s=now_s))
        if self._papers.is_overload_new:
            self._papers.is_overload_new = False
            self._hear(leads.overload(now_s))
        self._obey(now_s)
        if self._newest_us:
            self._hear(leads.board(is_there=self._trouble is None, now_s=now_s))
            self._hear(leads.tick(now_s))
        for event in self._act_on_all():
            if not link.is_replay:  # the recording already holds what was said then
                self._feed([event])
                await link.hear(event)
        await self._invite(link)
        if leads.is_done:
            self._stopping.set()

    async def _invite(self, link: Link) -> None:
        """Let an invented athlete know that the push may come; a real one sees the wall."""
        was_awaited, self._is_awaited = self._is_awaited, self._leads.awaits_push
        if self._is_awaited and not was_awaited and not link.is_replay:
            await link.hear(Event("ready", self._now_us))

    def _obey(self, now_s: float) -> None:
        """Let the conductor hear what the coach wants."""
        while self._commands:
            one = self._commands.popleft()
            if isinstance(one, str):
                self._hear(self._leads.cue(one))
            else:
                self._hear(self._leads.press(one[0], now_s, turn=one[1]))

    @override
    def _note(self, outcomes: list[Outcome]) -> None:
        for outcome in outcomes:
            if isinstance(outcome, Rep):
                self._hear(self._leads.take(outcome, self._now_us * 1e-6))
            if self._on_outcome is not None:
                self._on_outcome(outcome)

    @override
    def _finish(self) -> None:
        super()._finish()
        self._act_on_all()  # the last rep may have come with the end of the stream

    @override
    def _signals(self) -> tuple[Signal, ...]:
        """Sound what is only timed like a hold: its begin, its last seconds and its end."""
        leads, was_drill = self._leads, self._is_drill
        self._is_drill = leads.stage is Stage.DRILL
        if self._is_drill:
            left_s = leads.seconds_left(self._now_us * 1e-6)
            return self._due.feed(Phase.HOLD, left_s, is_held=True)
        ended = (Signal.DONE,) if was_drill and leads.stage is Stage.RESULT else ()
        return ended + super()._signals()

    def _hear(self, happenings: Sequence[Happening]) -> None:
        self._said.extend(happenings)

    def _act_on_all(self) -> list[Event]:
        """Write down what happened, show it, and say what goes into the recording."""
        events: list[Event] = []
        while self._said:
            one = self._said.popleft()
            self._write(one)
            self._attempts.hear(one)
            event = self._notes.event(one, self._now_us)
            if event is not None:
                events.append(event)
            if isinstance(one, Turned):
                self._show_turn(one.turn)
            elif isinstance(one, Advised):
                words = pain_words(one.turn, self.group.athletes)
                self._advise(words)
                self._remind(f"{STOPPED}. {words}")
            elif isinstance(one, Undone):
                self._say_undone(one)
            elif isinstance(one, Named):
                self._remind(f"{ASKED} {named_words(one, self.group.athletes)}")
            if not isinstance(one, Done):  # that is told once it is safely written
                self._tell(one)
        return events

    def _advise(self, words: str) -> None:
        """Put a stop for pain onto the wall; who it was stands there rather than a sentence."""
        self._advice, self._advised_us = (STOPPED, words), self._now_us

    def _say_undone(self, one: Undone) -> None:
        """Say what was taken back, in place of the stop for pain if that is what it was."""
        if one.why is Closing.PAIN:
            self._advice = ()
        force = None if one.rep is None else shown(one.rep)
        said = undone_words(one, self.group.athletes, force, self.setup.unit)
        self._told, self._told_us = said, self._now_us
        self._remind(said)

    def _remind(self, sentence: str) -> None:
        """Say something that does not stay beside the next athlete's numbers, as remarks do."""
        if self._on_remark is not None:
            self._on_remark(sentence)

    def _tell(self, one: Happening) -> None:
        if self.group.on_happening is not None:
            self.group.on_happening(one)

    def _write(self, one: Happening) -> None:
        book, at = self.group.book, self._now
        session = self.group.session
        if isinstance(one, Done):
            book.save(self._notes.record(one, self._now), partial(self._tell, one))
        elif isinstance(one, Stopped) and one.is_off:
            book.reopen(one.turn.number)
        elif isinstance(one, (Closed, Stopped)):
            turn, why = one.turn, one.why if isinstance(one, Closed) else Closing.PAIN
            closed = ClosedTurn(session, turn.number, turn.athlete, turn.exercise.key, why, at)
            book.note(closed)
        elif isinstance(one, TakenBack):
            book.take_back(one.turn.number)
        elif isinstance(one, Reopened):
            book.reopen(one.turn.number)
        elif isinstance(one, Cued):
            self._cue = one.cue
            book.note(CueRecord(session, one.turn.athlete, at, one.cue, one.turn.number))
        elif isinstance(one, Finished):
            book.end(at)

    @property
    def _now(self) -> datetime:
        """The stream's time as a moment; a simulated hour is an hour."""
        return self._began_at + timedelta(microseconds=self._now_us)

    def _show_turn(self, turn: Turn) -> None:
        self._turn, self._cue = turn, ""
        # as it was before this rep: a result is held against what was to be reached
        self._target_N = self._leads.targets.target_N(turn) if turn.is_measured else None
        self._target_from = origin(turn, self._leads.targets)
        best = self._leads.targets.past_best(turn)
        self._board.turn_to(called(turn, self.group.athletes), turn.exercise.name, best)

    @override
    def _lay_out(self) -> None:
        """Lay the order, the cues and the notes onto the desk when the turn is another."""
        turn, order = self._turn, self._leads.order
        if turn is None:
            return
        attempts = self._attempts.at(turn)
        if attempts != self._desk.attempts:  # an attempt is equal only to itself
            self._desk = replace(self._desk, attempts=attempts)
        results = self._leads.results
        newest = (turn, order.open_turns, order.current, results)
        if newest == self._laid_out:
            return
        self._laid_out = newest
        self._desk = replace(
            self._desk,
            order=places(order.coming, order.over, results, self.group.athletes),
            cues=self.group.cues,
            notes=self._notes_at(turn),
        )

    def _mind_advice(self) -> None:
        """Take a stop for pain off the wall: a pause is over, a count has begun, or in time."""
        stage = self._leads.stage
        was_still = self._is_still and self._advised_us > 0  # what opens a session stays
        self._is_still = stage in STANDING_STILL
        is_old = self._now_us - self._advised_us > ADVICE_S * 1e6
        if stage in UNDER_WAY or (not self._is_still and (was_still or is_old)):
            self._advice = ()

    def _notes_at(self, turn: Turn) -> tuple[str, ...]:
        """Say what to mind at a turn; of what all do together there is nothing."""
        if turn.block.everyone:
            return ()
        stopped = self.group.stops.notes.get(turn.athlete, ())
        return (*stopped, *notes_of(self.group.athletes[turn.athlete], turn))

    @override
    def _with_turn(self, glance: Glance) -> Glance:
        turn, leads = self._turn, self._leads
        if turn is None:
            return glance
        hand = self._notes.hand(turn)
        self._mind_advice()
        # the turn whose result is shown is over, unless nobody pushed: then it comes again
        is_over = leads.stage is Stage.RESULT
        after = leads.order.current if is_over else leads.order.following
        if self._now_us - self._told_us > ADVICE_S * 1e6:
            self._told = ""
        last = leads.reps[-1:] if leads.stage is not Stage.RESULT else []
        return replace(
            glance,
            hand="" if hand is None else hand.value,
            following=follower(turn, after, self.group.athletes),
            target_N=self._target_N,
            target_from=self._target_from,
            last_N=shown(last[0]).value if last else None,
            stage=leads.stage.value,
            turn=turn.number,
            is_timed=not turn.is_measured,
            hold_s=turn.block.seconds,
            set_number=turn.set_number,
            set_total=turn.block.sets,
            turns_left=leads.order.open_turns,
            notes=self._notes_at(turn),
            cue=self._cue,
            advice=self._asked or self._advice,
            told=self._told,
        )

    @property
    def _asked(self) -> tuple[str, ...]:
        """Name what redo again would take back, as long as it would."""
        named = self._leads.named
        return () if named is None else (ASKED, named_words(named, self.group.athletes))
