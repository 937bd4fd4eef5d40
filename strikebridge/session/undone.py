"""What was taken back, or would be, in one sentence for the coach."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.training import Closing
from strikebridge.session.lineup import called
from strikebridge.units import show_doubt, show_force

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.club.athlete import Athlete
    from strikebridge.samples import MeasureValue
    from strikebridge.session.happenings import Named, Undone
    from strikebridge.units import ForceUnit

ASKED = "Redo an earlier result?"
NOTHING = "Nothing of this session's run to take back."
_OF: Mapping[Closing, str] = {
    Closing.PAIN: "stop for pain of",
    Closing.SKIPPED: "skipped turn of",
    Closing.NO_SHOW: "missed turn of",
}


def undone_words(
    one: Undone,
    athletes: Mapping[str, Athlete],
    force: MeasureValue | None,
    unit: ForceUnit,
) -> str:
    """Name what was taken back.

    Args:
        one: what was.
        athletes: id -> athlete.
        force: of the hold that counts no longer, None where there was none.
        unit: the coach's unit.

    Returns:
        Such as `Taken back: Ines Halloran, rear straight, 116.0 ± 0.6 kg.`
    """
    if one.turn is None:
        return NOTHING
    who = f"{called(one.turn, athletes)}, {one.turn.exercise.name}"
    if one.why is not None:
        again = "It may go on." if one.why is Closing.PAIN else "It comes again."
        return f"Taken back: {_OF[one.why]} {who}. {again}"
    if force is None or force.value is None:
        return f"Taken back: {who}."
    doubt = "" if force.u95 is None else f" ± {show_doubt(force.u95, unit)}"
    return f"Taken back: {who}, {show_force(force.value, force.u95, unit)}{doubt} {unit}."


def named_words(one: Named, athletes: Mapping[str, Athlete]) -> str:
    """Name what a redo would take back, before it does.

    Args:
        one: what it would be.
        athletes: id -> athlete.

    Returns:
        Such as `Ines Halloran, rear straight, set 1, rep 2, from before the break. Redo again
        takes it back; any other key: no.`
    """
    turn = one.turn
    what = f"{called(turn, athletes)}, {turn.exercise.name}"
    where = f"set {turn.set_number}, rep {turn.rep_number}"
    why = "from before the break" if one.is_before else "not the newest here"
    return f"{what}, {where}, {why}. Redo again takes it back; any other key: no."
