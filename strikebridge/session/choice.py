"""What a coach has chosen for the next session: which plan, who, how much of it, how it is led.

It is kept as JSON in the data folder between the page of the plan and the session; it names
athletes by their random ids alone, so that nothing of a person stands in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import msgspec

from strikebridge.club.rig_setup import RigSetup
from strikebridge.session.plan import (
    Mode,
    Order,
    check_dose,
    with_sets,
)

if TYPE_CHECKING:
    from strikebridge.session.plan import Plan

NOT_NOTED = RigSetup()


@dataclass(frozen=True, slots=True)
class Volume:
    """How much of a plan is done.

    Attributes:
        is_used_to_it: True for a group that is used to it.
        sets: sets of every block, None for what the plan says.
        is_confirmed: True to go beyond the plan's own dose.
    """

    is_used_to_it: bool = False
    sets: int | None = None
    is_confirmed: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """What the next session is.

    Attributes:
        plan: name of a plan that comes with the program, or of a file in the coach's folder of
            plans, such as `tuesday.toml`.
        athletes: ids, in the order in which they are called.
        group: the group these athletes are, empty where they were picked one by one.
        volume: how much of the plan.
        order: who is next, None for what the plan says.
        mode: what begins a rep, None for what the plan says.
        rig: how wall and fist are set up.
        cues: the coach's own list, empty for the program's.
    """

    plan: str
    athletes: tuple[str, ...] = ()
    group: str = ""
    volume: Volume = Volume()
    order: Order | None = None
    mode: Mode | None = None
    rig: RigSetup = NOT_NOTED
    cues: tuple[str, ...] = ()


def as_run(
    plan: Plan, volume: Volume, mode: Mode | None = None, order: Order | None = None
) -> Plan:
    """Settle sets, mode and order.

    Args:
        plan: as it is written.
        volume: how much of it.
        mode: what begins a rep, None for what the plan says.
        order: who is next, None for what the plan says.

    Returns:
        The plan as it is run.

    Raises:
        PlanError: it is more than the plan's own dose, and nobody confirmed it.
    """
    plan = with_sets(plan, is_used_to_it=volume.is_used_to_it, sets=volume.sets)
    if not volume.is_confirmed:
        check_dose(plan, is_used_to_it=volume.is_used_to_it)
    return msgspec.structs.replace(plan, mode=mode or plan.mode, order=order or plan.order)


def write_choice(choice: Choice) -> bytes:
    """Write a choice as JSON.

    Args:
        choice: the choice.
    """
    return msgspec.json.format(msgspec.json.encode(choice)) + b"\n"


def read_choice(written: bytes) -> Choice | None:
    """Read a choice back.

    Args:
        written: from `write_choice`.

    Returns:
        The choice, None where the bytes are none, be it from another version or a torn file.
    """
    try:
        return msgspec.json.decode(written, type=Choice)
    except msgspec.MsgspecError:
        return None
