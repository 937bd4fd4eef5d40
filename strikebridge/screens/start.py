"""The start page as a window: rows, a choice, and where it leads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, QTimer
from PySide6.QtWidgets import QMainWindow

from strikebridge.screens.key_names import key_name
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.page import PageWidget
from strikebridge.screens.start_model import LETTERS, Lead, after, next_row, start_page
from strikebridge.screens.window import FIRST_SIZE_PX

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QCloseEvent, QKeyEvent

    from strikebridge.screens.start_model import Row

LOOK_MS = 1000  # a board that is plugged in shows by itself
FIRST_LOOK_MS = 100  # what takes longer to find out follows once the page is painted
DO_KEYS = ("Space", "PgDown", "Return", "Enter")
STEP_KEYS = {"PgUp": +1, "Down": +1, "Up": -1}


class StartWindow(QMainWindow):
    """Show what is ready and hear where to go.

    Attributes:
        page: the widget that paints.
        rows: what is shown.
        chosen: index of the chosen row.
        lead: where the coach went, None where the window was only closed.
    """

    def __init__(
        self, look: Callable[[], Sequence[Row]], *, scheme: str = DARK.key, said: str = ""
    ) -> None:
        """Make the window.

        Args:
            look: finds out what is ready; called once a second.
            scheme: key of the colours.
            said: what went wrong a moment ago, or empty.
        """
        super().__init__()
        self.setWindowTitle("strikebridge")
        self.page = PageWidget(self)
        self.page.set_scheme(SCHEMES[scheme])
        self.setCentralWidget(self.page)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))
        self.lead: Lead | None = None
        self._look_round = look
        self._said = said
        self._has_chosen = False
        self.rows: Sequence[Row] = look()
        self.chosen = next_row(self.rows)
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self.look)
        self._timer.start()
        QTimer.singleShot(FIRST_LOOK_MS, self, self.look)

    def look(self) -> None:
        """Find out anew what is ready; the choice stays where the coach has put it."""
        rows = self._look_round()
        if rows != self.rows:
            self.rows = rows
            if not self._has_chosen or self.chosen >= len(rows) or not rows[self.chosen].lead:
                self.chosen = next_row(rows)
        self._show()

    def _show(self) -> None:
        size = (float(self.page.width()), float(self.page.height()))
        self.page.show_page(start_page(self.rows, self.chosen, size, self._said))

    def go(self, lead: Lead | None) -> None:
        """Leave for somewhere, if that is offered now.

        Args:
            lead: where to.
        """
        if lead is not None and any(row.lead is lead for row in self.rows):
            self.lead = lead
            self.close()

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hear a key; one held down counts once."""
        name = key_name(event)
        letters = {letter: lead for lead, letter in LETTERS.items()}
        if event.isAutoRepeat():
            return
        if name in DO_KEYS:
            self.go(self.rows[self.chosen].lead)
        elif name in STEP_KEYS:
            self.chosen = after(self.rows, self.chosen, STEP_KEYS[name])
            self._has_chosen = True
            self._show()
        elif name in letters:
            self.go(letters[name])
        else:
            self._own(name, event)

    def _own(self, name: str, event: QKeyEvent) -> None:
        """Do what concerns the window alone."""
        if name == "D":
            self.page.set_scheme(LIGHT if self.page.scheme is DARK else DARK)
        elif name == "L":
            self.look()
        elif name == "F11":
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        elif name == "Esc":
            self.showNormal()
        elif name == "Ctrl+Q":
            self.close()
        else:
            super().keyPressEvent(event)

    @override
    def resizeEvent(self, event: object) -> None:
        """Lay the page out anew."""
        self._show()

    @override
    def closeEvent(self, event: QCloseEvent) -> None:
        """Look no more."""
        self._timer.stop()
        super().closeEvent(event)
