"""What the review of a session says of everybody, of an exercise and of a cue.

A cue is said to have done no more than chance where that is so: after a poor rep the next is
better by itself.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from strikebridge.measures import NEW_BEST
from strikebridge.progress.estimate import Word
from strikebridge.screens.review_model import value_words
from strikebridge.units import ForceUnit, show_doubt, show_force

if TYPE_CHECKING:
    from strikebridge.looking_back import AthleteDone, CueSeen, SessionDone, Work
    from strikebridge.samples import MeasureValue

PAIN_LETTERS = 70  # of the names of exercises that were stopped
PAIRS_SHOWN = 3
SURE = {
    Word.REAL: "more than chance",
    Word.LIKELY: "probably more than chance",
    Word.CANNOT_TELL: "no more than chance",
}


def holds(count: int) -> str:
    """Count holds in words.

    Args:
        count: how many.
    """
    return "1 hold" if count == 1 else f"{count} holds"


def turns(count: int) -> str:
    """Count turns in words.

    Args:
        count: how many.
    """
    return "1 turn" if count == 1 else f"{count} turns"


def _times(count: int) -> str:
    return "1 time" if count == 1 else f"{count} times"


def title(work: Work) -> str:
    """Name an exercise and the hand.

    Args:
        work: reps of it.
    """
    hand = "" if work.hand is None else f", {work.hand.value} hand"
    return f"{work.name}{hand}"


def force_words(value: MeasureValue | None, unit: ForceUnit) -> str:
    """Say a force, or that there is none.

    Args:
        value: the force.
        unit: the coach's unit.
    """
    return "not measured" if value is None else value_words(value, unit)


def _number(value: MeasureValue | None) -> float:
    return 0.0 if value is None or value.value is None else value.value


def best_of_day(person: AthleteDone, unit: ForceUnit) -> str:
    """Name the new best, where there is one, else the largest force of the day.

    Args:
        person: what the athlete did.
        unit: the coach's unit.
    """
    ranked = [work for work in person.work if work.best is not None]
    if not ranked:
        return "nothing measured"
    best = max(ranked, key=lambda one: (one.best_words == NEW_BEST, _number(one.best)))
    words = f"{title(best)}: {force_words(best.best, unit)} {unit.value}"
    return f"{words}, {best.best_words}" if best.best_words else words


def mend_words(person: AthleteDone) -> str:
    """Say what goes wrong most often.

    Args:
        person: what the athlete did.
    """
    counts: dict[str, int] = {}
    for work in person.work:
        for fault, count in work.faults:
            counts[fault] = counts.get(fault, 0) + count
    if not counts:
        return ""
    fault = max(counts, key=lambda one: counts[one])
    return f"{fault}, {counts[fault]} of {person.done}"


def pain_words(person: AthleteDone) -> str:
    """Name what was stopped for pain, and count what there is no room for.

    Args:
        person: what the athlete did.
    """
    letters = list(itertools.accumulate(map(len, person.stopped)))
    fitting = max(1, sum(one <= PAIN_LETTERS for one in letters))
    more = len(person.stopped) - fitting
    said = f"stopped for pain: {', '.join(person.stopped[:fitting])}"
    return f"{said} and {more} more" if more else said


def left_words(done: SessionDone) -> str:
    """Say what was left out, is still open, or could not be fetched.

    Args:
        done: what was done.
    """
    said = []
    if done.left_out:
        said.append(f"{turns(done.left_out)} left out.")
    if done.still_open:
        said.append(f"{turns(done.still_open)} still open: the session can be taken up again.")
    timed = sum(person.timed for person in done.people)
    if timed:
        said.append(f"{turns(timed)} timed.")
    return " ".join((*said, *done.cautions))


def work_words(work: Work) -> str:
    """Say how many reps count, what went wrong how often, and how hard it was meant to be.

    Args:
        work: reps of one exercise.
    """
    count = len(work.kept)
    back = len(work.reps) - count
    said = [f"{holds(count)} that count{'s' if count == 1 else ''}, {work.effort.value}"]
    if back:
        said.append(f"{back} taken back")
    said += [f"{fault} {_times(count)}" for fault, count in work.faults[:3]]
    return ", ".join(said) + "."


def cue_words(seen: CueSeen, unit: ForceUnit) -> str:
    """Say what a cue did, and whether chance would do as much.

    Args:
        seen: what was seen of it.
        unit: the coach's unit.

    Returns:
        A sentence or two.
    """
    effect = seen.effect
    pairs = ", ".join(
        f"{show_force(first, None, unit)} then {show_force(second, None, unit)}"
        for first, second in seen.pairs[-PAIRS_SHOWN:]
    )
    facts = [f"{pairs} {unit.value}"] if pairs else []
    if effect.plain_change is not None:
        change = show_force(effect.plain_change, None, unit, is_signed=True)
        facts.append(f"{change} {unit.value} on average of {_times(effect.cued)}")
    said = f"{effect.cue}: {'; '.join(facts) or 'no rep just before it'}"
    if effect.effect is None:
        return f"{said}. No verdict yet: {effect.reason}."
    gain = show_force(effect.effect.value, effect.effect.u95, unit, is_signed=True)
    doubt = show_doubt(effect.effect.u95, unit)
    return (
        f"{said}. Beside uncued reps after like ones {gain} ± {doubt} {unit.value}: "
        f"{SURE[effect.word]}."
    )
