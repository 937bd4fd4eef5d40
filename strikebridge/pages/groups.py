"""The groups of one athlete: in or out, and a new one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.athlete import name_fault, name_key, tidy_name
from strikebridge.club.entry import FieldFault
from strikebridge.errors import StrikebridgeError
from strikebridge.pages.sheet import (
    LEAVE,
    LEAVE_KEYS,
    STAY,
    Answer,
    Chooser,
    Column,
    Field,
    Form,
    Mark,
    Sheet,
    SheetRow,
    SideWords,
    Step,
    row_of_key,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.store.roster import Roster

NEW, BACK_ROW = " new", " back"  # no group's name begins with a space
ACTIONS = (
    SheetRow(NEW, ("A new group", ""), "N"),
    SheetRow(BACK_ROW, ("Back to the athletes", "")),
)


class GroupsPage:
    """Groups, each with whether the athlete is in it."""

    def __init__(self, roster: Roster, who: str) -> None:
        """Open the page.

        Args:
            roster: the athletes of the database.
            who: id of the athlete.
        """
        self._roster = roster
        self._who = who
        self._said = ""
        self._chooser = Chooser()

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        rows = self._rows()
        name = self._roster.find(self._who).name
        return Sheet(
            title=f"Groups of {name}",
            tell=f"Which groups {name} is in.",
            columns=(Column("group", 0.55), Column("", 0.45)),
            rows=rows,
            chosen=self._chooser.index(rows),
            side=(
                SideWords("Groups", is_head=True),
                SideWords(
                    "A session is done with a group or with athletes picked one by one. A "
                    "group without athletes is gone."
                ),
            ),
            said=self._said,
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        self._said = ""
        row = row_of_key(key, self._rows(), self._chooser)
        if key in LEAVE_KEYS or (row is not None and row.key == BACK_ROW):
            return LEAVE
        if row is None:
            return STAY
        if row.key == NEW:
            return Step(form=Form("A new group", "It begins with one.", (FIELD,)))
        if row.mark is Mark.IN:
            self._roster.take_out(row.key, [self._who])
            self._said = f"Not in {row.key} any more."
        else:
            self._roster.put_in(row.key, [self._who])
            self._said = f"In {row.key}."
        return STAY

    def answer(self, form: Form, fields: Mapping[str, str]) -> Answer:
        """Make a new group.

        Args:
            form: as it was asked.
            fields: text by key of the field.
        """
        name = tidy_name(fields["group"])
        fault = name_fault(name)
        if fault:
            return Answer(faults=(FieldFault("group", fault),))
        try:
            self._roster.put_in(name, [self._who])
        except StrikebridgeError as error:
            return Answer(refused=str(error))
        self._chooser.at = name
        self._said = f"In {name}."
        return Answer()

    def _rows(self) -> tuple[SheetRow, ...]:
        is_in = {name_key(group) for group in self._roster.find(self._who).groups}
        groups = (
            SheetRow(
                group,
                (group, "in" if name_key(group) in is_in else "not in"),
                mark=Mark.IN if name_key(group) in is_in else Mark.OUT,
            )
            for group in self._roster.groups()
        )
        return (*ACTIONS, *groups)


FIELD = Field("group", "Name of the group", "such as Seniors")
