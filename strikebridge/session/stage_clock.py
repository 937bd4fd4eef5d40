"""How long a stage of a group session lasts; it only ever hears the time."""

from __future__ import annotations

from strikebridge.session.conductor import MOST_LATE_S


class StageClock:
    """When a stage began, when it ends by itself, and since when a push is held in it.

    Attributes:
        since_s: when the stage began [s], None before the first one.
        held_since_s: since when a push is held [s], None while none is.
    """

    def __init__(self) -> None:
        """Begin before the first stage."""
        self.since_s: float | None = None
        self.held_since_s: float | None = None
        self._ends_s: float | None = None

    def begin(self, now_s: float, lasts_s: float | None) -> None:
        """Begin a stage.

        Args:
            now_s: stream's clock [s].
            lasts_s: how long it lasts [s], None where nothing ends it by itself.
        """
        self.since_s, self.held_since_s = now_s, None
        self._ends_s = None if lasts_s is None else now_s + lasts_s

    def touch(self, now_s: float, waits_s: float, *, is_touched: bool) -> None:
        """Let a push begin or end: one that is held is waited for, one that is over is not.

        Args:
            now_s: stream's clock [s].
            waits_s: how long the next push is waited for [s].
            is_touched: True while the force is up.
        """
        if is_touched != (self.held_since_s is not None):
            self.held_since_s = now_s if is_touched else None
            self._ends_s = None if is_touched else now_s + waits_s

    def left_s(self, now_s: float) -> float | None:
        """Say how long the stage still lasts.

        Args:
            now_s: stream's clock [s].

        Returns:
            Seconds [s], None where it has no end.
        """
        return None if self._ends_s is None else self._ends_s - now_s

    def hold_left_s(self, now_s: float, hold_s: float) -> float:
        """Say how long is still to be held, from the push on, before it from the go on.

        Args:
            now_s: stream's clock [s].
            hold_s: how long is asked for [s].

        Returns:
            Seconds [s], less than 0 for who holds longer.
        """
        since_s = self.since_s if self.held_since_s is None else self.held_since_s
        return hold_s - (now_s - (since_s or 0.0))

    def due_s(self, now_s: float) -> float | None:
        """Say when the stage was over, if it is.

        Args:
            now_s: stream's clock [s].

        Returns:
            When [s], so that no lateness adds up, yet never so long ago that a laptop which
            slept would run through the session; None while the stage is on.
        """
        if self._ends_s is None or now_s < self._ends_s:
            return None
        return max(self._ends_s, now_s - MOST_LATE_S)
