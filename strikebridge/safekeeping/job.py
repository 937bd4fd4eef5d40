"""How far a job of safekeeping has come, and how it is broken off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from strikebridge.errors import SafekeepingError


class Doing(StrEnum):
    """What is being done with a file."""

    COPYING = "copying"
    CHECKING = "checking"
    READING_BACK = "reading back"
    UNPACKING = "unpacking"


@dataclass(frozen=True, slots=True)
class Step:
    """How far a job has come.

    Attributes:
        doing: what is being done.
        name: with which file, by its path in the data folder.
        share: of the whole job, 0 to 1; never less than a moment ago.
        done: bytes gone through.
        total: bytes to go through, estimated beforehand; each is copied and read back.
    """

    doing: Doing
    name: str
    share: float
    done: int
    total: int


Tell = Callable[[Step], None]
"""Is told of each step. What it raises breaks the job off, which leaves nothing behind."""


class Progress:
    """Tell how far a job has come.

    Attributes:
        total: bytes to go through in all.
    """

    def __init__(self, total: int, tell: Tell | None = None) -> None:
        """Begin.

        Args:
            total: bytes to go through in all, estimated.
            tell: told of each step, None where nobody looks.
        """
        self.total = total
        self._tell = tell
        self._done = 0
        self._share = 0.0
        self._doing, self._name = Doing.COPYING, ""

    def begin(self, doing: Doing, name: str) -> None:
        """Go on to another file.

        Args:
            doing: what is being done with it.
            name: its path in the data folder.
        """
        self._doing, self._name = doing, name
        self.add(0)

    def reach(self, done: int) -> None:
        """Tell how many bytes are done in all.

        Args:
            done: from the beginning of the job.
        """
        self._done = done
        self._share = max(self._share, min(1.0, done / max(1, self.total)))
        if self._tell is not None:
            step = Step(self._doing, self._name, self._share, done, max(done, self.total))
            self._tell(step)

    def add(self, count: int) -> None:
        """Tell of bytes that are done.

        Args:
            count: how many more.
        """
        self.reach(self._done + count)


class Watch:
    """Follow a job from another thread, and break it off.

    Attributes:
        step: how far it has come, None before its first step.
        is_broken_off: True once it is to end.
    """

    def __init__(self, words: str) -> None:
        """Follow nothing yet.

        Args:
            words: what is said of a job that was broken off.
        """
        self.step: Step | None = None
        self.is_broken_off = False
        self._words = words

    def break_off(self) -> None:
        """Let it end at its next step."""
        self.is_broken_off = True

    def tell(self, step: Step) -> None:
        """Take a step; on the thread of the job.

        Args:
            step: how far it has come.

        Raises:
            SafekeepingError: it is to end here.
        """
        self.step = step
        if self.is_broken_off:
            raise SafekeepingError(self._words)
