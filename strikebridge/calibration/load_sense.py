"""What the reading tells of the load while a plate walk is under way.

Nobody knows at first what a kilogram reads. The empty cell and the top of the exercise make a
rough line; with it a plate put on or taken off is told from noise and creep.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.calibration.resolution import Resolution
from strikebridge.calibration.steadiness import Look, Steadiness
from strikebridge.calibration.walk_fit import Anchor, line_through

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.frames import Frame
    from strikebridge.calibration.walk_view import WalkLine
    from strikebridge.samples import Quantity

LEAVES = 0.2
"""Share of the expected change by which a reading has left its level."""
LEAVES_PLATE = 0.5
"""The same as a share of the smallest plate, so that a wrong plate is noticed as well."""
LEAVES_SIGMA = 20.0
"""The same in standard deviations of a reading, while nobody knows what a kilogram reads."""
TOP_SHARE = 0.9
"""Share of the top that must lie on the cell when it is exercised again."""
GROWN = 1.05
"""Share of the top by which the load must grow to be a new top: less may be creep."""
NEAR_ZERO = 0.05
"""Share of the top below which the cell counts as empty."""


class LoadSense:
    """Follow the load on the cell.

    Attributes:
        steadiness: keeps the newest readings.
        resolution: finds the smallest step of the readings.
        look: what they look like, None while there are too few.
        is_saturated: whether the converter stands at its end.
        zero: the empty cell, None before it was seen.
        top: all plates on, None before they were.
    """

    def __init__(self, smallest_kg: float, quantity: Quantity) -> None:
        """Begin.

        Args:
            smallest_kg: mass of the smallest plate [kg].
            quantity: what the readings are.
        """
        self.resolution = Resolution(quantity)
        self.steadiness = Steadiness()
        self.look: Look | None = None
        self.is_saturated = False
        self.zero: Anchor | None = None
        self.top: Anchor | None = None
        self._smallest_kg = smallest_kg
        self._quiet = 0.0  # noise of the empty cell

    @property
    def now(self) -> float | None:
        """Mean of the newest readings, None where there are none."""
        return self.steadiness.now

    @property
    def line(self) -> WalkLine | None:
        """What the exercise says of a kilogram, None before it."""
        return line_through(self.anchors)

    @property
    def anchors(self) -> list[Anchor]:
        """Empty cell and top, as far as they are known."""
        return [anchor for anchor in (self.zero, self.top) if anchor is not None]

    def restart(self) -> None:
        """Forget the newest readings: the load changes, or the stream was broken."""
        self.steadiness.restart()
        self.look = None

    def feed(self, frame: Frame, levels: Sequence[float]) -> None:
        """Take a frame.

        Args:
            frame: readings.
            levels: readings of the last steps, from which the cell may still creep back.
        """
        self.is_saturated = frame.is_saturated
        sums = frame.sums
        self.resolution.feed(frame.readings)
        self.steadiness.feed(frame.time_s, sums)
        load = 0.0
        if self.zero is not None:
            load = max(abs(size - self.zero.reading) for size in (float(sums[-1]), *levels))
        self.look = self.steadiness.look(load, self.resolution.step)

    def has_left(self, level: float, change_kg: float) -> bool:
        """Say whether the reading has left a level, so that plates must have been moved.

        Args:
            level: reading of the level.
            change_kg: change that was asked for [kg]; 0 to notice any plate.

        Returns:
            True if so.
        """
        now, line = self.now, self.line
        if now is None:
            return False
        if line is None:
            return abs(now - level) > self._least_seen
        least_kg = LEAVES_PLATE * self._smallest_kg
        if change_kg:
            least_kg = min(least_kg, LEAVES * abs(change_kg))
        return abs(now - level) > abs(line.per_kg) * least_kg

    @property
    def _least_seen(self) -> float:
        """Change that is no noise, while nobody knows what a kilogram reads."""
        return LEAVES_SIGMA * max(self._quiet, self.resolution.step)

    def share(self) -> float | None:
        """Say how much of the top lies on the cell, None while nobody knows."""
        now, zero, top = self.now, self.zero, self.top
        if now is None or zero is None or top is None:
            return None
        return (now - zero.reading) / (top.reading - zero.reading)

    def is_half_way(self, *, is_loading: bool) -> bool:
        """Say whether the exercise is not at its end: plates missing, or not all off.

        Args:
            is_loading: True on the way up.
        """
        share = self.share()
        if share is None:
            return False
        return share < TOP_SHARE if is_loading else abs(share) > NEAR_ZERO

    def has_grown(self) -> bool:
        """Say whether more lies on the cell than at the top, and it is stable."""
        share, look = self.share(), self.look
        return share is not None and look is not None and look.is_steady and share > GROWN

    def set_top(self, mass_kg: float, reading: float) -> None:
        """Remember the top; a reading that hardly differs from the empty cell is none.

        Args:
            mass_kg: mass on the plates' faces [kg].
            reading: the reading.
        """
        zero = self.zero
        if zero is not None and abs(reading - zero.reading) > self._least_seen:
            self.top = Anchor(mass_kg, reading)

    def set_zero(self, reading: float) -> float:
        """Remember the empty cell.

        Args:
            reading: the reading.

        Returns:
            How far it moved since it was last empty, as a share of the top.
        """
        zero, top = self.zero, self.top
        self.zero = Anchor(0.0, reading)
        if self.look is not None:
            self._quiet = self.look.noise
        if zero is None or top is None:
            return 0.0
        return abs(reading - zero.reading) / abs(top.reading - zero.reading)
