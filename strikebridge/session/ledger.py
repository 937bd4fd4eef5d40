"""Keep book of a group session: which turns are over, at which attempt, and what counts.

No stage and no clock: the conductor says when, the ledger says what stands in the book after
it, as happenings. A turn that is over has one result that counts or a reason why it has none;
what is taken back stays behind as an attempt.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.club.training import Closing
from strikebridge.session.happenings import (
    Closed,
    Cued,
    Done,
    Named,
    Reopened,
    Stopped,
    TakenBack,
    Undone,
)
from strikebridge.session.running_order import RunningOrder
from strikebridge.session.targets import Targets

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.training import ResumePoint
    from strikebridge.samples import MeasureValue, Prescription, Rep
    from strikebridge.session.happenings import Happening
    from strikebridge.session.turns import Turn


@dataclass(frozen=True, slots=True, eq=False)
class Deed:
    """Something done in this run of the program, that can be taken back.

    Attributes:
        turns: those that were over by it, in their order.
        about: the turn by which it is named.
        why: how they ended, None where they had a result.
        rep: the hold, None where there was none.
        coming: what was still to come before it.
    """

    turns: tuple[Turn, ...]
    about: Turn
    why: Closing | None
    rep: Rep | None
    coming: tuple[Turn, ...]


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
        days: Mapping[tuple[str, str], str] | None = None,
    ) -> None:
        """Open the book.

        Args:
            turns: every turn of the plan.
            past: athlete and key of the exercise -> best peak force with this set-up.
            resumed: where the session stood when it broke off, None for a new one.
            days: athlete and key of the exercise -> when that best was, in words.
        """
        over = () if resumed is None else resumed.over
        stopped = frozenset[tuple[str, str]]() if resumed is None else resumed.stopped
        self.order = RunningOrder(turns, over=over, stopped=stopped)
        self.targets = Targets(past, days)
        self._attempts = {} if resumed is None else dict(resumed.attempts)
        self._results = set() if resumed is None else set(resumed.done)
        self._cues: dict[str, str] = {}
        self._deeds: list[Deed] = []  # of this run: what was there before stays
        self._before = frozenset(over)

    def finish(self, asked: Prescription, rep: Rep | None) -> list[Happening]:
        """Write down that the current turn is done.

        Args:
            asked: what was asked for.
            rep: the hold, None where it was only timed.

        Returns:
            `Done` for each athlete whose turn it was.
        """
        said: list[Happening] = []
        coming, party = self.order.coming, self.order.finish()
        self._deeds.append(Deed(party, party[0], None, rep, coming))
        for turn in party:
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
        coming, party = self.order.coming, self.order.finish()
        self._deeds.append(Deed(party, party[0], why, None, coming))
        return [Closed(turn, why) for turn in party]

    def undo(self, *, is_under_way: bool) -> list[Happening]:
        """Take back what was done last; a turn that had a result stays over without it.

        A turn that had none, skipped or ended for pain, comes again.

        Args:
            is_under_way: True where the current turn has begun, and stays the current one.

        Returns:
            `Undone` at the end: of nothing where nothing is left of this run.
        """
        if not self._deeds:
            return [Undone()]
        deed = self._deeds.pop()
        said: list[Happening] = []
        if deed.why is None:
            said += [one for turn in deed.turns for one in self._take_back(turn)]
            said += [Closed(turn, Closing.UNDONE) for turn in deed.turns]
        else:
            self.order.reopen(deed.turns, deed.coming, first=1 if is_under_way else 0)
            if deed.why is Closing.PAIN:
                self.order.stopped.discard((deed.about.athlete, deed.about.exercise.key))
            said += [Reopened(turn) for turn in deed.turns] or [
                Stopped(deed.about, is_off=True)
            ]
        return [*said, Undone(deed.about, deed.why, deed.rep)]

    @property
    def older(self) -> tuple[Named, ...]:
        """What `retake` would let come again although nobody saw it end last; one at most.

        It was over before this run began, or what ended after it was stopped for pain.
        """
        party = self.order.last
        if not party:
            return ()
        is_before = party[0].number in self._before
        is_newest = party[0] in self.order.over[-1]
        named = Named(party[0], is_before=is_before)
        return (named,) if is_before or not is_newest else ()

    def retake(self) -> list[Happening]:
        """Let the turn that ended last come again, now, its result taken back.

        Returns:
            Nothing where none is over, or where all of it was ended for pain.
        """
        said: list[Happening] = []
        party = self.order.retake()
        again = {turn.number for turn in party}
        self._before -= again
        self._deeds = [
            one for one in self._deeds if not any(turn.number in again for turn in one.turns)
        ]
        for turn in party:
            said += [*self._take_back(turn), Reopened(turn)]
        return said

    def stop_for_pain(self, turn: Turn) -> list[Happening]:
        """End an exercise for an athlete, for the whole session.

        Args:
            turn: whose pain it is, and at what.
        """
        if turn.task in self.order.stopped:
            return []
        coming = self.order.coming
        ended = self.order.stop(*turn.task)
        self._deeds.append(Deed(ended, turn, Closing.PAIN, None, coming))
        said: list[Happening] = [Closed(one, Closing.PAIN) for one in ended]
        return said or [Stopped(turn)]

    @property
    def results(self) -> frozenset[int]:
        """Numbers of the turns that have a result that counts."""
        return frozenset(self._results)

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
