"""How one turn of a group session leads to the next when nothing comes between.

Called, rested, counted in, held or timed, shown, and on to the next: these are the steps that
`group_table` names, without a clock of their own. What the coach, the wall and the board do to
it is in `group_conductor`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.training import Closing
from strikebridge.samples import Prescription
from strikebridge.session import conductor as free
from strikebridge.session.conductor import NO_SHOW_S, Call
from strikebridge.session.group_table import PHASES, Stage
from strikebridge.session.happenings import Called, Finished, Prescribed, Turned
from strikebridge.session.plan import Mode
from strikebridge.session.stage_clock import StageClock
from strikebridge.session.turns import COUNT_IN_S, Rests, begins_by_itself

if TYPE_CHECKING:
    from strikebridge.glance import Phase
    from strikebridge.samples import Rep
    from strikebridge.session.happenings import Happening
    from strikebridge.session.ledger import Ledger
    from strikebridge.session.plan import Plan
    from strikebridge.session.turns import Turn

NO_SHOWS = 2  # hands free, a turn at which nobody pushed so often is over


class TurnFlow:
    """Lead from turn to turn.

    Attributes:
        stage: where the session is.
        order: the turns still to come.
        targets: bests and what they ask for.
        no_show: True when the result is that nobody pushed.
        is_overloaded: True from an overload of the cell until the athlete has let go.
    """

    def __init__(self, plan: Plan, ledger: Ledger) -> None:
        """Begin before the first turn that is still open.

        Args:
            plan: as it is run.
            ledger: its book.
        """
        self._ledger = ledger
        self.order = ledger.order
        self.targets = ledger.targets
        self.stage = Stage.REST
        self.no_show = False
        self.is_overloaded = False
        self._plan = plan
        self._rests = Rests(plan)
        self._clock = StageClock()
        self._is_held = False  # nothing begins by itself
        self._is_pause_due = False
        self._no_shows = 0
        self._shown: Turn | None = None  # whose result is shown
        self._said: list[Happening] = []
        self._asked = free.Plan(Prescription())

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

    @property
    def _seconds(self) -> float:
        turn = self.order.current
        return 0.0 if turn is None else turn.block.seconds

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
