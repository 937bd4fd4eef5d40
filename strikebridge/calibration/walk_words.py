"""What a plate walk says, state by state."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.calibration.lifts import Stage, what_to_do
from strikebridge.calibration.walk_view import WalkKey, WalkState

if TYPE_CHECKING:
    from strikebridge.calibration.lifts import Lift

BEGIN = "Take everything off the cell, then begin."
REMINDERS = (
    "The plates must load the cell in the direction of the punch: lay the rig flat, or hang the"
    " cell. Keep hands and feet clear. Mount it after the walk, then zero it again: the gain"
    " stays, the zero moves with the weight of the pad."
)
FINISH = "All steps are done. Finish, or do the last one again."
DONE = "Take the plates off, mount the rig, and zero it again."
OVERLOADED = "More lies on the cell than it is rated for. Take load off."
SATURATED = (
    "The converter stands at the end of its range: take load off, or look at the wiring."
)
UNSETTLED = "It does not settle. Look for a swinging plate or a hand on the rig."
KEPT_IN = "the folder points of your data folder"
CANCELLED = f"The walk was cancelled. Its points are kept in {KEPT_IN}."
KEYS: dict[WalkState, tuple[WalkKey, ...]] = {
    WalkState.READY: (WalkKey.NEXT, WalkKey.CANCEL),
    WalkState.WAITING: (WalkKey.NEXT, WalkKey.REDO, WalkKey.QUIT),
    WalkState.SETTLING: (WalkKey.NEXT, WalkKey.REDO, WalkKey.QUIT),
    WalkState.TAKING: (WalkKey.REDO, WalkKey.QUIT),
    WalkState.QUESTION: (WalkKey.NEXT, WalkKey.REDO, WalkKey.QUIT),
    WalkState.REVIEW: (WalkKey.NEXT, WalkKey.REDO, WalkKey.CANCEL),
    WalkState.DONE: (),
    WalkState.CANCELLED: (),
}
"""Which keys mean something."""


def keys_of(state: WalkState, *, can_finish: bool) -> tuple[WalkKey, ...]:
    """Say which keys mean something now; quit cancels while it cannot finish.

    Args:
        state: what the walk is doing.
        can_finish: whether what there is makes a calibration.

    Returns:
        The keys in the order they are shown.
    """
    keys = KEYS[state]
    if can_finish:
        return keys
    return tuple(WalkKey.CANCEL if key is WalkKey.QUIT else key for key in keys)


def instruction(state: WalkState, before: Lift | None, lift: Lift) -> str:
    """Say what to do now.

    Args:
        state: what the walk is doing.
        before: the step before, None at the first.
        lift: the step under way.

    Returns:
        One sentence.
    """
    fixed = {
        WalkState.READY: BEGIN,
        WalkState.TAKING: "Hands off: the mean is being taken.",
        WalkState.QUESTION: "Look at the plates: this point does not fit.",
        WalkState.REVIEW: FINISH,
        WalkState.DONE: DONE,
        WalkState.CANCELLED: CANCELLED,
    }
    if state in fixed:
        return fixed[state]
    if before is None:
        return "Leave the cell empty, hands off."
    return what_to_do(before.plates, lift.plates, lift.cell)


def detail(state: WalkState, lift: Lift, wanted_kg: float, remark: str) -> str:
    """Say why, or what to mind.

    Args:
        state: what the walk is doing.
        lift: the step under way.
        wanted_kg: mass on the faces of the plates that are to lie there [kg].
        remark: what was noticed of the last point, may be empty.

    Returns:
        One or two sentences, may be empty.
    """
    if state is WalkState.READY:
        return REMINDERS
    if state is WalkState.QUESTION:
        return (
            f"{remark} Put it right and it is taken again by itself, or keep it if the plates"
            " are right."
        )
    words = {
        Stage.ZERO: "",
        Stage.EXERCISE: f"The cell is exercised: all plates on, {wanted_kg:g} kg. No point yet."
        if lift.plates
        else "If a plate was still missing, put it on first: the cell is to feel all of them.",
        Stage.WALK: f"Walk {lift.run}. You may finish at any time." if lift.run > 1 else "",
        Stage.EXTRA: "One more lift: without it this plate cannot be told from another.",
    }
    return words[lift.stage] if state in (WalkState.WAITING, WalkState.SETTLING) else ""


def steadiness(state: WalkState, reason: str | None) -> str:
    """Say how stable the reading is.

    Args:
        state: what the walk is doing.
        reason: why it is not stable, empty if it is, None while nobody can say.

    Returns:
        A few words.
    """
    if state is WalkState.WAITING:
        return "waiting for the load"
    if state is WalkState.TAKING:
        return "stable: taking the mean"
    if reason is None:
        return "not stable yet"
    return f"not stable yet: {reason}" if reason else "stable"
