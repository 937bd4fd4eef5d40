"""The window of a rig: a page that follows the newest view, and the keys."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, TypeVar

from PySide6.QtCore import QSize, QTimer
from PySide6.QtWidgets import QMainWindow

from strikebridge.screens.key_names import key_name
from strikebridge.screens.keys import Own
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.page import PageWidget
from strikebridge.screens.rig_keys import RIG_ACTIONS, Lead
from strikebridge.screens.rig_pages import question_page
from strikebridge.screens.window import FIRST_SIZE_PX, Doorbell

if TYPE_CHECKING:
    from PySide6.QtGui import QCloseEvent, QKeyEvent

    from strikebridge.screens.rig_stage import Pages, RigStage

LOOK_MS = 200  # a text that a person reads changes at most five times a second
Key = TypeVar("Key")
View = TypeVar("View")


class RigWindow(QMainWindow, Generic[Key, View]):
    """One page, full size, with its keys.

    Attributes:
        page: the widget that paints.
    """

    def __init__(
        self, stage: RigStage[Key, View], pages: Pages[Key, View], *, scheme: str = DARK.key
    ) -> None:
        """Make the window.

        Args:
            stage: where views come from and keys go to.
            pages: decide what is shown.
            scheme: key of the colours.
        """
        super().__init__()
        self.setWindowTitle("strikebridge")
        self.page = PageWidget(self)
        self.page.set_scheme(SCHEMES[scheme])
        self.setCentralWidget(self.page)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))
        self._stage = stage
        self._pages = pages
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self.look)
        self._timer.start()
        # a new step shows at once, a new figure in its turn
        self._bell = Doorbell(self, self._woken)
        self._shown: tuple[object, ...] = ()
        self._asked: Lead | None = None  # pressed once; again, it is heard
        self.look()
        stage.listen(self._bell.ring)

    def _woken(self) -> None:
        view = self._stage.view()
        if self._told(view) != self._shown:
            self.look()

    def _told(self, view: View) -> tuple[object, ...]:
        """List what shows at once when it changes."""
        return (getattr(view, "instruction", ""), getattr(view, "trouble", None) is None)

    def look(self) -> None:
        """Show the newest view."""
        view = self._stage.view()
        self._shown = self._told(view)
        if self._pages.has_ended(view) and self._stage.wait(0.0):
            self._pages.end(view)
        size = (float(self.page.width()), float(self.page.height()))
        question = None
        if self._asked is not None and not self._has_ended():
            question = self._pages.asks(self._asked, view)
        if question is None:
            self._asked = None
            self.page.show_page(self._pages.page(view, size))
        else:
            self.page.show_page(question_page(question, size))

    def _has_ended(self) -> bool:
        return self._pages.has_ended(self._stage.view()) or self._stage.wait(0.0)

    def do(self, action: Lead | Own) -> None:
        """Do what a key stands for.

        Args:
            action: for whoever leads, or for the window.
        """
        if isinstance(action, Lead):
            self._lead(action)
        elif action is Own.SCHEME:
            self.page.set_scheme(LIGHT if self.page.scheme is DARK else DARK)
        elif action is Own.UNIT:
            self._pages.turn_unit()
            self.look()
        elif action is Own.FULL_SCREEN:
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        elif action is Own.WINDOW:
            self.showNormal()
        else:
            self.close()

    def _lead(self, action: Lead) -> None:
        has_ended = self._has_ended()
        if has_ended and action is Lead.NEXT:
            self.close()
        if has_ended:
            return
        if self._pages.asks(action, self._stage.view()) is None:
            self._stage.press(self._pages.key(action))
        else:
            self._asked = action
            self.look()

    def answer(self, action: Lead | Own | None) -> bool:
        """Hear a key while something is asked; any other than the same again is a no.

        Args:
            action: what it stands for, None for nothing.

        Returns:
            True where that was all it meant.
        """
        asked, self._asked = self._asked, None
        if asked is None:
            return False
        if action is asked:
            self._stage.press(self._pages.key(asked))
        self.look()
        return action is not Own.CLOSE

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hear a key; one held down counts once."""
        action = RIG_ACTIONS.get(key_name(event))
        if not event.isAutoRepeat() and self.answer(action):
            return
        if action is None or event.isAutoRepeat():
            super().keyPressEvent(event)
            return
        self.do(action)

    @override
    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop listening before the window goes."""
        self._bell.close()
        self._timer.stop()
        super().closeEvent(event)
