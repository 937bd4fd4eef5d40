"""Reps in one line of plain words, in the coach's unit, never finer than the kit can tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.samples import Contact, Gap, Rep
from strikebridge.units import ForceUnit, decimals_for, rounded_up, show_doubt, show_force

if TYPE_CHECKING:
    from strikebridge.samples import MeasureValue


def force_words(force_N: float | None, u95_N: float | None, unit: ForceUnit) -> str:
    """Write a force with its ±.

    Args:
        force_N: force [N], None where withheld.
        u95_N: expanded uncertainty [N], None where unknown.
        unit: the coach's unit.

    Returns:
        Such as `41.2 ± 0.6 kg`.
    """
    if force_N is None:
        return "not measurable"
    shown = show_force(force_N, u95_N, unit)
    doubt = "" if u95_N is None else f" ± {show_doubt(u95_N, unit)}"
    return f"{shown}{doubt} {unit.value}"


def measure_words(value: MeasureValue | None, unit: str, *, decimals: int = 1) -> str:
    """Write any other measure with its ±.

    Args:
        value: the measure, None where there is none.
        unit: unit to write behind it.
        decimals: most decimals to show.

    Returns:
        Such as `93 ± 4 %`, or `-` where it is withheld.
    """
    if value is None or value.value is None:
        return "-"
    if value.u95 is None:
        return f"{value.value:.0f} {unit}"
    shown = decimals_for(value.u95, most=decimals)
    return f"{value.value:.{shown}f} ± {rounded_up(value.u95, shown):.{shown}f} {unit}"


def rep_words(rep: Rep, unit: ForceUnit) -> str:
    """Write one rep as one line.

    Args:
        rep: the rep, judged.
        unit: the coach's unit.

    Returns:
        Number, peak, hold quality, time held, words; not when it was, so that the same holds
        give the same lines.
    """
    measures = rep.measures
    peak = measures["peak_force"]
    if rep.is_typed:
        mean = measures["hold_mean"]
        held = force_words(mean.value, mean.u95, unit)
        return f"hold {rep.hold.number}   held {held}   typed"
    parts = [
        f"hold {rep.hold.number}",
        f"peak {force_words(peak.value, peak.u95, unit)}",
        f"quality {measure_words(measures['hold_quality'], '%', decimals=0)}",
        f"held {measure_words(measures['held_time'], 's', decimals=2)}",
        f"{rep.verdict.rise}, {rep.verdict.hold}",
    ]
    if not rep.hold.complete:
        parts.append("let-go not seen")
    return "   ".join(parts)


def outcome_words(outcome: Rep | Contact | Gap, unit: ForceUnit) -> str:
    """Write whatever the pipeline gave out as one line.

    Args:
        outcome: a rep, a contact or a gap.
        unit: the coach's unit.

    Returns:
        One line.
    """
    if isinstance(outcome, Rep):
        return rep_words(outcome, unit)
    if isinstance(outcome, Contact):
        peak = force_words(outcome.peak_N, None, unit)
        return f"contact at {outcome.start_s:.1f} s   {peak}   no hold: {outcome.reason}"
    return f"gap at {outcome.start_s:.1f} s   {outcome.lost} samples lost"
