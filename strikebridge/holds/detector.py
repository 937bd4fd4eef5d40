"""The streaming detector: readings in, holds and contacts out.

Theory
======
Nothing is assumed about how strong the athlete is, where the zero lies, or how fast the board
samples. All decisions are made on frames (about 0.05 s of readings, see `stream`), in newtons
above a zero that is followed (see `zero`), and every threshold is a number of standard
deviations of the rig's own noise with a floor in newtons, or a share of the contact's level.

What a state sees is one **sight** a frame, the first of these that holds:

| sight | the frame's mean force | why there |
| --- | --- | --- |
| UNDER | more than `touch` below zero | nobody can pull: the zero has moved, or ringing |
| NEAR | within `touch` of zero | 6 SD of frame means, floor 4 N, more after a heavy load |
| SURGE | far above the load there was already | a rise of its own: see `_is_surge` |
| LOW | loaded, under half of the contact's own level | the definition of a hold |
| HIGH | loaded, at least half of its own level | |

Ties: a frame exactly on a limit counts as the quieter of both. Two more sights do not come from
a frame: **GAP** (a hole too long to be bridged lies before it) and **RIPE** (what the state was
waiting for has come about; looked at after each frame):

| state | what it is | RIPE when |
| --- | --- | --- |
| START | nothing known yet | 0.15 s and two readings have come |
| REST | untouched; the zero is followed | never |
| TOUCHED | something presses, not yet a hold | 0.5 s above half of its own level |
| TAPPED | a short contact is over; a push may still follow | 0.4 s are over |
| HOLDING | it is a hold | it lasts beyond 90 s, or lies stiller than a hand for 30 s |
| RELEASED | it fell under half of its level | long enough for a brief dip to be over |
| LOADED | a load that is no rise: lean, resting hand, moved ball | it is a moved ball |
| LOWERED | under zero | it stays, so the zero has moved |

A moved ball and a hand differ in that a hand wavers. A new level that lies as still as the
empty rig for 1 s becomes the zero (3 s where noise would hide the waver of a quiet hand, and
the doubt goes into the uncertainty of the zero). A contact that has already counted as a hold
may turn out to be a moved ball only from what follows: a rise of its own from a level that lay
still.

A hold is handed out less than 0.3 s after its release, so a dip longer than about 0.2 s ends
it.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from enum import StrEnum
from statistics import fmean, median
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.holds import refine
from strikebridge.holds.stream import (
    BATCH_ROWS,
    BRIDGE_S,
    FORCE,
    FRAME_S,
    MISSING,
    SPIKE_SD,
    SPIKE_SHARE,
    TAP_CEILING_N,
    TIME,
    USUAL,
    Batch,
    Intake,
    breaks,
    frame_length,
    rows_of,
)
from strikebridge.holds.zero import ZeroTracker
from strikebridge.samples import Contact, Floats, ForceBlock, Hold

if TYPE_CHECKING:
    from collections.abc import Callable

START_S = 0.15
HOLD_S = 0.5  # shortest hold, above half of its own level
HOLD_FLOOR_N = 25.0  # half of the weakest athlete this is made for
HOLD_SD = 6.0
TAP_WAIT_S = 0.4  # touch and push closer together than this are one hold
ANSWER_S = 0.3  # a hold is handed out this long after its release at the latest
LONGEST_S = 90.0  # nobody holds a maximal punch this long; bounds the memory
STILL_S = 30.0
LEAN_S = 0.7  # a load this long before the push is a lean, a shorter one a stage of the push
HIT_SHARE = 1.6  # of the middle of half a second: more is a hit, the rest the push
MOVED_CEILING_N = 150.0  # a ball that moves changes the zero by less
FLAT_S = 1.0
FLAT_UNSURE_S = 3.0
LOWERED_S = 0.3
REST_SHARE = 0.6  # a rise of its own exceeds the lean before it by this share
REST_FLOOR_N = 12.0
LIST_FLOOR_N = 8.0  # lighter contacts are not worth a line
KEEP_S = 2.0  # of readings at rest: what a hold carries from before its onset, and some


class State(StrEnum):
    """What the detector takes the rig to be doing."""

    START = "start"
    REST = "rest"
    TOUCHED = "touched"
    TAPPED = "tapped"
    HOLDING = "holding"
    RELEASED = "released"
    LOADED = "loaded"
    LOWERED = "lowered"


class Sight(StrEnum):
    """What one frame looks like, or what has come about."""

    UNDER = "under"
    NEAR = "near"
    SURGE = "surge"
    LOW = "low"
    HIGH = "high"
    GAP = "gap"
    RIPE = "ripe"


# state -> sight -> (action, next state); an action is a method `_do_<name>`. A sight that is
# not listed cannot occur there: `_sight` gives SURGE only in HOLDING and LOADED, LOW only once a
# contact counts as a hold, and REST is never RIPE.
TABLE: dict[State, dict[Sight, tuple[str, State]]] = {
    State.START: {
        Sight.NEAR: ("collect", State.START),
        Sight.GAP: ("drop_level", State.START),
        Sight.RIPE: ("adopt_zero", State.REST),
    },
    State.REST: {
        Sight.UNDER: ("collect", State.LOWERED),
        Sight.NEAR: ("follow", State.REST),
        Sight.HIGH: ("begin", State.TOUCHED),
        Sight.GAP: ("doubt", State.REST),
    },
    State.TOUCHED: {
        Sight.UNDER: ("extend", State.TAPPED),
        Sight.NEAR: ("extend", State.TAPPED),
        Sight.HIGH: ("extend", State.TOUCHED),
        Sight.GAP: ("end_contact", State.LOADED),
        Sight.RIPE: ("qualify", State.HOLDING),
    },
    State.TAPPED: {
        Sight.UNDER: ("extend", State.TAPPED),
        Sight.NEAR: ("extend", State.TAPPED),
        Sight.HIGH: ("extend", State.TOUCHED),
        Sight.GAP: ("end_contact", State.LOADED),
        Sight.RIPE: ("end_contact", State.LOADED),
    },
    State.HOLDING: {
        Sight.UNDER: ("fall", State.RELEASED),
        Sight.NEAR: ("fall", State.RELEASED),
        Sight.SURGE: ("begin_again", State.TOUCHED),
        Sight.LOW: ("fall", State.RELEASED),
        Sight.HIGH: ("extend", State.HOLDING),
        Sight.GAP: ("end_hold", State.LOADED),
        Sight.RIPE: ("give_up", State.LOADED),
    },
    State.RELEASED: {
        Sight.UNDER: ("extend", State.RELEASED),
        Sight.NEAR: ("extend", State.RELEASED),
        Sight.LOW: ("extend", State.RELEASED),
        Sight.HIGH: ("extend", State.HOLDING),
        Sight.GAP: ("end_hold", State.LOADED),
        Sight.RIPE: ("end_hold", State.LOADED),
    },
    State.LOADED: {
        Sight.UNDER: ("recollect", State.LOWERED),
        Sight.NEAR: ("come_to_rest", State.REST),
        Sight.SURGE: ("begin_from_load", State.TOUCHED),
        Sight.HIGH: ("collect", State.LOADED),
        Sight.GAP: ("drop_level", State.LOADED),
        Sight.RIPE: ("move_zero", State.REST),
    },
    State.LOWERED: {
        Sight.UNDER: ("collect", State.LOWERED),
        Sight.NEAR: ("come_to_rest", State.REST),
        Sight.HIGH: ("begin_from_below", State.TOUCHED),
        Sight.GAP: ("drop_level", State.LOWERED),
        Sight.RIPE: ("move_zero", State.REST),
    },
}


@dataclass(frozen=True, slots=True)
class Watch:
    """The state of things for the live screen.

    Attributes:
        state: what the detector takes the rig to be doing.
        zero_N: zero to subtract from the calibrated force [N].
        noise_N: SD of a single reading at rest [N].
        u_zero_N: standard uncertainty of the zero [N].
        is_touched: True from the first touch to the release.
        is_holding: True once it counts as a hold, to the release.
        onset_s: when the contact under way began, to within a frame [s]; None without one.
        peak_N: largest force so far of the contact under way [N]; None without one.
        level_N: level so far of the hold under way [N]; None before it counts as one.
    """

    state: State
    zero_N: float
    noise_N: float
    u_zero_N: float
    is_touched: bool
    is_holding: bool
    onset_s: float | None
    peak_N: float | None
    level_N: float | None


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame as the state table sees it.

    Attributes:
        first, last: positions in the run of its first reading and of the one after it.
        start_s: time of its first reading [s].
        raw_N: mean force, zero not taken off [N].
        high_N: largest force, zero not taken off [N].
        within_var: variance inside the frame [N2].
        is_seen: False if all its readings are bridged.
    """

    first: int
    last: int
    start_s: float
    raw_N: float
    high_N: float
    within_var: float
    is_seen: bool = True


