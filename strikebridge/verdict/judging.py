"""The words on rise and hold, applied in their order; the first that applies is said.

Every limit is a `Check`: beyond it, not beyond it, or undecided. A board of 60 readings a
second or more decides by the value. A slower one decides only where the value lies beyond the
limit by more than its uncertainty; and since it cannot see a hold shake, it never calls one
steady.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.samples import Effort, Flag, Verdict
from strikebridge.verdict.limits import DEFAULT_LIMITS, Limits
from strikebridge.verdict.stages import Stage, find_stage
from strikebridge.verdict.words import (
    NOT_MEASURABLE,
    athlete_sentence,
    coach_detail,
    figure,
    weighed,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.samples import Hold, MeasureValue, Prescription


@dataclass(frozen=True, slots=True)
class Check:
    """Whether one word applies.

    Attributes:
        word: the word, also the name of the fault.
        applies: True, False, or None where it cannot be told.
        reason: the numbers behind it, in words.
    """

    word: str
    applies: bool | None
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """All that a verdict rests on.

    Attributes:
        hold: the hold.
        measures: every measure by name.
        prescription: what was asked for.
        limits: limits of the verdict.
        stage: stall of the rise, None for a rise in one go or one not seen.
    """

    hold: Hold
    measures: Mapping[str, MeasureValue]
    prescription: Prescription
    limits: Limits
    stage: Stage | None

    @property
    def is_slow(self) -> bool:
        """Say whether the board is too slow to decide by the value alone."""
        return self.hold.force.rate_hz < self.limits.slowest_hz

    def beyond(self, name: str, limit: float, *, sign: float = 1.0) -> bool | None:
        """Say whether a measure lies beyond a limit.

        Args:
            name: key of the measure.
            limit: the limit, in the unit of the measure.
            sign: 1 where beyond means above, -1 where it means below.

        Returns:
            True, False, or None where it is withheld, or too close on a slow board.
        """
        measured = self.measures[name]
        if measured.value is None:
            return None
        excess = sign * (measured.value - limit)
        if self.is_slow and abs(excess) <= (measured.u95 or 0.0):
            return None
        return excess > 0.0


def judge(
    hold: Hold,
    measures: Mapping[str, MeasureValue],
    prescription: Prescription,
    limits: Limits = DEFAULT_LIMITS,
) -> Verdict:
    """Find the words for a hold.

    Args:
        hold: the hold.
        measures: every measure by name.
        prescription: what was asked for.
        limits: limits, our own convention.

    Returns:
        The verdict.
    """
    is_seen = hold.onset_sure and hold.force.rate_hz >= limits.slowest_hz
    stage = find_stage(hold, limits) if is_seen else None
    case = Case(hold, measures, prescription, limits, stage)
    rise_checks = _rise_checks(case)
    hold_checks = [_early_let_go(case), _sagging(case), _shaky(case), _outside_band(case)]
    rise_word, rise_reason = _rise_word(case, rise_checks)
    hold_word, hold_reason = _hold_word(case, hold_checks)
    checks = [*rise_checks, *hold_checks, *_kit_checks(hold)]
    found = {check.word for check in checks if check.applies}
    if stage is not None and stage.is_double:
        found.add("double hit")
    if rise_word == "ramp":
        found.add("ramp")
    faults = weighed(found, prescription.effort)
    is_near_band = hold_checks[-1].applies is None
    remarks = [
        check.reason
        for check in checks
        if check.applies and check.word not in (rise_word, hold_word)
    ]
    return Verdict(
        rise=rise_word,
        hold=hold_word,
        faults=faults,
        sentence=athlete_sentence(
            (rise_word, hold_word),
            faults,
            is_above=_is_above_band(case),
            is_near_band=is_near_band,
        ),
        detail=coach_detail(
            (rise_word, rise_reason),
            (hold_word, hold_reason),
            remarks + _close_call(case),
        ),
    )


def _rise_checks(case: Case) -> list[Check]:
    return [_false_start(case), _leaning(case), _two_stage(case)]


def _rise_word(case: Case, checks: list[Check]) -> tuple[str, str]:
    """Choose the word on the rise, with its reason."""
    snap = case.measures["snap_share"]
    if snap.value is None:
        return NOT_MEASURABLE, snap.reason
    for check in checks:
        if check.applies:
            return check.word, check.reason
    limit = case.limits.snap_percent
    word = "snap" if snap.value >= limit else "ramp"
    return word, f"{figure(snap)} of the peak after 0.2 s (a snap has {limit:.0f} %)"


def _hold_word(case: Case, checks: list[Check]) -> tuple[str, str]:
    """Choose the word on the hold, with its reason."""
    for check in checks:
        if check.applies is None:
            return NOT_MEASURABLE, check.reason
        if check.applies:
            return check.word, check.reason
    if case.is_slow:
        return NOT_MEASURABLE, "this board is too slow to see whether a hold shakes"
    sag, shake = case.measures["sag"], case.measures["steadiness"]
    return "steady", f"slope {figure(sag)}, swings {figure(shake)}"


def _false_start(case: Case) -> Check:
    reaction = case.measures["reaction"]
    if reaction.value is None or reaction.u95 is None:
        return Check("false start", applies=None, reason=reaction.reason)
    is_false = reaction.value + reaction.u95 < case.limits.start_s
    return Check("false start", is_false, f"{figure(reaction)} after the go")


def _close_call(case: Case) -> list[str]:
    """Remark on a start that may or may not have been too soon."""
    reaction = case.measures["reaction"]
    if reaction.value is None or reaction.u95 is None:
        return []
    if abs(reaction.value - case.limits.start_s) <= reaction.u95:
        return [f"start too close to call: {figure(reaction)} after the go"]
    return []


def _leaning(case: Case) -> Check:
    peak = case.measures["peak_force"].value or 0.0
    limit_N = max(case.limits.lean_N, case.limits.lean_share * peak)
    applies = case.beyond("preload", limit_N)
    preload = case.measures["preload"]
    if preload.value is None or peak <= 0.0:
        return Check("leaning", applies=None, reason=preload.reason)
    share = 100.0 * preload.value / peak
    return Check("leaning", applies, f"{share:.0f} % of the peak lay on it before the rise")


def _two_stage(case: Case) -> Check:
    stage = case.stage
    if stage is None:
        return Check("two-stage", applies=False, reason="")
    where = f"for {stage.seconds:.2f} s at {100.0 * stage.share:.0f} % of the peak"
    if stage.is_double:
        return Check("two-stage", applies=True, reason=f"came off and stayed low {where}")
    return Check("two-stage", applies=True, reason=f"paused {where}")


def _early_let_go(case: Case) -> Check:
    prescribed_s = case.prescription.hold_s
    if prescribed_s is None:
        return Check("early let-go", applies=False, reason="")
    held, hold = case.measures["held_time"], case.hold
    if hold.release_s is None and hold.onset_sure:
        seen_s = float(hold.force.time_s[-1]) - hold.onset_s
        if seen_s >= case.limits.held_share * prescribed_s:
            return Check("early let-go", applies=False, reason="")
    if held.value is None:
        return Check("early let-go", applies=None, reason=held.reason)
    applies = case.beyond("held_time", case.limits.held_share * prescribed_s, sign=-1.0)
    return Check("early let-go", applies, f"held {figure(held)} of {prescribed_s:g} s")


def _sagging(case: Case) -> Check:
    sag, limit = case.measures["sag"], case.limits.sag_percent_per_s
    applies = case.beyond("sag", limit, sign=-1.0)
    if sag.value is None:
        return Check("sagging", applies, sag.reason)
    return Check("sagging", applies, f"slope {figure(sag)} (limit {limit:g} %/s)")


def _shaky(case: Case) -> Check:
    """Judge the swings without what the noise of the kit adds to them."""
    shake, mean = case.measures["steadiness"], case.measures["hold_mean"]
    if shake.value is None or not mean.value:
        return Check("shaky", applies=None, reason=shake.reason)
    noise_percent = 100.0 * case.hold.noise_N / mean.value
    limit = float(np.hypot(case.limits.shaky_percent, noise_percent))
    applies = case.beyond("steadiness", limit)
    return Check("shaky", applies, f"swings {figure(shake)} (limit {limit:.1f} %)")


def _outside_band(case: Case) -> Check:
    """Judge the time inside a prescribed band, or the mean where no time was prescribed."""
    band_N = case.prescription.band_N
    if case.prescription.effort is Effort.MAXIMAL or band_N is None:
        return Check("outside band", applies=False, reason="")
    quality, mean = case.measures["hold_quality"], case.measures["hold_mean"]
    if quality.value is not None:
        limit = case.limits.inside_percent
        applies = case.beyond("hold_quality", limit, sign=-1.0)
        return Check("outside band", applies, f"inside the band for {figure(quality)}")
    if mean.value is None:
        return Check("outside band", applies=None, reason=mean.reason)
    edge_N = band_N[1] if _is_above_band(case) else band_N[0]
    applies = case.beyond("hold_mean", edge_N, sign=1.0 if edge_N == band_N[1] else -1.0)
    percent = 100.0 * abs(mean.value - edge_N) / edge_N
    return Check("outside band", applies, f"mean {percent:.0f} % from the edge of the band")


def _is_above_band(case: Case) -> bool:
    band_N, mean = case.prescription.band_N, case.measures["hold_mean"].value
    level_N = case.hold.level_N if mean is None else mean
    return band_N is not None and level_N > 0.5 * (band_N[0] + band_N[1])


def _kit_checks(hold: Hold) -> list[Check]:
    """Look for what the kit has against the hold, at any rate of the board."""
    end_s = hold.force.time_s[-1] if hold.release_s is None else hold.release_s
    held = (hold.force.time_s >= hold.onset_s) & (hold.force.time_s <= end_s)
    flags = int(np.bitwise_or.reduce(hold.force.flags[held], initial=0))
    return [
        Check("over rating", bool(flags & Flag.OVER_RATING), "above the rating of the cell"),
        Check("over range", bool(flags & Flag.SATURATED), "the converter stood at its end"),
        Check("incomplete", not hold.complete, "the let-go was not seen"),
    ]
