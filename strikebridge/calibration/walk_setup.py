"""What a plate walk is made with, and what it calls out."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from strikebridge.calibration.gravity import STANDARD
from strikebridge.calibration.lifts import EXERCISES, RUNS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.calibration.certificate import PlateRecord
    from strikebridge.calibration.gravity import Gravity
    from strikebridge.calibration.lifts import Lift


@dataclass(frozen=True, slots=True)
class WalkSetup:
    """What a walk is made with.

    Attributes:
        plates: the plates as the coach declares them, in the order they are put on.
        runs: walks up and down.
        exercises: how often the cell is loaded to the top beforehand.
        is_hands_free: True to go on without any key.
        gravity: local gravity.
        rating_kg: what one cell is rated for [kg], None where it was not said.
        lifts: a plan of one's own, None to make one of the plates.
    """

    plates: tuple[PlateRecord, ...]
    runs: int = RUNS
    exercises: int = EXERCISES
    is_hands_free: bool = False
    gravity: Gravity = STANDARD
    rating_kg: float | None = None
    lifts: tuple[Lift, ...] | None = None


@dataclass(frozen=True, slots=True)
class WalkCall:
    """Something that happened and belongs into the recording; no names, no free text.

    Attributes:
        kind: `plate` (number, mass_kg), `load` (step, plates as `1+3`, mass_kg), `point`
            (number, reading), `redone`, `finished` or `cancelled`.
        detail: plain values.
    """

    kind: str
    detail: Mapping[str, str | float | int | None] = field(default_factory=dict)
