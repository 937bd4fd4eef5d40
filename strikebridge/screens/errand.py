"""Something that takes seconds, done on a thread while its window goes on being painted."""

from __future__ import annotations

import logging
import threading
from typing import TYPE_CHECKING, Generic, TypeVar

from strikebridge.errors import StrikebridgeError

if TYPE_CHECKING:
    from collections.abc import Callable

log = logging.getLogger(__name__)
T = TypeVar("T")
BROKEN = "Something went wrong inside strikebridge; the log says what."
LOOK_MS = 100
"""How often a window looks whether one of its errands is over [ms]."""


class Errand(Generic[T]):
    """One thing that is done once; whoever began it looks in now and then."""

    def __init__(self, do: Callable[[], T]) -> None:
        """Begin.

        Args:
            do: does it, on a thread of its own. The program does not end before it has: what
                is being written is written to its end.
        """
        self._do = do
        self._done: T | None = None
        self._trouble = ""
        self._thread = threading.Thread(target=self._run, name="errand")
        self._thread.start()

    @property
    def is_over(self) -> bool:
        """Say whether it has ended, well or not."""
        return not self._thread.is_alive()

    @property
    def trouble(self) -> str:
        """Say what went wrong, once it is over; empty where nothing did."""
        return self._trouble

    @property
    def done(self) -> T | None:
        """What came of it, once it is over; None where something went wrong."""
        return self._done

    def wait(self) -> None:
        """Wait until it is over."""
        self._thread.join()

    def _run(self) -> None:
        try:
            self._done = self._do()
        except StrikebridgeError as error:
            self._trouble = str(error)
        except Exception:  # the edge of the thread: nobody else would ever see it
            log.exception("an errand of a window failed")
            self._trouble = BROKEN
