"""What a page of the club shows and asks for, and what every such page can do.

A page is a list with one row chosen. The clicker alone is enough: one key does what the chosen
row does, the other one chooses the next row. What has to be typed is asked for by a form, which
the page takes back field by field.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.entry import FieldFault

DO_KEYS = ("Space", "PgDown", "Return", "Enter", "Right")
NEXT_KEYS = ("PgUp", "Down")
BEFORE_KEYS = ("Up",)
LEAVE_KEYS = ("Esc", "B", ".")
CLICKER = "Space, PageDown: do what is chosen      PageUp, arrows: choose"
BACK = "Esc, B: back"


class Mark(StrEnum):
    """How a row stands; its face differs in hatch, and a word stands beside it."""

    NONE = "none"
    IN = "in"
    OUT = "out"
    MIND = "mind"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the list.

    Attributes:
        head: what stands over it, may be empty.
        share: of the width of the list, 0 to 1.
    """

    head: str
    share: float


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One row of the list.

    Attributes:
        key: names it to the page.
        cells: words, one for each column.
        letter: the key that does it at once, may be empty.
        mark: how it stands.
    """

    key: str
    cells: tuple[str, ...]
    letter: str = ""
    mark: Mark = Mark.NONE


@dataclass(frozen=True, slots=True)
class SideWords:
    """A paragraph beside the list.

    Attributes:
        words: what to say.
        is_head: True for a heading.
    """

    words: str
    is_head: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that a page shows.

    Attributes:
        title: what page this is, in a few words.
        right: how many there are, or how far one has come.
        tell: what comes next, one sentence, the biggest words of the page.
        columns: of the list.
        rows: the list; may be longer than the page is high.
        chosen: index of the chosen row, 0 where there is none.
        lines: most lines of a row.
        share: how much of the width the list has where something stands beside it.
        side: what stands beside the list; the list is as wide as the page without it.
        said: what was just done or went wrong, may be empty.
        footer: every key that means something.
    """

    title: str
    tell: str
    columns: tuple[Column, ...] = ()
    rows: tuple[SheetRow, ...] = ()
    chosen: int = 0
    lines: int = 1
    share: float = 0.66
    right: str = ""
    side: tuple[SideWords, ...] = ()
    said: str = ""
    footer: str = f"{CLICKER}      {BACK}"


class FieldKind(StrEnum):
    """How a field is filled."""

    TEXT = "text"
    CHOICE = "choice"
    YES = "yes"
    FILE = "file"


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a form.

    Attributes:
        key: names it to the page.
        label: as the coach reads it.
        hint: what to write, may be empty.
        kind: how it is filled.
        words: what can be chosen; the first one may be empty for nothing.
        value: what stands there at first.
    """

    key: str
    label: str
    hint: str = ""
    kind: FieldKind = FieldKind.TEXT
    words: tuple[str, ...] = ()
    value: str = ""


@dataclass(frozen=True, slots=True)
class Form:
    """What is asked for.

    Attributes:
        title: what it is about.
        tell: what to do, one sentence.
        fields: in the order in which they are typed.
        about: whom or what it is about; goes back to the page with the fields.
        action: what is to be done with it; as `about`.
    """

    title: str
    tell: str
    fields: tuple[Field, ...]
    about: str = ""
    action: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of a filled form.

    Attributes:
        faults: what is wrong, each with its field; empty where it was done.
        refused: why nothing was done, where no single field is to blame.
        then: a page to go to once it was done or refused, None to come back.
    """

    faults: tuple[FieldFault, ...] = ()
    refused: str = ""
    then: ClubPage | None = None

    @property
    def is_done(self) -> bool:
        """Say whether the form can be put away."""
        return not self.faults and (not self.refused or self.then is not None)


@dataclass(frozen=True, slots=True)
class Step:
    """What a key led to.

    Attributes:
        leaves: True where the page is done with.
        form: what is asked for now.
        page: a page that is laid on top of this one.
    """

    leaves: bool = False
    form: Form | None = None
    page: ClubPage | None = None


STAY = Step()
LEAVE = Step(leaves=True)


class ClubPage(Protocol):
    """What every page can do."""

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        ...

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it, such as `PgDown`.
        """
        ...

    def answer(self, form: Form, fields: Mapping[str, str]) -> Answer:
        """Take a filled form back.

        Args:
            form: as it was asked.
            fields: text by key of the field; a field of yes or no has `yes` or nothing.
        """
        ...


class NoForms:
    """What a page that asks nothing says to a filled form."""

    def answer(self, form: Form, fields: Mapping[str, str]) -> Answer:
        """Take nothing back.

        Args:
            form: not this page's.
            fields: as little.
        """
        raise AssertionError(f"{form.title} was not asked here, with {len(fields)} fields.")


@dataclass(slots=True)
class Chooser:
    """Which row is chosen; every page has one.

    Attributes:
        at: key of the chosen row.
        keys: keys of all rows, as last shown.
    """

    at: str = ""
    keys: list[str] = field(default_factory=list)

    def index(self, rows: Sequence[SheetRow]) -> int:
        """Find the chosen row again after the rows have changed.

        Args:
            rows: as they are now.

        Returns:
            Its index; where it is gone that of the row now in its place, 0 without rows.
        """
        before = self.keys.index(self.at) if self.at in self.keys else 0
        self.keys = [row.key for row in rows]
        if self.at not in self.keys:
            self.at = self.keys[min(before, len(rows) - 1)] if rows else ""
        return self.keys.index(self.at) if rows else 0

    def step(self, rows: Sequence[SheetRow], by: int) -> None:
        """Choose another row, round the end.

        Args:
            rows: as they are now.
            by: +1 for the next one, -1 for the one before.
        """
        if rows:
            self.at = rows[(self.index(rows) + by) % len(rows)].key
            self.index(rows)


def row_of_key(key: str, rows: Sequence[SheetRow], chooser: Chooser) -> SheetRow | None:
    """Say which row a key does, moving the choice where it is one for that.

    Args:
        key: as Qt names it.
        rows: as they are now.
        chooser: which row is chosen.

    Returns:
        The row that is to be done, None where the key does none.
    """
    if key in NEXT_KEYS or key in BEFORE_KEYS:
        chooser.step(rows, +1 if key in NEXT_KEYS else -1)
        return None
    for row in rows:
        if row.letter and row.letter == key:
            chooser.at = row.key
            return row
    if key in DO_KEYS and rows:
        return rows[chooser.index(rows)]
    return None
