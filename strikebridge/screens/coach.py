"""The coach's page as a widget; what stands on it is decided by `coach_model`."""

from __future__ import annotations

import math
import time
from typing import TYPE_CHECKING

from strikebridge.screens.coach_model import CoachModel
from strikebridge.screens.page import PageWidget

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from strikebridge.desk import Desk
    from strikebridge.glance import Glance
    from strikebridge.screens.session_wall import Question

GAP_S = 0.2  # a text that a person reads changes at most five times a second


class CoachPage(PageWidget):
    """Order, reps of the set, curves and cues.

    Attributes:
        question: what the coach is asked, in place of all that; None for nothing.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        """Make an empty page.

        Args:
            parent: window it lies in, or None.
        """
        super().__init__(parent)
        self._model = CoachModel("")
        self.question: Question | None = None
        self._shown_s = -math.inf

    def show_now(self, glance: Glance, desk: Desk, keys: str, *, at_once: bool = False) -> None:
        """Show what is known now, unless the last text is too fresh to be changed.

        Args:
            glance: what is known.
            desk: order, reps and cues.
            keys: text of the footer.
            at_once: True to change it in any case.
        """
        now_s = time.monotonic()
        if not at_once and now_s - self._shown_s < GAP_S:
            return
        self._shown_s = now_s
        self._model.keys, self._model.question = keys, self.question
        size = (float(self.width()), float(self.height()))
        self.show_page(self._model.look(glance, desk, size))
