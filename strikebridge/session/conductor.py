"""The conductor: what happens next at the wall, as a state machine with no clock and no screen.

One athlete, one prescription, free repetitions; whose turn it is among a group comes on top of
this. Time arrives with every call, in seconds on the stream's clock, and never runs back.

| phase    | shows               | leaves when                         | to                    |
| -------- | ------------------- | ----------------------------------- | --------------------- |
| ready    | push when you like  | go key; in rounds after `LEAD_S`    | count-in              |
| count-in | three, two, one     | the count is over (says `go`)       | hold                  |
| hold     | number and seconds  | the rep has come                    | result                |
|          |                     | nobody pushed in hold + `NO_SHOW_S` | result                |
| result   | peak, one sentence  | `result_s` is over                  | rest                  |
| rest     | seconds of rest     | rest is over                        | ready, count-in       |

A rep that comes in any phase but count-in is a free one and is shown as well; one that comes
during the count-in is a false start: the count-in is broken off and the result says so. The
stop key leads back to ready from every phase and calls a rep off that was begun and has not
come; in rounds nothing goes on until a count-in is asked for. So it is after an overload of the
cell: a count-in is called off, a hold is over at once and waits for the athlete to let go. The
redo key starts the count-in
again and takes the last rep back. Two things due at the same moment: the key is heard first,
then the rep, then the clock.

Rounds go by the clock: a count-in begins where the round says, even if the tick that begins it
comes a little late, so that no lateness adds up. Where the round before took so long that less
than `COUNT_IN_S - MOST_LATE_S` would be left of the count-in, a whole round is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

from strikebridge.glance import Phase

if TYPE_CHECKING:
    from strikebridge.samples import Prescription, Rep

COUNT_IN_S = 3.0  # three, two, one: common practice, no source
LEAD_S = 1.0  # quiet before the first count-in, so that the zero is known
MOST_LATE_S = 2.0  # at least the last second is counted in: common practice, no source
NO_SHOW_S = 3.0  # an athlete who has not begun by then is not going to


class Key(StrEnum):
    """What a coach can press; each has a key on the keyboard and on a presenter clicker."""

    GO = "go"
    REDO = "redo"
    STOP = "stop"
    # only where the coach types what a scale shows
    ENTER = "enter"
    RUB = "rub out"
    POINT = "point"
    ZERO = "0"
    ONE = "1"
    TWO = "2"
    THREE = "3"
    FOUR = "4"
    FIVE = "5"
    SIX = "6"
    SEVEN = "7"
    EIGHT = "8"
    NINE = "9"


class Call(StrEnum):
    """What the conductor says aloud; kept in the recording."""

    PRESCRIBED = "prescribed"
    GO = "go"
    REDO = "redo"
    STOPPED = "stopped"
    OVERLOAD = "overload"


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be done at the wall.

    Attributes:
        prescription: effort, seconds, band.
        result_s: how long a result stays [s].
        rest_s: rest after the result [s].
        rep_total: reps of the set, None for as many as one likes.
        is_rounds: True to go on by the clock, without a key.
        round_s: from go to go in rounds [s], None for hold, result and rest one after the
            other.
        is_typed: True where the coach types the force: the hold waits for that.
    """

    prescription: Prescription
    result_s: float = 4.0
    rest_s: float = 10.0
    rep_total: int | None = None
    is_rounds: bool = False
    round_s: float | None = None
    is_typed: bool = False


