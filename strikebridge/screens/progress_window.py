"""The window of squad board and athlete pages: paints what the view shows, hears its keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, QTimer
from PySide6.QtWidgets import QMainWindow

from strikebridge.errors import StrikebridgeError
from strikebridge.screens.errand import LOOK_MS
from strikebridge.screens.key_names import key_name
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.page import PageWidget
from strikebridge.screens.progress_pages import progress_page
from strikebridge.screens.window import FIRST_SIZE_PX

if TYPE_CHECKING:
    from PySide6.QtGui import QCloseEvent, QKeyEvent, QResizeEvent

    from strikebridge.screens.progress_view import ProgressView
    from strikebridge.screens.report_desk import ReportDesk

HELD_KEYS = ("Up", "Down")  # these may be held down


class ProgressWindow(QMainWindow):
    """Show who is up, flat or fading.

    Attributes:
        view: where the coach is.
        page: the widget that paints.
    """

    def __init__(
        self,
        view: ProgressView,
        *,
        scheme: str = DARK.key,
        reports: ReportDesk | None = None,
    ) -> None:
        """Make the window.

        Args:
            view: where the coach is.
            scheme: key of the colours.
            reports: writes reports of what is shown, None where none can be written.
        """
        super().__init__()
        self.setWindowTitle("strikebridge: progress")
        self.view = view
        self.page = PageWidget(self)
        self.page.set_scheme(SCHEMES[scheme])
        self.setCentralWidget(self.page)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))
        self._reports = reports
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self._look)

    def show_view(self, said: str = "") -> None:
        """Paint the view as it is now.

        Args:
            said: what went wrong, or empty.
        """
        size = (float(self.page.width()), float(self.page.height()))
        self.page.show_page(progress_page(self.view, size, said))

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hear a key; one held down goes on through the board only."""
        name = key_name(event)
        if event.isAutoRepeat() and name not in HELD_KEYS:
            return
        if name == "D":
            self.page.set_scheme(LIGHT if self.page.scheme is DARK else DARK)
        elif name == "F11":
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        elif name == "Ctrl+Q":
            self.close()
        elif self._report(name):
            self.show_view(self._said)
        else:
            self._press(name, event)

    @override
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the page out anew."""
        super().resizeEvent(event)
        self.show_view(self._said)

    @override
    def closeEvent(self, event: QCloseEvent) -> None:
        """Look no more."""
        self._timer.stop()
        super().closeEvent(event)

    @property
    def _said(self) -> str:
        return "" if self._reports is None else self._reports.said

    def _report(self, name: str) -> bool:
        """Let the desk hear a key; True if it was meant for it."""
        if self._reports is None:
            return False
        is_heard = self._reports.press(name, self.view.wanted)
        if self._reports.is_writing:
            self._timer.start()
        return is_heard

    def _look(self) -> None:
        """Say it once a report is written."""
        if self._reports is not None and self._reports.look():
            self._timer.stop()
            self.show_view(self._said)

    def _press(self, name: str, event: QKeyEvent) -> None:
        try:
            is_heard = self.view.press(name)
        except StrikebridgeError as error:
            self.show_view(str(error))
            return
        if not is_heard:
            super().keyPressEvent(event)
        elif self.view.is_over:
            self.close()
        else:
            self.show_view(self._said)
