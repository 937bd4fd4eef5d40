"""The keys of a session in the terminal: those of the window, and asked alike."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from strikebridge.screens.controls import Controls
from strikebridge.session.group_table import Input
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from strikebridge.glance import Glance
    from strikebridge.screens.stage import Stage

QUIT = "q"
UNIT = "u"
CUE_KEYS = "123456789"
KEYS: dict[str, Input] = {
    " ": Input.GO,
    "\n": Input.GO,
    "\r": Input.GO,
    "\x1b[6~": Input.GO,  # PageDown, forward on a clicker
    "\xe0q": Input.GO,  # the same on Windows
    "\x1b[5~": Input.REDO,  # PageUp, back on a clicker
    "\xe0i": Input.REDO,
    "r": Input.REDO,
    "b": Input.STOP,  # black screen on a clicker
    ".": Input.STOP,
    "s": Input.SKIP,
    "w": Input.SWAP,
    "p": Input.PAUSE,
    "z": Input.UNDO,
    "x": Input.PAIN,
}
"""What a terminal sends -> what the coach wants."""
KNOWN = (*KEYS, *CUE_KEYS, QUIT, UNIT)
KEYS_WORDS = (
    "Keys: space go, r redo, b stop, s skip, w swap, p pause, z undo, x and x again stop for "
    "pain, 1 to 9 cue, u unit, q end."
)
_GO = "Space"  # what the window calls a key that goes on


class SessionKeys:
    """Hear the keys of a terminal and hand on what they mean.

    Attributes:
        unit: what forces are shown in.
    """

    def __init__(self, stage: Stage, unit: ForceUnit) -> None:
        """Begin with nothing asked.

        Args:
            stage: whom the commands go to.
            unit: what forces are shown in at first.
        """
        self.unit = unit
        self._stage = stage
        self._controls = Controls(stage)

    def shown(self, glance: Glance) -> Glance:
        """Put the coach's unit, and what the coach is asked, into a Glance.

        Args:
            glance: what is known.
        """
        question = self._controls.question
        asked = () if question is None else (question.what, question.words, *question.options)
        return replace(glance, unit=self.unit, advice=asked or glance.advice)

    def hear(self, word: str) -> str | None:
        """Hear a key.

        Args:
            word: as the terminal sends it, in lower case.

        Returns:
            What to say of it, empty for nothing; None when the session is to end.
        """
        if self._controls.answer(_GO if KEYS.get(word) is Input.GO else word.upper()):
            return ""
        if word == QUIT:
            return None
        if word == UNIT:
            units = list(ForceUnit)
            self.unit = units[(units.index(self.unit) + 1) % len(units)]
            return f"Forces in {self.unit}."
        if word in CUE_KEYS:
            self._stage.cue(int(word))
            return ""
        return self._command(KEYS[word]) if word in KEYS else ""

    def _command(self, command: Input) -> str:
        said = self._controls.press(command, self._stage.glance(), self._stage.desk())
        question = self._controls.question
        if question is None:
            return said
        return " ".join((question.what, question.words, *question.options))
