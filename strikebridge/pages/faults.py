"""Everything that is wrong with a file, line by line, until it is mended or left."""

from __future__ import annotations

from typing import TYPE_CHECKING

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
    row_of_key,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from strikebridge.pages.sheet import Step

AGAIN, BACK_ROW = "again", "back"
ACTIONS = (
    SheetRow(AGAIN, ("Read the file again",), "R"),
    SheetRow(BACK_ROW, ("Back",)),
)


MEND = "Open the file beside this window, mend the lines, save it, then press R."


class FaultsPage(NoForms):
    """The mistakes of one file."""

    def __init__(
        self,
        file: str,
        faults: Sequence[str],
        again: Callable[[], Sequence[str]],
        *,
        nothing: str,
    ) -> None:
        """Open the page.

        Args:
            file: name of the file.
            faults: what is wrong, each with its line.
            again: reads the file once more and says what is still wrong.
            nothing: what has not been done, one sentence.
        """
        self._file = file
        self._faults = tuple(faults)
        self._again = again
        self._nothing = nothing
        self._said = ""
        self._chooser = Chooser()

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        rows = self._rows()
        many = "1 mistake" if len(self._faults) == 1 else f"{len(self._faults)} mistakes"
        return Sheet(
            title=self._file,
            tell=f"{many}. {self._nothing}",
            right=many,
            columns=(Column("what is wrong", 1.0),),
            rows=rows,
            chosen=self._chooser.index(rows),
            lines=2,
            said=self._said or MEND,
            footer=f"{CLICKER}      R: read it again      {BACK}",
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        row = row_of_key(key, self._rows(), self._chooser)
        if key in LEAVE_KEYS or (row is not None and row.key == BACK_ROW):
            return LEAVE
        if row is None or row.key != AGAIN:
            return STAY
        self._faults = tuple(self._again())
        self._said = f"Read again. {MEND}" if self._faults else ""
        return STAY if self._faults else LEAVE

    def _rows(self) -> tuple[SheetRow, ...]:
        rows = (
            SheetRow(f"{number} {fault}", (fault,), mark=Mark.OUT)
            for number, fault in enumerate(self._faults)
        )
        return (*ACTIONS, *rows)
