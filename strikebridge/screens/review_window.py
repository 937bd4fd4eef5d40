"""The review as a window of its own: looked at, then left by the clicker."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QMainWindow

from strikebridge.screens.key_names import key_name
from strikebridge.screens.look import LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.review import ReviewScreen
from strikebridge.screens.window import FIRST_SIZE_PX

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent

    from strikebridge.screens.review_model import Review

LEAVE_KEYS = ("Space", "PgDown", "PgUp", "Return", "Enter", "Esc", "Q", "B", ".", "Ctrl+Q")
KEYS_WORDS = "Space, PageDown, Esc: back"


class ReviewWindow(QMainWindow):
    """Show one review.

    Attributes:
        review: the widget that paints it.
    """

    def __init__(self, review: Review, *, scheme: str = LIGHT.key) -> None:
        """Make the window.

        Args:
            review: what is shown.
            scheme: key of the colours.
        """
        super().__init__()
        self.setWindowTitle("strikebridge: review")
        self.review = ReviewScreen(self)
        self.review.keys = KEYS_WORDS
        self.review.set_scheme(SCHEMES[scheme])
        self.review.show_review(review)
        self.setCentralWidget(self.review)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave by any key of the clicker."""
        if key_name(event) in LEAVE_KEYS and not event.isAutoRepeat():
            self.close()
        else:
            super().keyPressEvent(event)
