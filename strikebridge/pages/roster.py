"""The page of the athletes: who trains here; add, change, leave out, import.

Nothing of an under-age athlete is written without consent. What is typed stays in memory until
every field is right; the store checks it once more before the first byte.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.club.consent import is_under_age
from strikebridge.club.entry import BETWEEN_GROUPS, FieldFault
from strikebridge.club.saltmarsh_quay import CLUB, saltmarsh_quay
from strikebridge.enrolling import entry_of, import_table
from strikebridge.errors import FaultyFileError, FormatError, RosterError, StrikebridgeError
from strikebridge.pages.faults import FaultsPage
from strikebridge.pages.groups import GroupsPage
from strikebridge.pages.pain_slips import SLIP_KEY
from strikebridge.pages.roster_words import (
    GATE,
    athlete_cells,
    athlete_fields,
    athlete_side,
    in_labels,
)
from strikebridge.pages.sheet import (
    BACK,
    CLICKER,
    LEAVE,
    LEAVE_KEYS,
    STAY,
    Answer,
    Chooser,
    Column,
    Field,
    FieldKind,
    Form,
    Mark,
    Sheet,
    SheetRow,
    SideWords,
    Step,
    row_of_key,
)
from strikebridge.store.roster import local_day

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from strikebridge.club.athlete import Athlete
    from strikebridge.pages.pain_slips import PainSlips
    from strikebridge.store.roster import Roster

ADD, CHANGE, IMPORT, TAKE_OVER, BACK_ROW = "add", "change", "import", "take over", "back"
ACTIONS = (
    SheetRow(ADD, ("Add an athlete",), "N"),
    SheetRow(IMPORT, ("Import a table (CSV)",), "I"),
)
TRY_OUT = SheetRow(
    TAKE_OVER, (f"Try out with the six invented athletes of {CLUB}",), "T", Mark.NONE
)
GO_BACK = SheetRow(BACK_ROW, ("Back to the start page",))
COLUMNS = (
    Column("name", 0.255),
    Column("stance", 0.095),
    Column("age", 0.09),
    Column("body mass", 0.20),
    Column("consent", 0.215),
    Column("mind", 0.145),
)
STAYS = "Leave them out of the plan, or erase them for good: strikebridge erase NAME."
COLUMN_WORDS = (
    "A table has a header with name, stance, and age_group or born_year; as wanted mass_kg, "
    "weighed_on, consent_on, consent_by, wrist, shoulder, blood_pressure, note, groups."
)


class RosterPage:
    """Athletes, listed and changed."""

    def __init__(self, roster: Roster, slips: PainSlips | None = None) -> None:
        """Open the page.

        Args:
            roster: the athletes of the database.
            slips: takes back stops for pain that were a slip, None where that is not offered.
        """
        self._roster = roster
        self._slips = slips
        self._said = ""
        self._asked_for = ""  # the id of whom X was pressed for once
        self._chooser = Chooser()

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        people, today = self._roster.all(), local_day()
        rows = self._rows(people, today)
        chosen = self._chooser.index(rows)
        by_id = {one.id: one for one in people}
        who = by_id.get(self._chooser.at)
        return Sheet(
            title="Athletes",
            tell=_tell(people, who),
            right=_count(people, today),
            columns=COLUMNS,
            rows=rows,
            chosen=chosen,
            share=0.76,
            side=_about_page(people) if who is None else self._about(who),
            said=self._said,
            footer=self._footer(who),
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        people = {one.id: one for one in self._roster.all()}
        rows = self._rows(tuple(people.values()), local_day())
        self._chooser.index(rows)
        asked_for, self._asked_for, self._said = self._asked_for, "", ""
        who = people.get(self._chooser.at)
        if key in LEAVE_KEYS:
            return LEAVE
        if key == "X" and who is not None:
            self._leave_out(who, is_sure=asked_for == who.id)
            return STAY
        if key == SLIP_KEY and who is not None and self._slips is not None:
            self._said = self._slips.press(who)
            return STAY
        if self._slips is not None:
            self._slips.forget()
        if key == "G" and who is not None:
            return Step(page=GroupsPage(self._roster, who.id))
        row = row_of_key(key, rows, self._chooser)
        return STAY if row is None else self._do(row.key, people)

    def answer(self, form: Form, fields: Mapping[str, str]) -> Answer:
        """Take a filled form back: an athlete, or the table to import.

        Args:
            form: as it was asked.
            fields: text by key of the field.
        """
        try:
            if form.action == IMPORT:
                return self._import(Path(fields["file"].strip()).expanduser())
            return self._keep(form, fields)
        except StrikebridgeError as error:
            return Answer(refused=str(error))

    def _about(self, who: Athlete) -> tuple[SideWords, ...]:
        stops = () if self._slips is None else self._slips.side(who)
        return (*athlete_side(who), *stops)

    def _footer(self, who: Athlete | None) -> str:
        """Name the keys; the one that takes a stop back only where there is one."""
        has_stop = self._slips is not None and who is not None and self._slips.has_stop(who)
        slip = (f"{SLIP_KEY}: pain was a slip",) if has_stop else ()
        return "      ".join((CLICKER, "G: groups", "X: leave out", *slip, BACK))

    def _rows(self, people: Sequence[Athlete], today: date) -> tuple[SheetRow, ...]:
        athletes = tuple(
            SheetRow(
                one.id, athlete_cells(one, today), mark=Mark.MIND if one.cares else Mark.NONE
            )
            for one in people
        )
        if not people:
            return (*ACTIONS, TRY_OUT, GO_BACK)
        return (*ACTIONS, GO_BACK, *athletes)

    def _do(self, what: str, people: Mapping[str, Athlete]) -> Step:
        if what == BACK_ROW:
            return LEAVE
        if what == ADD:
            return Step(form=self._form(None))
        if what == IMPORT:
            return Step(form=_import_form())
        if what == TAKE_OVER:
            self._take_over()
            return STAY
        return Step(form=self._form(people[what]))

    def _form(self, before: Athlete | None) -> Form:
        fields = athlete_fields(before, self._roster.groups())
        if before is None:
            return Form("Add an athlete", GATE, fields, action=ADD)
        return Form(f"Change {before.name}", GATE, fields, before.id, CHANGE)

    def _keep(self, form: Form, fields: Mapping[str, str]) -> Answer:
        before = self._roster.find(form.about) if form.action == CHANGE else None
        entry = entry_of(fields, before)
        if entry.athlete is None:
            return Answer(faults=in_labels(entry.faults))
        made = entry.athlete
        if before is None:
            self._roster.add(made)
        else:
            self._roster.change(made)
        self._chooser.at = made.id
        self._said = f"{made.name} is {'added' if before is None else 'changed'}."
        return Answer()

    def _import(self, file: Path) -> Answer:
        try:
            found = import_table(self._roster, file)
        except FaultyFileError as error:
            faults = tuple(str(one) for one in error.errors)
            page = FaultsPage(
                file.name, faults, lambda: self._again(file), nothing="Nobody was added."
            )
            return Answer(refused="It has mistakes.", then=page)
        except FormatError as error:
            return Answer(faults=in_labels([_file_fault(str(error))]))
        self._said = f"{len(found)} added from {file.name}."
        return Answer()

    def _again(self, file: Path) -> tuple[str, ...]:
        """Import a mended table; what is still wrong comes back."""
        try:
            found = import_table(self._roster, file)
        except FaultyFileError as error:
            return tuple(str(one) for one in error.errors)
        except (FormatError, RosterError) as error:
            return (str(error),)
        self._said = f"{len(found)} added from {file.name}."
        return ()

    def _take_over(self) -> None:
        if self._roster.add_if_empty(saltmarsh_quay()):
            self._said = f"The invented six of {CLUB} are here. X leaves one out again."

    def _leave_out(self, who: Athlete, *, is_sure: bool) -> None:
        if not is_sure:
            self._asked_for = who.id
            self._said = f"X again takes {who.name} out of the roster. Any other key does not."
            return
        try:
            self._roster.remove(who.id)
        except RosterError as error:
            self._said = f"{error} {STAYS}"
        else:
            self._said = f"{who.name} is out of the roster."


def _file_fault(words: str) -> FieldFault:
    return FieldFault("file", words)


def _import_form() -> Form:
    field = Field("file", "File", "where the table lies", FieldKind.FILE)
    words = f"All of it is taken, or nothing. {COLUMN_WORDS}"
    return Form("Import a table", words, (field,), action=IMPORT)


def _tell(people: Sequence[Athlete], who: Athlete | None) -> str:
    if not people:
        return "Nobody yet: add, import, or try it out."
    if who is None:
        return "Who trains here."
    return f"Space: change {who.name}."


def _count(people: Sequence[Athlete], today: date) -> str:
    young = sum(is_under_age(one, today) for one in people)
    who = "1 athlete" if len(people) == 1 else f"{len(people)} athletes"
    return f"{who}, {young} under 18" if young else who


def _about_page(people: Sequence[Athlete]) -> tuple[SideWords, ...]:
    said = [SideWords("Under 18", is_head=True), SideWords(GATE)]
    if people:
        said.append(SideWords("Choose an athlete to see more, to change it, or its groups."))
    said += [
        SideWords("A table", is_head=True),
        SideWords(f"{COLUMN_WORDS} Groups are separated by {BETWEEN_GROUPS}."),
    ]
    return tuple(said)
