"""Lead a group through a plan. `group_table` says what may happen and why; this does it.

No clock, no screen, no store: time arrives with every call, in seconds on the stream's clock,
and what happens is given back as `happenings`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.training import Closing
from strikebridge.samples import Prescription
from strikebridge.session import conductor as free
from strikebridge.session.conductor import NO_SHOW_S, Call
from strikebridge.session.group_table import PHASES, TABLE, Do, Input, Stage
from strikebridge.session.happenings import (
    Advised,
    Called,
    Extra,
    Finished,
    Prescribed,
    Turned,
)
from strikebridge.session.ledger import Ledger
from strikebridge.session.plan import Mode
from strikebridge.session.stage_clock import StageClock
from strikebridge.session.turns import COUNT_IN_S, Rests, begins_by_itself

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from strikebridge.club.training import ResumePoint
    from strikebridge.samples import MeasureValue, Phase, Rep
    from strikebridge.session.happenings import Happening
    from strikebridge.session.plan import Plan
    from strikebridge.session.turns import Turn

PAIN_ADVICE = (
    "Stopped for pain. This exercise is over for this athlete today. See someone qualified "
    "before it is tried again."
)
NO_SHOWS = 2  # hands free, a turn at which nobody pushed so often is over


class GroupConductor:
    """Lead a group through a plan.

    Attributes:
        stage: where the session is.
        order: the turns still to come.
        targets: bests and what they ask for.
        no_show: True when the result is that nobody pushed.
        is_overloaded: True from an overload of the cell until the athlete has let go.
    """

    def __init__(
        self,
        plan: Plan,
        turns: Sequence[Turn],
        *,
        past: Mapping[tuple[str, str], MeasureValue] | None = None,
        resumed: ResumePoint | None = None,
    ) -> None:
        """Begin before the first turn that is still open.

        Args:
            plan: as it is run.
            turns: every turn of it.
            past: athlete and key of the exercise -> best peak force with this set-up.
            resumed: where the session stood when it broke off, None for a new one.
        """
        self._ledger = Ledger(turns, past or {}, resumed)
        self.order = self._ledger.order
        self.targets = self._ledger.targets
        self.stage = Stage.REST
        self.no_show = False
        self.is_overloaded = False
        self._plan = plan
        self._rests = Rests(plan)
        self._clock = StageClock()
        self._is_held = False  # nothing begins by itself
        self._is_pause_due = False
        self._is_pause_kept = False  # paused when the board was lost
        self._no_shows = 0
        self._shown: Turn | None = None  # whose result is shown
        self._said: list[Happening] = []
        self._asked = free.Plan(Prescription())
        self._does: dict[Do, Callable[[float], None]] = {
            Do.GET_SET: self._get_ready,
            Do.COUNT_IN: self._count_in,
            Do.BEGIN: self._begin,
            Do.FOLLOW: self._follow,
            Do.NO_SHOW: self._miss,
            Do.DRILLED: self._finish_turn,
            Do.NEXT: self._next,
            Do.NEXT_NOW: self._next_now,
            Do.AGAIN: self._again,
            Do.RETAKE: self._retake,
            Do.CALL_OFF: self._call_off,
            Do.SKIP: self._skip,
            Do.SWAP: self._swap,
            Do.PAUSE: self._pause,
            Do.RESUME: self._resume,
            Do.UNDO: self._undo,
            Do.PAIN: self._stop_for_pain,
            Do.BREAK: self._break,
            Do.LOSE: self._lose,
            Do.GO_ON: self._go_on,
        }

    @property
    def phase(self) -> Phase:
        """What the wall shows."""
        return PHASES[self.stage]

    @property
    def turn(self) -> Turn | None:
        """Whose turn is shown: the result's, else the current one; None when all is over."""
        return self._shown if self.stage is Stage.RESULT else self.order.current

    @property
    def is_done(self) -> bool:
        """Say whether every turn is over."""
        return self.stage is Stage.OVER

    @property
    def plan(self) -> free.Plan:
        """What is asked for at the wall now."""
        return self._asked

    @property
    def rep_number(self) -> int:
        """Which rep of the set it is."""
        return 0 if self.turn is None else self.turn.rep_number

    @property
    def reps(self) -> list[Rep]:
        """Reps that count of the athlete and exercise shown, oldest first."""
        return [] if self.turn is None else self.targets.reps(self.turn)

    def seconds_left(self, now_s: float) -> float | None:
        """Say how long the stage still lasts.

        Args:
            now_s: stream's clock [s].

        Returns:
            Seconds [s], None where it has no end.
        """
        if self.stage is Stage.HOLD:
            return self._clock.hold_left_s(now_s, 0.0 if self.is_overloaded else self._seconds)
        return self._clock.left_s(now_s)

    def press(self, command: Input, now_s: float) -> list[Happening]:
        """Hear what the coach presses.

        Args:
            command: one of `COMMANDS`.
            now_s: stream's clock [s].

        Returns:
            What happens because of it.
        """
        return self._hear(command, now_s)

    def cue(self, words: str) -> list[Happening]:
        """Note a cue given to the athlete whose turn is shown; it changes nothing else.

        Args:
            words: the cue, from the coach's own list.

        Returns:
            What happens because of it.
        """
        turn = self.order.current
        if turn is None:
            return []
        return self._ledger.cue(self.turn or turn, words)

    def overload(self, now_s: float) -> list[Happening]:
        """Be told that the cell is loaded beyond its rating.

        Args:
            now_s: stream's clock [s].
        """
        return [Called(Call.OVERLOAD), *self._hear(Input.OVERLOAD, now_s)]

    def board(self, *, is_there: bool, now_s: float) -> list[Happening]:
        """Be told whether the board is there; the same news twice is no news.

        Args:
            is_there: False while it is lost, silent, or gives no force.
            now_s: stream's clock [s].
        """
        if is_there == (self.stage is not Stage.LOST):
            return []
        return self._hear(Input.BACK if is_there else Input.LOST, now_s)

    def touch(self, *, is_touched: bool, now_s: float) -> list[Happening]:
        """Be told whether a hold is under way.

        Args:
            is_touched: True while the force is up.
            now_s: stream's clock [s].
        """
        self.is_overloaded &= is_touched
        said: list[Happening] = []
        turn = self.order.current
        is_led = self._plan.mode is Mode.ATHLETE and turn is not None and turn.is_measured
        if self.stage is Stage.READY and is_touched and is_led and not self._is_held:
            said = self._hear(Input.PUSH, now_s)
        if self.stage is Stage.HOLD:
            self._clock.touch(now_s, self._seconds + NO_SHOW_S, is_touched=is_touched)
        return said

    def take(self, rep: Rep, now_s: float) -> list[Happening]:
        """Take a completed rep; exactly one of what is given back holds it.

        Args:
            rep: the rep, judged.
            now_s: stream's clock [s].
        """
        self._said = []
        if not rep.hold.complete:
            self._said.append(Extra(rep))
            if self.stage is Stage.HOLD:
                self._get_ready(now_s)
            return self._said
        if TABLE[self.stage].get(Input.REP) is Do.FINISH:
            self._finish_turn(now_s, rep)
        else:
            self._said.append(Extra(rep))
        return self._said

    def tick(self, now_s: float) -> list[Happening]:
        """Let time pass.

        Args:
            now_s: stream's clock [s].

        Returns:
            What happens because of it.
        """
        said: list[Happening] = []
        if self._clock.since_s is None:
            self._said = said
            self._call_next(now_s)
        while (due_s := self._clock.due_s(now_s)) is not None:
            said += self._hear(Input.DUE, due_s)
        return said

    @property
    def _seconds(self) -> float:
        turn = self.order.current
        return 0.0 if turn is None else turn.block.seconds

    def _hear(self, what: Input, now_s: float) -> list[Happening]:
        """Look up what is to be done, and do it."""
        self._said = []
        if self._clock.since_s is None:
            self._call_next(now_s)
        do = TABLE[self.stage].get(what)
        if do is not None:
            self._does[do](now_s)
        return self._said

    def _enter(self, stage: Stage, now_s: float, lasts_s: float | None) -> None:
        self.stage = stage
        self._clock.begin(now_s, lasts_s)

    def _call_next(self, now_s: float) -> None:
        """Say whose turn it is, and let the athlete rest and come to the wall."""
        turn = self.order.current
        self.no_show = self.is_overloaded = False
        self._shown = None
        self._no_shows = 0
        if turn is None:
            self._enter(Stage.OVER, now_s, None)
            self._said.append(Finished())
            return
        self._ask(turn)
        self._said.append(Turned(turn))
        if self._is_pause_due:
            self._is_pause_due = False
            self.stage = Stage.PAUSED
        if self.stage in (Stage.PAUSED, Stage.LOST):
            self._enter(self.stage, now_s, None)
        else:
            self._rest(now_s)

    def _ask(self, turn: Turn) -> None:
        asked = self.targets.prescription(turn)
        if asked != self._asked.prescription or self._asked.rep_total is None:
            self._asked = free.Plan(asked, rep_total=turn.block.reps_per_side)

    def _rest(self, now_s: float) -> None:
        rest_s = self._rests.ready_s(self.order.party[0], now_s) - now_s
        if rest_s > 0.0:
            self._enter(Stage.REST, now_s, rest_s)
        else:
            self._get_ready(now_s)

    def _get_ready(self, now_s: float) -> None:
        turn = self.order.current
        by_itself = turn is not None and begins_by_itself(self._plan, turn)
        waits = self._is_held or not by_itself
        self._enter(Stage.READY, now_s, None if waits else self._plan.get_set_s)
        if self._plan.mode is Mode.ATHLETE:
            self._prescribe()  # nobody counts in, the push may come at once

    def _prescribe(self) -> None:
        turn = self.order.current
        if turn is not None and turn.is_measured:
            self._ask(turn)
            self._said.append(Prescribed(self._asked.prescription))

    def _count_in(self, now_s: float) -> None:
        self._is_held = self.is_overloaded = False
        self._prescribe()
        self._enter(Stage.COUNT_IN, now_s, COUNT_IN_S)

    def _begin(self, now_s: float) -> None:
        turn = self.order.current
        if turn is not None and turn.is_measured:
            self._said.append(Called(Call.GO))
            self._follow(now_s)
        else:
            self._enter(Stage.DRILL, now_s, self._seconds)

    def _follow(self, now_s: float) -> None:
        self._enter(Stage.HOLD, now_s, self._seconds + NO_SHOW_S)

    def _finish_turn(self, now_s: float, rep: Rep | None = None) -> None:
        """Log those whose turn it was and show the result."""
        party = self.order.party
        self._shown = party[0]
        self.no_show = self.is_overloaded = False
        for turn in party:
            self._rests.note(turn, now_s)
        self._said += self._ledger.finish(self._asked.prescription, rep)
        self._enter(Stage.RESULT, now_s, self._plan.result_s)

    def _miss(self, now_s: float) -> None:
        """Nobody pushed: the turn comes again, or is over where nobody stands by."""
        self._no_shows += 1
        self._shown = self.order.current
        self.no_show = True
        if self._plan.mode is Mode.ROUNDS and self._no_shows >= NO_SHOWS:
            self._no_shows = 0
            self._said += self._ledger.close(Closing.NO_SHOW)
        self._enter(Stage.RESULT, now_s, self._plan.result_s)

    def _next(self, now_s: float) -> None:
        count = self._no_shows
        self._call_next(now_s)
        self._no_shows = count if self.order.current is not None else 0

    def _next_now(self, now_s: float) -> None:
        self._is_pause_due = False
        self._next(now_s)
        if self.order.current is not None:
            self._count_in(now_s)

    def _again(self, now_s: float) -> None:
        self._is_pause_due = False
        self._said.append(Called(Call.REDO))
        self._count_in(now_s)

    def _retake(self, now_s: float) -> None:
        if self.stage is Stage.RESULT and self.no_show and self.order.current is self._shown:
            self._next_now(now_s)  # nothing came of it, so there is nothing to take back
            return
        again = self._ledger.retake()
        if not again:
            return
        self._said += [Called(Call.REDO), *again]
        is_paused, self._is_pause_due = self.stage is Stage.PAUSED, False
        self.stage = Stage.PAUSED if is_paused else Stage.REST
        self._call_next(now_s)
        if not is_paused:
            self._count_in(now_s)

    def _undo(self, now_s: float) -> None:
        """Take the newest result back; the clock is not touched."""
        del now_s
        self._said += self._ledger.undo()

    def _call_off(self, now_s: float) -> None:
        self._said.append(Called(Call.STOPPED))
        self._is_held, self._is_pause_due = True, False
        self._get_ready(now_s)

    def _skip(self, now_s: float) -> None:
        self._stop_calling()
        self._said += self._ledger.close(Closing.SKIPPED)
        self._call_next(now_s)

    def _swap(self, now_s: float) -> None:
        if self.order.swap() and self.stage is not Stage.RESULT:
            self._stop_calling()
            self._call_next(now_s)

    def _stop_for_pain(self, now_s: float) -> None:
        self._said.append(Advised(PAIN_ADVICE))
        turn = self._shown or self.order.party[0]  # PAIN is no cell of OVER
        if turn.block.everyone:  # nobody knows whose pain it is: the coach skips or goes on
            self._pause(now_s)
            return
        self._said += self._ledger.stop_for_pain(turn)
        if self.stage is not Stage.RESULT:
            self._stop_calling()
            self._call_next(now_s)

    def _stop_calling(self) -> None:
        """Say in the recording that what was under way is called off."""
        if self.stage in (Stage.COUNT_IN, Stage.HOLD, Stage.DRILL):
            self._said.append(Called(Call.STOPPED))

    def _pause(self, now_s: float) -> None:
        is_pushing = self.stage is Stage.HOLD and self._clock.held_since_s is not None
        if is_pushing or self.stage is Stage.RESULT:
            self._is_pause_due = True
            return
        self._stop_calling()
        self._enter(Stage.PAUSED, now_s, None)

    def _resume(self, now_s: float) -> None:
        self._is_held = False
        self._rest(now_s)

    def _break(self, now_s: float) -> None:
        """After an overload: nothing begins by itself, and a hold is over at once."""
        self._is_held = True
        self.is_overloaded = True
        if self.stage is Stage.READY:
            self._enter(Stage.READY, now_s, None)
        elif self.stage is Stage.COUNT_IN:
            self._call_off(now_s)

    def _lose(self, now_s: float) -> None:
        self._stop_calling()
        self._is_pause_kept = self._is_pause_due or self.stage is Stage.PAUSED
        self._is_pause_due = False
        self._shown = None
        self._enter(Stage.LOST, now_s, None)

    def _go_on(self, now_s: float) -> None:
        self.stage = Stage.PAUSED if self._is_pause_kept else Stage.REST
        self._is_pause_kept = False
        self._call_next(now_s)
