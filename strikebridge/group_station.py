"""One wall, live, with a group: the conductor leads, and all that happens is written down.

It is a station that leads through a plan instead of free repetitions. What the conductor says
goes into the recording as events, by random ids only, and into the database by the bookkeeper.
"""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING

from typing_extensions import override

from strikebridge.calls import prescribed
from strikebridge.club.athlete import hand_of
from strikebridge.club.exercise import Way
from strikebridge.club.training import ClosedTurn, Closing, CueRecord, RepRecord
from strikebridge.desk import BREATH, Place
from strikebridge.samples import Effort, Event, Rep
from strikebridge.scoreboard import shown
from strikebridge.session.chase import origin
from strikebridge.session.group_table import Input, Stage
from strikebridge.session.happenings import (
    Advised,
    Called,
    Closed,
    Cued,
    Done,
    Finished,
    Prescribed,
    Reopened,
    TakenBack,
    Turned,
)
from strikebridge.station import Station

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from strikebridge.boards.link import Link
    from strikebridge.bookkeeper import Bookkeeper
    from strikebridge.club.athlete import Athlete, Hand
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.pipeline import Outcome
    from strikebridge.samples import Glance
    from strikebridge.session.conductor import Key, Leading
    from strikebridge.session.group_conductor import GroupConductor
    from strikebridge.session.happenings import Happening
    from strikebridge.session.turns import Turn
    from strikebridge.station import StationSetup