@dataclass(slots=True)
class Touch:
    """The contact under way.

    Attributes:
        first: position in the run of its first frame's first reading.
        quiet_from: position from which it was quiet before.
        start_s: time of the first frame [s].
        base_N: load there was before [N].
        sure: False where its beginning was not seen.
        means_N: frame means above zero [N].
        peak_N: largest reading above zero [N].
        body: frame from which it counts as a hold; None before.
        body_peak_N: largest frame mean from there on [N].
        waiting: frames since it was last pressed.
        level_N: cached level; None when it must be worked out anew.
    """

    first: int
    quiet_from: int
    start_s: float
    base_N: float
    sure: bool = True
    means_N: list[float] = field(default_factory=list)
    peak_N: float = 0.0
    body: int | None = None
    body_peak_N: float = 0.0
    waiting: int = 0
    level_N: float | None = None

    def take(self, mean_N: float, high_N: float) -> None:
        """Take in a frame, above zero."""
        self.means_N.append(mean_N)
        self.peak_N = max(self.peak_N, high_N)
        if self.body is not None and mean_N > self.body_peak_N:
            self.body_peak_N = mean_N
            self.level_N = None

    def level(self) -> float:
        """Return the median of the frames above half of the peak [N]."""
        if self.level_N is None:
            half_N = 0.5 * (self.body_peak_N + self.base_N)
            self.level_N = median([x for x in self.means_N[self.body :] if x > half_N])
        return self.level_N


