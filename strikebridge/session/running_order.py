"""Who is next: the turns still to come, and those that are over, in the order they ended.

Turns that run together, such as a drill of the whole group, are one party and stay together.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from strikebridge.session.turns import Turn

Party = tuple["Turn", ...]


class RunningOrder:
    """The turns of a session, in the order they come.

    Attributes:
        stopped: athlete and exercise of what was ended for pain.
    """

    def __init__(
        self,
        turns: Sequence[Turn],
        *,
        over: Sequence[int] = (),
        stopped: Collection[tuple[str, str]] = (),
    ) -> None:
        """Line the turns up.

        Args:
            turns: every turn of the plan.
            over: numbers of those that are over already, in the order they ended.
            stopped: athlete and exercise of what was ended for pain.
        """
        self.stopped = set(stopped)
        parties: list[list[Turn]] = []
        for turn in turns:
            if turn.is_joined:
                parties[-1].append(turn)
            else:
                parties.append([turn])
        self._heads = {turn.number: party[0].number for party in parties for turn in party}
        self._coming: list[Party] = []
        self._over: list[Party] = []
        for party in parties:
            for to, is_over in ((self._over, True), (self._coming, False)):
                some = self._fit([one for one in party if (one.number in over) is is_over])
                if some:
                    to.append(some)
        place = {number: at for at, number in enumerate(over)}
        self._over.sort(key=lambda party: max(place[one.number] for one in party))

    @property
    def party(self) -> Party:
        """Those whose turn it is, empty when every turn is over."""
        return self._coming[0] if self._coming else ()

    @property
    def current(self) -> Turn | None:
        """Whose turn it is, the first of them; None when every turn is over."""
        return self._coming[0][0] if self._coming else None

    @property
    def following(self) -> Turn | None:
        """The turn after that."""
        return self._coming[1][0] if len(self._coming) > 1 else None

    @property
    def open_turns(self) -> int:
        """How many turns are still to come, this one among them."""
        return sum(len(party) for party in self._coming)

    @property
    def coming(self) -> tuple[Turn, ...]:
        """All turns still to come, in order."""
        return tuple(turn for party in self._coming for turn in party)

    @property
    def over(self) -> tuple[Party, ...]:
        """What is over, the newest last."""
        return tuple(self._over)

    def finish(self) -> Party:
        """Let this turn be over.

        Returns:
            Whose it was.
        """
        party = self._coming.pop(0)
        self._over.append(party)
        return party

    @property
    def last(self) -> Party:
        """Those whose turn `retake` lets come again, empty where there is none."""
        return next((some for party in reversed(self._over) if (some := self._fit(party))), ())

    def retake(self) -> Party:
        """Let the turn that ended last come again, now.

        Returns:
            Whose it is, empty where none is over or all of it was ended for pain.
        """
        while self._over:
            party = self._fit(self._over.pop())
            if party:
                self._coming.insert(0, party)
                return party
        return ()

    def reopen(self, turns: Party, coming: Sequence[Turn], *, first: int) -> None:
        """Let turns that are over come again, before what came after them.

        Args:
            turns: those turns, in their order.
            coming: what was still to come before they were over, in order.
            first: how many parties stay before them, whatever came after them.
        """
        again = {turn.number for turn in turns}
        parties = (
            tuple(turn for turn in party if turn.number not in again) for party in self._over
        )
        self._over = [party for party in parties if party]
        numbers = [turn.number for turn in coming]
        for turn in turns:
            after = set(numbers[numbers.index(turn.number) + 1 :])
            self._insert(turn, after, first)

    def _insert(self, turn: Turn, after: Collection[int], first: int) -> None:
        """Put a turn to its party, or before the first of what came after it."""
        for at in range(first, len(self._coming)):
            party = self._coming[at]
            if self._heads[party[0].number] == self._heads[turn.number]:
                self._coming[at] = tuple(sorted((*party, turn), key=lambda one: one.number))
                return
            if any(one.number in after for one in party):
                self._coming.insert(at, (turn,))
                return
        self._coming.append((turn,))

    def find(self, number: int | None) -> Turn | None:
        """Find a turn by its number, whether it is over or still to come.

        Args:
            number: of the plan, from 1; None for none.

        Returns:
            The turn, None where there is none.
        """
        every = (turn for party in (*self._over, *self._coming) for turn in party)
        return next((turn for turn in every if turn.number == number), None)

    def swap(self, athlete: str | None = None) -> bool:
        """Let another athlete's turns go before this athlete's.

        Args:
            athlete: id of who is to come first, None for the next one. Nobody is moved past
                what all do together.

        Returns:
            True if somebody else comes first now.
        """
        mine = self._run(0)
        if self.current is not None and self.current.athlete == athlete:
            return False
        start = self._start_of(athlete, mine)
        count = self._run(start)
        if not count:
            return False
        moved = self._coming[start : start + count]
        self._coming[start : start + count] = []
        self._coming[:0] = moved
        return True

    def _start_of(self, athlete: str | None, after: int) -> int:
        """Find where the turns of an athlete begin; the end where they cannot be moved."""
        for at in range(after, len(self._coming)):
            party = self._coming[at]
            if len(party) > 1 or athlete in (None, party[0].athlete):
                return at
        return len(self._coming)

    def stop(self, athlete: str, exercise: str) -> tuple[Turn, ...]:
        """End an exercise for an athlete.

        Args:
            athlete: id.
            exercise: key.

        Returns:
            The turns that are over by that.
        """
        self.stopped.add((athlete, exercise))
        ended = tuple(turn for turn in self.coming if turn.task == (athlete, exercise))
        self._coming = [left for party in self._coming if (left := self._fit(party))]
        return ended

    def _fit(self, party: Sequence[Turn]) -> Party:
        """Leave out what was ended for pain."""
        return tuple(turn for turn in party if turn.task not in self.stopped)

    def _run(self, start: int) -> int:
        """Count the turns in a row of the athlete whose turn is at `start`."""
        n = 0
        for party in self._coming[start:]:
            if party[0].athlete != self._coming[start][0].athlete or len(party) > 1:
                break
            n += 1
        return n
