"""What may be shown now: the running trace, the rep under way, the last result, as one Glance.

No clock and no thread: the station feeds it and asks for a Glance after each step.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.rating import Strain
from strikebridge.glance import EMPTY_TRACE, Glance, Phase, Trace
from strikebridge.measures import against_best, bricks, difference, largest
from strikebridge.verdict.words import BACKWARDS_WALL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.glance import Trouble
    from strikebridge.holds import Watch
    from strikebridge.samples import Floats, ForceBlock, MeasureValue, Prescription, Rep
    from strikebridge.session.conductor import Leading
    from strikebridge.units import ForceUnit

TRACE_S = 10.0
LONGEST_RATE_HZ = 1000.0
RISE_S = 0.5  # the part of the rise that stays on the wall after a rep
BACKWARDS_S = 60.0  # how long after a push that reads as a pull the wall says so
STALE_S = 0.5  # or so many sample periods, whichever is longer
STALE_PERIODS = 5.0
SNAP_WORDS = {"snap": True, "ramp": False, "two-stage": False}  # others: not measurable


class TraceRing:
    """The last samples, each written twice in a ring of double length: each window a slice."""

    def __init__(self, capacity: int) -> None:
        """Make room.

        Args:
            capacity: samples that a window may hold.
        """
        self._capacity = capacity
        self._time_s = np.zeros(2 * capacity)
        self._force_N = np.zeros(2 * capacity)
        self._written = 0
        self._newest_s = 0.0  # also of a sample that is no force

    def add(self, time_s: Floats, force_N: Floats) -> None:
        """Append samples; those that are no force are left out.

        Args:
            time_s: times [s], shape (n,).
            force_N: forces [N], shape (n,), NaN where unknown.
        """
        if not len(time_s):
            return
        size = self._capacity
        self._newest_s = float(time_s[-1])
        if len(time_s) == 1:
            self._add_one(self._newest_s, float(force_N[0]))
            return
        is_force = np.isfinite(force_N)
        if not is_force.all():
            time_s, force_N = time_s[is_force], force_N[is_force]
        time_s, force_N = time_s[-size:], force_N[-size:]
        at = self._written % size
        room = size - at
        for ring, values in ((self._time_s, time_s), (self._force_N, force_N)):
            ring[at : at + size][: len(values)] = values
            ring[at + size :][: len(values)] = values[:room]
            ring[: max(0, len(values) - room)] = values[room:]
        self._written += len(time_s)

    def _add_one(self, time_s: float, force_N: float) -> None:
        """Append the sample of a line that came alone, as they do live."""
        if not math.isfinite(force_N):
            return
        at = self._written % self._capacity
        for ring, value in ((self._time_s, time_s), (self._force_N, force_N)):
            ring[at] = ring[at + self._capacity] = value
        self._written += 1

    def window(self, seconds_s: float, zero_N: float = 0.0) -> Trace:
        """Copy the newest stretch.

        Args:
            seconds_s: how far back it reaches [s].
            zero_N: what is taken off each force [N].

        Returns:
            A trace of its own, oldest sample first.
        """
        held = min(self._written, self._capacity)
        if held == 0:
            return EMPTY_TRACE
        end = (self._written - 1) % self._capacity + 1 + self._capacity
        time_s = self._time_s[end - held : end]
        first = int(time_s.searchsorted(self._newest_s - seconds_s))
        return Trace(time_s[first:].copy(), self._force_N[end - held + first : end] - zero_N)


class Scoreboard:
    """Collect what a screen may show.

    Attributes:
        remark: one sentence that the coach should know.
        warning: what has to be done before a number can be trusted.
        strain: how the cell stands against its rating, in words.
    """

    def __init__(self, unit: ForceUnit, *, athlete: str = "", exercise: str = "") -> None:
        """Begin empty.

        Args:
            unit: unit the coach chose.
            athlete: name of whose turn it is.
            exercise: the punch in words.
        """
        self.remark = self.warning = self.strain = ""
        self._unit = unit
        self._athlete = athlete
        self._exercise = exercise
        self._ring = TraceRing(int(TRACE_S * LONGEST_RATE_HZ))
        self._rate_hz = 0.0
        self._u_force_N = 0.0
        self._watch: Watch | None = None
        self._shares: tuple[float, ...] = ()
        self._last: Rep | None = None
        self._before: Rep | None = None
        self._best: MeasureValue | None = None
        self._past_best: MeasureValue | None = None
        self._best_words = ""
        self._compared = 0

    def add(self, blocks: Sequence[ForceBlock]) -> None:
        """Take new samples.

        Args:
            blocks: calibrated force, zero not tracked.
        """
        for block in blocks:
            self._ring.add(block.time_s, block.force_N)
            self._rate_hz = block.rate_hz
            self._u_force_N = math.hypot(block.u_own_N[-1], block.u_common_N[-1])

    def see(self, watch: Watch | None, prescription: Prescription) -> None:
        """Take the detector's view of what is under way.

        Args:
            watch: live state of the detector, None before the first force.
            prescription: what was asked for.
        """
        self._watch, self._shares = watch, ()
        if watch is None or watch.onset_s is None or prescription.hold_s is None:
            return
        trace = self._ring.window(TRACE_S, watch.zero_N)
        if len(trace.time_s):
            newest_s, now_N = float(trace.time_s[-1]), float(trace.force_N[-1])
            level_N = now_N if watch.level_N is None else watch.level_N
            self._shares = bricks(trace, watch.onset_s, newest_s, prescription, level_N)

    def turn_to(self, athlete: str, exercise: str, past_best: MeasureValue | None) -> None:
        """Show somebody else, or something else of the same athlete.

        Args:
            athlete: name of whose turn it is.
            exercise: the punch in words.
            past_best: best peak of the days before with this set-up, None without one.
        """
        self._athlete, self._exercise = athlete, exercise
        self._past_best = past_best
        self._compared = -1  # whatever was compared was another's

    def _compare(self, reps: list[Rep]) -> None:
        """See how the last rep that counts compares; one taken back is gone from here."""
        if len(reps) == self._compared and reps[-1:] == [self._last][: len(reps)]:
            return
        self._compared = len(reps)
        self._last = reps[-1] if reps else None
        self._before = reps[-2] if len(reps) > 1 else None
        self._best, self._best_words = self._past_best, ""
        for rep in reps:
            force = shown(rep)
            self._best_words = against_best(force, self._best)
            self._best = largest((self._best, force))

    def glance(
        self,
        conductor: Leading,
        *,
        newest_us: int,
        now_us: int,
        trouble: Trouble | None,
    ) -> Glance:
        """Put together what a screen may show at this moment.

        Args:
            conductor: what happens next.
            newest_us: arrival of the newest bytes [us].
            now_us: the stream's clock [us].
            trouble: what is wrong with the board, None if all is well.

        Returns:
            An immutable Glance.
        """
        self._compare(conductor.reps)
        watch, plan = self._watch, conductor.plan
        trace = self._ring.window(TRACE_S, 0.0 if watch is None else watch.zero_N)
        age_s = (now_us - newest_us) * 1e-6
        is_stale = age_s > max(STALE_S, STALE_PERIODS / self._rate_hz if self._rate_hz else 0.0)
        has_force = not is_stale and len(trace.force_N) > 0
        phase = Phase.WAITING if trouble is not None else conductor.phase
        left_s = conductor.seconds_left(now_us * 1e-6)
        is_late = conductor.phase in (Phase.RESULT, Phase.REST)
        under_way = None if is_late or not len(trace.time_s) else watch
        elapsed_s, hold_s = 0.0, plan.prescription.hold_s
        if under_way is not None and under_way.onset_s is not None:
            elapsed_s = float(trace.time_s[-1]) - under_way.onset_s
            # after an overload the conductor has said that it ends
            if phase is Phase.HOLD and hold_s is not None and not conductor.is_overloaded:
                left_s = max(0.0, hold_s - elapsed_s)
        base = Glance(
            phase=phase,
            newest_us=newest_us,
            age_s=age_s,
            stale=is_stale,
            athlete=self._athlete,
            exercise=self._exercise,
            effort=plan.prescription.effort,
            hold_s=hold_s,
            rep_number=conductor.rep_number,
            rep_total=plan.rep_total,
            seconds_left=left_s,
            force_N=float(trace.force_N[-1]) if has_force else None,
            force_u95_N=self._u95_now_N() if has_force else None,
            peak_N=None if under_way is None else _peak_N(under_way, trace),
            band_N=plan.prescription.band_N,
            target_N=None if self._best is None else self._best.value,
            bricks=() if under_way is None else self._shares,
            elapsed_s=elapsed_s,
            trouble=trouble,
            remark=self.remark,
            warning=self.warning or _backwards(watch, trace),
            strain=Strain.OVER if conductor.is_overloaded else self.strain,
            trace=trace,
            unit=self._unit,
        )
        return self._with_result(base, conductor) if is_late else base

    def _u95_now_N(self) -> float | None:
        watch = self._watch
        if watch is None:
            return None
        return 2.0 * math.hypot(self._u_force_N, watch.noise_N, watch.u_zero_N)

    def _with_result(self, base: Glance, conductor: Leading) -> Glance:
        """Add what is known of the rep just finished."""
        if conductor.no_show:
            return replace(base, sentence="No hold seen. Press go to try again.")
        if self._last is None:
            return base
        rep = self._last
        peak, quality = shown(rep), rep.measures["hold_quality"]
        change_N, change_u95_N = self._change()
        return replace(
            base,
            peak_N=peak.value,
            peak_u95_N=peak.u95,
            bricks=rep.bricks,
            elapsed_s=rep.prescription.hold_s or 0.0,
            quality_percent=quality.value,
            quality_u95_percent=quality.u95,
            sentence=rep.verdict.sentence,
            change_last_N=change_N,
            change_last_u95_N=change_u95_N,
            change_best=self._best_words,
            is_snap=SNAP_WORDS.get(rep.verdict.rise),
            rise=_rise(rep),
        )

    def _change(self) -> tuple[float | None, float | None]:
        if self._last is None or self._before is None:
            return None, None
        last, before = (shown(rep) for rep in (self._last, self._before))
        if last.value is None or before.value is None:
            return None, None
        return difference(last, before)


def _peak_N(watch: Watch, trace: Trace) -> float | None:
    """Give the largest force of the rep under way, also of the readings not yet in a frame."""
    if watch.peak_N is None or watch.onset_s is None:
        return watch.peak_N
    since = trace.force_N[trace.time_s >= watch.onset_s]
    return max(watch.peak_N, float(since.max())) if len(since) else watch.peak_N


def shown(rep: Rep) -> MeasureValue:
    """Say which force of a rep is shown: its peak, or what was held where that was typed.

    A peak that is withheld for another reason is not replaced: a mean beside peaks compares
    unlike with unlike.

    Args:
        rep: a finished rep.
    """
    return rep.measures["hold_mean" if rep.is_typed else "peak_force"]


def _rise(rep: Rep) -> Trace:
    """Cut out the first half second from the onset, time counted from it."""
    force = rep.hold.force
    since_s = force.time_s - rep.hold.onset_s
    part = (since_s >= -1.0 / force.rate_hz) & (since_s <= RISE_S)
    return Trace(since_s[part], force.force_N[part])


def _backwards(watch: Watch | None, trace: Trace) -> str:
    """Say that pushes read as pulls, for a while after the last one."""
    if watch is None or watch.pulled_s is None or not len(trace.time_s):
        return ""
    return BACKWARDS_WALL if trace.time_s[-1] - watch.pulled_s < BACKWARDS_S else ""
