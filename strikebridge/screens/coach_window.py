"""The coach's page in a window of its own, on another screen than the wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QMainWindow

from strikebridge.screens.key_names import key_name
from strikebridge.screens.overriding import override

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QCloseEvent, QKeyEvent, QScreen

    from strikebridge.screens.coach import CoachPage


class CoachWindow(QMainWindow):
    """Show the coach's page; whatever is pressed here is pressed at the wall."""

    def __init__(
        self, page: CoachPage, hear: Callable[[str], bool], close: Callable[[], object]
    ) -> None:
        """Make the window.

        Args:
            page: the coach's page.
            hear: hears a key by its name; True where it means something.
            close: closes the wall.
        """
        super().__init__()
        self.setWindowTitle("strikebridge: coach")
        self.page = page
        self.setCentralWidget(page)
        page.show()
        self._hear = hear
        self._close_wall = close
        self._is_let_go = False

    def open_on(self, screen: QScreen, *, is_full_screen: bool) -> None:
        """Show it on a screen.

        Args:
            screen: which.
            is_full_screen: True to fill it.
        """
        place(self, screen)
        self.showFullScreen() if is_full_screen else self.show()

    def trade_places(self, wall: QMainWindow) -> None:
        """Let wall and coach's page change screens.

        Args:
            wall: the window of the wall.
        """
        mine, other = self.screen(), wall.screen()
        for window, screen in ((self, other), (wall, mine)):
            is_full = window.isFullScreen()
            if is_full:
                window.showNormal()
            place(window, screen)
            if is_full:
                window.showFullScreen()

    def let_go(self) -> None:
        """Close it with the wall."""
        self._is_let_go = True
        self.close()
        self.deleteLater()

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hear a key; one held down counts once."""
        if event.isAutoRepeat() or not self._hear(key_name(event)):
            super().keyPressEvent(event)

    @override
    def closeEvent(self, event: QCloseEvent) -> None:
        """Close the wall as well: a session has no two ends."""
        super().closeEvent(event)
        if not self._is_let_go:
            self._is_let_go = True
            self._close_wall()


def place(window: QMainWindow, screen: QScreen) -> None:
    """Put a window onto a screen, as large as there is room.

    Args:
        window: which.
        screen: where.
    """
    room = screen.availableGeometry()
    window.setScreen(screen)
    window.setGeometry(room)


def screens_for(screens: Sequence[QScreen]) -> tuple[QScreen, QScreen] | None:
    """Choose the screens: the wall is to be read from four metres, so it gets the largest.

    Args:
        screens: all there are, the usual one first.

    Returns:
        That of the wall and that of the coach; None where there is only one.
    """
    apart: dict[tuple[int, int], QScreen] = {}
    for screen in screens:  # one that shows the same as another is none of its own
        corner = screen.geometry().topLeft()
        apart.setdefault((corner.x(), corner.y()), screen)
    ordered = sorted(apart.values(), key=_area, reverse=True)
    return (ordered[0], ordered[1]) if len(ordered) > 1 else None


def _area(screen: QScreen) -> float:
    size = screen.physicalSize()
    return size.width() * size.height()
