"""Which reps may be compared, and what belongs to one session."""

from __future__ import annotations

from operator import attrgetter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from strikebridge.club.selection import Like, RepSummary

_in_order = attrgetter("at", "turn")


def by_like(reps: Iterable[RepSummary]) -> dict[Like, tuple[RepSummary, ...]]:
    """Sort reps into those that may be compared.

    Args:
        reps: of any athletes, in any order.

    Returns:
        Reps with a value by what they share, each in the order of time and turn.
    """
    # those of a database share one Like: to look for the same one is quicker than for an equal
    same: dict[int, list[RepSummary]] = {}
    for rep in reps:
        if rep.value.value is not None:
            same.setdefault(id(rep.like), []).append(rep)
    found: dict[Like, list[RepSummary]] = {}
    for some in same.values():
        found.setdefault(some[0].like, []).extend(some)
    return {like: tuple(sorted(some, key=_in_order)) for like, some in found.items()}


def by_session(reps: Iterable[RepSummary]) -> list[tuple[RepSummary, ...]]:
    """Cut reps into sessions.

    Args:
        reps: reps with a value, in any order.

    Returns:
        The reps of each session in their order, the oldest session first.
    """
    found: dict[str, list[RepSummary]] = {}
    for rep in sorted(reps, key=_in_order):
        found.setdefault(rep.session, []).append(rep)
    return [tuple(some) for some in found.values()]
