"""The window comes first: a stage that waits for the real one while that is being made.

What a station needs takes as long to import as the window itself. A thread makes it while the
window already says that it waits for the board; keys pressed meanwhile are handed on.
"""

from __future__ import annotations

import logging
import threading
from typing import TYPE_CHECKING

from strikebridge.desk import Desk
from strikebridge.glance import Glance, Phase, Trouble

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.screens.stage import Runner
    from strikebridge.session.conductor import Key
    from strikebridge.session.group_table import Input
    from strikebridge.units import ForceUnit

log = logging.getLogger(__name__)


class LateStage:
    """Make a stage on a thread, then be that stage.

    Attributes:
        error: why there is none, or why it ended early; None as long as all is well.
    """

    def __init__(self, make: Callable[[], Runner], unit: ForceUnit) -> None:
        """Prepare; `start` begins.

        Args:
            make: makes the stage; called once, on a thread of its own.
            unit: unit that the window begins with.
        """
        self._make = make
        self._glance = Glance(Phase.WAITING, unit=unit)
        self._real: Runner | None = None
        self._wake: Callable[[], None] | None = None
        self._early: list[Key] = []
        self._failure: Exception | None = None
        self._is_stopping = False
        self._lock = threading.Lock()
        self._thread = threading.Thread(target=self._raise, name="late stage", daemon=True)

    @property
    def error(self) -> Exception | None:
        """Why there is none, or why it ended early."""
        real = self._real
        return self._failure if real is None else real.error

    def start(self) -> None:
        """Begin to make the stage; returns at once, and does nothing the second time."""
        if self._thread.ident is None:
            self._thread.start()

    def stop(self) -> None:
        """End, and wait until it has."""
        with self._lock:
            self._is_stopping = True
        if self._thread.is_alive():
            self._thread.join()
        if self._real is not None:
            self._real.stop()

    def glance(self) -> Glance:
        """Give the newest Glance; any thread."""
        real = self._real
        return self._glance if real is None else real.glance()

    def desk(self) -> Desk:
        """Give what lies on the coach's desk; any thread."""
        real = self._real
        return Desk() if real is None else real.desk()

    def cue(self, number: int) -> None:
        """Note a cue; there is nobody to be given one before the stage is there."""
        if self._real is not None:
            self._real.cue(number)

    def listen(self, wake: Callable[[], None]) -> None:
        """Ask to be woken when there is a newer one."""
        with self._lock:
            self._wake = wake
            if self._real is not None:
                self._real.listen(wake)

    def press(self, key: Key) -> None:
        """Hear a key of the coach; any thread."""
        with self._lock:
            if self._real is None:
                self._early.append(key)
                return
        self._real.press(key)

    def command(self, command: Input, turn: int | None = None) -> None:
        """Hear what the coach wants; there is no turn before the stage is there."""
        if self._real is not None:
            self._real.command(command, turn)

    def _raise(self) -> None:
        """Make the stage and begin it; runs on a thread of its own."""
        try:
            self._begin(self._make())
        except Exception as error:  # the edge of the thread: nobody else would ever see it
            log.exception("the stage could not be made or begun")
            self._failure = error
            self._glance = Glance(Phase.WAITING, trouble=Trouble(str(error), "", 0.0))
            if self._wake is not None:
                self._wake()

    def _begin(self, real: Runner) -> None:
        """Hand on what was asked for meanwhile, and let it run."""
        with self._lock:
            if self._is_stopping:
                return
            if self._wake is not None:
                real.listen(self._wake)
            for key in self._early:
                real.press(key)
            real.start()
            self._real = real
