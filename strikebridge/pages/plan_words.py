"""A plan in words: its blocks, its dose, how long it takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.samples import Effort
from strikebridge.session.exercises import find
from strikebridge.session.plan import Mode, Order, Target, is_timed
from strikebridge.session.turns import expected_s, length_words, turns_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.exercise import Exercise
    from strikebridge.session.plan import Block, Plan

MODE_WORDS: dict[Mode, str] = {
    Mode.COACH: "a key or the clicker begins each rep; it may take longer",
    Mode.ROUNDS: "hands-free: the clock begins each rep",
    Mode.ATHLETE: "athlete-led: the push itself begins the count",
}
"""What begins a rep, as the coach reads it."""

ORDER_WORDS: dict[Order, str] = {
    Order.ATHLETE: "athlete by athlete: one finishes, then the next",
    Order.ROTATION: "rotation: everybody one set, then the next set",
}
"""Who is next, as the coach reads it."""


def counted(number: int, one: str, several: str = "") -> str:
    """Count things, such as `1 set` and `3 sets`.

    Args:
        number: how many.
        one: the word for one of them.
        several: the word for more, empty for the same with an s.
    """
    return f"{number} {one if number == 1 else several or one + 's'}"


def seconds_words(seconds: float) -> str:
    """Write seconds, or minutes where there are whole ones."""
    if seconds >= 120.0 and seconds % 60.0 == 0.0:
        return f"{seconds / 60.0:.0f} min"
    return f"{seconds:g} s"


def block_words(block: Block, known: Mapping[str, Exercise]) -> str:
    """Say what is done in a block.

    Args:
        block: the block.
        known: key -> exercise.

    Returns:
        Such as `straight, hook: hold 3 s at most, 1 rep a side, 3 sets; rest 10 s, 60 s between
        sets; chase the best`.
    """
    what = ", ".join(_exercise_words(word, known) for word in block.exercises)
    timed = is_timed(block, known)
    how = f"{seconds_words(block.seconds)}" if timed else _effort_words(block)
    reps = counted(block.reps_per_side, "rep")
    if any(len(find(word, known)) > 1 for word in block.exercises):
        reps += " a side"
    sets = counted(block.sets, "set")
    if block.sets_used_to_it not in (None, block.sets):
        sets += f" (used to it: {block.sets_used_to_it})"
    together = "all at once, " if block.everyone else ""
    rests = f"rest {seconds_words(block.rest_s)}"
    if block.sets > 1 or (block.sets_used_to_it or 0) > 1:
        rests += f", {seconds_words(block.set_rest_s)} between sets"
    return f"{what}: {together}{how}, {reps}, {sets}; {rests}{_target_words(block, timed)}."


def dose_words(plan: Plan) -> str:
    """Say what the plan's own dose is.

    Args:
        plan: as it is written.

    Returns:
        A sentence, empty where the plan says nothing of it.
    """
    new, used = plan.dose_sets, plan.dose_sets_used_to_it
    said = []
    if new is not None:
        said.append(f"{counted(new, 'set')} for those new to it")
    if used is not None:
        said.append(f"{counted(used, 'set')} for those used to it")
    return f"Dose: {', '.join(said)} at most." if said else ""


def length_of(plan: Plan, athletes: Sequence[str], known: Mapping[str, Exercise]) -> str:
    """Say how much a session is and how long it takes.

    Args:
        plan: as it is run.
        athletes: ids.
        known: key -> exercise.

    Returns:
        Such as `6 athletes, 108 measured holds, about 38 minutes`.

    Raises:
        PlanError: there is nobody, or it is more than a day holds.
    """
    turns = turns_of(plan, athletes, known)
    holds = sum(turn.is_measured for turn in turns)
    timed = len(turns) - holds
    parts = [counted(len(athletes), "athlete")]
    parts += [counted(holds, "measured hold")] * bool(holds)
    parts += [counted(timed, "timed drill")] * bool(timed)
    parts.append(length_words(expected_s(plan, turns)))
    return ", ".join(parts)


def is_maximal(plan: Plan, known: Mapping[str, Exercise]) -> bool:
    """Say whether maximal holds are among it.

    Args:
        plan: the plan.
        known: key -> exercise.
    """
    return any(
        block.effort is Effort.MAXIMAL and not is_timed(block, known) for block in plan.block
    )


def _exercise_words(word: str, known: Mapping[str, Exercise]) -> str:
    found = find(word, known)
    if len(found) == 1:
        return found[0].name
    return found[0].name.removeprefix(f"{found[0].side} ")


def _effort_words(block: Block) -> str:
    if block.effort is Effort.MAXIMAL:
        return f"hold {seconds_words(block.seconds)} as hard as they can"
    return f"hold {seconds_words(block.seconds)} in a band"


def _target_words(block: Block, timed: bool) -> str:  # noqa: FBT001 - one flag, named where it is given
    if timed or block.target is Target.NONE:
        return ""
    if block.target is Target.BEST:
        return "; chase their best"
    if block.target is Target.BAND:
        low, high = block.band_percent or (0.0, 0.0)
        return f"; band {low:g} to {high:g} % of their best"
    if block.fixed_band_N is not None:
        low, high = block.fixed_band_N
        return f"; band {low:g} to {high:g} N"
    return f"; mark at {block.fixed_N:g} N"
