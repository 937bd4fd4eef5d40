"""What a screen needs of whoever leads at the wall: one athlete's free reps, or a group."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from strikebridge.samples import Phase, Rep
    from strikebridge.session.conductor import Plan


class Leading(Protocol):
    """What happens next at the wall, as far as it is shown."""

    no_show: bool
    """True when the result is that nobody pushed."""
    is_overloaded: bool
    """True from an overload of the cell until the athlete has let go."""

    @property
    def phase(self) -> Phase:
        """What the wall shows now."""
        ...

    @property
    def plan(self) -> Plan:
        """What is asked for."""
        ...

    @property
    def rep_number(self) -> int:
        """Which rep it is."""
        ...

    @property
    def reps(self) -> list[Rep]:
        """Reps that count, of what is compared, oldest first."""
        ...

    def seconds_left(self, now_s: float) -> float | None:
        """Say how long the phase still lasts [s], None where it has no end."""
        ...
