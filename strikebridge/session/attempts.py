"""The reps of a session as they lie on the coach's desk, those taken back among them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.desk import Attempt
from strikebridge.session.happenings import Done, TakenBack

if TYPE_CHECKING:
    from strikebridge.session.happenings import Happening
    from strikebridge.session.turns import Turn


class Attempts:
    """Keep what each athlete has tried at each exercise."""

    def __init__(self) -> None:
        """Begin with none."""
        self._kept: dict[tuple[str, str], list[tuple[int, Attempt]]] = {}

    def hear(self, one: Happening) -> None:
        """Lay a rep beside the others of this athlete and exercise, also once taken back.

        Args:
            one: what happened; only reps and what is taken back matter here.
        """
        if isinstance(one, Done) and one.rep is not None:
            mine = self._kept.setdefault(one.turn.task, [])
            mine.append((one.turn.number, Attempt(len(mine) + 1, one.rep, cue=one.cue)))
        elif isinstance(one, TakenBack):
            mine = self._kept.get(one.turn.task, [])
            mine[:] = [
                (number, replace(kept, is_kept=False) if number == one.turn.number else kept)
                for number, kept in mine
            ]

    def at(self, turn: Turn) -> tuple[Attempt, ...]:
        """List the reps of this athlete and exercise, oldest first.

        Args:
            turn: whose, and of what.
        """
        return tuple(kept for _, kept in self._kept.get(turn.task, ()))