STOPPED = "Stopped for pain"
OVER_TODAY = "this exercise is over for today. See someone qualified before it is tried again."
ADVICE_S = 8.0  # how long a stop for pain stands on the wall, or until a pause is over
_KINDS: Mapping[type, str] = {
    Done: "done",
    Closed: "closed",
    TakenBack: "taken back",
    Reopened: "reopened",
}
"""What happened to a turn -> the event that the recording keeps of it."""


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
        on_happening: called with everything that happens, on the acquisition thread, with a
            rep on the writing thread once it is on the disk; must not block.
    """

    session: str
    conductor: GroupConductor
    athletes: Mapping[str, Athlete]
    book: Bookkeeper
    rig_setup: RigSetup
    cues: tuple[str, ...] = ()
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
        self._began_at = datetime.now().astimezone()
        self._commands: deque[tuple[Input, int | None] | str] = deque()
        self._said: deque[Happening] = deque()
        self._turn: Turn | None = None
        self._laid_out: tuple[Turn | None, int] = (None, 0)  # what the desk was made for
        self._cue = ""
        self._advice: tuple[str, ...] = ()
        self._advised_us = 0

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
    def _say(self, kind: str) -> None:
        super()._say(kind)
        if kind in ("lost", "back"):
            now_s = self._now_us * 1e-6
            self._hear(self._leads.board(is_there=kind == "back", now_s=now_s))

    @override
    async def _conduct(self, link: Link) -> None:
        """Let keys and time move the session, and act on what happens."""
        leads, now_s = self._leads, self._now_us * 1e-6
        self._hear(leads.touch(is_touched=self._is_held, now_s=now_s))
        if self._is_overload_new:
            self._is_overload_new = False
            self._hear(leads.overload(now_s))
        while self._commands:
            one = self._commands.popleft()
            if isinstance(one, str):
                self._hear(leads.cue(one))
            else:
                self._hear(leads.press(one[0], now_s, turn=one[1]))
        if self._newest_us:
            self._hear(leads.board(is_there=self._trouble is None, now_s=now_s))
            self._hear(leads.tick(now_s))
        for event in self._act_on_all():
            if not link.is_replay:  # the recording already holds what was said then
                self._feed([event])
                await link.hear(event)
        if leads.is_done:
            self._stopping.set()

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
    def _forget_keys(self) -> None:
        self._commands.clear()  # pressed at a wall without a board

    def _hear(self, happenings: Sequence[Happening]) -> None:
        self._said.extend(happenings)

    def _act_on_all(self) -> list[Event]:
        """Write down what happened, show it, and say what goes into the recording."""
        events: list[Event] = []
        while self._said:
            one = self._said.popleft()
            self._write(one)
            event = self._event(one)
            if event is not None:
                events.append(event)
            if isinstance(one, Turned):
                self._show_turn(one.turn)
            elif isinstance(one, Advised):
                self._remark(one.sentence)
                self._advise(one.sentence)
            elif isinstance(one, Closed) and one.why is Closing.PAIN:
                name = self.group.athletes[one.turn.athlete].name
                self._advise(f"{name}, {one.turn.exercise.name}: {OVER_TODAY}")
            if not isinstance(one, Done):  # that is told once it is safely written
                self._tell(one)
        return events

    def _advise(self, words: str) -> None:
        """Put a stop for pain onto the wall; who it was stands there rather than a sentence."""
        self._advice, self._advised_us = (STOPPED, words), self._now_us

    def _tell(self, one: Happening) -> None:
        if self.group.on_happening is not None:
            self.group.on_happening(one)

    def _event(self, one: Happening) -> Event | None:
        """Write what the recording keeps of it; never a name or free text."""
        if isinstance(one, Turned):
            return self._turn_event(one.turn)
        if isinstance(one, Prescribed):
            return prescribed(one.prescription, self._now_us)
        if isinstance(one, Called):
            return Event(one.call.value, self._now_us)
        kind = _KINDS.get(type(one))
        if kind is None or not isinstance(one, (Done, Closed, TakenBack, Reopened)):
            return None
        detail: dict[str, str | float | int | None] = {"turn": one.turn.number}
        if isinstance(one, Closed):
            detail["why"] = one.why.value
        return Event(kind, self._now_us, detail)

    def _turn_event(self, turn: Turn) -> Event:
        hand = self._hand(turn)
        detail: dict[str, str | float | int | None] = {
            "session": self.group.session,
            "turn": turn.number,
            "athlete": turn.athlete,
            "place": turn.place,
            "exercise": turn.exercise.key,
            "hand": None if hand is None else hand.value,
            "set": turn.set_number,
            "rep": turn.rep_number,
        }
        return Event("turn", self._now_us, detail)

    def _write(self, one: Happening) -> None:
        book, at = self.group.book, self._now
        session = self.group.session
        if isinstance(one, Done):
            book.save(self._record(one), partial(self._tell, one))
        elif isinstance(one, Closed):
            turn = one.turn
            closed = ClosedTurn(
                session, turn.number, turn.athlete, turn.exercise.key, one.why, at
            )
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

    def _hand(self, turn: Turn) -> Hand | None:
        side = turn.exercise.side
        return None if side is None else hand_of(side, self.group.athletes[turn.athlete].stance)

    def _record(self, done: Done) -> RepRecord:
        """Write a turn that is done as it is kept."""
        turn, rep = done.turn, done.rep
        record = RepRecord(
            session=self.group.session,
            turn=turn.number,
            athlete=turn.athlete,
            exercise=turn.exercise.key,
            set_number=turn.set_number,
            rep_number=turn.rep_number,
            ended_at=self._now,
            attempt=done.attempt,
            hand=self._hand(turn),
            stance=self.group.athletes[turn.athlete].stance,
            prescription=done.prescription,
            way=Way.TIMED,
            cue=done.cue,
            recording=None if self.setup.recording is None else self.setup.recording.name,
        )
        if rep is None:
            return record
        hold, verdict = rep.hold, rep.verdict
        return replace(
            record,
            way=Way.MEASURED,
            setup=self.group.rig_setup,
            prescription=rep.prescription,
            rise=verdict.rise,
            hold=verdict.hold,
            faults=verdict.faults,
            sentence=verdict.sentence,
            detail=verdict.detail,
            certificate=hold.force.calibration,
            start_s=float(hold.force.time_s[0]),
            end_s=float(hold.force.time_s[-1]),
            go_s=hold.go_s,
            measures=rep.measures,
        )

    def _show_turn(self, turn: Turn) -> None:
        self._turn, self._cue = turn, ""
        best = self._leads.targets.past_best(turn)
        self._board.turn_to(called(turn, self.group.athletes), turn.exercise.name, best)

    @override
    def _lay_out(self) -> None:
        """Lay the order, the cues and the notes onto the desk when the turn is another."""
        super()._lay_out()
        turn, order = self._turn, self._leads.order
        newest = (turn, order.open_turns)
        if turn is None or newest == self._laid_out:
            return
        self._laid_out = newest
        notes = () if turn.block.everyone else notes_of(self.group.athletes[turn.athlete], turn)
        self._desk = replace(
            self._desk,
            order=places(order.coming, order.over, self.group.athletes),
            cues=self.group.cues,
            notes=notes,
        )

    @override
    def _with_turn(self, glance: Glance) -> Glance:
        turn, leads = self._turn, self._leads
        if turn is None:
            return glance
        athlete, hand = self.group.athletes[turn.athlete], self._hand(turn)
        is_paused = leads.stage in (Stage.PAUSED, Stage.LOST)
        if not is_paused and self._now_us - self._advised_us > ADVICE_S * 1e6:
            self._advice = ()
        last = leads.reps[-1:] if leads.stage is not Stage.RESULT else []
        return replace(
            glance,
            hand="" if hand is None else hand.value,
            following=follower(turn, leads.order.coming, self.group.athletes),
            target_N=leads.targets.target_N(turn) if turn.is_measured else None,
            target_from=origin(turn, leads.targets),
            last_N=shown(last[0]).value if last else None,
            stage=leads.stage.value,
            turn=turn.number,
            is_timed=not turn.is_measured,
            hold_s=turn.block.seconds,
            set_number=turn.set_number,
            set_total=turn.block.sets,
            turns_left=leads.order.open_turns,
            notes=() if turn.block.everyone else notes_of(athlete, turn),
            cue=self._cue,
            advice=self._advice,
        )


def follower(turn: Turn, coming: Sequence[Turn], athletes: Mapping[str, Athlete]) -> str:
    """Say who comes after an athlete, so as to get ready.

    Args:
        turn: the one shown.
        coming: turns still to come, in order.
        athletes: id -> athlete.

    Returns:
        The next other name, empty where nobody else comes.
    """
    names = (called(one, athletes) for one in coming)
    return next((name for name in names if name != called(turn, athletes)), "")


def called(turn: Turn, athletes: Mapping[str, Athlete]) -> str:
    """Say who is called to a turn.

    Args:
        turn: the turn.
        athletes: id -> athlete.
    """
    return "Everyone" if turn.block.everyone else athletes[turn.athlete].name


def places(
    coming: Sequence[Turn], over: Sequence[Sequence[Turn]], athletes: Mapping[str, Athlete]
) -> tuple[Place, ...]:
    """Say who comes when, each athlete once, at the next turn.

    Args:
        coming: turns still to come, in order.
        over: parties whose turn is over.
        athletes: id -> athlete.

    Returns:
        Places in their order; the first is whose turn it is.
    """
    done = Counter(turn.athlete for party in over for turn in party)
    left = Counter(turn.athlete for turn in coming)
    first: dict[str, Turn] = {}
    for turn in coming:
        first.setdefault(turn.athlete, turn)
    return tuple(
        Place(
            name=athletes[athlete].name,
            asks=turn.exercise.name,
            done=done[athlete],
            planned=done[athlete] + left[athlete],
            is_now=index == 0,
            is_next=index == 1,
            turn=turn.number,
        )
        for index, (athlete, turn) in enumerate(first.items())
    )


def notes_of(athlete: Athlete, turn: Turn) -> tuple[str, ...]:
    """Say what the coach is to be reminded of at a turn.

    Args:
        athlete: whose turn it is.
        turn: the turn.

    Returns:
        What is on record of this athlete, the coach's own note, and the breath cue before a
        maximal effort.
    """
    notes = [f"Mind the {care.value}." for care in sorted(athlete.cares)]
    if athlete.note:
        notes.append(athlete.note)
    if turn.is_measured and turn.block.effort is Effort.MAXIMAL:
        notes.append(BREATH)
    return tuple(notes)
