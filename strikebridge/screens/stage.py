"""What a window needs of whatever stands behind it: a station, or one that stands in for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.desk import Desk
    from strikebridge.glance import Glance
    from strikebridge.session.conductor import Key
    from strikebridge.session.group_table import Input


class Stage(Protocol):
    """What the window needs of a station, or of anything that stands in for one."""

    def glance(self) -> Glance:
        """Give the newest Glance."""
        ...

    def desk(self) -> Desk:
        """Give the newest order, reps and cues for the coach's page."""
        ...

    def cue(self, number: int) -> None:
        """Note that a cue of the desk's list was given, counted from 1."""
        ...

    def listen(self, wake: Callable[[], None]) -> None:
        """Ask to be woken, on any thread, when there is a newer one."""
        ...

    def press(self, key: Key) -> None:
        """Hear a key of the coach."""
        ...

    def command(self, command: Input, turn: int | None = None) -> None:
        """Hear what the coach of a group wants, of the turn of that number or the one shown."""
        ...


class Runner(Stage, Protocol):
    """A stage that is started and stopped, as the station is.

    Attributes:
        error: why it ended early, None as long as all is well.
    """

    error: Exception | None

    def start(self) -> None:
        """Begin to deliver Glances."""
        ...

    def stop(self) -> None:
        """End, and wait until it has."""
        ...
