"""A check as a state machine: hands off, put it on, take it off, and the verdict.

No clock and no screen: timed readings come in by `feed`, keys by `press`, and `view` says what
to show. Decisions fall on frames of a tenth of a second of the stream's own time, so the same
readings give the same check however they are cut.

| state  | asks for               | begins its mean when            | after the mean        |
| ------ | ---------------------- | ------------------------------- | --------------------- |
| zero   | hands off              | stable; next                    | load, or done without |
| load   | the reference          | most of it is there and stable; | back                  |
|        |                        | next                            |                       |
| back   | take it off            | most of it is gone and stable;  | done                  |
|        |                        | next                            |                       |

A mean that moves while it is taken begins again, except where next was pressed. A pull by hand
is never stable: its mean begins once it has been there for a second. Redo begins the check
again, cancel ends it without a verdict.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.frames import BROKEN_S, FRAME_S, Frame, FrameCutter
from strikebridge.calibration.steadiness import MOST_SETTLING_S, Look, Steadiness
from strikebridge.calibration.walk_setup import WalkCall
from strikebridge.checks.check_view import ENDED, CheckKey, CheckState, CheckView
from strikebridge.checks.check_words import detail, instruction
from strikebridge.checks.expected import UNCHECKED, Reference, force_of
from strikebridge.checks.history import Way
from strikebridge.checks.judging import Levels, Past, judge_check
from strikebridge.checks.level import Level, level_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.checks.judging import Check
    from strikebridge.samples import Floats, TimedBlock

TAKE_S = 3.0
"""Length of a mean [s]: 30 readings of a slow board."""
THERE = 0.4
"""Share of the load from which it counts as there, below which as gone: a wrong plate is to be
judged, not waited for."""
PULLED_S = 1.0
"""A pull must have been there so long before its mean begins [s]."""

ANOTHER = 99
"""Number of what was no part of the calibration."""
ORDER = (CheckState.ZERO, CheckState.LOAD, CheckState.BACK)


@dataclass(frozen=True, slots=True)
class CheckSetup:
    """What a check is made with.

    Attributes:
        certificate: what the board is checked against.
        reference: what is put on.
        past: earlier checks.
        is_hands_free: True to take a reading that never gets stable.
    """

    certificate: Certificate
    reference: Reference = UNCHECKED
    past: Past = field(default_factory=Past)
    is_hands_free: bool = False


class CheckRun:
    """Lead a coach through a check.

    Attributes:
        setup: what it is made with.
        state: what it is doing.
        check: the finished check, None before the end.
    """

    def __init__(self, setup: CheckSetup) -> None:
        """Begin.

        Args:
            setup: what it is made with.
        """
        self.setup = setup
        self.check: Check | None = None
        self._calibration = Calibration.from_certificate(setup.certificate)
        self._cutter = FrameCutter(FRAME_S)
        self._steadiness = Steadiness()
        self._newest_s = -np.inf
        self._slopes = np.array([cell.coefficients[1] for cell in setup.certificate.cells])
        self._origin = np.array([cell.coefficients[0] for cell in setup.certificate.cells])
        self._step_N = setup.certificate.step / float(np.min(np.abs(self._slopes)))
        self._calls: list[WalkCall] = []
        self._plates = _numbered(setup)
        self._begin()

    def _begin(self) -> None:
        self.state = CheckState.ZERO
        self._levels: dict[CheckState, Level] = {}
        self._zero_N = 0.0
        self._calls += [
            WalkCall("plate", {"number": number, "mass_kg": mass_kg})
            for number, mass_kg in self._plates
        ]
        self._enter(CheckState.ZERO)

    def _enter(self, state: CheckState) -> None:
        self.state = state
        self._since_s = self._newest_s
        self._steadiness.restart()
        self._look: Look | None = None
        self._stretch: list[Frame] = []
        self._is_taking = False
        self._is_forced = False
        self._there_s: float | None = None
        if state not in ENDED:
            is_load = state is CheckState.LOAD
            numbers = "+".join(str(number) for number, _ in self._plates)
            self._call_load(ORDER.index(state) + 1, numbers if is_load else "")

    def _call_load(self, step: int, plates: str) -> None:
        mass_kg = self._wanted_N / self.setup.certificate.gravity_m_per_s2
        self._calls.append(
            WalkCall("load", {"step": step, "plates": plates, "mass_kg": mass_kg})
        )

    @property
    def has_ended(self) -> bool:
        """Say whether nothing more will happen."""
        return self.state in ENDED

    @property
    def _wanted_N(self) -> float:
        return self.setup.reference.load_N if self.state is CheckState.LOAD else 0.0

    def feed(self, blocks: Sequence[TimedBlock]) -> list[WalkCall]:
        """Take readings.

        Args:
            blocks: timed readings in order.

        Returns:
            What happened because of them.

        Raises:
            CalibrationError: the board has another number of cells than the certificate.
        """
        for block in blocks:
            for frame in self._cutter.feed(block):
                self._tick(frame)
        return self._taken_calls()

    def press(self, key: CheckKey) -> list[WalkCall]:
        """Hear a key; one that means nothing now does nothing.

        Args:
            key: what was pressed.

        Returns:
            What happened because of it.
        """
        if self.has_ended:
            return []
        if key is CheckKey.NEXT:
            self._is_forced = self._is_taking = True
        elif key is CheckKey.REDO:
            self._begin()
        else:
            self._enter(CheckState.CANCELLED)
            self._calls.append(WalkCall("cancelled"))
        return self._taken_calls()

    def lose(self) -> None:
        """Hear that the stream broke: the step under way begins again."""
        if not self.has_ended:
            self._steadiness.restart()
            self._look = None
            self._stretch = []
            self._is_taking = False
            self._there_s = None

    def view(self) -> CheckView:
        """Say what is to be shown."""
        state, reference = self.state, self.setup.reference
        now_N, reason = self._steadiness.now, None if self._look is None else self._look.reason
        is_late = self._newest_s - self._since_s > MOST_SETTLING_S
        steps = 1 if reference.way is Way.NONE else 3
        return CheckView(
            state=state,
            instruction=instruction(state, reference, is_taking=self._is_taking),
            detail="" if self._is_taking else detail(state, reference, is_late=is_late),
            steadiness=self._steadiness_words(reason),
            is_stable=reason == "" or self._is_taking,
            force_N=None if now_N is None else now_N - self._zero_N,
            wanted_N=self._wanted_N,
            steps_done=ORDER.index(state) if state in ORDER else steps,
            steps_total=steps,
            taking_share=self._share() if self._is_taking else 0.0,
            keys=() if self.has_ended else tuple(CheckKey),
            check=self.check,
        )

    def _steadiness_words(self, reason: str | None) -> str:
        if self.has_ended:
            return ""
        if self._is_taking:
            return "stable: taking the mean" if reason == "" else "taking the mean"
        if not self._is_there():
            return "waiting for the load" if self.state is CheckState.LOAD else "still loaded"
        if reason is None:
            return "not stable yet"
        return f"not stable yet: {reason}" if reason else "stable"

    def _tick(self, frame: Frame) -> None:
        """Let one frame pass."""
        if self.has_ended:
            return
        if frame.is_restarted or frame.time_s[0] - self._newest_s > BROKEN_S:
            self.lose()
        if self._since_s == -np.inf:
            self._since_s = float(frame.time_s[0])
        self._newest_s = float(frame.time_s[-1])
        if frame.readings.shape[1] != len(self._slopes):
            force_of(self._calibration, frame.readings[0].tolist())  # refuses, in words
        force_N: Floats = ((frame.readings - self._origin) / self._slopes).sum(axis=1)
        self._steadiness.feed(frame.time_s, force_N)
        self._look = self._steadiness.look(self.setup.reference.load_N, self._step_N)
        if frame.is_saturated:
            self._stretch, self._is_taking, self._there_s = [], False, None
        elif self._is_taking:
            self._take(frame)
        elif self._is_ready():
            self._is_taking = True

    def _is_there(self) -> bool:
        """Say whether most of what is asked for is there, or gone."""
        now_N = self._steadiness.now
        if self.state is CheckState.ZERO:
            return True
        if now_N is None:
            return False
        is_loaded = now_N - self._zero_N > THERE * self.setup.reference.load_N
        return is_loaded is (self.state is CheckState.LOAD)

    def _is_ready(self) -> bool:
        if not self._is_there():
            self._there_s = None
            return False
        if self._there_s is None:
            self._there_s = self._newest_s
        if self.state is CheckState.LOAD and self.setup.reference.way is Way.SCALE:
            return self._newest_s - self._there_s >= PULLED_S
        if self._look is not None and self._look.is_steady:
            return True
        is_late = self._newest_s - self._since_s > MOST_SETTLING_S
        return is_late and self.setup.is_hands_free

    def _take(self, frame: Frame) -> None:
        is_pull = self.state is CheckState.LOAD and self.setup.reference.way is Way.SCALE
        is_moving = self._look is not None and not self._look.is_steady
        may_move = self._is_forced or is_pull or self.setup.is_hands_free
        if (is_moving and not may_move) or not (self._is_there() or self._is_forced):
            self._stretch, self._is_taking = [], False
            return
        self._stretch.append(frame)
        if self._share() < 1.0:
            return
        times_s = np.concatenate([one.time_s for one in self._stretch])
        readings = np.concatenate([one.readings for one in self._stretch])
        level = level_of(times_s, readings)
        if level is not None:  # else a very slow board: more frames are needed
            self._keep(level)

    def _share(self) -> float:
        if not self._stretch:
            return 0.0
        span_s = float(self._stretch[-1].time_s[-1] - self._stretch[0].time_s[0])
        return min(1.0, span_s / (TAKE_S - FRAME_S))

    def _keep(self, level: Level) -> None:
        self._levels[self.state] = level
        if self.state is CheckState.ZERO:
            zero = (np.array(level.reading) - self._origin) / self._slopes
            self._zero_N = float(zero.sum())
        if self.state is CheckState.BACK or self.setup.reference.way is Way.NONE:
            self._finish()
        else:
            is_zero = self.state is CheckState.ZERO
            self._enter(CheckState.LOAD if is_zero else CheckState.BACK)

    def _finish(self) -> None:
        levels = self._levels
        self.check = judge_check(
            self.setup.certificate,
            Levels(
                levels[CheckState.ZERO],
                levels.get(CheckState.LOAD),
                levels.get(CheckState.BACK),
            ),
            self.setup.reference,
            self.setup.past,
        )
        self._enter(CheckState.DONE)
        gain = self.check.gain
        detail = {
            "verdict": self.check.verdict.value,
            "way": self.check.reference.way.value,
            "zero_N": self.check.zero_N,
            "gain_error": None if gain is None else gain.error,
        }
        self._calls.append(WalkCall("checked", detail))

    def _taken_calls(self) -> list[WalkCall]:
        calls, self._calls = self._calls, []
        return calls


def _numbered(setup: CheckSetup) -> list[tuple[int, float]]:
    """Number and mass [kg] of what is put on; plates of the calibration keep their numbers."""
    reference, certificate = setup.reference, setup.certificate
    if reference.plates:
        return [
            (number, plate.mass_kg)
            for number, plate in enumerate(certificate.plates, start=1)
            if plate.name in reference.plates
        ]
    mass_kg = reference.load_N / certificate.gravity_m_per_s2
    return [(ANOTHER, mass_kg)] if mass_kg > 0.0 else []
