"""What the window shows of a check, decided without a window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.checks.check_view import ENDED, CheckState
from strikebridge.checks.check_words import check_lines, remarks, verdict_sentence
from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Page, PageItem, with_words
from strikebridge.screens.keys import Own
from strikebridge.screens.look import State
from strikebridge.screens.rig_layout import DETAIL_CAP, WHOLE, WORD_CAP, RigFrame
from strikebridge.screens.wall_words import DASHES
from strikebridge.units import ForceUnit, from_newtons

if TYPE_CHECKING:
    from strikebridge.checks.check_view import CheckView
    from strikebridge.checks.judging import Check

TITLE = "Check before the session"
OWNS = (Own.SCHEME, Own.UNIT, Own.FULL_SCREEN, Own.CLOSE)
STEPS = {
    CheckState.ZERO: "zero",
    CheckState.LOAD: "load",
    CheckState.BACK: "zero again",
}


def check_page(view: CheckView, size: tuple[float, float], unit: ForceUnit) -> Page:
    """Decide the page of a check.

    Args:
        view: the check as it stands.
        size: width and height of the page [px].
        unit: the coach's unit.

    Returns:
        What is to be painted.
    """
    the = RigFrame(*size, WHOLE)
    share = view.steps_done / max(1, view.steps_total)
    items = parts.head(TITLE, step_words(view), share, the)
    has_ended = view.state in ENDED
    if view.trouble is not None and not has_ended:
        items += parts.trouble(view.trouble, the)
    elif view.check is not None:
        items += _result(view.check, the, unit)
    else:
        items += parts.orders(view.instruction, view.detail, the)
        if not has_ended:
            items += _reading(view, the, unit)
    leads = [key.value for key in view.keys]
    items.append(parts.keys(leads, OWNS, the, has_ended=has_ended))
    return with_words(tuple(items))


def step_words(view: CheckView) -> str:
    """Say which step this is, such as `step 2 of 3: load`; empty at the end."""
    if view.state not in STEPS:
        return ""
    return f"step {view.steps_done + 1} of {view.steps_total}: {STEPS[view.state]}"


def force_words(force_N: float | None, unit: ForceUnit) -> str:
    """Write the live force, two decimals finer than a wall: nobody pushes here.

    Args:
        force_N: force [N], None while nothing comes.
        unit: the coach's unit.
    """
    if force_N is None:
        return DASHES
    places = 1 if unit is ForceUnit.N else 2
    return f"{round(from_newtons(force_N, unit), places) + 0.0:.{places}f}"


def _reading(view: CheckView, the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    wanted = ""
    if view.wanted_N:
        wanted = f"{force_words(view.wanted_N, unit)} {unit} is to come"
    is_waiting = view.steadiness in ("waiting for the load", "still loaded")
    state, share = State.STALE if is_waiting else State.PUSH, 1.0
    if view.is_stable and not is_waiting:
        state, share = State.THERE, view.taking_share
    number = (force_words(view.force_N, unit), unit.value)
    return [
        *parts.reading(number, "on the rig now, by its calibration", wanted, the),
        *parts.steadiness(view.steadiness, state, share, the),
    ]


def _result(check: Check, the: RigFrame, unit: ForceUnit) -> list[PageItem]:
    rows = check_lines(check, unit)
    said = " ".join(remarks(check))
    return [
        parts.bold(verdict_sentence(check), the.box(0.10, 0.36), the.cap(0.072), lines=3),
        *parts.table(rows, the.box(0.39, 0.83), the.cap(WORD_CAP)),
        parts.plain(said, the.box(0.84, 0.945), the.cap(DETAIL_CAP), lines=2, is_quiet=True),
    ]
