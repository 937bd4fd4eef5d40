"""The state machine: frames in, ends of contacts out; the theory stands in `table`."""

from __future__ import annotations

import math
from statistics import fmean, median
from typing import TYPE_CHECKING

from strikebridge.holds.frames import FRAME_S
from strikebridge.holds.level import FLAT_S, LOWERED_S, Level, flat_frames
from strikebridge.holds.pull import MOVED_CEILING_N, PullTally
from strikebridge.holds.spikes import SLOW_SPIKE_SHARE, SPIKE_SD, SPIKE_SHARE, TAP_CEILING_N
from strikebridge.holds.table import TABLE, Sight, State
from strikebridge.holds.touch import Frame, Touch
from strikebridge.holds.zero import TOUCH_FLOOR_N, ZeroTracker

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

START_S = 0.15
HOLD_S = 0.5  # shortest hold, above half of its own level
HOLD_FLOOR_N = 25.0  # half of the weakest athlete this is made for
TAP_WAIT_S = 0.4  # touch and push closer together than this are one hold
LONGEST_S = 90.0  # nobody holds a maximal punch this long; bounds the memory
STILL_S = 30.0
LEAN_S = 0.8  # a load this long before the push is a lean, a shorter one a stage of the push
HIT_SHARE = 1.6  # of the middle of half a second: more is a hit, the rest the push
REST_SHARE = 0.6  # a rise of its own exceeds the lean before it by this share
REST_FLOOR_N = 12.0


