"""Lead a group through a plan. `group_table` says what may happen and why; this does it.

`turn_flow` has the steps from turn to turn, `ledger` the book of what is done; here is what the
coach, the wall and the board say, and what is done about it. No clock, no screen, no store:
time arrives with every call, in seconds on the stream's clock, and what happens is given back
as `happenings`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.training import Closing
from strikebridge.session.conductor import NO_SHOW_S, Call
from strikebridge.session.group_table import COMMANDS, TABLE, Do, Input, Stage
from strikebridge.session.happenings import Advised, Called, Extra
from strikebridge.session.ledger import Ledger
from strikebridge.session.plan import Mode
from strikebridge.session.turn_flow import TurnFlow

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from strikebridge.club.training import ResumePoint
    from strikebridge.samples import MeasureValue, Rep
    from strikebridge.session.happenings import Happening, Named
    from strikebridge.session.plan import Plan
    from strikebridge.session.turns import Turn


class GroupConductor(TurnFlow):
    """Lead a group through a plan, whatever the coach, the wall and the board do to it."""

    def __init__(
        self,
        plan: Plan,
        turns: Sequence[Turn],
        *,
        past: Mapping[tuple[str, str], MeasureValue] | None = None,
        resumed: ResumePoint | None = None,
        days: Mapping[tuple[str, str], str] | None = None,
    ) -> None:
        """Begin before the first turn that is still open.

        Args:
            plan: as it is run.
            turns: every turn of it.
            past: athlete and key of the exercise -> best peak force with this set-up.
            resumed: where the session stood when it broke off, None for a new one.
            days: athlete and key of the exercise -> when that best was, in words.
        """
        super().__init__(plan, Ledger(turns, past or {}, resumed, days))
        self._is_pause_kept = False  # paused when the board was lost
        self._meant: Turn | None = None  # by the key that is heard now
        self._named: tuple[Named, ...] = ()
        self._is_touched = False
        self._is_cut_off = False  # the push that was called off is not over yet
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
            Do.NAME: self._name,
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

    def press(
        self, command: Input, now_s: float, *, turn: int | None = None
    ) -> list[Happening]:
        """Hear what the coach presses.

        Args:
            command: one of `COMMANDS`.
            now_s: stream's clock [s].
            turn: number of the turn that is meant, where SWAP or PAIN means another than the
                one shown; None for that.

        Returns:
            What happens because of it.
        """
        self._meant = self.order.find(turn)
        said = self._hear(command, now_s)
        self._meant = None
        return said

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

    @property
    def named(self) -> Named | None:
        """What redo again would take back; None where nothing was named."""
        return next(iter(self._named), None)

    @property
    def results(self) -> frozenset[int]:
        """Numbers of the turns that have a result that counts."""
        return self._ledger.results

    @property
    def awaits_push(self) -> bool:
        """Say whether a push would begin the hold now: where the athletes lead."""
        turn = self.order.current
        is_led = self._plan.mode is Mode.ATHLETE and turn is not None and turn.is_measured
        is_free = not self._is_held and not self._is_cut_off
        return self.stage is Stage.READY and is_led and is_free

    def touch(self, *, is_touched: bool, now_s: float) -> list[Happening]:
        """Be told whether a hold is under way.

        Args:
            is_touched: True while the force is up.
            now_s: stream's clock [s].
        """
        self.is_overloaded &= is_touched
        said: list[Happening] = []
        self._is_touched = is_touched
        self._is_cut_off &= is_touched
        if is_touched and self.awaits_push:
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
        if TABLE[self.stage].get(Input.REP) is Do.FINISH and not self._is_cut_off:
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

    def _hear(self, what: Input, now_s: float) -> list[Happening]:
        """Look up what is to be done, and do it."""
        self._said = []
        if self._clock.since_s is None:
            self._call_next(now_s)
        do = TABLE[self.stage].get(self._understood(what))
        if do is not None:
            self._does[do](now_s)
        return self._said

    def _understood(self, what: Input) -> Input:
        """Tell a redo of what is older from one of the newest result, unless it was named."""
        named = self._named
        if what in COMMANDS:
            self._named = ()
        if TABLE[self.stage].get(what) is not Do.RETAKE or self._is_missed:
            return what
        older = self._ledger.older
        return what if older in ((), named) else Input.OLDER

    @property
    def _is_missed(self) -> bool:
        """Say whether it is shown that nobody pushed, and that turn comes again anyway."""
        is_shown = self.stage is Stage.RESULT and self.order.current is self._shown
        return is_shown and self.no_show

    def _name(self, now_s: float) -> None:
        self._named = self._ledger.older
        self._said += self._named
        if self.stage is not Stage.OVER:
            self._pause(now_s)

    def _next_now(self, now_s: float) -> None:
        self._is_pause_due = False
        self._next(now_s)
        if self.order.current is not None:
            self._count_in(now_s)

    def _again(self, now_s: float) -> None:
        self._is_pause_due = False
        self._cut_off(Call.REDO)
        self._count_in(now_s)

    def _retake(self, now_s: float) -> None:
        if self._is_missed:
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
        """Take back what was done last; what is under way or shown goes on."""
        before = self.order.party
        is_under_way = self.stage in (Stage.COUNT_IN, Stage.HOLD, Stage.DRILL)
        self._said += self._ledger.undo(is_under_way=is_under_way)
        if is_under_way or self.stage is Stage.RESULT or self.order.party == before:
            return
        if self.stage is Stage.OVER:
            self.stage = Stage.REST
        self._call_next(now_s)

    def _call_off(self, now_s: float) -> None:
        self._cut_off(Call.STOPPED)
        self._is_held, self._is_pause_due = True, False
        self._get_ready(now_s)

    def _skip(self, now_s: float) -> None:
        self._stop_calling()
        self._said += self._ledger.close(Closing.SKIPPED)
        self._call_next(now_s)

    def _swap(self, now_s: float) -> None:
        who = None if self._meant is None else self._meant.athlete
        if self.order.swap(who) and self.stage is not Stage.RESULT:
            self._stop_calling()
            self._call_next(now_s)

    def _stop_for_pain(self, now_s: float) -> None:
        turn = self._meant or self._shown or self.order.party[0]  # PAIN is no cell of OVER
        self._said.append(Advised(turn))
        if turn.block.everyone:  # nobody knows whose pain it is: the coach skips or goes on
            self._pause(now_s)
            return
        before = self.order.party
        self._said += self._ledger.stop_for_pain(turn)
        is_mine = self.order.party != before  # else somebody else is at the wall
        if is_mine and self.stage is not Stage.RESULT:
            self._stop_calling()
            self._call_next(now_s)

    def _stop_calling(self) -> None:
        """Say in the recording that what was under way is called off."""
        if self.stage in (Stage.COUNT_IN, Stage.HOLD, Stage.DRILL):
            self._cut_off(Call.STOPPED)

    def _cut_off(self, call: Call) -> None:
        """Let the push that is under way count for nothing: it is not what comes next."""
        self._said.append(Called(call))
        self._is_cut_off = self._is_touched

    def _pause(self, now_s: float) -> None:
        if self.stage is Stage.LOST:
            self._is_pause_kept = True
            return
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
        self._is_cut_off = self._is_touched
        self._is_pause_kept = self._is_pause_due or self.stage is Stage.PAUSED
        self._is_pause_due = False
        self._shown = None
        self._enter(Stage.LOST, now_s, None)

    def _go_on(self, now_s: float) -> None:
        self.stage = Stage.PAUSED if self._is_pause_kept else Stage.REST
        self._is_pause_kept = False
        self._call_next(now_s)
