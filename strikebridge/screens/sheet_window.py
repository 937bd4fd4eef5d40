"""The window of the club's pages: paints the page on top, hears its keys, asks its forms."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QMainWindow, QStackedWidget

from strikebridge.errors import StrikebridgeError
from strikebridge.pages.sheet import Sheet
from strikebridge.screens.form import FormWidget
from strikebridge.screens.key_names import key_name
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.page import PageWidget
from strikebridge.screens.sheet_model import sheet_page
from strikebridge.screens.window import FIRST_SIZE_PX

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QResizeEvent

    from strikebridge.pages.sheet import ClubPage, Step


class SheetWindow(QMainWindow):
    """Show pages, one on top of the other, until the first of them is left.

    Attributes:
        pages: those that are open, the one shown last.
        page: the widget that paints.
        form: the widget that asks.
        sheet: what is shown.
    """

    def __init__(self, first: ClubPage, *, scheme: str = DARK.key) -> None:
        """Make the window.

        Args:
            first: the page it opens with.
            scheme: key of the colours.
        """
        super().__init__()
        self.setWindowTitle("strikebridge")
        self.pages: list[ClubPage] = [first]
        self.page, self.form = PageWidget(), FormWidget()
        self.sheet = Sheet("", "")
        self._stack = QStackedWidget(self)
        self._stack.addWidget(self.page)
        self._stack.addWidget(self.form)
        self.setCentralWidget(self._stack)
        self.form.kept.connect(self._keep)
        self.form.left.connect(self._put_form_away)
        self._set_scheme(scheme)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))
        self.show_sheet()

    @property
    def is_asking(self) -> bool:
        """Say whether a form lies on the page."""
        return self._stack.currentWidget() is self.form

    def show_sheet(self, said: str = "") -> None:
        """Paint the page as it is now.

        Args:
            said: what went wrong, said in place of what the page says; may be empty.
        """
        try:
            self.sheet = self.pages[-1].sheet()
        except StrikebridgeError as error:
            said = str(error)
        size = (float(self._stack.width()), float(self._stack.height()))
        sheet = replace(self.sheet, said=said) if said else self.sheet
        self.page.show_page(sheet_page(sheet, size))

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hand a key to the page; one held down goes on through the list only."""
        name = key_name(event)
        is_held = event.isAutoRepeat() and name not in ("Up", "Down")
        if name == "Ctrl+Q":
            self.close()
        elif self.is_asking or is_held:
            return
        elif name == "D":
            self._set_scheme((LIGHT if self.page.scheme is DARK else DARK).key)
        elif name == "F11":
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        else:
            self._press(name)

    @override
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the page out anew."""
        super().resizeEvent(event)
        self.show_sheet()

    def _press(self, name: str) -> None:
        try:
            step = self.pages[-1].press(name)
        except StrikebridgeError as error:
            self.show_sheet(str(error))
            return
        self._go(step)

    def _go(self, step: Step) -> None:
        if step.leaves:
            self.pages.pop()
        if step.page is not None:
            self.pages.append(step.page)
        if not self.pages:
            self.close()
            return
        if step.form is not None:
            self._stack.setCurrentWidget(self.form)
            self.form.ask(step.form)
        self.show_sheet()

    def _keep(self, fields: dict[str, str]) -> None:
        if self.form.form is None:
            return
        answer = self.pages[-1].answer(self.form.form, fields)
        if not answer.is_done:
            self.form.mind(answer.faults, answer.refused)
            return
        if answer.then is not None:
            self.pages.append(answer.then)
        self._put_form_away()

    def _put_form_away(self) -> None:
        self._stack.setCurrentWidget(self.page)
        self.setFocus()
        self.show_sheet()

    def _set_scheme(self, key: str) -> None:
        scheme = SCHEMES[key]
        self.page.set_scheme(scheme)
        self.form.set_scheme(scheme)
