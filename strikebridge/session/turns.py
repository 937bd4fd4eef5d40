"""From a plan and a group to turns: who does which rep when, and how long all of it takes.

A turn is one rep of one athlete. Turns are numbered from 1 in the order of the plan, always in
the same way, so that a session can be taken up again by the number alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.club.exercise import Way
from strikebridge.errors import PlanError
from strikebridge.session.exercises import find
from strikebridge.session.plan import Mode, Order, circuits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from strikebridge.club.exercise import Exercise
    from strikebridge.session.plan import Block, Plan

COUNT_IN_S = 3.0  # three, two, one: common practice, no source
BEGIN_S = 0.3  # from the go to the push, for the expected length only
LET_GO_S = 0.7  # until a hold is known to be over, for the expected length only
MOST_TURNS = 5000  # a day of holds; beyond it a slip of the keys is likelier


@dataclass(frozen=True, slots=True)
class Turn:
    """One rep of one athlete.

    Attributes:
        number: from 1, in the order of the plan.
        athlete: id.
        place: which athlete of the session, from 1.
        block: the block of the plan.
        exercise: what is done.
        set_number: from 1.
        rep_number: from 1, of this exercise in this set.
        is_joined: True where it runs together with the turn before it.
    """

    number: int
    athlete: str
    place: int
    block: Block
    exercise: Exercise
    set_number: int
    rep_number: int
    is_joined: bool = False

    @property
    def task(self) -> tuple[str, str]:
        """Athlete and key of the exercise: what a best, a mark and a stop for pain are of."""
        return self.athlete, self.exercise.key

    @property
    def is_measured(self) -> bool:
        """Say whether it is a hold at the wall."""
        return self.exercise.way is Way.MEASURED


class Rests:
    """Remember who ended when, and say when a turn may begin."""

    def __init__(self, plan: Plan) -> None:
        """Begin with everybody rested.

        Args:
            plan: as it is run.
        """
        self._plan = plan
        self._ended: dict[str, tuple[Turn, float]] = {}
        self._last: str | None = None

    def note(self, turn: Turn, ended_s: float) -> None:
        """Note that a turn is over.

        Args:
            turn: the turn.
            ended_s: when [s].
        """
        self._ended[turn.athlete] = (turn, ended_s)
        self._last = None if turn.block.everyone else turn.athlete

    def ready_s(self, turn: Turn, now_s: float) -> float:
        """Say when a turn may begin, its athlete rested and at the wall.

        Args:
            turn: the turn.
            now_s: now [s].

        Returns:
            When [s]; not before now.
        """
        ready_s = now_s
        if self._last not in (None, turn.athlete):
            ready_s += self._plan.change_s
        before = self._ended.get(turn.athlete)
        if before is not None:
            last, ended_s = before
            ready_s = max(ready_s, ended_s + rest_after_s(last, turn))
        return ready_s


def rest_after_s(last: Turn, turn: Turn) -> float:
    """Say how long an athlete rests between two turns.

    Args:
        last: the one that is over.
        turn: the one that comes.

    Returns:
        Rest [s].
    """
    is_same = last.block.name == turn.block.name
    is_new_set = is_same and last.set_number != turn.set_number
    return last.block.set_rest_s if is_new_set else last.block.rest_s


def turns_of(
    plan: Plan, athletes: Sequence[str], known: Mapping[str, Exercise]
) -> tuple[Turn, ...]:
    """Write out a plan for a group.

    Args:
        plan: as it is run.
        athletes: ids, in their order.
        known: key -> exercise.

    Returns:
        Every turn.

    Raises:
        PlanError: there is nobody, or it is more than a day holds.
    """
    if not athletes:
        raise PlanError("There is nobody in this session. Add athletes to the roster first.")
    turns: list[Turn] = []
    for blocks in circuits(plan):
        for set_number, places in _rounds(plan, blocks, len(athletes)):
            for group, (block, exercise, rep_number) in _of_set(blocks, places, known):
                for i, place in enumerate(group):
                    turns.append(
                        Turn(
                            number=len(turns) + 1,
                            athlete=athletes[place - 1],
                            place=place,
                            block=block,
                            exercise=exercise,
                            set_number=set_number,
                            rep_number=rep_number,
                            is_joined=i > 0,
                        )
                    )
    if len(turns) > MOST_TURNS:
        raise PlanError(
            f"{plan.name}: {len(turns)} turns for {len(athletes)} athletes are more than a day "
            f"holds ({MOST_TURNS} at most). Take fewer sets or fewer athletes."
        )
    return tuple(turns)


def expected_s(plan: Plan, turns: Sequence[Turn]) -> float:
    """Add up how long a session takes, hands free.

    Args:
        plan: as it is run.
        turns: every turn.

    Returns:
        From the first name called to the last result [s].
    """
    now_s = 0.0
    rests = Rests(plan)
    for turn in turns:
        if turn.is_joined:
            rests.note(turn, now_s - plan.result_s)
            continue
        now_s = rests.ready_s(turn, now_s) + plan.get_set_s + COUNT_IN_S
        now_s += turn.block.seconds + (BEGIN_S + LET_GO_S if turn.is_measured else 0.0)
        rests.note(turn, now_s)
        now_s += plan.result_s
    return now_s


def length_words(seconds: float) -> str:
    """Say a length as a coach would.

    Args:
        seconds: [s].

    Returns:
        Such as `about 42 minutes`.
    """
    if seconds < 90.0:
        return f"about {seconds:.0f} seconds"
    return f"about {seconds / 60.0:.0f} minutes"


def begins_by_itself(plan: Plan, turn: Turn) -> bool:
    """Say whether a turn begins without a key.

    Args:
        plan: as it is run.
        turn: the turn.

    Returns:
        True in rounds; where the athletes lead, for what is only timed.
    """
    return plan.mode is Mode.ROUNDS or (plan.mode is Mode.ATHLETE and not turn.is_measured)


def _rounds(
    plan: Plan, blocks: Sequence[Block], athletes: int
) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Give set after set and who does it, by place."""
    sets = range(1, blocks[0].sets + 1)
    all_of_them = tuple(range(1, athletes + 1))
    if plan.order is Order.ROTATION or any(block.everyone for block in blocks):
        yield from ((one, all_of_them) for one in sets)
    else:
        yield from ((one, (place,)) for place in all_of_them for one in sets)


def _of_set(
    blocks: Sequence[Block],
    places: tuple[int, ...],
    known: Mapping[str, Exercise],
) -> Iterator[tuple[tuple[int, ...], tuple[Block, Exercise, int]]]:
    """Give rep after rep of one set, and who does it together."""
    for block in blocks:
        for group in [places] if block.everyone else [(place,) for place in places]:
            for word in block.exercises:
                for exercise in find(word, known):
                    for rep_number in range(1, block.reps_per_side + 1):
                        yield group, (block, exercise, rep_number)
