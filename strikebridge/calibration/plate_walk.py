"""The plate walk as a state machine: what to do now, is it stable, what was taken.

No clock and no screen: timed readings come in by `feed`, keys by `press`, and `view` says what
to show. Decisions fall on frames of a tenth of a second of the stream's own time, so the same
readings give the same points however they are cut.

| state    | shows                 | leaves when                             | to          |
| -------- | --------------------- | --------------------------------------- | ----------- |
| ready    | reminders             | next; at once where it goes by itself   | settling    |
| waiting  | which plate to put on | the reading leaves its last level, next | settling    |
|          |                       | redo                                    | step before |
| settling | why it is not stable  | the reading is stable, next             | taking      |
|          |                       | it fell back to the last level          | waiting     |
| taking   | stable; how much      | the mean is full: the point fits        | next step   |
|          |                       | the point does not fit                  | question    |
|          |                       | it moved                                | settling    |
| question | what does not fit     | next keeps it                           | next step   |
|          |                       | redo, or the load changes               | settling    |
| review   | all is done           | next; at once where it goes by itself   | done        |
|          |                       | redo                                    | last step   |

Quit finishes where the first walk up and down is complete and cancels before; cancel always
cancels. The points are kept either way. Redo while a step is under way begins that step again;
while the next plate is awaited it takes the last point back. Where the stream breaks, the step
under way begins again once readings come, and no point is lost.

While the cell is exercised nobody knows yet what a kilogram reads: a stable reading counts as
the top, and is corrected should the load grow further instead of going away.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.calibration.course import Course
from strikebridge.calibration.frames import BROKEN_S, FRAME_S, Frame, FrameCutter
from strikebridge.calibration.lifts import Stage, check_plates
from strikebridge.calibration.load_sense import LoadSense
from strikebridge.calibration.steadiness import MOST_SETTLING_S
from strikebridge.calibration.stretch import Stretch
from strikebridge.calibration.walk_fit import (
    judge_point,
    line_through,
    with_residuals,
)
from strikebridge.calibration.walk_setup import WalkCall, WalkSetup
from strikebridge.calibration.walk_view import (
    ENDED,
    TakenPoint,
    WalkKey,
    WalkState,
    WalkView,
)
from strikebridge.calibration.walk_words import (
    OVERLOADED,
    SATURATED,
    UNSETTLED,
    detail,
    instruction,
    keys_of,
    steadiness,
)
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.walk import WalkInput
    from strikebridge.calibration.walk_fit import Anchor
    from strikebridge.samples import TimedBlock

MOVED_ZERO = 0.01
"""Share of the top by which the exercise may move the zero before that is said."""


class PlateWalk:
    """Lead a coach through a calibration with plates.

    Attributes:
        setup: what it is made with.
        state: what it is doing.
        remarks: what was noticed, newest last.
        quantity: what the readings are.
    """

    def __init__(self, setup: WalkSetup, quantity: Quantity = Quantity.COUNT) -> None:
        """Begin.

        Args:
            setup: what it is made with.
            quantity: what the readings are.

        Raises:
            CalibrationError: these plates cannot be used.
        """
        check_plates(setup.plates)
        self.setup = setup
        self.state = WalkState.READY
        self.remarks: list[str] = []
        self.quantity = quantity
        self._course = Course(setup)
        self._cells = 0  # before the first reading
        self._cutter = FrameCutter(FRAME_S)
        self._sense = LoadSense(min(plate.mass_kg for plate in setup.plates), quantity)
        self._newest_s = 0.0
        self._since_s = 0.0
        self._came_s = 0.0  # the load of the step came
        self._stretch = Stretch(FRAME_S)
        self._is_forced = False
        self._calls: list[WalkCall] = []

    @property
    def has_ended(self) -> bool:
        """Say whether it is over, one way or the other."""
        return self.state in ENDED

    @property
    def can_finish(self) -> bool:
        """Say whether the first walk up and down is complete."""
        return self._course.is_first_walk_done

    @property
    def points(self) -> tuple[TakenPoint, ...]:
        """The points so far, oldest first."""
        return tuple(self._course.points)

    def feed(self, blocks: Sequence[TimedBlock]) -> list[WalkCall]:
        """Take readings.

        Args:
            blocks: timed readings in order.

        Returns:
            What happened because of them.

        Raises:
            CalibrationError: the plates are too heavy for the cells there are.
        """
        for block in blocks:
            for frame in self._cutter.feed(block):
                self._tick(frame)
        return self._taken_calls()

    def press(self, key: WalkKey) -> list[WalkCall]:
        """Hear a key; one that means nothing now does nothing.

        Args:
            key: what was pressed.

        Returns:
            What happened because of it.
        """
        if self.has_ended:
            return []
        if key is WalkKey.NEXT:
            self._go_on()
        elif key is WalkKey.REDO:
            self._redo()
        elif key is WalkKey.QUIT and self.can_finish:
            self._finish()
        else:
            self._enter(WalkState.CANCELLED)
            self._call("cancelled", points=len(self.points))
        return self._taken_calls()

    def lose(self) -> None:
        """Hear that the stream broke: the step under way begins again, no point is lost."""
        self._sense.restart()
        if self.state is WalkState.TAKING:
            self._enter(WalkState.SETTLING)

    def walk_input(self) -> WalkInput:
        """Give the points as a finished walk, for `analyse_walk`.

        Returns:
            The walk, sums of the cells.
        """
        return self._course.walk_input(self.step)

    @property
    def step(self) -> float:
        """Smallest step of the readings."""
        return self._sense.resolution.step

    def view(self) -> WalkView:
        """Say what is to be shown."""
        course, lift = self._course, self._course.lift
        points, has_line = with_residuals(self.points)
        line = line_through(points) if has_line else self._sense.line
        now, look = self._sense.now, self._sense.look
        wanted_kg = course.mass_kg(lift.plates)
        remark = points[-1].remark if points else ""
        is_over = self.state in (WalkState.REVIEW, *ENDED)
        reason = None if look is None else look.reason
        return WalkView(
            state=self.state,
            stage=lift.stage,
            instruction=instruction(self.state, course.before, lift),
            detail=self._detail(detail(self.state, lift, wanted_kg, remark)),
            steadiness=steadiness(self.state, reason),
            is_stable=reason == "",
            lift=None if is_over or self.state is WalkState.READY else lift,
            reading=now,
            noise=None if look is None else look.noise,
            load_kg=None if line is None or now is None else line.mass_kg(now),
            wanted_kg=wanted_kg,
            points=points,
            line=line,
            steps_done=course.total if is_over else course.at,
            steps_total=course.total,
            taking_share=self._stretch.share if self.state is WalkState.TAKING else 0.0,
            remarks=tuple(self.remarks),
            keys=keys_of(self.state, can_finish=self.can_finish),
            can_finish=self.can_finish,
            quantity=str(self.quantity),
        )

    def _tick(self, frame: Frame) -> None:
        """Let one frame pass."""
        if self.has_ended:
            return
        if frame.is_restarted or frame.time_s[0] - self._newest_s > BROKEN_S:
            self.lose()
        self._newest_s = float(frame.time_s[-1])
        self._sense.feed(frame, self._course.levels[-2:])
        if self.state is WalkState.READY:
            self._get_ready(frame.readings.shape[1])
        elif self.state is WalkState.WAITING and self._has_left():
            self._sense.restart()
            self._came_s = self._newest_s
            self._enter(WalkState.SETTLING)
        elif self.state is WalkState.SETTLING:
            self._settle()
        elif self.state is WalkState.TAKING:
            self._take(frame)
        elif self.state is WalkState.QUESTION and self._sense.has_left(
            self.points[-1].reading, 0.0
        ):
            self._take_back()

    def _get_ready(self, cells: int) -> None:
        """Plan for the cells there are; refuse plates that are too heavy for them."""
        if cells != self._cells:
            self._cells = cells
            self._course.know_cells(cells)
            rating_kg = self.setup.rating_kg
            check_plates(self.setup.plates, None if rating_kg is None else rating_kg * cells)
        if self.setup.is_hands_free:
            self._go_on()

    def _settle(self) -> None:
        if self._has_to_wait():
            return
        look = self._sense.look
        is_late = self._newest_s - self._since_s > MOST_SETTLING_S
        is_given_up = is_late and self.setup.is_hands_free
        if look is None or not (look.is_steady or is_given_up):
            return
        if not look.is_steady:
            self.remarks.append(
                f"Step {self._course.at + 1} never became stable ({look.reason});"
                " it was taken so."
            )
        self._accept(look.reading, is_forced=not look.is_steady)

    def _has_to_wait(self) -> bool:
        """Say whether what lies on the cell cannot be what was asked for."""
        sense, course = self._sense, self._course
        lift = course.lift
        if sense.is_saturated:
            return True
        if not course.is_another_load:
            return False
        if not self._has_left():
            self._enter(WalkState.WAITING)
            return True
        if lift.stage is not Stage.EXERCISE:
            return False
        if not lift.plates and sense.has_grown() and sense.now is not None:
            # the top was not the top: plates were still missing
            sense.set_top(sum(plate.mass_kg for plate in self.setup.plates), sense.now)
            self._course.levels[-1] = sense.now
            self._enter(WalkState.WAITING)
            return True
        return sense.is_half_way(is_loading=bool(lift.plates))

    def _accept(self, reading: float, *, is_forced: bool) -> None:
        """Take a stable reading at its word (exercise), or begin its mean."""
        lift = self._course.lift
        if lift.stage is not Stage.EXERCISE:
            self._is_forced = is_forced
            self._stretch = Stretch(FRAME_S)
            self._enter(WalkState.TAKING)
            return
        if lift.plates:
            self._sense.set_top(self._course.mass_kg(lift.plates), reading)
        self._advance(reading)

    def _take(self, frame: Frame) -> None:
        look = self._sense.look
        is_moving = look is not None and not look.is_steady
        if self._sense.is_saturated or (is_moving and not self._is_forced):
            self._enter(WalkState.SETTLING)
            return
        self._stretch.add(frame)
        if self._stretch.share < 1.0:
            return
        lift, number = self._course.lift, len(self.points) + 1
        kg = self._course.mass_kg(lift.plates)
        self._keep(self._stretch.point(number, lift, kg, self._came_s))

    def _keep(self, point: TakenPoint) -> None:
        """Keep what was taken, and say at once if it does not fit."""
        if not point.lift.plates:
            self._look_at_zero(point.reading)
        if not point.lift.is_point:
            self._advance(point.reading)
            return
        is_known = len({one.mass_kg for one in self.points if not one.remark}) > 2
        others: list[TakenPoint | Anchor] = [one for one in self.points if not one.remark]
        others += [] if is_known else self._sense.anchors
        judged = judge_point(point, others, self.setup.plates)
        self._course.points.append(judged)
        self._call("point", number=point.number, reading=point.reading)
        if judged.remark:
            self.remarks.append(f"{judged.label}: {judged.remark}")
            if not self.setup.is_hands_free:
                self._enter(WalkState.QUESTION)
                return
        self._advance(point.reading)

    def _look_at_zero(self, reading: float) -> None:
        """Remember the empty cell; say so where it did not come back."""
        moved = self._sense.set_zero(reading)
        if moved > MOVED_ZERO:
            self.remarks.append(
                f"The empty cell moved by {100.0 * moved:.1f} % of the largest load since it"
                " was last empty. See whether anything slips, rubs or still lies on it."
            )

    def _advance(self, reading: float) -> None:
        """Go on to the next step, or to one more lift, or to the end."""
        self._course.go_on(reading)
        if not self._course.is_over:
            is_other = self._course.is_another_load
            self._enter(WalkState.WAITING if is_other else WalkState.SETTLING)
            self._calls.append(self._course.load_call())
            return
        self._enter(WalkState.REVIEW)
        if self.setup.is_hands_free:
            self._finish()

    def _go_on(self) -> None:
        if self.state is WalkState.READY:
            for number, plate in enumerate(self.setup.plates, start=1):
                self._call("plate", number=number, mass_kg=plate.mass_kg)
            self._enter(WalkState.SETTLING)
            self._calls.append(self._course.load_call())
        elif self.state is WalkState.WAITING:
            self._came_s = self._newest_s
            self._enter(WalkState.SETTLING)
            self._press_on()
        elif self.state is WalkState.SETTLING:
            self._press_on()
        elif self.state is WalkState.QUESTION:
            self._advance(self.points[-1].reading)
        elif self.state is WalkState.REVIEW:
            self._finish()

    def _press_on(self) -> None:
        """Take the reading as it is: the coach says so."""
        now = self._sense.now
        if now is not None and not self._sense.is_saturated:
            self._accept(now, is_forced=True)

    def _redo(self) -> None:
        if self.state in (WalkState.WAITING, WalkState.REVIEW):
            self._course.go_back()
            self._begin_again()
        elif self.state is WalkState.QUESTION:
            self._take_back()
        elif self.state in (WalkState.SETTLING, WalkState.TAKING):
            self._begin_again()

    def _take_back(self) -> None:
        self._course.points.pop()
        self._begin_again()

    def _begin_again(self) -> None:
        self._sense.restart()
        self._enter(WalkState.SETTLING)
        self._call("redone", step=self._course.at + 1)
        self._calls.append(self._course.load_call())

    def _finish(self) -> None:
        self._enter(WalkState.DONE)
        self._call("finished", points=len(self.points))

    def _enter(self, state: WalkState) -> None:
        self.state = state
        self._since_s = self._newest_s

    def _has_left(self) -> bool:
        """Say whether the load of the step before has changed."""
        return self._sense.has_left(self._course.levels[-1], self._course.change_kg)

    def _is_over_rating(self) -> bool:
        line, now, rating_kg = self._sense.line, self._sense.now, self.setup.rating_kg
        if line is None or now is None or rating_kg is None:
            return False
        return line.mass_kg(now) > rating_kg * self._cells

    def _detail(self, words: str) -> str:
        if self._is_over_rating():
            return OVERLOADED
        if self._sense.is_saturated:
            return SATURATED
        is_late = self._newest_s - self._since_s > MOST_SETTLING_S
        if self.state is WalkState.SETTLING and is_late:
            return UNSETTLED
        return words

    def _call(self, kind: str, **detail: float) -> None:
        self._calls.append(WalkCall(kind, detail))

    def _taken_calls(self) -> list[WalkCall]:
        calls, self._calls = self._calls, []
        return calls
