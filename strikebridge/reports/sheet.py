"""A report as a value: what stands on it, in the order in which it is read.

It knows neither HTML nor PDF. `sheet_html` and the window's `paper` each write any sheet, so a
new report is a new function that makes one. Texts are plain and get escaped by whoever writes
them; pictures are drawings of `drawing`, which are vectors in both.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from strikebridge.reports.drawing import Drawing


@dataclass(frozen=True, slots=True)
class Item:
    """One sentence, with a few words in front of it that say what it is about.

    Attributes:
        lead: set bold; empty for none.
        text: the sentence.
    """

    lead: str
    text: str


@dataclass(frozen=True, slots=True)
class Words:
    """A heading with sentences below it.

    Attributes:
        heading: empty for none.
        items: the sentences.
    """

    heading: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """Words in columns beside each other.

    Attributes:
        columns: left to right.
    """

    columns: tuple[Words, ...]


class Align(StrEnum):
    """How a column is set."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes:
        title: its head.
        weight: how wide it is beside the others.
        align: how it is set; numbers to the right.
    """

    title: str
    weight: float
    align: Align = Align.RIGHT


Cell = str | Drawing


@dataclass(frozen=True, slots=True)
class Table:
    """A table.

    Attributes:
        heading: empty for none.
        columns: its columns.
        rows: cells of each row, as many as columns.
        notes: sentences below it.
    """

    heading: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a row that does not fit the columns.

        Raises:
            ValueError: a row has too many or too few cells.
        """
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError("Every row of a table needs one cell for each column.")


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures side by side.

    Attributes:
        heading: empty for none.
        drawings: left to right, of like height.
        caption: a sentence that says how to read them.
    """

    heading: str
    drawings: tuple[Drawing, ...]
    caption: str


Block = Words | Beside | Table | Pictures


@dataclass(frozen=True, slots=True)
class Part:
    """Blocks that belong together; a new page begins before a part, not inside, if it can.

    Attributes:
        heading: empty for none.
        blocks: what stands in it.
    """

    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A report.

    Attributes:
        language: tag of BCP 47.
        title: what it is about: an athlete, a squad, a session.
        subtitle: the line below it.
        parts: what stands on it.
        foot: method and cautions, in small print.
        footer_line: stands at the bottom of every page.
        is_one_page: True where it is meant to stand on one side of A4.
    """

    language: str
    title: str
    subtitle: str
    parts: tuple[Part, ...]
    foot: tuple[Item, ...]
    footer_line: str
    is_one_page: bool = True
