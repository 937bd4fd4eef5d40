"""Single keys in the terminal, without waiting for them.

A terminal gives each key as it is pressed, also those of a presenter clicker; from a pipe come
characters, each of which counts as a key. The terminal is left as it was found.
"""

from __future__ import annotations

import os
import re
import sys
from contextlib import contextmanager
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator


class Pressed(StrEnum):
    """What was pressed, whichever key it was."""

    NEXT = "next"
    REDO = "redo"
    QUIT = "quit"
    ENDED = "ended"  # nobody can press anything any more


MEANING: dict[str, Pressed] = {  # in lower case, as `Keys` hears them
    "\n": Pressed.NEXT,
    "\r": Pressed.NEXT,
    " ": Pressed.NEXT,
    "\x1b[6~": Pressed.NEXT,  # PageDown, forward on a clicker
    "\xe0q": Pressed.NEXT,  # the same on Windows
    "r": Pressed.REDO,
    "\x1b[5~": Pressed.REDO,  # PageUp, back on a clicker
    "\xe0i": Pressed.REDO,
    "q": Pressed.QUIT,
    "b": Pressed.QUIT,  # black screen on a clicker
    ".": Pressed.QUIT,
}


_SEQUENCE = re.compile(r"\x1b(?:\[[0-9;?]*[ -/]*[@-~]|O.)|[\x00\xe0].", re.DOTALL)
"""A key that comes as several characters: ECMA-48 5.4 and, on Windows, the console's own."""


class Keys:
    """Take what was pressed since the last look."""

    def __init__(self) -> None:
        """Begin; nothing was pressed yet."""
        self._text = ""
        self._has_ended = False

    def take(self) -> list[Pressed]:
        """Give what was pressed, oldest first; never waits."""
        pressed = [MEANING[word] for word in self.words(MEANING)]
        if self._has_ended:
            pressed.append(Pressed.ENDED)
        return pressed

    def words(self, known: Collection[str], *, with_others: bool = False) -> list[str]:
        """Give what was pressed as the terminal sends it, oldest first; never waits.

        Args:
            known: what means something, in lower case.
            with_others: True to give all else as it comes too; else it is passed over.

        Returns:
            Words out of `known`, or any in lower case.
        """
        self._read()
        pressed: list[str] = []
        while self._text:
            found = [word for word in known if self._text.lower().startswith(word)]
            other = _SEQUENCE.match(self._text)
            word = found[0] if found else other[0] if other else self._text[0]
            pressed += [word.lower()] if found or with_others else []
            self._text = self._text[len(word) :]
        return pressed

    if sys.platform == "win32":

        def _read(self) -> None:
            import msvcrt  # noqa: PLC0415 - exists on Windows only

            while msvcrt.kbhit():
                self._text += msvcrt.getwch()

    else:

        def _read(self) -> None:
            import select  # noqa: PLC0415 - cannot look at a console on Windows

            while not self._has_ended and select.select([0], [], [], 0.0)[0]:
                data = os.read(0, 256)
                self._text += data.decode(errors="replace")
                self._has_ended = not data


if sys.platform == "win32":

    @contextmanager
    def single_keys() -> Iterator[Keys]:
        """Let keys come one by one as long as the block lasts, as they do on Windows.

        Yields:
            What gives them.
        """
        yield Keys()

else:
    import termios
    import tty

    @contextmanager
    def single_keys() -> Iterator[Keys]:
        """Let keys come one by one as long as the block lasts.

        Yields:
            What gives them.
        """
        if not os.isatty(0):
            yield Keys()
            return
        before = termios.tcgetattr(0)
        try:
            tty.setcbreak(0)
            yield Keys()
        finally:
            termios.tcsetattr(0, termios.TCSADRAIN, before)
