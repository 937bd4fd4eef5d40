"""The pages of one job at a rig, as the window turns them; no Qt.

The window knows neither walks nor checks: it asks for the page of the newest view and hands
keys on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.calibration.walk_view import ENDED as WALK_ENDED
from strikebridge.calibration.walk_view import WalkKey, WalkState
from strikebridge.calibration.walk_words import KEPT_IN
from strikebridge.checks.check_view import ENDED as CHECK_ENDED
from strikebridge.checks.check_view import CheckKey
from strikebridge.screens.check_model import check_page
from strikebridge.screens.figure import with_words
from strikebridge.screens.finish_model import Finish, finish_page
from strikebridge.screens.items import Words
from strikebridge.screens.rig_keys import RIG_ROWS, Lead
from strikebridge.screens.session_wall import Question, asked
from strikebridge.screens.walk_model import WalkModel
from strikebridge.screens.wall_layout import frame
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.calibration.walk_view import WalkView
    from strikebridge.checks.check_view import CheckView
    from strikebridge.screens.figure import Page


class WalkPages:
    """A plate walk, and what it is worth at the end."""

    def __init__(self, finish: Callable[[], Finish], unit: ForceUnit = ForceUnit.KG) -> None:
        """Begin.

        Args:
            finish: makes the calibration once the walk is done and its stream has ended; asked
                once.
            unit: the coach's unit.
        """
        self._model = WalkModel()
        self._finish = finish
        self._finished: Finish | None = None
        self._unit = unit

    def page(self, view: WalkView, size: tuple[float, float]) -> Page:
        """Decide the page.

        Args:
            view: the newest view.
            size: width and height [px].
        """
        if self._finished is not None:
            return finish_page(self._finished, size, self._unit)
        return self._model.look(view, size)

    def key(self, lead: Lead) -> WalkKey:
        """Translate what was pressed."""
        return WalkKey(lead.value)

    def asks(self, lead: Lead, view: WalkView) -> Question | None:
        """Ask before a walk is cancelled: twenty minutes of plates are not undone by a slip."""
        can_finish = view.state is WalkState.REVIEW or WalkKey.CANCEL not in view.keys
        if lead is not Lead.CANCEL and (lead is not Lead.QUIT or can_finish):
            return None
        key = next(row.shown for row in RIG_ROWS if row.action is lead)
        points = len(view.points)
        kept = "No point was taken yet."
        if points:
            kept = f"{points} {'point is' if points == 1 else 'points are'} kept in {KEPT_IN}."
        words = f"{key} again ends it without a calibration. {kept} Any other key: go on."
        return Question("Cancel the walk?", words)

    def has_ended(self, view: WalkView) -> bool:
        """Say whether nothing more will happen."""
        return view.state in WALK_ENDED

    def end(self, view: WalkView) -> None:
        """Make the calibration, if there is one to be made; called until the window closes."""
        if view.state is WalkState.DONE and self._finished is None:
            self._finished = self._finish()

    def turn_unit(self) -> None:
        """Show the next unit."""
        self._unit = next_unit(self._unit)


class CheckPages:
    """A check, and its verdict at the end."""

    def __init__(self, unit: ForceUnit = ForceUnit.KG) -> None:
        """Begin.

        Args:
            unit: the coach's unit.
        """
        self._unit = unit

    def page(self, view: CheckView, size: tuple[float, float]) -> Page:
        """Decide the page.

        Args:
            view: the newest view.
            size: width and height [px].
        """
        return check_page(view, size, self._unit)

    def key(self, lead: Lead) -> CheckKey:
        """Translate what was pressed; there is nothing to finish early, so that cancels."""
        return CheckKey.CANCEL if lead is Lead.QUIT else CheckKey(lead.value)

    def asks(self, lead: Lead, view: CheckView) -> Question | None:
        """Ask nothing: a check is soon done again."""
        del lead, view
        return None

    def has_ended(self, view: CheckView) -> bool:
        """Say whether nothing more will happen."""
        return view.state in CHECK_ENDED

    def end(self, view: CheckView) -> None:
        """Do nothing: the station keeps the check."""

    def turn_unit(self) -> None:
        """Show the next unit."""
        self._unit = next_unit(self._unit)


def question_page(question: Question, size: tuple[float, float]) -> Page:
    """Put a question in place of everything else.

    Args:
        question: what is asked.
        size: width and height [px].
    """
    return with_words(
        tuple(one for one in asked(question, frame(*size)) if isinstance(one, Words))
    )


def next_unit(unit: ForceUnit) -> ForceUnit:
    """Give the unit behind this one, the first behind the last."""
    units = list(ForceUnit)
    return units[(units.index(unit) + 1) % len(units)]
