"""Reports out of a window, decided without one: R writes what is shown, V opens it.

Writing takes seconds, for a session's curves lie in its recordings; it is done on a thread, and
the window looks in until it is over.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from strikebridge.screens.errand import Errand

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from strikebridge.screens.progress_source import Filters
    from strikebridge.units import ForceUnit

WRITE, OPEN = "R", "V"
"""The keys of a report."""
WRITING = "The report is being written."
NONE_YET = f"No report has been written here yet. {WRITE} writes one."
NOTHING = "There is nothing here to report of."
NO_VIEWER = "Nothing here opens PDFs. Open it from the folder it lies in: {path}"


class ReportOf(StrEnum):
    """What a report is of."""

    SESSION = "session"
    ATHLETE = "athlete"
    SQUAD = "squad"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be reported.

    Attributes:
        of: session, athlete or squad.
        unit: the coach's unit.
        who: id of the session or the athlete, empty for the squad.
        filters: what is looked at, None for a session.
    """

    of: ReportOf
    unit: ForceUnit
    who: str = ""
    filters: Filters | None = None


@dataclass(frozen=True, slots=True)
class Written:
    """A report that was written.

    Attributes:
        kind: what it is, as the report says it of itself.
        pdf: the file to be opened or printed; the same lies beside it as HTML.
    """

    kind: str
    pdf: Path


class ReportDesk:
    """Writes reports and opens them.

    Attributes:
        said: what is to be said of it now, empty where nothing is.
    """

    def __init__(
        self, write: Callable[[Wanted], Written], show: Callable[[Path], bool]
    ) -> None:
        """Write nothing yet.

        Args:
            write: writes a report, on a thread; raises what went wrong.
            show: opens a file in the system's viewer; False where there is none.
        """
        self.said = ""
        self._write = write
        self._show = show
        self._errand: Errand[Written] | None = None
        self._written: Written | None = None

    @property
    def is_writing(self) -> bool:
        """Say whether a report is under way."""
        return self._errand is not None

    def press(self, key: str, wanted: Wanted | None) -> bool:
        """Hear a key; any other than its own clears what was said.

        Args:
            key: its name.
            wanted: what is shown, None where there is nothing to report of.

        Returns:
            True if the key was meant for it.
        """
        if key == WRITE and wanted is None:
            self.said = NOTHING
        elif key == WRITE and wanted is not None:
            self.write(wanted)
        elif key == OPEN:
            self._open()
        elif not self.is_writing:
            self.said = ""
        return key in (WRITE, OPEN)

    def write(self, wanted: Wanted) -> None:
        """Begin to write a report, one at a time.

        Args:
            wanted: what is to be reported.
        """
        if self._errand is None:
            self.said = WRITING
            self._errand = Errand(lambda: self._write(wanted))

    def look(self) -> bool:
        """Look whether the report has been written.

        Returns:
            True once there is something new to say.
        """
        errand = self._errand
        if errand is None or not errand.is_over:
            return False
        self._errand, self._written = None, errand.done or self._written
        self.said = errand.trouble
        if errand.done is not None:
            done = errand.done
            self.said = f"{done.kind}: {done.pdf}, and as HTML. {OPEN} opens it."
        return True

    def _open(self) -> None:
        """Open what was written last."""
        if self._written is None:
            self.said = self.said if self.is_writing else NONE_YET
        elif not self._show(self._written.pdf):
            self.said = NO_VIEWER.format(path=self._written.pdf)
