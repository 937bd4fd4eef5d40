"""The window of squad board and athlete pages: paints what the view shows, hears its keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QMainWindow

from strikebridge.errors import StrikebridgeError
from strikebridge.screens.key_names import key_name
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.page import PageWidget
from strikebridge.screens.progress_pages import progress_page
from strikebridge.screens.window import FIRST_SIZE_PX

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QResizeEvent

    from strikebridge.screens.progress_view import ProgressView

HELD_KEYS = ("Up", "Down")  # these may be held down


class ProgressWindow(QMainWindow):
    """Show who is up, flat or fading.

    Attributes:
        view: where the coach is.
        page: the widget that paints.
    """

    def __init__(self, view: ProgressView, *, scheme: str = DARK.key) -> None:
        """Make the window.

        Args:
            view: where the coach is.
            scheme: key of the colours.
        """
        super().__init__()
        self.setWindowTitle("strikebridge: progress")
        self.view = view
        self.page = PageWidget(self)
        self.page.set_scheme(SCHEMES[scheme])
        self.setCentralWidget(self.page)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))

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
        else:
            self._press(name, event)

    @override
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the page out anew."""
        super().resizeEvent(event)
        self.show_view()

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
            self.show_view()
