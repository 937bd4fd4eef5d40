"""A plan: what a group does, block by block, with what is set and what it adds up to.

A block is one or more exercises with the same seconds, reps, sets and rests. Neighbouring
blocks with the same `circuit` are gone through set by set: the first set of each, then the
second of each. In a plan `athlete by athlete` one athlete finishes such a circuit before the
next begins; in `rotation` every athlete does one set, then every one the next.
"""

from __future__ import annotations

from enum import StrEnum
from itertools import groupby
from typing import TYPE_CHECKING, Annotated

import msgspec

from strikebridge.club.exercise import Way
from strikebridge.errors import PlanError
from strikebridge.samples import Effort
from strikebridge.session.exercises import find

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.club.exercise import Exercise

MOST_BLOCKS = 60
LONGEST_TEXT = 2000


class Order(StrEnum):
    """Who is next."""

    ATHLETE = "athlete by athlete"
    ROTATION = "rotation"


class Mode(StrEnum):
    """What begins a rep."""

    COACH = "coach"  # a key, a clicker, a foot switch
    ROUNDS = "rounds"  # the clock, hands free
    ATHLETE = "athlete"  # the push itself


class Target(StrEnum):
    """Which number is chased."""

    BEST = "best"
    BAND = "band of best"
    FIXED = "fixed"
    NONE = "none"


Word = Annotated[str, msgspec.Meta(min_length=1, max_length=60)]
Text = Annotated[str, msgspec.Meta(max_length=LONGEST_TEXT)]
Reps = Annotated[int, msgspec.Meta(ge=1, le=20)]
Sets = Annotated[int, msgspec.Meta(ge=1, le=10)]
Rest = Annotated[float, msgspec.Meta(ge=0.0, le=1800.0)]
Percent = Annotated[float, msgspec.Meta(gt=0.0, le=150.0)]
Newtons = Annotated[float, msgspec.Meta(gt=0.0, le=20_000.0)]


class Block(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One block of a plan.

    Attributes:
        name: as it is shown, the only one of that name in its plan.
        exercises: keys, or keys without a side for both sides.
        seconds: how long a rep lasts [s].
        effort: maximal, or submaximal inside a band.
        reps_per_side: reps of each exercise in a set; an exercise has one side.
        sets: how often all of it is done.
        sets_used_to_it: how often by those used to it, None for as often.
        rest_s: from the end of a rep to the next count-in of the same athlete [s].
        set_rest_s: the same from set to set [s].
        target: which number is chased.
        band_percent: edges of the band in percent of the athlete's best.
        fixed_N: a fixed number to reach [N], None without one.
        fixed_band_N: edges of a fixed band [N].
        circuit: blocks with the same word are gone through set by set.
        everyone: True where all athletes do it at the same time; only for what is timed.
    """

    name: Word
    exercises: Annotated[tuple[Word, ...], msgspec.Meta(min_length=1, max_length=24)]
    seconds: Annotated[float, msgspec.Meta(ge=1.0, le=900.0)]
    effort: Effort = Effort.MAXIMAL
    reps_per_side: Reps = 1
    sets: Sets = 1
    sets_used_to_it: Sets | None = None
    rest_s: Rest = 20.0
    set_rest_s: Rest = 90.0
    target: Target = Target.BEST
    band_percent: tuple[Percent, Percent] | None = None
    fixed_N: Newtons | None = None
    fixed_band_N: tuple[Newtons, Newtons] | None = None
    circuit: Annotated[str, msgspec.Meta(max_length=60)] = ""
    everyone: bool = False


class Plan(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A plan.

    Attributes:
        name: one word, such as `speed-day`.
        about: what it is for, in a sentence or two.
        care: what to mind before it is begun; may be empty.
        order: who is next.
        mode: what begins a rep.
        get_set_s: between the call of a name and the count-in, hands free [s].
        result_s: how long a result stays [s].
        change_s: time to change over from one athlete to the next [s].
        dose_sets: most sets for those new to it, None where nothing is said of it.
        dose_sets_used_to_it: the same for those used to it.
        block: the blocks, in order.
    """

    name: Annotated[str, msgspec.Meta(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
    block: Annotated[tuple[Block, ...], msgspec.Meta(min_length=1, max_length=MOST_BLOCKS)]
    about: Text = ""
    care: Text = ""
    order: Order = Order.ATHLETE
    mode: Mode = Mode.COACH
    get_set_s: Annotated[float, msgspec.Meta(ge=0.0, le=60.0)] = 2.0
    result_s: Annotated[float, msgspec.Meta(ge=0.0, le=60.0)] = 4.0
    change_s: Annotated[float, msgspec.Meta(ge=0.0, le=300.0)] = 10.0
    dose_sets: Sets | None = None
    dose_sets_used_to_it: Sets | None = None


def circuits(plan: Plan) -> list[list[Block]]:
    """Split a plan into what is gone through set by set.

    Args:
        plan: the plan.

    Returns:
        Blocks in order; one without a circuit stands alone.
    """
    keys = enumerate(plan.block)
    groups = groupby(keys, lambda one: one[1].circuit or one[0])
    return [[block for _, block in group] for _, group in groups]


def is_timed(block: Block, known: Mapping[str, Exercise]) -> bool:
    """Say whether a block is timed and logged, not measured.

    Args:
        block: a block whose exercises are known.
        known: key -> exercise.
    """
    return find(block.exercises[0], known)[0].way is Way.TIMED


def with_sets(plan: Plan, *, is_used_to_it: bool, sets: int | None = None) -> Plan:
    """Settle how many sets are done.

    Args:
        plan: as it is written.
        is_used_to_it: True for a group that is used to it.
        sets: sets of every block, None for what the plan says.

    Returns:
        The plan as it is run.
    """

    def settled(block: Block) -> Block:
        usual = (is_used_to_it and block.sets_used_to_it) or block.sets
        return msgspec.structs.replace(block, sets=sets or usual, sets_used_to_it=None)

    return msgspec.structs.replace(plan, block=tuple(settled(block) for block in plan.block))


def check_dose(plan: Plan, *, is_used_to_it: bool) -> None:
    """Refuse more than the plan's own dose.

    Args:
        plan: as it is run, from `with_sets`.
        is_used_to_it: True for a group that is used to it.

    Raises:
        PlanError: a block has more sets than the dose; nothing has begun.
    """
    most = plan.dose_sets_used_to_it if is_used_to_it else plan.dose_sets
    if most is None:
        return
    over = [block for block in plan.block if block.sets > most]
    if over:
        who = "those used to it" if is_used_to_it else "those new to it"
        raise PlanError(
            f"{plan.name}: {over[0].name} has {over[0].sets} sets, and the dose for {who} is "
            f"{most}. Nothing has begun. Take fewer sets, or confirm with --beyond-dose."
        )
