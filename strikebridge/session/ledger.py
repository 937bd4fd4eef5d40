"""Keep book of a group session: which turns are over, at which attempt, and what counts.

No stage and no clock: the conductor says when, the ledger says what stands in the book after
it, as happenings. A turn that is over has one result that counts or a reason why it has none;
what is taken back stays behind as an attempt.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.training import Closing
from strikebridge.session.happenings import Closed, Cued, Done, Reopened, TakenBack
from strikebridge.session.running_order import RunningOrder
from strikebridge.session.targets import Targets

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.training import ResumePoint
    from strikebridge.samples import MeasureValue, Prescription, Rep
    from strikebridge.session.happenings import Happening
    from strikebridge.session.turns import Turn


class Ledger:
    """The book of one session.

    Attributes:
        order: the turns still to come, and those that are over.
        targets: bests and what they ask for.
    """

    def __init__(
        self,
        turns: Sequence[Turn],
        past: Mapping[tuple[str, str], MeasureValue],
        resumed: ResumePoint | None,
    ) -> None:
        """Open the book.

        Args:
            turns: every turn of the plan.
            past: athlete and key of the exercise -> best peak force with this set-up.
            resumed: where the session stood when it broke off, None for a new one.
        """
        over = set() if resumed is None else resumed.done | set(resumed.closed)
        stopped = frozenset[tuple[str, str]]() if resumed is None else resumed.stopped
        self.order = RunningOrder(turns, over=over, stopped=stopped)
        self.targets = Targets(past)
        self._attempts = {} if resumed is None else dict(resumed.attempts)
        self._results = set() if resumed is None else set(resumed.done)
        self._cues: dict[str, str] = {}

    def finish(self, asked: Prescription, rep: Rep | None) -> list[Happening]:
        """Write down that the current turn is done.

        Args:
            asked: what was asked for.
            rep: the hold, None where it was only timed.

        Returns:
            `Done` for each athlete whose turn it was.
        """
        said: list[Happening] = []
        for turn in self.order.finish():
            attempt = self._attempts[turn.number] = self._attempts.get(turn.number, 0) + 1
            cue = "" if rep is None else self._cues.pop(turn.athlete, "")
            said.append(Done(turn, attempt, asked, rep, cue))
            self._results.add(turn.number)
            if rep is not None:
                self.targets.keep(turn, rep)
        return said

    def close(self, why: Closing) -> list[Happening]:
        """Write down that the current turn is over without a result.

        Args:
            why: why.
        """
        return [Closed(turn, why) for turn in self.order.finish()]

    def undo(self) -> list[Happening]:
        """Take the newest result back; its turn stays over.

        Returns:
            Nothing where there is none.
        """
        for party in reversed(self.order.over):
            undone = [turn for turn in party if turn.number in self._results]
            if undone:
                said = [one for turn in undone for one in self._take_back(turn)]
                return said + [Closed(turn, Closing.UNDONE) for turn in undone]
        return []

    def retake(self) -> list[Happening]:
        """Let the turn that ended last come again, now, its result taken back.

        Returns:
            Nothing where none is over, or where all of it was ended for pain.
        """
        said: list[Happening] = []
        for turn in self.order.retake():
            said += [*self._take_back(turn), Reopened(turn)]
        return said

    def stop_for_pain(self, turn: Turn) -> list[Happening]:
        """End an exercise for an athlete, for the whole session.

        Args:
            turn: whose pain it is, and at what.
        """
        ended = self.order.stop(turn.athlete, turn.exercise.key)
        return [Closed(one, Closing.PAIN) for one in ended]

    def cue(self, shown: Turn, words: str) -> list[Happening]:
        """Note a cue for the next hold of the athlete who is shown.

        Args:
            shown: the turn that is shown.
            words: the cue.
        """
        self._cues[shown.athlete] = words
        mine = (one for one in self.order.coming if one.athlete == shown.athlete)
        return [Cued(next(mine, shown), words)]

    def _take_back(self, turn: Turn) -> list[Happening]:
        """Take back the result of a turn, if it has one."""
        if turn.number not in self._results:
            return []
        self._results.discard(turn.number)
        self.targets.take_back(turn)
        return [TakenBack(turn)]