class Machine:
    """Walk through the state table, frame by frame.

    Args:
        on_end: called when a contact is over, with the contact, the position after its last
            frame, and why it is no hold (empty if it may be one); the zero is then still that
            of the contact.

    Attributes:
        state: where it is in the table.
        zero: zero and noise.
        pulls: pushes with the sign turned.
        touch: the contact under way, or None.
    """

    def __init__(self, on_end: Callable[[Touch, int, str], None]) -> None:
        self.state = State.START
        self.touch: Touch | None = None
        self.length = 1
        self.frame_s = FRAME_S
        self.answer_frames = 1
        self.pulls = PullTally()
        self.zero = ZeroTracker(self.frame_s, self.length)
        self._on_end = on_end
        self._load_N = 0.0
        self._level = Level()
        self._quiet_from = 0
        self._is_doubtful = False
        self._actions: dict[str, Callable[[Frame], None]] = {
            name: getattr(self, f"_do_{name}")
            for row in TABLE.values()
            for name, _ in row.values()
        }

    def set_rate(self, length: int, rate_hz: float, answer_s: float) -> None:
        """Say how long a frame is; the zero is kept, the noise is learned anew.

        Args:
            length: readings per frame.
            rate_hz: sampling rate [1/s].
            answer_s: how long after a release a hold may be handed out, what the spike test
                waits for taken off [s].
        """
        zero_N = self.zero.zero_N
        self.length = length
        self.frame_s = length / rate_hz
        self.zero = ZeroTracker(self.frame_s, length)
        if self.state is not State.START:
            self.zero.step_to(zero_N, 1)
        # the release may lie a frame and a half before the end of the first frame that is low
        spare_s = answer_s - 1.5 * self.frame_s
        self.answer_frames = max(1, math.floor(spare_s / self.frame_s + 1e-6))

    def begin_run(self) -> None:
        """Note that positions count from zero again."""
        self._quiet_from = 0

    def _frames(self, seconds: float) -> int:
        return max(1, round(seconds / self.frame_s))

    def is_spike(self, line_N: float, off_N: float, width: int) -> bool:
        """Decide on a suspect.

        Args:
            line_N: the line through its neighbours there, zero not taken off [N].
            off_N: least deviation from that line, sign kept [N].
            width: how many readings.

        Returns:
            True if these readings are missing data.
        """
        if self.state is State.START:
            return width == 1 or abs(off_N) > TAP_CEILING_N
        force_N = line_N - self.zero.zero_N
        share = SPIKE_SHARE if self.length > 1 else SLOW_SPIKE_SHARE
        if abs(off_N) <= max(SPIKE_SD * self.zero.noise_N, share * abs(force_N)):
            return False
        is_at_rest = abs(force_N) <= self.zero.touch_N
        return width == 1 or not (is_at_rest and 0.0 < off_N < TAP_CEILING_N)

    def see(self, frame: Frame) -> None:
        """Take in a frame."""
        sight = self._sight(frame)
        if sight is Sight.UNDER:
            self.pulls.take(frame.raw_N)
        else:
            self.pulls.end(frame.start_s, self.zero, is_back=True)
        self.step(sight, frame)
        if self._is_ripe():
            self.step(Sight.RIPE, frame)

    def rest(
        self, means_N: Sequence[float], within_vars: Sequence[float], plain: Sequence[bool]
    ) -> int:
        """Take in frames for as long as nothing happens, as `see` would, but many at once.

        Args:
            means_N: mean force of each, zero not taken off [N].
            within_vars: variance inside each [N2].
            plain: False where a frame holds a suspect or no reading.

        Returns:
            How many were taken in; the next one is for `see`.
        """
        if self.state is not State.REST or self._is_doubtful:
            return 0
        return self.zero.follow_many(means_N, within_vars, plain)

    def step(self, sight: Sight, frame: Frame) -> None:
        """Take one step through the table.

        Args:
            sight: what was seen.
            frame: where; for GAP only its position counts.
        """
        action, following = TABLE[self.state][sight]
        self._actions[action](frame)
        self.state = following

    def _sight(self, frame: Frame) -> Sight:
        if self.state is State.START:
            return Sight.NEAR
        force_N = frame.raw_N - self.zero.zero_N
        touch_N = self.zero.touch_N
        if force_N < -touch_N:
            return Sight.UNDER
        if force_N <= touch_N:
            return Sight.NEAR
        if self._is_surge(force_N):
            return Sight.SURGE
        touch = self.touch
        if touch is None or touch.body is None:
            return Sight.HIGH
        # the level is never above the peak: most frames need no median
        half_N = 0.5 * (touch.body_peak_N + touch.base_N)
        is_high = force_N >= half_N or force_N >= 0.5 * (touch.level() + touch.base_N)
        return Sight.HIGH if is_high else Sight.LOW

    def _is_surge(self, force_N: float) -> bool:
        """Say whether a frame rises of its own above a load that was there.

        From a resting load: more than 0.6 of it above the least of the last second (waver of a
        hand is less). From a hold: it more than doubles after 0.8 s, so what was before is
        less than half and cannot belong to it; or it leaves a level that lay still for 1 s.
        """
        if self.state is State.LOADED:
            least_N = min(self._level.means_N, default=math.inf) - self.zero.zero_N
            rise_N = max(self.zero.touch_N, REST_FLOOR_N, REST_SHARE * abs(least_N))
            return force_N > least_N + rise_N
        touch = self.touch
        if self.state is not State.HOLDING or touch is None:
            return False
        if len(touch.means_N) * self.frame_s < LEAN_S or force_N < touch.body_peak_N:
            return False
        own_N = force_N - touch.base_N
        if own_N > 2.0 * (touch.level() - touch.base_N) + self.zero.touch_N:
            return True
        if touch.still is None:
            return False
        return force_N > touch.still[1] + max(HOLD_FLOOR_N, self.zero.touch_N)

    def _is_ripe(self) -> bool:
        touch, state = self.touch, self.state
        if touch is not None:
            return self._is_touch_ripe(touch)
        if state is State.START:
            return self._has_start()
        if state is State.LOADED:
            return self._level.is_moved_zero(self.zero)
        return state is State.LOWERED and self._level.is_lowered_zero(self.zero)

    def _has_start(self) -> bool:
        """Say whether the first frames agree, or a second of them has come."""
        last = list(self._level.means_N)[-max(3, self._frames(START_S)) :]
        if len(last) < max(3, self._frames(START_S)):
            return False
        limit_N = max(TOUCH_FLOOR_N, 4.0 * self.zero.noise_N / math.sqrt(self.length))
        return max(last) - min(last) <= limit_N or len(self._level.means_N) >= self._frames(
            FLAT_S
        )

    def _is_touch_ripe(self, touch: Touch) -> bool:
        if self.state is State.TOUCHED:
            frames = self._qualifying_frames()
            window = touch.means_N[-frames:]
            own_N = median(window) - touch.base_N
            return (
                len(window) >= frames
                and min(window) - touch.base_N >= max(0.5 * own_N, 0.5 * self.zero.touch_N)
            ) or len(touch.means_N) * self.frame_s > LONGEST_S
        if self.state is State.TAPPED:
            return touch.waiting >= self._frames(TAP_WAIT_S)
        if self.state is State.RELEASED:
            return touch.waiting > self.answer_frames
        seconds = len(touch.means_N) * self.frame_s
        if seconds > LONGEST_S:
            return True
        still = self._frames(STILL_S)
        return len(touch.means_N) % still == 0 and self.zero.is_flat(touch.means_N[-still:])

    def live_shift(self) -> float:
        """Return how far the zero seems to have moved under a contact that lies still [N]."""
        touch = self.touch
        if touch is None or self.state is not State.HOLDING:
            return 0.0
        level_N = touch.still_level(self.zero)
        is_ball = level_N is not None and level_N < 0.5 * MOVED_CEILING_N
        return level_N if level_N is not None and is_ball else 0.0

    def _do_collect(self, frame: Frame) -> None:
        if not frame.is_seen:
            return
        self._level.take(frame.raw_N, self.zero, is_load=self.state is State.LOADED)
        if self.state is State.START:
            self.zero.learn_noise(frame.raw_N, frame.within_var)

    def _do_recollect(self, frame: Frame) -> None:
        self._do_drop_level(frame)
        self._do_collect(frame)

    def _do_drop_level(self, _: Frame) -> None:
        self._level.drop()

    def _do_adopt_zero(self, frame: Frame) -> None:
        last = list(self._level.means_N)[-max(3, self._frames(START_S)) :]
        agree = max(last) - min(last) <= TOUCH_FLOOR_N
        self.zero.step_to(median(last if agree else self._level.means_N), len(last))
        self._do_drop_level(frame)

    def _do_follow(self, frame: Frame) -> None:
        if not frame.is_seen:
            return
        self.zero.follow(frame.raw_N, frame.within_var)
        if self._is_doubtful and frame.last * self.frame_s > LOWERED_S * self.length:
            self._is_doubtful = False

    def _do_doubt(self, _: Frame) -> None:
        self._is_doubtful = True

    def _do_begin(self, frame: Frame) -> None:
        self.zero.leave_rest()
        self.touch = Touch(frame.first, self._quiet_from, frame.start_s, 0.0)
        self.touch.sure = not self._is_doubtful
        self._is_doubtful = False
        self._do_extend(frame)

    def _do_begin_from_load(self, frame: Frame) -> None:
        # the rise may have begun in the frame before
        level = list(self._level.means_N)[:-1] or list(self._level.means_N)
        half_s = self._frames(HOLD_S)
        recent = level[-half_s:]
        base_N = fmean(recent) - self.zero.zero_N if recent else 0.0
        if level and self.zero.is_flat(level) and abs(base_N) < MOVED_CEILING_N:
            # it may have been the ball that moved; there was no time to tell
            self.zero.extra_u_N = max(self.zero.extra_u_N, abs(base_N) / math.sqrt(3.0))
        quiet_from = frame.first - len(level) * self.length
        self.zero.leave_rest()
        self.touch = Touch(frame.first, quiet_from, frame.start_s, base_N, sure=bool(level))
        self._do_drop_level(frame)
        self._do_extend(frame)

    def _do_begin_from_below(self, frame: Frame) -> None:
        level = list(self._level.means_N)
        is_steady = self.zero.is_young or self.zero.is_flat(level)
        if is_steady and len(level) >= self._frames(LOWERED_S):
            self.zero.step_to(median(level), len(self._level.means_N))
            self._quiet_from = frame.first - len(self._level.means_N) * self.length
        self._do_drop_level(frame)
        self._do_begin(frame)

    def _do_begin_again(self, frame: Frame) -> None:
        touch = self._need_touch()
        is_ball = touch.still is not None
        slack_N = 0.5 * max(self.zero.touch_N, HOLD_FLOOR_N)
        end = touch.still[0] if touch.still is not None else touch.plateau_end(slack_N)
        plateau = touch.means_N[max(0, end - flat_frames(self.zero)) : end]
        level_N = touch.still[1] if touch.still is not None else fmean(plateau)
        first = frame.first - (len(touch.means_N) - end) * self.length
        if is_ball:
            self.zero.step_to(self.zero.zero_N + level_N, len(plateau))
            if not self.zero.could_tell_hand(level_N):
                self.zero.extra_u_N = abs(level_N) / math.sqrt(12.0)
        again = Touch(
            first,
            first - len(plateau) * self.length,
            frame.start_s,
            0.0 if is_ball else level_N,
        )
        for mean_N in touch.means_N[end:]:
            again.take(mean_N - (level_N if is_ball else 0.0), mean_N)
        self.touch = again
        self._do_extend(frame)

    def _need_touch(self) -> Touch:
        assert self.touch is not None
        return self.touch

    def _do_extend(self, frame: Frame) -> None:
        touch = self._need_touch()
        force_N = frame.raw_N - self.zero.zero_N
        touch.take(force_N, frame.high_N - self.zero.zero_N)
        if self.state is State.HOLDING:
            touch.look_for_still(self.zero)
        if self.state is State.RELEASED and touch.body is not None:
            is_pressed = force_N >= 0.5 * (touch.level() + touch.base_N)
        else:
            is_pressed = force_N > self.zero.touch_N
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
        return max(2, self._frames(HOLD_S) - (1 if self.length > 1 else 0))

    def _do_come_to_rest(self, frame: Frame) -> None:
        self._do_drop_level(frame)
        self._quiet_from = frame.first
        self.zero.return_to_rest(self._load_N)
        self._do_follow(frame)

    def _do_move_zero(self, frame: Frame) -> None:
        self.pulls.end(frame.start_s, self.zero, is_back=False)
        before_N = self.zero.zero_N
        level = list(self._level.means_N)
        was_young = self.zero.is_young
        self._quiet_from = frame.last - len(level) * self.length
        self.zero.step_to(fmean(level), len(level))
        if was_young and self.state is State.LOWERED:
            self.zero.forget_noise()
        elif self.state is State.LOADED and not self.zero.could_tell_hand(
            fmean(level) - before_N
        ):
            self.zero.extra_u_N = abs(fmean(level) - before_N) / math.sqrt(12.0)
        self._do_drop_level(frame)

    def _do_end_contact(self, frame: Frame) -> None:
        self._end(frame, "shorter than 0.5 s, so no hold")

    def _do_lose_contact(self, frame: Frame) -> None:
        self._do_end_contact(frame)
        self._do_doubt(frame)

    def _do_give_up(self, frame: Frame) -> None:
        reason = "lay still for longer than a hand can, so the ball or the mounting moved"
        if len(self._need_touch().means_N) * self.frame_s > LONGEST_S:
            reason = f"longer than {LONGEST_S:.0f} s, so no hold"
        self._end(frame, reason)

    def _do_end_hold(self, frame: Frame) -> None:
        self._end(frame, "")

    def _end(self, frame: Frame, reason: str) -> None:
        """Hand the contact over while the zero is still that of the contact."""
        touch = self._need_touch()
        self._on_end(touch, frame.last, reason)
        self.touch = None
        self._load_N = touch.body_peak_N
        self._do_drop_level(frame)