class Conductor:
    """Lead one athlete through free repetitions.

    Attributes:
        plan: what is to be done.
        phase: what the wall shows now.
        rep_number: reps begun.
        reps: finished reps that count, oldest first.
        no_show: True when the result is that nobody pushed.
        is_overloaded: True from an overload of the cell until the athlete has let go.
    """

    def __init__(self, plan: Plan) -> None:
        """Begin in ready.

        Args:
            plan: what is to be done.
        """
        self.plan = plan
        self.phase = Phase.READY
        self.rep_number = 0
        self.reps: list[Rep] = []
        self.no_show = False
        self.is_overloaded = False
        self._since_s: float | None = None
        self._held_since_s: float | None = None
        self._is_stopped = False
        self._is_open = False  # the newest rep was begun and has not come
        self._can_be_taken_back = False  # the newest rep is the last of `reps`
        self._go_s: float | None = None

    @property
    def is_done(self) -> bool:
        """Say whether all reps of the set are done and shown."""
        total = self.plan.rep_total
        is_over = self.phase in (Phase.REST, Phase.READY)
        return total is not None and self.rep_number >= total and is_over

    def press(self, key: Key, now_s: float) -> list[Call]:
        """Hear a key.

        Args:
            key: what was pressed.
            now_s: stream's clock [s].

        Returns:
            What is said aloud because of it.
        """
        if key is Key.STOP:
            self._is_stopped = True
            if self.phase in (Phase.COUNT_IN, Phase.HOLD):
                self.rep_number -= 1
                self._is_open = False
            self._enter(Phase.READY, now_s)
            return [Call.STOPPED]
        if key is Key.REDO and self.rep_number > 0:
            self._take_back()
            return [Call.REDO, *self._count_in(now_s)]
        if key is Key.GO and self.phase in (Phase.READY, Phase.RESULT, Phase.REST):
            return self._count_in(now_s)
        return []

    def overload(self, now_s: float) -> list[Call]:
        """Be told that the cell is loaded beyond its rating: what is under way ends here.

        Args:
            now_s: stream's clock [s].

        Returns:
            What is said aloud because of it.
        """
        self._is_stopped = self.is_overloaded = True
        if self.phase is Phase.COUNT_IN:
            self.rep_number -= 1
            self._is_open = False
            self._enter(Phase.READY, now_s)
        return [Call.OVERLOAD]

    def take(self, rep: Rep, now_s: float) -> None:
        """Take a finished rep.

        Args:
            rep: the rep, judged.
            now_s: stream's clock [s].
        """
        if self.phase not in (Phase.HOLD, Phase.COUNT_IN):
            self.rep_number += 1  # a free repetition, nobody counted it in
        self.reps.append(rep)
        self.no_show = self._is_open = self.is_overloaded = False
        self._can_be_taken_back = True
        self._enter(Phase.RESULT, now_s)

    def correct(self, rep: Rep, now_s: float) -> None:
        """Take a rep in place of the last one, whose number was typed wrong.

        Args:
            rep: the rep as it is meant.
            now_s: stream's clock [s].
        """
        self.reps[-1] = rep
        self._enter(Phase.RESULT, now_s)

    def tick(self, now_s: float) -> list[Call]:
        """Let time pass.

        Args:
            now_s: stream's clock [s].

        Returns:
            What is said aloud because of it.
        """
        if self._since_s is None:
            self._since_s = now_s
        left_s = self.seconds_left(now_s)
        if left_s is None or left_s > 0.0:
            return []
        if self.phase is Phase.COUNT_IN:
            self._go_s = self._since_s + COUNT_IN_S
            self._enter(Phase.HOLD, self._go_s)
            return [Call.GO]
        if self.phase is Phase.HOLD:
            is_late = now_s - self._since_s >= self._hold_s + NO_SHOW_S
            if self._held_since_s is not None or not is_late or self.plan.is_typed:
                return []
            self.no_show = True
            self._enter(Phase.RESULT, now_s)
        elif self.phase is Phase.RESULT:
            self._enter(Phase.REST, now_s)
        elif self._goes_on_by_itself:
            return self._count_in(max(now_s + left_s, now_s - MOST_LATE_S))
        else:  # rest; ready has no end where nothing goes on by itself
            self._enter(Phase.READY, now_s)
        return []

    def touch(self, *, is_touched: bool, now_s: float) -> None:
        """Be told whether a hold is under way; its seconds count from its own beginning.

        Args:
            is_touched: True while the force is up.
            now_s: stream's clock [s].
        """
        self.is_overloaded &= is_touched
        if self.phase is Phase.HOLD and is_touched != (self._held_since_s is not None):
            self._held_since_s = now_s if is_touched else None
            self._since_s = now_s

    def seconds_left(self, now_s: float) -> float | None:
        """Say how long the phase still lasts.

        Args:
            now_s: stream's clock [s].

        Returns:
            Seconds [s], 0 or less when it is over, None where it has no end.
        """
        since_s = now_s if self._since_s is None else self._since_s
        lasts_s: float | None
        if self.phase is Phase.COUNT_IN:
            lasts_s = COUNT_IN_S
        elif self.phase is Phase.HOLD:
            lasts_s = 0.0 if self.is_overloaded else self._hold_s
        elif self.phase is Phase.RESULT:
            lasts_s = self.plan.result_s
        elif self.phase is Phase.REST:
            lasts_s = self._rest_s(since_s)
        else:
            lasts_s = LEAD_S if self._goes_on_by_itself else None
        return None if lasts_s is None else lasts_s - (now_s - since_s)

    def follow(self, prescription: Prescription, now_s: float) -> None:
        """Follow a replayed recording into its count-in.

        Args:
            prescription: what was prescribed then.
            now_s: stream's clock [s].
        """
        self.plan = replace(self.plan, prescription=prescription)
        self._count_in(now_s)

    @property
    def _goes_on_by_itself(self) -> bool:
        return self.plan.is_rounds and not self.is_done and not self._is_stopped

    @property
    def _hold_s(self) -> float:
        return self.plan.prescription.hold_s or 0.0

    def _rest_s(self, since_s: float) -> float:
        if self.plan.round_s is None or self._go_s is None:
            return self.plan.rest_s
        behind_s = since_s - MOST_LATE_S - (self._go_s - COUNT_IN_S)
        rounds = max(1, math.ceil(behind_s / self.plan.round_s))
        return self._go_s + rounds * self.plan.round_s - COUNT_IN_S - since_s

    def _take_back(self) -> None:
        """Undo the newest rep, be it begun or done; one that was called off is gone already."""
        if self._is_open:
            self.rep_number -= 1
        elif self._can_be_taken_back:
            self.rep_number -= 1
            self.reps.pop()

    def _count_in(self, now_s: float) -> list[Call]:
        self.rep_number += 1
        self._is_open = True
        self.no_show = self._is_stopped = self._can_be_taken_back = False
        self.is_overloaded = False
        self._enter(Phase.COUNT_IN, now_s)
        return [Call.PRESCRIBED]

    def _enter(self, phase: Phase, now_s: float) -> None:
        self.phase = phase
        self._since_s = now_s
        self._held_since_s = None


class Leading(Protocol):
    """What happens next at the wall, as far as it is shown."""

    no_show: bool
    """True when the result is that nobody pushed."""
    is_overloaded: bool
    """True from an overload of the cell until the athlete has let go."""

    @property
    def phase(self) -> Phase:
        """What the wall shows now."""
        ...

    @property
    def plan(self) -> Plan:
        """What is asked for."""
        ...

    @property
    def rep_number(self) -> int:
        """Which rep it is."""
        ...

    @property
    def reps(self) -> list[Rep]:
        """Reps that count, of what is compared, oldest first."""
        ...

    def seconds_left(self, now_s: float) -> float | None:
        """Say how long the phase still lasts [s], None where it has no end."""
        ...
