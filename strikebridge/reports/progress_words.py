"""What became of athletes, in plain words first and numbers second, in the coach's unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.rig_setup import RigSetup
from strikebridge.progress.estimate import Word
from strikebridge.progress.heading import Heading
from strikebridge.progress.readiness import Readiness
from strikebridge.progress.score import measured
from strikebridge.progress.typical_error import ErrorSource
from strikebridge.progress.worthwhile import per_body_mass
from strikebridge.reports import naming
from strikebridge.reports.language import language
from strikebridge.reports.wording import Wording
from strikebridge.units import (
    ForceUnit,
    decimals_for,
    from_newtons,
    rounded_up,
    show_doubt,
    show_force,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from strikebridge.club.athlete import BodyMass
    from strikebridge.progress.cue import CueEffect
    from strikebridge.progress.estimate import Estimate
    from strikebridge.progress.overview import Overview
    from strikebridge.records import Camp, Sides, Standing

NEWTONS = "N"
PER = {"wk": "a week", "kg": "per kg of body mass"}
ERRORS = {
    ErrorSource.ASSUMED: "assumed, wide on purpose until there are tests enough",
    ErrorSource.SQUAD: "the squad's, until there are own tests enough",
    ErrorSource.OWN_AND_ASSUMED: "own tests, pulled to a wide default",
    ErrorSource.OWN_AND_SQUAD: "own tests, pulled to the squad's",
}
HEADER = ("athlete", "hand", "set-up", "now", "change", "", "form", "sessions")
SPARKS = "▁▂▃▄▅▆▇█"
SPARK_TESTS = 12
MARK_LETTERS = 6
NO_MARK = "not noted"


def number_words(one: Estimate, unit: ForceUnit, *, is_signed: bool = False) -> str:
    """Write a number with its ± and its unit, forces in the coach's.

    Args:
        one: the number.
        unit: the coach's unit.
        is_signed: put a plus before a gain.

    Returns:
        Such as `+2.4 ± 1.1 kg a week`.
    """
    base, _, per = one.unit.rpartition("/")
    if per not in PER:
        base, per = one.unit, ""
    behind = f" {PER[per]}" if per else ""
    if base == NEWTONS and not per:
        force = show_force(one.value, one.u95, unit, is_signed=is_signed)
        return f"{force} ± {show_doubt(one.u95, unit)} {unit.value}"
    is_force = base == NEWTONS
    value, u95 = (
        from_newtons(number, unit) if is_force else number for number in (one.value, one.u95)
    )
    decimals = decimals_for(u95, most=2)
    sign = "+" if is_signed else ""
    shown = round(value, decimals) + 0.0  # no minus before a zero
    u95 = rounded_up(u95, decimals)
    name = unit.value if is_force else base
    return f"{shown:{sign}.{decimals}f} ± {u95:.{decimals}f} {name}{behind}"


def setup_words(key: str | None, setups: Mapping[str, RigSetup]) -> str:
    """Describe a set-up shortly.

    Args:
        key: key of the set-up, None where none was noted.
        setups: key -> set-up.

    Returns:
        Such as `pad 1.40 m high, 0.55 m away, ball, wrap, elbow 180°`, as in a report.
    """
    return naming.setup_words(None if key is None else setups.get(key), Wording(language()))


def setup_mark(key: str | None, setups: Mapping[str, RigSetup]) -> str:
    """Give the beginning of a set-up's key, as a mark in a narrow column.

    Args:
        key: key of the set-up, None where none was noted.
        setups: key -> set-up.

    Returns:
        Six letters, or `not noted` where nothing of it was.
    """
    if key is None or setups.get(key) == RigSetup():
        return NO_MARK
    return key[:MARK_LETTERS]


def day_words(at: datetime) -> str:
    """Write a day as this computer has it, such as `2026-03-01`."""
    return at.astimezone().date().isoformat()


def heading_words(found: Overview) -> str:
    """Say in one clause where an athlete is heading.

    Args:
        found: what is known.

    Returns:
        Such as `up: real` or `cannot tell`.
    """
    word = found.heading
    if word in {Heading.UP, Heading.FADING}:
        return f"{word.value} (real)"
    return word.value


def form_words(found: Overview) -> str:
    """Say in a word or two how the newest day stands against the last weeks.

    Args:
        found: what is known.

    Returns:
        Such as `ready`, `not clear`, or `few tests` where that is why it cannot be told.
    """
    today = found.today
    if today.change is None:
        return "few tests"
    return "not clear" if today.word is Readiness.CANNOT_TELL else today.word.value


def title_words(
    standing: Standing, camp: Camp, exercises: Mapping[str, str], *, is_brief: bool = False
) -> str:
    """Name what a standing is of.

    Args:
        standing: one athlete in one exercise.
        camp: what is on record, for the set-ups.
        exercises: key -> name.
        is_brief: leave the set-up out.

    Returns:
        Such as `rear straight, right hand, maximal, pad 1.40 m high`.
    """
    like = standing.like
    hand = f"{like.hand} hand" if like.hand else ""
    setup = "" if is_brief else setup_words(like.setup, camp.setups)
    parts = (exercises.get(like.exercise, like.exercise), hand, like.effort.value, setup)
    return ", ".join(part for part in parts if part)


def facts(
    standing: Standing, unit: ForceUnit, masses: Sequence[BodyMass] = ()
) -> list[tuple[str, str]]:
    """Say what is known of a standing, each with its name.

    Args:
        standing: one athlete in one exercise.
        unit: the coach's unit.
        masses: weighings of the athlete.

    Returns:
        Name and words, the weightiest first.
    """
    found = standing.overview
    rows = [
        ("change", change_words(found, unit)),
        ("best", _best_words(found, unit)),
        ("newest session", _newest_words(found, unit)),
    ]
    if found.trend is not None:
        trend = number_words(found.trend, unit, is_signed=True)
        rows.append(("trend", f"{trend}: {found.trend.word.value}"))
    rows += [
        ("readiness", _today_words(found, unit)),
        ("typical error", _error_words(found)),
        ("matters from", _worthwhile_words(found, unit)),
    ]
    score = found.best_three
    weighings = [(one.weighed_on, one.mass_kg) for one in masses]
    if found.best.value.unit == NEWTONS:
        shared = per_body_mass(measured(score), score.at.astimezone().date(), weighings)
        if shared is not None:
            rows.append(("per body mass", _mass_words(shared, unit)))
    rows += [(f"cue “{cue.cue}”", _cue_words(cue, unit)) for cue in found.cues if cue.cued]
    rows += _drop_rows(found)
    rows += [("mind", caution) for caution in (*found.run.cautions, *standing.cautions)]
    return rows


def standing_lines(
    standing: Standing,
    camp: Camp,
    exercises: Mapping[str, str],
    unit: ForceUnit,
    masses: Sequence[BodyMass] = (),
) -> list[str]:
    """Write one exercise of an athlete.

    Args:
        standing: the athlete in it.
        camp: what is on record, for the set-ups.
        exercises: key -> name.
        unit: the coach's unit.
        masses: weighings of the athlete.

    Returns:
        A headline and what is known, a line each.
    """
    rows = facts(standing, unit, masses)
    wide = max(len(name) for name, _ in rows)
    heading = heading_words(standing.overview)
    return [
        f"{title_words(standing, camp, exercises)}: {heading}",
        *(f"  {name.ljust(wide)}  {words}" for name, words in rows),
    ]


def sides_words(sides: Sides, exercises: Mapping[str, str]) -> str:
    """Compare lead and rear in a sentence.

    Args:
        sides: the two.
        exercises: key -> name.
    """
    names = [
        exercises.get(one.like.exercise, one.like.exercise) for one in (sides.lead, sides.rear)
    ]
    pooled = sides.pooled
    if pooled is None:
        return f"{names[0]} against {names[1]}: two sessions with both are needed."
    stronger = "lead" if pooled.value > 0.0 else "rear"
    if pooled.word is Word.REAL:
        said = f"the {stronger} side is the stronger: real"
    elif pooled.word is Word.LIKELY:
        said = f"the {stronger} side is likely the stronger"
    else:
        said = "no difference that could be told"
    return (
        f"{names[0]} against {names[1]}: {said} "
        f"({pooled.value:+.1f} ± {rounded_up(pooled.u95, 1):.1f} % of the larger)."
    )


def board_rows(camp: Camp, names: Mapping[str, str], unit: ForceUnit) -> list[tuple[str, ...]]:
    """Write the squad board, one row each.

    Args:
        camp: one exercise of everybody.
        names: id -> name.
        unit: the coach's unit.

    Returns:
        The header and the rows, by name.
    """
    rows = [
        (
            names[one.like.athlete],
            one.like.hand or "-",
            setup_mark(one.like.setup, camp.setups),
            number_words(measured(one.overview.best_three), unit),
            _signed_change(one.overview, unit),
            heading_words(one.overview),
            form_words(one.overview),
            f"{one.overview.sessions:>3}  {spark(one)}",
        )
        for one in camp.standings
    ]
    return [HEADER, *sorted(rows, key=lambda row: row[0].casefold())]


def spark(standing: Standing) -> str:
    """Draw the scores as blocks, the newest last.

    Args:
        standing: one athlete.
    """
    values = [score.value for score in standing.overview.run.scores[-SPARK_TESTS:]]
    low, high = min(values), max(values)
    span = high - low
    top = len(SPARKS) - 1
    places = [round(top * (value - low) / span) if span > 0.0 else top // 2 for value in values]
    return "".join(SPARKS[place] for place in places)


def _signed_change(found: Overview, unit: ForceUnit) -> str:
    if found.change is None:
        return "-"
    return number_words(found.change.estimate, unit, is_signed=True)


def change_words(found: Overview, unit: ForceUnit) -> str:
    """Say what changed since the baseline, and what would have been real.

    Args:
        found: what is known.
        unit: the coach's unit.
    """
    change = found.change
    if change is None:
        return "it takes two sessions"
    what = number_words(change.estimate, unit, is_signed=True)
    first = (
        "the first session"
        if change.tests_before == 1
        else f"the first {change.tests_before} sessions"
    )
    least = f"{show_doubt(change.least_real, unit)} {unit.value}"
    if change.estimate.unit != NEWTONS:
        least = f"{change.least_real:.1f} {change.estimate.unit}"
    return f"{what} ({change.percent:+.1f} %) since {first}; {least} or more would be real"


def _best_words(found: Overview, unit: ForceUnit) -> str:
    best = found.best
    value = best.value
    if value.value is None or value.u95 is None:
        return "not known"
    shown = f"{value.value:.1f} ± {rounded_up(value.u95, 1):.1f} {value.unit}"
    if value.unit == NEWTONS:
        force = show_force(value.value, value.u95, unit)
        shown = f"{force} ± {show_doubt(value.u95, unit)} {unit.value}"
    return f"{shown} on {day_words(best.at)}"


def _newest_words(found: Overview, unit: ForceUnit) -> str:
    score = found.best_three
    what = {1: "one rep", 2: "mean of two reps"}.get(score.averaged, "mean of the best three")
    value = number_words(measured(score), unit)
    return f"{value}, {what}, {day_words(score.at)}"


def _today_words(found: Overview, unit: ForceUnit) -> str:
    today = found.today
    if today.change is None:
        return f"cannot tell; {today.reason}"
    change = number_words(today.change, unit, is_signed=True)
    reason = f"; {today.reason}" if today.reason else ""
    return f"{today.word.value}, {change} against the last weeks{reason}"


def _error_words(found: Overview) -> str:
    rests = ERRORS[found.error.source]
    if found.change is not None:
        # what a scientist asks next, after what a coach reads
        rests = f"{rests}; change with {found.change.estimate.dof:.0f} degrees of freedom"
    return f"{100.0 * found.error.share:.1f} % ({rests})"


def _worthwhile_words(found: Overview, unit: ForceUnit) -> str:
    if found.worthwhile is None:
        return "unknown; it takes ten athletes with this hand"
    if found.best.value.unit == NEWTONS:
        return f"{from_newtons(found.worthwhile, unit):.1f} {unit.value}, of this squad"
    return f"{found.worthwhile:.1f} {found.best.value.unit}, of this squad"


def _mass_words(shared: Estimate, unit: ForceUnit) -> str:
    """Write strength per body mass; in kg and lb it is so many times the mass itself."""
    if unit is ForceUnit.N:
        return number_words(shared, unit)
    times, u95 = (from_newtons(number, ForceUnit.KG) for number in (shared.value, shared.u95))
    return f"{times:.2f} ± {rounded_up(u95, 2):.2f} times body mass"


def _drop_rows(found: Overview) -> list[tuple[str, str]]:
    """Say in which sets of the newest session the force fell or rose for sure."""
    return [
        (
            f"set {number}",
            f"{drop.value:+.1f} ± {rounded_up(drop.u95, 1):.1f} % from rep to rep",
        )
        for number, drop in sorted(found.drop_offs.items())
        if drop.value is not None and drop.u95 is not None and abs(drop.value) > drop.u95
    ]


def _cue_words(cue: CueEffect, unit: ForceUnit) -> str:
    if cue.effect is None:
        return f"cannot tell; {cue.reason}"
    effect = number_words(cue.effect, unit, is_signed=True)
    return f"{effect} beyond chance, {cue.effect.word.value} ({cue.cued} times)"
