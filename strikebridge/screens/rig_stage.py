"""What the window of a rig needs of its two sides; no Qt."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.screens.figure import Page
    from strikebridge.screens.rig_keys import Lead
    from strikebridge.screens.session_wall import Question

KeyIn_contra = TypeVar("KeyIn_contra", contravariant=True)
KeyOut_co = TypeVar("KeyOut_co", covariant=True)
ViewIn_contra = TypeVar("ViewIn_contra", contravariant=True)
ViewOut_co = TypeVar("ViewOut_co", covariant=True)


class RigStage(Protocol[KeyIn_contra, ViewOut_co]):
    """Whoever leads at a rig: a station on a thread of its own.

    Attributes:
        error: why it ended early, None as long as all is well.
    """

    error: Exception | None

    def start(self) -> None:
        """Begin."""
        ...

    def stop(self) -> None:
        """End, and wait until it has."""
        ...

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait for the end of the stream; say whether it has ended."""
        ...

    def view(self) -> ViewOut_co:
        """Give the newest view."""
        ...

    def listen(self, wake: Callable[[], None]) -> None:
        """Ask to be woken, on any thread, when there is a newer one."""
        ...

    def press(self, key: KeyIn_contra) -> None:
        """Hear a key of the coach."""
        ...


class Pages(Protocol[KeyOut_co, ViewIn_contra]):
    """The pages of one job, which say what a key means there."""

    def page(self, view: ViewIn_contra, size: tuple[float, float]) -> Page:
        """Decide the page."""
        ...

    def key(self, lead: Lead) -> KeyOut_co:
        """Translate what was pressed."""
        ...

    def asks(self, lead: Lead, view: ViewIn_contra) -> Question | None:
        """Say what the coach is asked before a key is heard; None to hear it at once."""
        ...

    def has_ended(self, view: ViewIn_contra) -> bool:
        """Say whether nothing more will happen."""
        ...

    def end(self, view: ViewIn_contra) -> None:
        """Do what is to be done once the stream has ended; may be called again."""
        ...

    def turn_unit(self) -> None:
        """Show the next unit."""
        ...
