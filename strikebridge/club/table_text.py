"""A table typed by people: header and rows, and all that is wrong, by line and column.

Fields are separated by commas (RFC 4180) or, as spreadsheets of some countries write it, by
semicolons; then a decimal comma is right as well.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from strikebridge.errors import FaultyFileError, FormatError

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Sequence

DECIMAL_COMMA = ";"  # the separator that goes with it


class TableText:
    """Goes through one table and collects what is wrong.

    Attributes:
        errors: what is wrong so far.
        separator: what is between two fields.
    """

    def __init__(self, text: str, table: str) -> None:
        """Take a table.

        Args:
            text: the table.
            table: name of the file, for messages.
        """
        self._text = text.removeprefix("\ufeff")
        self._table = table
        self._line = 1
        self.errors: list[FormatError] = []
        self.separator = _separator(self._text)

    def mind(self, line: int, column: str | None, words: str) -> None:
        """Note what is wrong at a place.

        Args:
            line: line of the file, from 1.
            column: name of the column, None for the whole line.
            words: a sentence.
        """
        self.errors.append(self._error(line, column, words))

    def mind_first(self, line: int, column: str, words: str) -> None:
        """Note what is wrong with several rows, before what is wrong with one.

        Args:
            line: the first of those rows, from 1.
            column: name of the column.
            words: a sentence, which names the lines.
        """
        error = FormatError(f"{self._table}: {words}", line=line, column=column)
        self.errors.insert(0, error)

    def _error(self, line: int, column: str | None, words: str) -> FormatError:
        at = f"{self._table}, line {line}" + (f", column {column}" if column else "")
        return FormatError(f"{at}: {words}", line=line, column=column)

    def refuse(self) -> None:
        """Stop here if anything is wrong.

        Raises:
            FaultyFileError: something is wrong; all of it is named.
        """
        if self.errors:
            raise FaultyFileError(self.errors)

    def rows(
        self,
        known: Collection[str],
        needed: Sequence[str],
        check: Callable[[int, Collection[str]], None] = lambda _line, _names: None,
    ) -> Iterator[tuple[int, dict[str, str]]]:
        """Give the rows that are not blank, each with the line it begins at.

        Args:
            known: columns there may be.
            needed: columns there must be.
            check: looks at line and names of the header once more, and minds what is wrong.

        Yields:
            The line and text by column; nothing where the header is wrong.
        """
        try:
            yield from self._all(known, needed, check)
        except csv.Error as error:
            self.mind(self._line, None, f"this is no CSV ({error}); save the table again.")

    def _all(
        self,
        known: Collection[str],
        needed: Sequence[str],
        check: Callable[[int, Collection[str]], None],
    ) -> Iterator[tuple[int, dict[str, str]]]:
        lines = self._lines()
        header = next(lines, None)
        if header is None:
            self.mind(1, None, "the table is empty; it needs a header and rows.")
            return
        names = [cell.strip().casefold() for cell in header[1]]
        self._mind_header(header[0], names, known, needed)
        check(header[0], names)
        if self.errors:
            return
        is_empty = True
        for line, cells in lines:
            is_empty = False
            if len(cells) > len(names):
                self.mind(line, None, "the row has more cells than the header.")
            yield line, dict(zip(names, (cell.strip() for cell in cells), strict=False))
        if is_empty:
            self.mind(header[0], None, "the table has a header but no rows.")

    def number(self, text: str) -> str:
        """Write a number with a point, where this table has decimal commas.

        Args:
            text: the number as typed.
        """
        return text.replace(",", ".") if self.separator == DECIMAL_COMMA else text

    def _lines(self) -> Iterator[tuple[int, list[str]]]:
        source = io.StringIO(self._text, newline="")
        reader = csv.reader(source, delimiter=self.separator, strict=True)
        for row in reader:
            begins, self._line = self._line, reader.line_num + 1
            if any(cell.strip() for cell in row):
                yield begins, row

    def _mind_header(
        self, line: int, names: Sequence[str], known: Collection[str], needed: Sequence[str]
    ) -> None:
        """See that the columns are known, each once, and none is missing."""
        for name in dict.fromkeys(names):
            if name not in known:
                those = ", ".join(known)
                self.mind(line, name or None, f"there is no such column; those are: {those}.")
            elif names.count(name) > 1:
                self.mind(line, name, "there are two of this column; keep one.")
        for name in needed:
            if name not in names:
                self.mind(line, name, "this column is missing.")


def _separator(text: str) -> str:
    """See whether the header is separated by commas or semicolons."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    return DECIMAL_COMMA if header.count(DECIMAL_COMMA) > header.count(",") else ","
