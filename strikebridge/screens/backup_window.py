"""The page of a backup as a window: it is painted and heard while the backup is made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, QTimer
from PySide6.QtWidgets import QMainWindow

from strikebridge.safekeeping.job import Watch
from strikebridge.screens.backup_model import backup_page
from strikebridge.screens.errand import LOOK_MS, Errand
from strikebridge.screens.key_names import key_name
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.page import PageWidget
from strikebridge.screens.window import FIRST_SIZE_PX

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QCloseEvent, QKeyEvent

    from strikebridge.safekeeping.job import Tell

BROKEN_OFF = "The backup was broken off. No backup was made, and what you have is untouched."
BREAK_KEYS = ("B", ".", "Esc", "Q", "Ctrl+Q")


class BackupWindow(QMainWindow):
    """Show how far a backup has come; it closes by itself.

    Attributes:
        page: the widget that paints.
        watch: follows the backup.
        errand: makes it.
    """

    def __init__(self, make: Callable[[Tell], str], *, scheme: str = DARK.key) -> None:
        """Make the window, and begin.

        Args:
            make: makes the backup and says what was made; on a thread.
            scheme: key of the colours.
        """
        super().__init__()
        self.setWindowTitle("strikebridge: backup")
        self.page = PageWidget(self)
        self.page.set_scheme(SCHEMES[scheme])
        self.setCentralWidget(self.page)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))
        self.watch = Watch(BROKEN_OFF)
        self.errand = Errand(lambda: make(self.watch.tell))
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self._look)
        self._timer.start()

    def _look(self) -> None:
        if self.errand.is_over:
            self.close()
        else:
            self._show()

    def _show(self) -> None:
        size = (float(self.page.width()), float(self.page.height()))
        watch = self.watch
        self.page.show_page(backup_page(watch.step, size, is_ending=watch.is_broken_off))

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hear a key."""
        name = key_name(event)
        if name in BREAK_KEYS:
            self.watch.break_off()
        elif name == "D":
            self.page.set_scheme(LIGHT if self.page.scheme is DARK else DARK)
        elif name == "F11":
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        else:
            super().keyPressEvent(event)
        self._show()

    @override
    def resizeEvent(self, event: object) -> None:
        """Lay the page out anew."""
        self._show()

    @override
    def closeEvent(self, event: QCloseEvent) -> None:
        """Break the backup off first; the window closes once nothing of it is left."""
        if not self.errand.is_over:
            self.watch.break_off()
            event.ignore()
            return
        self._timer.stop()
        super().closeEvent(event)
