"""The review of a session as a window: pages that a clicker turns."""

from __future__ import annotations

import logging
import queue
import threading
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, QTimer
from PySide6.QtWidgets import QMainWindow

from strikebridge.screens.errand import LOOK_MS
from strikebridge.screens.key_names import key_name
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.page import PageWidget
from strikebridge.screens.report_desk import OPEN, WRITE, ReportOf, Wanted
from strikebridge.screens.window import FIRST_SIZE_PX
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QCloseEvent, QKeyEvent

    from strikebridge.looking_back import SessionDone
    from strikebridge.screens.report_desk import ReportDesk
    from strikebridge.screens.session_review_model import SessionReview

log = logging.getLogger(__name__)
ON_KEYS = ("Space", "PgDown", "Return", "Enter", "Right", "Down")
BACK_KEYS = ("PgUp", "Left", "Up", "Backspace")
LEAVE_KEYS = ("B", ".", "Esc", "Q", "Ctrl+Q")


class SessionReviewWindow(QMainWindow):
    """Show what was done in a session.

    Attributes:
        page: the widget that paints.
        review: decides what is shown.
    """

    def __init__(
        self,
        review: SessionReview,
        fetch: Callable[[], SessionDone] | None = None,
        *,
        scheme: str = DARK.key,
        reports: ReportDesk | None = None,
    ) -> None:
        """Make the window; the curves come later.

        Args:
            review: decides what is shown.
            fetch: fetches what was done with its curves, on a thread; None where nothing more
                is to come.
            scheme: key of the colours.
            reports: writes the report of the session, None where none can be written.
        """
        super().__init__()
        self.setWindowTitle("strikebridge: session")
        self._reports = reports
        self.review = review
        self.page = PageWidget(self)
        self.page.set_scheme(SCHEMES[scheme])
        self.setCentralWidget(self.page)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))
        self._fetched: queue.SimpleQueue[SessionDone | None] = queue.SimpleQueue()
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self._look)
        if fetch is not None:
            review.is_fetching = True
            threading.Thread(target=self._fetch, args=(fetch,), daemon=True).start()
            self._timer.start()

    def _fetch(self, fetch: Callable[[], SessionDone]) -> None:
        try:
            self._fetched.put(fetch())
        except Exception:  # the edge of the thread: nobody else would ever see it
            log.exception("the curves could not be fetched")
            self._fetched.put(None)

    def _look(self) -> None:
        """Take over the curves once they are there, and say it once a report is written."""
        if not self._fetched.empty():
            self.review.done = self._fetched.get() or self.review.done
            self.review.is_fetching = False
            self.show_now()
        if self._reports is not None and self._reports.look():
            self.review.said = self._reports.said
            self.show_now()
        if not self._is_waiting:
            self._timer.stop()

    @property
    def _is_waiting(self) -> bool:
        is_writing = self._reports is not None and self._reports.is_writing
        return self.review.is_fetching or is_writing

    def _report(self, name: str) -> None:
        """Let the desk hear a key; it says what it did, or forgets what it said."""
        if self._reports is not None:
            wanted = Wanted(ReportOf.SESSION, self.review.unit, self.review.done.record.id)
            self._reports.press(name, wanted)
            self.review.said = self._reports.said
        if self._is_waiting:
            self._timer.start()

    def show_now(self) -> None:
        """Lay the page out for the size that the window has."""
        size = (float(self.page.width()), float(self.page.height()))
        self.page.show_page(self.review.page(size))

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hear a key; forward on the last page leaves."""
        name = key_name(event)
        if event.isAutoRepeat():
            return
        self._report(name)
        if name in LEAVE_KEYS or (name in ON_KEYS and not self.review.turn(+1)):
            self.close()
            return
        if name in BACK_KEYS:
            self.review.turn(-1)
        elif name == "N":
            self.review.next_athlete()
        elif name == "U":
            units = list(ForceUnit)
            self.review.unit = units[(units.index(self.review.unit) + 1) % len(units)]
        elif name == "D":
            self.page.set_scheme(LIGHT if self.page.scheme is DARK else DARK)
        elif name == "F11":
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        elif name not in (*ON_KEYS, WRITE, OPEN):
            super().keyPressEvent(event)
        self.show_now()

    @override
    def resizeEvent(self, event: object) -> None:
        """Lay the page out anew."""
        self.page.resize(self.size())
        self.show_now()

    @override
    def closeEvent(self, event: QCloseEvent) -> None:
        """Look no more."""
        self._timer.stop()
        super().closeEvent(event)
