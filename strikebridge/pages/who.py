"""Who takes part in the next session, and in which order they are called."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from strikebridge.pages.roster_words import care_words
from strikebridge.pages.sheet import (
    BACK,
    CLICKER,
    LEAVE,
    LEAVE_KEYS,
    STAY,
    Chooser,
    Column,
    Mark,
    NoForms,
    Sheet,
    SheetRow,
    SideWords,
    row_of_key,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.pages.sheet import Step

DONE, ALL, NONE = "done", "all", "none"
ACTIONS = (
    SheetRow(DONE, ("Done", ""), "K"),
    SheetRow(ALL, ("All of them", ""), "A"),
    SheetRow(NONE, ("None of them", ""), "N"),
)
MOVES = {"Left": -1, "Right": +1}


@dataclass(slots=True)
class Picked:
    """Who is picked out of the roster.

    Attributes:
        order: ids of everybody, in the order in which they would be called.
        inside: ids of those who take part.
        group: the group they were taken as, empty where they were picked one by one.
    """

    order: list[str] = field(default_factory=list)
    inside: set[str] = field(default_factory=set)
    group: str = ""

    @property
    def athletes(self) -> tuple[str, ...]:
        """Give the ids of those who take part, in their order."""
        return tuple(one for one in self.order if one in self.inside)

    def take(self, ids: Collection[str], group: str) -> None:
        """Pick these and nobody else; the order stays.

        Args:
            ids: who takes part.
            group: the group they are, may be empty.
        """
        self.inside = set(ids)
        self.group = group

    def turn(self, who: str) -> None:
        """Put somebody in, or take them out.

        Args:
            who: id.
        """
        self.inside ^= {who}
        self.group = ""

    def move(self, who: str, by: int) -> None:
        """Let somebody be called earlier or later.

        Args:
            who: id.
            by: -1 for earlier, +1 for later.
        """
        at = self.order.index(who)
        to = min(max(0, at + by), len(self.order) - 1)
        self.order.insert(to, self.order.pop(at))

    def keep_to(self, people: Sequence[Athlete]) -> None:
        """Follow the roster: whoever has left it is out, whoever is new stands at the end.

        Args:
            people: the roster.
        """
        ids = [one.id for one in people]
        self.order = [one for one in self.order if one in ids]
        self.order += [one for one in ids if one not in self.order]
        self.inside &= set(ids)


class WhoPage(NoForms):
    """Everybody, each in or out."""

    def __init__(self, people: Mapping[str, Athlete], picked: Picked) -> None:
        """Open the page.

        Args:
            people: id -> athlete, the whole roster.
            picked: who is picked; this page changes it.
        """
        self._people = people
        self._picked = picked
        self._chooser = Chooser()

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        rows = self._rows()
        inside = len(self._picked.athletes)
        return Sheet(
            title="Who takes part",
            tell=f"{inside} of {len(self._people)} take part.",
            right=f"{inside} in",
            columns=(Column("athlete", 0.45), Column("called", 0.25), Column("mind", 0.30)),
            rows=rows,
            chosen=self._chooser.index(rows),
            side=(
                SideWords("In which order", is_head=True),
                SideWords(
                    "They are called in the order of this list. Left and Right move an athlete "
                    "up and down in it."
                ),
            ),
            footer=f"{CLICKER}      Left, Right: earlier, later      {BACK}",
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        rows = self._rows()
        self._chooser.index(rows)
        if key in LEAVE_KEYS:
            return LEAVE
        if key in MOVES:
            if self._chooser.at in self._people:
                self._picked.move(self._chooser.at, MOVES[key])
            return STAY
        row = row_of_key(key, rows, self._chooser)
        if row is None:
            return STAY
        if row.key == DONE:
            return LEAVE
        if row.key in (ALL, NONE):
            self._picked.take(self._people if row.key == ALL else (), "")
        else:
            self._picked.turn(row.key)
        return STAY

    def _rows(self) -> tuple[SheetRow, ...]:
        called = {who: number for number, who in enumerate(self._picked.athletes, start=1)}
        rows = []
        for who in self._picked.order:
            athlete = self._people[who]
            is_in = who in called
            words = f"number {called[who]}" if is_in else "not today"
            cells = (athlete.name, words, care_words(athlete))
            rows.append(SheetRow(who, cells, mark=Mark.IN if is_in else Mark.OUT))
        return (*ACTIONS, *rows)