class HoldDetector:
    """Find holds and contacts in calibrated force, as it comes.

    Args:
        settling_s: time the converter's filter needs after a step [s]; None if unknown. Handed
            on with each hold.
    """

    def __init__(self, settling_s: float | None = None) -> None:
        self._settling_s = settling_s
        self._state = State.START
        self._intake: Intake | None = None
        self._rate_hz = 0.0
        self._length = 1
        self._frame_s = FRAME_S
        self._zero = ZeroTracker(self._frame_s, self._length)
        self._last_row: Floats | None = None
        self._kept: deque[tuple[int, Floats]] = deque()
        self._calibration: tuple[str | None, float] = (None, math.inf)
        self._found: list[Hold | Contact] = []
        self._holds = 0
        self._load_N = 0.0
        self._level: deque[float] = deque()
        self._level_frames = 0
        self._quiet_from = 0
        self._is_doubtful = False
        self._touch: Touch | None = None
        self._actions: dict[str, Callable[[Frame], None]] = {
            name: getattr(self, f"_do_{name}")
            for row in TABLE.values()
            for name, _ in row.values()
        }

    def feed(self, block: ForceBlock) -> list[Hold | Contact]:
        """Take in readings.

        Args:
            block: calibrated force; numbers go on from the last block, lost ones left out.

        Returns:
            What was finished by them, in order.
        """
        if not len(block):
            return []
        rows = rows_of(block)
        if not len(rows):
            return []
        if self._intake is None:
            self._set_rate(block.rate_hz, rows.shape[1])
        elif frame_length(block.rate_hz) != self._length and not (
            0.5 < block.rate_hz / self._rate_hz < 2.0
        ):
            self._break_run()
            self._set_rate(block.rate_hz, rows.shape[1])
        self._calibration = (block.calibration, block.dof_common)
        cuts = breaks(rows, self._last_row, self._rate_hz)
        begin = 0
        for cut in [*cuts, len(rows)]:
            if cut > begin:
                self._add(rows[begin:cut])
            if cut < len(rows):
                self._break_run()
            begin = cut
        self._last_row = rows[-1]
        return self._hand_out()

    def finish(self) -> list[Hold | Contact]:
        """Say that nothing more comes.

        Returns:
            What was under way: a hold that was still held has no release.
        """
        if self._intake is not None:
            self._drain()
            if self._touch is not None:
                self._step(Sight.GAP, self._no_frame())
            self._touch = None
        return self._hand_out()

    def watch(self) -> Watch:
        """Return the state of things for the live screen."""
        touch = self._touch
        zero = self._zero
        pressed = self._state in (State.TOUCHED, State.HOLDING)
        peak_N = None
        if touch is not None and self._intake is not None:
            # a spike stands alone: two readings in a row must be this high
            pending = self._intake.pending() - zero.zero_N
            pairs = np.minimum(pending[:-1], pending[1:])
            peak_N = max(touch.peak_N, float(pairs.max()) if pressed and len(pairs) else 0.0)
        holding = touch is not None and touch.body is not None
        return Watch(
            state=self._state,
            zero_N=zero.zero_N + self._live_shift(),
            noise_N=zero.noise_N,
            u_zero_N=zero.u_N,
            is_touched=pressed,
            is_holding=self._state is State.HOLDING,
            onset_s=touch.start_s if touch is not None else None,
            peak_N=peak_N,
            level_N=touch.level() if touch is not None and holding else None,
        )

    # --- readings to frames -------------------------------------------------------------

    def _set_rate(self, rate_hz: float, columns: int) -> None:
        self._rate_hz = rate_hz
        self._length = frame_length(rate_hz)
        self._frame_s = self._length / rate_hz
        self._look = 1 if rate_hz < 40.0 else 3
        self._columns = columns
        known_N = self._zero.zero_N
        self._zero = ZeroTracker(self._frame_s, self._length)
        if self._state is not State.START:
            self._zero.step_to(known_N, 1)
        self._intake = self._new_intake()
        # the release may lie half a frame before the first frame that is low
        spare_s = ANSWER_S - self._look / rate_hz - 1.5 * self._frame_s
        self._answer_frames = max(1, math.floor(spare_s / self._frame_s + 1e-6))

    def _new_intake(self) -> Intake:
        keep = USUAL + 8 + round(1.5 * BRIDGE_S * self._rate_hz)
        return Intake(self._length, self._look, self._columns, keep)

    def _frames(self, seconds: float) -> int:
        return max(1, round(seconds / self._frame_s))

    def _add(self, rows: Floats) -> None:
        for begin in range(0, len(rows), BATCH_ROWS):
            assert self._intake is not None
            self._intake.add(rows[begin : begin + BATCH_ROWS])
            self._run(self._intake.take())

    def _drain(self) -> None:
        assert self._intake is not None
        while (batch := self._intake.take(all_of_it=True)) is not None:
            self._run(batch)

    def _break_run(self) -> None:
        """Deal with a hole too long to be bridged: nothing connects across it."""
        self._drain()
        self._step(Sight.GAP, self._no_frame())
        self._intake = self._new_intake()
        self._kept.clear()
        self._quiet_from = 0

    def _no_frame(self) -> Frame:
        end = self._kept[-1][0] + len(self._kept[-1][1]) if self._kept else 0
        return Frame(end, end, 0.0, 0.0, 0.0, 0.0)

    def _run(self, batch: Batch | None) -> None:
        if batch is None:
            return
        self._kept.append((batch.first, batch.rows))
        starts = batch.rows[:: batch.length, TIME].tolist()
        for k, start_s in enumerate(starts):
            if k in batch.spikes:
                batch.remove_spikes(k, self._is_spike)
            first = batch.first + k * batch.length
            self._see(
                Frame(
                    first,
                    first + batch.length,
                    start_s,
                    batch.mean[k],
                    batch.high[k],
                    batch.within[k],
                    batch.is_seen[k],
                )
            )
        self._trim()

    def _trim(self) -> None:
        end = self._kept[-1][0] + len(self._kept[-1][1])
        oldest = end - round(KEEP_S * self._rate_hz)
        if self._touch is not None:
            oldest = min(oldest, self._touch.first - round(KEEP_S * self._rate_hz))
        while self._kept and self._kept[0][0] + len(self._kept[0][1]) <= oldest:
            self._kept.popleft()

    def _is_spike(self, line_N: float, off_N: float, width: int) -> bool:
        if self._state is State.START:
            return abs(off_N) > TAP_CEILING_N
        force_N = line_N - self._zero.zero_N
        if abs(off_N) <= max(SPIKE_SD * self._zero.noise_N, SPIKE_SHARE * abs(force_N)):
            return False
        is_at_rest = abs(force_N) <= self._zero.touch_N
        return width == 1 or not (is_at_rest and 0.0 < off_N < TAP_CEILING_N)

    # --- frames through the table -------------------------------------------------------

    def _see(self, frame: Frame) -> None:
        self._step(self._sight(frame), frame)
        if self._is_ripe():
            self._step(Sight.RIPE, frame)

    def _step(self, sight: Sight, frame: Frame) -> None:
        action, following = TABLE[self._state][sight]
        self._actions[action](frame)
        self._state = following

    def _sight(self, frame: Frame) -> Sight:
        if self._state is State.START:
            return Sight.NEAR
        force_N = frame.raw_N - self._zero.zero_N
        touch_N = self._zero.touch_N
        if force_N < -touch_N:
            return Sight.UNDER
        if force_N <= touch_N:
            return Sight.NEAR
        if self._is_surge(force_N):
            return Sight.SURGE
        touch = self._touch
        if touch is None or touch.body is None:
            return Sight.HIGH
        # the level is never above the peak: most frames need no median
        half_N = 0.5 * (touch.body_peak_N + touch.base_N)
        is_high = force_N >= half_N or force_N >= 0.5 * (touch.level() + touch.base_N)
        return Sight.HIGH if is_high else Sight.LOW

    def _is_surge(self, force_N: float) -> bool:
        """Say whether a frame rises of its own above a load that was there.

        From a resting load: more than 0.6 of it above the least of the last second (waver of a
        hand is less). From a hold: it more than doubles after 0.7 s, so what was before is
        less than half and cannot belong to it; or it leaves a level that lay still for 1 s.
        """
        if self._state is State.LOADED:
            least_N = min(self._level, default=math.inf) - self._zero.zero_N
            rise_N = max(self._zero.touch_N, REST_FLOOR_N, REST_SHARE * abs(least_N))
            return force_N > least_N + rise_N
        touch = self._touch
        if self._state is not State.HOLDING or touch is None:
            return False
        if len(touch.means_N) * self._frame_s < LEAN_S or force_N < touch.body_peak_N:
            return False
        level_N = touch.level() - touch.base_N
        own_N = force_N - touch.base_N
        if own_N > 2.0 * level_N + self._zero.touch_N:
            return True
        if level_N > MOVED_CEILING_N or own_N < level_N + max(HOLD_FLOOR_N, self._zero.touch_N):
            return False
        return self._zero.is_flat(self._plateau(touch)) and self._is_still_enough(touch)

    def _is_still_enough(self, touch: Touch) -> bool:
        return len(self._plateau(touch)) >= self._frames(FLAT_S)

    def _plateau(self, touch: Touch) -> list[float]:
        """Return the last second of frames before the force rose above its level [N]."""
        limit_N = touch.level() + 0.5 * max(self._zero.touch_N, HOLD_FLOOR_N)
        end = len(touch.means_N)
        while end > 1 and touch.means_N[end - 1] > limit_N:
            end -= 1
        begin = max(end - self._frames(FLAT_S), touch.body or 0)
        return touch.means_N[begin:end]

    def _is_ripe(self) -> bool:
        touch, state = self._touch, self._state
        if touch is not None:
            return self._is_touch_ripe(touch)
        if state is State.START:
            enough = max(2, self._frames(START_S))
            return len(self._level) >= enough
        if state in (State.LOADED, State.LOWERED):
            return self._is_settled()
        return False

    def _is_touch_ripe(self, touch: Touch) -> bool:
        if self._state is State.TOUCHED:
            frames = self._qualifying_frames()
            window = touch.means_N[-frames:]
            own_N = median(window) - touch.base_N
            return (
                len(window) >= frames
                and min(window) - touch.base_N >= max(0.5 * own_N, 0.5 * self._zero.touch_N)
            ) or len(touch.means_N) * self._frame_s > LONGEST_S
        if self._state is State.TAPPED:
            return touch.waiting >= self._frames(TAP_WAIT_S)
        if self._state is State.RELEASED:
            return touch.waiting > self._answer_frames
        seconds = len(touch.means_N) * self._frame_s
        if seconds > LONGEST_S:
            return True
        still = self._frames(STILL_S)
        return len(touch.means_N) % still == 0 and self._zero.is_flat(touch.means_N[-still:])

    def _is_settled(self) -> bool:
        """Say whether a level off zero is a zero that has moved."""
        frames = len(self._level)
        if not frames:
            return False
        level_N = fmean(self._level) - self._zero.zero_N
        if self._state is State.LOWERED:
            enough_s = LOWERED_S if self._zero.is_young else FLAT_S
            if frames < self._frames(enough_s):
                return False
            return self._level_frames >= self._frames(FLAT_UNSURE_S) or self._zero.is_flat(
                list(self._level)
            )
        sure = self._zero.could_tell_hand(level_N)
        enough = self._frames(FLAT_S if sure else FLAT_UNSURE_S)
        if frames < self._frames(FLAT_S) or self._level_frames < enough:
            return False
        return self._zero.is_flat(list(self._level))

    def _live_shift(self) -> float:
        """Return how far the zero seems to have moved under a contact that lies still [N]."""
        touch = self._touch
        if touch is None or self._state is not State.HOLDING:
            return 0.0
        means = touch.means_N[-self._frames(FLAT_S) :]
        level_N = fmean(means)
        seen = len(means) >= self._frames(FLAT_S) and level_N < 0.5 * MOVED_CEILING_N
        if seen and self._zero.could_tell_hand(level_N) and self._zero.is_flat(means):
            return level_N
        return 0.0

    # --- actions: one for each entry of the table -----------------------------------------

    def _do_collect(self, frame: Frame) -> None:
        if not frame.is_seen:
            return
        self._level.append(frame.raw_N)
        self._level_frames += 1
        most = FLAT_S
        if self._state is State.LOADED and self._level_frames > self._frames(FLAT_UNSURE_S):
            most = FLAT_S if self._could_tell() else FLAT_UNSURE_S
        elif self._state is State.LOADED and not self._could_tell():
            most = FLAT_UNSURE_S
        while len(self._level) > self._frames(most):
            self._level.popleft()
        if self._state is State.START:
            self._zero.learn_noise(frame.raw_N, frame.within_var)

    def _could_tell(self) -> bool:
        return self._zero.could_tell_hand(fmean(self._level) - self._zero.zero_N)

    def _do_recollect(self, frame: Frame) -> None:
        self._do_drop_level(frame)
        self._do_collect(frame)

    def _do_drop_level(self, _: Frame) -> None:
        self._level.clear()
        self._level_frames = 0

    def _do_adopt_zero(self, frame: Frame) -> None:
        self._zero.step_to(median(self._level), len(self._level))
        self._do_drop_level(frame)

    def _do_follow(self, frame: Frame) -> None:
        if not frame.is_seen:
            return
        self._zero.follow(frame.raw_N, frame.within_var)
        if self._is_doubtful and frame.last * self._frame_s > LOWERED_S * self._length:
            self._is_doubtful = False

    def _do_doubt(self, _: Frame) -> None:
        self._is_doubtful = True

    def _do_begin(self, frame: Frame) -> None:
        self._zero.leave_rest()
        self._touch = Touch(frame.first, self._quiet_from, frame.start_s, 0.0)
        self._touch.sure = not self._is_doubtful
        self._is_doubtful = False
        self._do_extend(frame)

    def _do_begin_from_load(self, frame: Frame) -> None:
        level = list(self._level)
        half_s = self._frames(HOLD_S)
        recent = level[-half_s:]
        base_N = fmean(recent) - self._zero.zero_N if recent else 0.0
        if level and self._zero.is_flat(level) and abs(base_N) < MOVED_CEILING_N:
            # it may have been the ball that moved; there was no time to tell
            self._zero.extra_u_N = max(self._zero.extra_u_N, abs(base_N) / math.sqrt(3.0))
        quiet_from = frame.first - len(level) * self._length
        self._zero.leave_rest()
        self._touch = Touch(frame.first, quiet_from, frame.start_s, base_N, sure=bool(level))
        self._do_drop_level(frame)
        self._do_extend(frame)

    def _do_begin_from_below(self, frame: Frame) -> None:
        level = list(self._level)
        is_steady = self._zero.is_young or self._zero.is_flat(level)
        if is_steady and len(level) >= self._frames(LOWERED_S):
            self._zero.step_to(median(self._level), len(self._level))
            self._quiet_from = frame.first - len(self._level) * self._length
        self._do_drop_level(frame)
        self._do_begin(frame)

    def _do_begin_again(self, frame: Frame) -> None:
        touch = self._need_touch()
        plateau = self._plateau(touch)
        level_N = fmean(plateau) if plateau else touch.base_N
        frames_back = len(touch.means_N) - self._plateau_end(touch)
        first = frame.first - frames_back * self._length
        is_ball = (
            abs(level_N) < MOVED_CEILING_N
            and self._is_still_enough(touch)
            and self._zero.is_flat(plateau)
        )
        if is_ball:
            self._zero.step_to(self._zero.zero_N + level_N, len(plateau))
            if not self._zero.could_tell_hand(level_N):
                self._zero.extra_u_N = abs(level_N) / math.sqrt(12.0)
        again = Touch(
            first,
            first - len(plateau) * self._length,
            frame.start_s,
            0.0 if is_ball else level_N,
        )
        carried = touch.means_N[self._plateau_end(touch) :]
        for mean_N in carried:
            again.take(mean_N - (level_N if is_ball else 0.0), mean_N)
        self._touch = again
        self._do_extend(frame)

    def _plateau_end(self, touch: Touch) -> int:
        limit_N = touch.level() + 0.5 * max(self._zero.touch_N, HOLD_FLOOR_N)
        end = len(touch.means_N)
        while end > 1 and touch.means_N[end - 1] > limit_N:
            end -= 1
        return end

    def _need_touch(self) -> Touch:
        assert self._touch is not None
        return self._touch

    def _do_extend(self, frame: Frame) -> None:
        touch = self._need_touch()
        force_N = frame.raw_N - self._zero.zero_N
        touch.take(force_N, frame.high_N - self._zero.zero_N)
        if self._state is State.RELEASED and touch.body is not None:
            is_pressed = force_N >= 0.5 * (touch.level() + touch.base_N)
        else:
            is_pressed = force_N > self._zero.touch_N
        touch.waiting = 0 if is_pressed else touch.waiting + 1

    def _do_fall(self, frame: Frame) -> None:
        self._do_extend(frame)
        self._need_touch().waiting = 1

    def _do_qualify(self, _: Frame) -> None:
        touch = self._need_touch()
        body = max(0, len(touch.means_N) - self._qualifying_frames())
        window = touch.means_N[body:]
        # a hit before the push has a level of its own, which is not that of the hold
        limit_N = touch.base_N + HIT_SHARE * (median(window) - touch.base_N)
        if max(window[-3:]) <= limit_N:
            while max(touch.means_N[body:]) > limit_N:
                body += 1
        touch.body = body
        touch.body_peak_N = max(touch.means_N[body:])

    def _qualifying_frames(self) -> int:
        """Count the frames HOLD_S surely holds, however it lies to the frames."""
        return max(2, self._frames(HOLD_S) - (1 if self._length > 1 else 0))

    def _do_come_to_rest(self, frame: Frame) -> None:
        self._do_drop_level(frame)
        self._quiet_from = frame.first
        self._zero.return_to_rest(self._load_N)
        self._do_follow(frame)

    def _do_move_zero(self, frame: Frame) -> None:
        before_N = self._zero.zero_N
        level = list(self._level)
        was_young = self._zero.is_young
        self._quiet_from = frame.last - len(level) * self._length
        self._zero.step_to(fmean(level), len(level))
        if was_young and self._state is State.LOWERED:
            self._zero.forget_noise()
        elif self._state is State.LOADED and not self._zero.could_tell_hand(
            fmean(level) - before_N
        ):
            self._zero.extra_u_N = abs(fmean(level) - before_N) / math.sqrt(12.0)
        self._do_drop_level(frame)

    # --- the end of a contact -----------------------------------------------------------

    def _do_end_contact(self, frame: Frame) -> None:
        touch = self._need_touch()
        end_s = self._time_of(frame.last) - touch.waiting * self._frame_s
        self._close(touch)
        if touch.peak_N >= max(LIST_FLOOR_N, HOLD_SD * self._zero.noise_N):
            self._found.append(
                Contact(touch.start_s, end_s, touch.peak_N, "shorter than 0.5 s, so no hold")
            )

    def _do_give_up(self, frame: Frame) -> None:
        touch = self._need_touch()
        end_s = self._time_of(frame.last)
        self._close(touch)
        reason = "lay still for longer than a hand can, so the ball or the mounting moved"
        if len(touch.means_N) * self._frame_s > LONGEST_S:
            reason = f"longer than {LONGEST_S:.0f} s, so no hold"
        self._found.append(Contact(touch.start_s, end_s, touch.peak_N, reason))

    def _do_end_hold(self, frame: Frame) -> None:
        touch = self._need_touch()
        found = self._cut(touch, frame.last)
        self._close(touch)
        self._found.append(found)

    def _close(self, touch: Touch) -> None:
        self._touch = None
        self._load_N = touch.body_peak_N
        self._level.clear()
        self._level_frames = 0

    def _time_of(self, position: int) -> float:
        first, rows = self._kept[-1]
        index = min(max(position - 1 - first, 0), len(rows) - 1)
        return float(rows[index, TIME])

    def _cut(self, touch: Touch, end: int) -> Hold | Contact:
        """Apply the definitions to the readings of a contact that is over."""
        readings = self._readings(touch, end)
        time_s, force_N = readings.time_s, readings.force_N
        onset = refine.find_onset(readings, touch.body_peak_N)
        inside = force_N[readings.begin :]
        level_N = refine.find_level(inside, touch.base_N, touch.body_peak_N)
        rest_N = touch.means_N[-1]
        half_N = 0.5 * level_N if rest_N < 0.4 * level_N else 0.5 * (level_N + touch.base_N)
        release_s = refine.find_release(time_s, force_N, half_N)
        why = self._why_no_hold(touch, inside, time_s[readings.begin :], half_N, release_s)
        end_s = release_s if release_s is not None else float(time_s[-1])
        if why:
            return Contact(onset.at_s, end_s, touch.peak_N, why)
        self._holds += 1
        held = (time_s >= onset.at_s) & (time_s <= end_s)
        return Hold(
            number=self._holds,
            force=refine.block_of(readings, onset.at_s - refine.BEFORE_S, *self._calibration),
            onset_s=onset.at_s,
            release_s=release_s,
            level_N=level_N,
            baseline_N=onset.baseline_N,
            noise_N=onset.noise_N,
            u_zero_N=self._u_zero(touch),
            settling_s=self._settling_s,
            lost=int(readings.rows[held, MISSING].sum()),
            onset_sure=onset.is_sure and touch.sure,
        )

    def _u_zero(self, touch: Touch) -> float:
        """Combine the noise of the zero with what it drifted by during the hold [N].

        The drift is a rectangle from nothing to what is left after the release.
        """
        left_N = touch.means_N[-1] - touch.base_N
        drift_N = abs(left_N) / math.sqrt(3.0) if abs(left_N) <= self._zero.touch_N else 0.0
        return math.hypot(self._zero.u_N, drift_N)

    def _why_no_hold(
        self,
        touch: Touch,
        inside: Floats,
        time_s: Floats,
        half_N: float,
        release_s: float | None,
    ) -> str:
        """Return why a contact is no hold after all; empty if it is one."""
        least_N = max(HOLD_FLOOR_N, HOLD_SD * self._zero.frame_noise_N)
        if touch.body_peak_N - touch.base_N < least_N:
            return f"lighter than {least_N:.0f} N, so no hold"
        over = np.flatnonzero(inside >= half_N)
        end_s = release_s if release_s is not None else float(time_s[-1])
        begin_s = float(time_s[over[0]]) if len(over) else end_s
        if end_s - begin_s < HOLD_S - 0.75 / self._rate_hz:
            return "shorter than 0.5 s, so no hold"
        return ""

    def _readings(self, touch: Touch, end: int) -> refine.Readings:
        start = max(0, min(touch.first, end) - round(KEEP_S * self._rate_hz))
        parts = [rows[: max(0, end - first)] for first, rows in self._kept]
        rows = np.vstack([part for part in parts if len(part)])
        begin = self._kept[0][0]
        skip = max(0, start - begin)
        rows = rows[skip:]
        offset = begin + skip
        return refine.Readings(
            rows=rows,
            force_N=rows[:, FORCE] - self._zero.zero_N,
            begin=max(0, touch.first - self._length - offset),
            quiet_from=max(0, touch.quiet_from - offset),
            base_N=touch.base_N,
            noise_N=self._zero.noise_N,
            rate_hz=self._rate_hz,
        )

    def _hand_out(self) -> list[Hold | Contact]:
        found, self._found = self._found, []
        return found
