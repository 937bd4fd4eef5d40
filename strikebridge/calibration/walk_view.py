"""What a plate walk shows: frozen values, the same for the terminal and the window."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.calibration.lifts import Lift, Stage
    from strikebridge.glance import Trouble


class WalkState(StrEnum):
    """What the walk is doing."""

    READY = "ready"  # reminders are shown; a key begins
    WAITING = "waiting"  # for the plate that is asked for
    SETTLING = "settling"  # the load came; the reading is not stable yet
    TAKING = "taking"  # stable; the mean is being taken
    QUESTION = "question"  # the point does not fit: keep it or do it again?
    REVIEW = "review"  # all steps are done; a key finishes
    DONE = "done"  # finished; there is a calibration
    CANCELLED = "cancelled"  # ended before there were points enough; they are kept


class WalkKey(StrEnum):
    """What a coach can press."""

    NEXT = "next"  # begin; take it now; keep it; finish
    REDO = "redo"  # the last step again
    QUIT = "quit"  # finish where there is enough for a calibration, else cancel
    CANCEL = "cancel"  # end without a calibration; the points are kept


ENDED = (WalkState.DONE, WalkState.CANCELLED)


@dataclass(frozen=True, slots=True)
class TakenPoint:
    """One point of the calibration as it was taken.

    Attributes:
        number: 1 for the first.
        lift: what lay on the cell.
        mass_kg: mass on the plates' faces [kg].
        readings: mean reading of each cell, in the board's quantity.
        sd: SD of single readings about their mean, sum of the cells.
        count: how many readings the mean has.
        time_s: middle of the stretch on the stream's axis [s].
        came_s: when its load came, on the same axis [s].
        moved: how far it would have moved since the load came, at the pace of the stretch.
        residual_kg: how far it lies from the line through all points [kg], 0 while there is no
            line.
        allowed_kg: what plates, noise and a sound cell may explain of it [kg].
        remark: one sentence where it does not fit, else empty.
    """

    number: int
    lift: Lift
    mass_kg: float
    readings: tuple[float, ...]
    sd: float
    count: int
    time_s: float
    came_s: float
    moved: float = 0.0
    residual_kg: float = 0.0
    allowed_kg: float = 0.0
    remark: str = ""

    @property
    def reading(self) -> float:
        """Sum of the cells' mean readings."""
        return sum(self.readings)

    @property
    def label(self) -> str:
        """What to call it in a message."""
        on = "+".join(self.lift.plates) or "nothing on"
        way = {1: ", up", -1: ", down", 0: ""}[self.lift.direction]
        return f"point {self.number} ({on}{way})"


@dataclass(frozen=True, slots=True)
class WalkLine:
    """The straight line through the points so far: reading = zero + per_kg x mass.

    Attributes:
        zero: reading of the empty cell.
        per_kg: reading a kilogram; negative where readings fall under load.
    """

    zero: float
    per_kg: float

    def mass_kg(self, reading: float) -> float:
        """Turn a reading into the mass the line gives it [kg]."""
        return (reading - self.zero) / self.per_kg


@dataclass(frozen=True, slots=True)
class WalkView:
    """Everything a screen may show of a walk at one moment.

    Attributes:
        state: what the walk is doing.
        stage: what the step is for.
        instruction: what to do now, one sentence, to be shown biggest.
        detail: why, or what to mind; one or two sentences, may be empty.
        steadiness: the reading in words: `waiting for the load`, `not stable yet: it swings`,
            `stable`, `taking the mean`.
        is_stable: whether the reading is stable.
        lift: the step that is under way; None before the first and after the last.
        reading: mean of the newest readings, sum of the cells, in the board's quantity; None
            while nothing comes.
        noise: SD of a single reading, sum of the cells; None while it is not known.
        load_kg: the same as a mass by the line so far [kg]; None while there is no line.
        wanted_kg: mass on the faces of the plates that are to lie on the cell [kg].
        points: the points so far, oldest first.
        line: the line through them, None before there are two loads.
        steps_done: steps behind us, exercise included.
        steps_total: steps planned.
        taking_share: how much of the mean is taken, 0 to 1.
        remarks: what was noticed, newest last, each one sentence.
        keys: which keys mean something now.
        can_finish: whether what there is makes a calibration.
        quantity: unit of the readings in words, such as `count` or `kg`.
        trouble: what is wrong with the board, None if all is well.
    """

    state: WalkState
    stage: Stage
    instruction: str
    detail: str = ""
    steadiness: str = ""
    is_stable: bool = False
    lift: Lift | None = None
    reading: float | None = None
    noise: float | None = None
    load_kg: float | None = None
    wanted_kg: float = 0.0
    points: tuple[TakenPoint, ...] = ()
    line: WalkLine | None = None
    steps_done: int = 0
    steps_total: int = 0
    taking_share: float = 0.0
    remarks: tuple[str, ...] = ()
    keys: tuple[WalkKey, ...] = ()
    can_finish: bool = False
    quantity: str = "count"
    trouble: Trouble | None = None
