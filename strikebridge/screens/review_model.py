"""What the review shows of an analysis: curves from their onset, their marks and words; no Qt.

Times count from each hold's onset, so that all lie over each other; forces are in the coach's
unit. Where on the picture each of them goes is `review_layout`'s matter.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.measures.view import look
from strikebridge.units import (
    ForceUnit,
    decimals_for,
    from_newtons,
    rounded_up,
    show_doubt,
    show_force,
)

if TYPE_CHECKING:
    from strikebridge.analysis import Analysis
    from strikebridge.samples import Floats, MeasureValue, Rep

BEFORE_S = 0.5  # shown before the onset
AFTER_S = 0.4  # shown after the release
RISE_FAULTS = ("false start", "leaning", "double hit", "two-stage", "ramp")
CONTACTS_SHOWN = 6
OWN_NAME = re.compile(
    r"(?P<session>session-[0-9a-f]+-)?(?P<at>\d{4}-\d\d-\d\d-\d{4})\d\d-\d+\.jsonl",
    re.ASCII,
)
"""How the wall names a recording; the roster is not asked, so nobody's name is in it."""


@dataclass(frozen=True, slots=True)
class Point:
    """A place in the plot.

    Attributes:
        time_s: from the onset [s].
        force: in the coach's unit.
    """

    time_s: float
    force: float


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One hold.

    Attributes:
        number: of the hold.
        time_s: from the onset [s], shape (n,).
        force: in the coach's unit, shape (n,).
        peak: the peak.
        let_go: where the let-go began.
        release: where it was released, None where that was not seen.
        window: start and end of the hold window [s], None without one.
        faults: all that apply, weightiest first.
        value_words: the peak with its ±, without the unit.
        fault_words: the first fault, and how many more there are.
        peak_words: the peak with its ± and unit.
        window_words: what was found over the hold window.
        release_words: when it was let go.
        sentence: the verdict in words.
    """

    number: int
    time_s: Floats
    force: Floats
    peak: Point
    let_go: Point
    release: Point | None
    window: tuple[float, float] | None
    faults: tuple[str, ...]
    value_words: str
    fault_words: str
    peak_words: str
    window_words: str
    release_words: str
    sentence: str

    @property
    def rise_fault(self) -> str:
        """The weightiest fault of the rise, empty without one."""
        return next((fault for fault in self.faults if fault in RISE_FAULTS), "")

    @property
    def held_last(self) -> Point:
        """Where the curve still stood at its height: end of the hold window, or the let-go."""
        return self.let_go if self.window is None else self.at(self.window[1])

    def at(self, time_s: float) -> Point:
        """Interpolate the curve at a time from the onset [s]."""
        return Point(time_s, float(np.interp(time_s, self.time_s, self.force)))


@dataclass(frozen=True, slots=True, eq=False)
class Review:
    """All that the picture shows.

    Attributes:
        title: what was analysed.
        curves: the holds, in order of time.
        best: index of the one with the largest peak, which explains the marks; -1 without any.
        bands: edges of each band that was asked for, in the coach's unit.
        asked_s: each time that was asked for [s].
        unit: the coach's unit.
        nothing: sentences that stand in place of curves where there are none.
    """

    title: str = "Nothing to review yet"
    curves: tuple[Curve, ...] = ()
    best: int = -1
    bands: tuple[tuple[float, float], ...] = ()
    asked_s: tuple[float, ...] = ()
    unit: ForceUnit = ForceUnit.KG
    nothing: tuple[str, ...] = ("Open a recording to see its holds here.",)


def review_of(analysis: Analysis, unit: ForceUnit) -> Review:
    """Decide what is shown of an analysis.

    Args:
        analysis: what was found in a recording.
        unit: the coach's unit.

    Returns:
        The review.
    """
    curves = tuple(curve_of(rep, unit) for rep in analysis.reps)
    peaks = [curve.peak.force for curve in curves]
    per_newton = from_newtons(1.0, unit)
    asked = [rep.prescription for rep in analysis.reps]
    bands = {one.band_N for one in asked if one.band_N is not None}
    return Review(
        title=_title(analysis),
        curves=curves,
        best=peaks.index(max(peaks)) if peaks else -1,
        bands=tuple((low * per_newton, high * per_newton) for low, high in sorted(bands)),
        asked_s=tuple(sorted({one.hold_s for one in asked if one.hold_s is not None})),
        unit=unit,
        nothing=() if curves else _why_nothing(analysis, unit),
    )


def _title(analysis: Analysis) -> str:
    holds = f"{len(analysis.reps)} hold{'' if len(analysis.reps) == 1 else 's'}"
    rate = "" if analysis.rate_hz is None else f", {analysis.rate_hz:.0f} readings a second"
    lost = sum(gap.lost for gap in analysis.gaps)
    missing = f", {lost} readings lost" if lost else ""
    return f"{_named(analysis.recording)}: {holds}{rate}{missing}"


def _named(recording: str) -> str:
    """Say what a recording is of and when, where its name tells; else its name."""
    found = OWN_NAME.fullmatch(recording)
    if found is None:
        return recording
    try:
        at = datetime.strptime(found["at"], "%Y-%m-%d-%H%M")  # noqa: DTZ007 - no zone in it
    except ValueError:  # such as a 31st of February
        return recording
    return f"{'Session' if found['session'] else 'Free reps'}, {at:%d %B %Y, %H:%M}"


def _why_nothing(analysis: Analysis, unit: ForceUnit) -> tuple[str, ...]:
    words = ["No hold was found in this recording."]
    for contact in analysis.contacts[:CONTACTS_SHOWN]:
        force = show_force(contact.peak_N, None, unit)
        words.append(f"At {contact.start_s:.1f} s: {force} {unit.value}, {contact.reason}.")
    more = len(analysis.contacts) - CONTACTS_SHOWN
    if more > 0:
        words.append(f"And {more} more touches that are no holds.")
    if not analysis.contacts:
        words.append("Nobody touched the ball, or the force stayed within the noise.")
    return tuple(words)


def curve_of(rep: Rep, unit: ForceUnit) -> Curve:
    """Turn a rep into what is shown of it.

    Args:
        rep: the rep, judged.
        unit: the coach's unit.

    Returns:
        The curve from its onset, with its marks and words.
    """
    hold, per_newton = rep.hold, from_newtons(1.0, unit)
    view = look(hold, rep.prescription)
    time_s = hold.force.time_s - hold.onset_s
    force = hold.force.force_N * per_newton
    end_s = view.end_s - hold.onset_s
    shown = (time_s >= -BEFORE_S) & (time_s <= end_s + AFTER_S)
    release = None
    if hold.release_s is not None:
        release = Point(end_s, float(np.interp(end_s, time_s, force)))
    let_go_s = view.let_go.start_s - hold.onset_s
    window = view.window
    span = None
    if window is not None:
        span = (float(time_s[window.first]), float(time_s[window.stop - 1]))
    peak = rep.measures["peak_force"]
    return Curve(
        number=hold.number,
        time_s=time_s[shown],
        force=force[shown],
        peak=Point(view.peak.time_s - hold.onset_s, view.peak.value_N * per_newton),
        let_go=Point(let_go_s, float(np.interp(let_go_s, time_s, force))),
        release=release,
        window=span,
        faults=rep.verdict.faults,
        value_words=value_words(peak, unit),
        fault_words=_first(rep.verdict.faults),
        peak_words=f"peak {value_words(peak, unit)} {unit.value}",
        window_words=_window_words(rep, unit),
        release_words="let-go not seen" if release is None else f"released at {end_s:.2f} s",
        sentence=f"{rep.verdict.sentence} {rep.verdict.detail}",
    )


def _first(faults: tuple[str, ...]) -> str:
    more = f" +{len(faults) - 1}" if len(faults) > 1 else ""
    return f"{faults[0]}{more}" if faults else ""


def value_words(value: MeasureValue, unit: ForceUnit) -> str:
    """Write a force with its ±, without the unit.

    Args:
        value: the force.
        unit: the coach's unit.
    """
    if value.value is None:
        return "not measurable"
    if value.u95 is None:
        return show_force(value.value, None, unit)
    return f"{show_force(value.value, value.u95, unit)} ± {show_doubt(value.u95, unit)}"


def _window_words(rep: Rep, unit: ForceUnit) -> str:
    mean, steadiness, sag = (rep.measures[k] for k in ("hold_mean", "steadiness", "sag"))
    words = f"hold window: mean {value_words(mean, unit)} {unit.value}"
    if steadiness.value is not None:
        words += f", swings {_with_doubt(steadiness)} %"
    if sag.value is not None:
        words += f", {_with_doubt(sag, sign='+')} %/s"
    return words


def _with_doubt(value: MeasureValue, sign: str = "") -> str:
    """Write a number with its ±, which is rounded up; it says so where that is not known."""
    size, u95 = value.value or 0.0, value.u95
    if u95 is None:
        return f"{size:{sign}.1f} ± not known"
    decimals = decimals_for(u95, most=2)
    shown = round(size, decimals) + 0.0  # no minus before a zero
    return f"{shown:{sign}.{decimals}f} ± {rounded_up(u95, decimals):.{decimals}f}"
