"""Who is called, who comes when, and what to mind at a turn: words for wall and desk."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from strikebridge.desk import BREATH, Place
from strikebridge.samples import Effort
from strikebridge.session.turns import rest_after_s

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.session.turns import Turn

EVERYONE = "Everyone"


def follower(turn: Turn, after: Turn | None, athletes: Mapping[str, Athlete]) -> str:
    """Say who comes after a turn, so as to get ready, or to rest.

    Args:
        turn: the one shown.
        after: the one that comes next, None where none does.
        athletes: id -> athlete.

    Returns:
        A name, `you again` with the rest before it, or empty where nobody comes.
    """
    if after is None:
        return ""
    name = called(after, athletes)
    if name != called(turn, athletes):
        return name
    again = "all again" if name == EVERYONE else "you again"
    rest_s = rest_after_s(turn, after)
    return f"{again}, rest {rest_s:g} s" if rest_s else again


def called(turn: Turn, athletes: Mapping[str, Athlete]) -> str:
    """Say who is called to a turn.

    Args:
        turn: the turn.
        athletes: id -> athlete.
    """
    return EVERYONE if turn.block.everyone else athletes[turn.athlete].name


def places(
    coming: Sequence[Turn],
    over: Sequence[Sequence[Turn]],
    results: Collection[int],
    athletes: Mapping[str, Athlete],
) -> tuple[Place, ...]:
    """Say who comes when, each athlete once, at the next turn.

    Args:
        coming: turns still to come, in order.
        over: parties whose turn is over.
        results: numbers of the turns that have a result; one left out is over, not done.
        athletes: id -> athlete.

    Returns:
        Places in their order; the first is whose turn it is.
    """
    ended = [turn for party in over for turn in party]
    done = Counter(turn.athlete for turn in ended if turn.number in results)
    planned = Counter(turn.athlete for turn in (*ended, *coming))
    first: dict[str, Turn] = {}
    for turn in coming:
        first.setdefault(turn.athlete, turn)
    return tuple(
        Place(
            name=athletes[athlete].name,
            asks=turn.exercise.name,
            done=done[athlete],
            planned=planned[athlete],
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
