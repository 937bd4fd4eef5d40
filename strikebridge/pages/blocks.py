"""All blocks of a plan in words, for one that has more than stand beside its settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.pages.plan_words import block_words, counted
from strikebridge.pages.sheet import (
    DO_KEYS,
    LEAVE,
    LEAVE_KEYS,
    STAY,
    Chooser,
    Column,
    NoForms,
    Sheet,
    SheetRow,
    row_of_key,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.club.exercise import Exercise
    from strikebridge.pages.sheet import Step
    from strikebridge.session.plan import Plan


class BlocksPage(NoForms):
    """What is done, block by block."""

    def __init__(self, plan: Plan, known: Mapping[str, Exercise]) -> None:
        """Open the page.

        Args:
            plan: as it would be run.
            known: key -> exercise.
        """
        self._plan = plan
        self._rows = tuple(
            SheetRow(str(number), (block.name, block_words(block, known)))
            for number, block in enumerate(plan.block)
        )
        self._chooser = Chooser()

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        many = counted(len(self._rows), "block")
        return Sheet(
            title=self._plan.name,
            tell=f"{self._plan.name}: {many}.",
            right=many,
            columns=(Column("block", 0.25), Column("what is done", 0.75)),
            rows=self._rows,
            chosen=self._chooser.index(self._rows),
            lines=2,
            footer="PageUp, arrows: go through them      Space, PageDown, Esc: back",
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        if key in (*LEAVE_KEYS, *DO_KEYS):
            return LEAVE
        row_of_key(key, self._rows, self._chooser)
        return STAY
