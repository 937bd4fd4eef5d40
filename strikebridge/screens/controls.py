"""What the coach presses in a session of a group, before it is a command; no Qt.

Two keys ask first. Pain ends an exercise for the day, so one slip must not do it: the first
press pauses, the second says so, and no key of a clicker does. A swap among several asks who.
Whoever was asked about is meant, whoever stands at the wall by then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.screens.keys import PAIN_KEY
from strikebridge.screens.session_wall import Question
from strikebridge.session.group_table import Input, Stage
from strikebridge.session.lineup import EVERYONE

if TYPE_CHECKING:
    from strikebridge.desk import Desk, Place
    from strikebridge.glance import Glance
    from strikebridge.screens.stage import Stage as Behind

MOST_OPTIONS = 9  # one digit key each
STANDING_STILL = frozenset((Stage.PAUSED, Stage.LOST, Stage.OVER))
GO_KEYS = frozenset(("Space", "PgDown", "Return", "Enter"))


class Controls:
    """Hear the coach's keys and hand on what they mean.

    Attributes:
        question: what is asked now, None for nothing.
    """

    def __init__(self, stage: Behind) -> None:
        """Begin with nothing asked.

        Args:
            stage: whom the commands go to.
        """
        self.question: Question | None = None
        self._stage = stage
        self._pained: int | None = None  # the turn that is asked about
        self._places: tuple[Place, ...] = ()  # who may go first

    def press(self, command: Input, glance: Glance, desk: Desk) -> str:
        """Hear a command.

        Args:
            command: what the coach wants.
            glance: what is known now.
            desk: who comes when.

        Returns:
            What to say beside the keys for a moment; empty for nothing.
        """
        if command is Input.PAIN:
            return self._ask_pain(glance)
        if command is Input.SWAP:
            if glance.athlete == EVERYONE:
                return "Everybody does this together."
            return self._ask_swap(desk)
        self._stage.command(command)
        return ""

    def answer(self, name: str) -> bool:
        """Hear a key while something is asked.

        Args:
            name: of the key, as Qt writes it.

        Returns:
            True where that was all it meant; a key that goes on also goes on.
        """
        if self.question is None:
            return False
        self.question = None
        if self._pained is not None:
            turn, self._pained = self._pained, None
            if name == PAIN_KEY:
                self._stage.command(Input.PAIN, turn)
            return name not in GO_KEYS
        places, self._places = self._places, ()
        if name.isdigit() and 1 <= int(name) <= len(places):
            self._stage.command(Input.SWAP, places[int(name) - 1].turn)
        return True

    def _ask_pain(self, glance: Glance) -> str:
        if glance.stage in ("", Stage.OVER.value):
            return ""
        if glance.athlete == EVERYONE:
            self._stage.command(Input.PAIN)  # ends nothing: it pauses, and says what to do
            return ""
        if glance.stage not in STANDING_STILL:
            self._stage.command(Input.PAUSE)  # nothing begins while the coach looks
        self._pained = glance.turn
        self.question = Question(
            "Stop for pain?",
            f"{PAIN_KEY} again ends {glance.exercise} for {glance.athlete} today. Any other "
            "key: no. Space: no, go on.",
        )
        return ""

    def _ask_swap(self, desk: Desk) -> str:
        others = [one for one in desk.order[1:] if one.turn][:MOST_OPTIONS]
        if not others:
            return "Nobody else is still to come."
        if len(others) == 1:
            self._stage.command(Input.SWAP, others[0].turn)
            return f"{others[0].name} goes first."
        self._places = tuple(others)
        self.question = Question(
            "Who goes now?",
            f"{desk.order[0].name} comes after that. Any other key: as it was.",
            tuple(f"{index}: {one.name}" for index, one in enumerate(others, start=1)),
        )
        return ""
