"""What the window shows of a plate walk, decided without a window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.calibration.lifts import Stage
from strikebridge.calibration.walk_view import ENDED, WalkState
from strikebridge.screens import rig_parts as parts
from strikebridge.screens.figure import Page, PageItem, with_words
from strikebridge.screens.keys import Own
from strikebridge.screens.look import State
from strikebridge.screens.plot_model import plot
from strikebridge.screens.rig_layout import DETAIL_CAP, FIGURE_CAP, RigFrame
from strikebridge.screens.wall_words import DASHES

if TYPE_CHECKING:
    from strikebridge.calibration.walk_view import WalkView

TITLE = "Calibration with plates"
OWNS = (Own.SCHEME, Own.FULL_SCREEN, Own.CLOSE)
STAGES = {
    Stage.ZERO: "the empty cell",
    Stage.EXERCISE: "exercise the cell",
    Stage.WALK: "walk",
    Stage.EXTRA: "one more lift",
}


class WalkModel:
    """Decide what stands on the page of a walk."""

    def __init__(self) -> None:
        """Begin with nothing known of the masses."""
        self._top_kg = 0.0

    def look(self, view: WalkView, size: tuple[float, float]) -> Page:
        """Decide the page.

        Args:
            view: the walk as it stands.
            size: width and height of the page [px].

        Returns:
            What is to be painted.
        """
        the = RigFrame(*size)
        # the exercise goes to the top first, so the plot is scaled before the first point
        masses_kg = (point.mass_kg for point in view.points)
        self._top_kg = max(self._top_kg, view.wanted_kg, *masses_kg)
        share = view.steps_done / max(1, view.steps_total)
        items = parts.head(TITLE, step_words(view), share, the)
        if view.trouble is not None:
            items += parts.trouble(view.trouble, the)
        elif view.state is WalkState.READY:
            items += parts.reminders(view.instruction, view.detail, the)
        elif view.state in (WalkState.REVIEW, *ENDED):
            items += parts.orders(view.instruction, view.detail, the)
            items += plot(view, the.wide_plot, the.cap(FIGURE_CAP), self._top_kg or 1.0)
        else:
            items += parts.orders(view.instruction, view.detail, the)
            items += _reading(view, the)
            items += plot(view, the.plot, the.cap(FIGURE_CAP), self._top_kg or 1.0)
        if view.trouble is None:
            cap_px = the.cap(DETAIL_CAP)
            items.append(parts.plain(remark_words(view), the.remark, cap_px, lines=2))
        leads = [key.value for key in view.keys]
        items.append(parts.keys(leads, OWNS, the, has_ended=view.state in ENDED))
        return with_words(tuple(items))


def _reading(view: WalkView, the: RigFrame) -> list[PageItem]:
    wanted = f"{view.wanted_kg:g} kg is to lie on the cell" if view.wanted_kg else ""
    words, state, share = steadiness_words(view)
    return [
        *parts.reading(number_words(view), caption_words(view), wanted, the),
        *parts.steadiness(words, state, share, the),
    ]


def steadiness_words(view: WalkView) -> tuple[str, State, float]:
    """Say whether the reading is stable.

    Args:
        view: the walk.

    Returns:
        Words, colour and hatch of the bar, and how much of it is filled.
    """
    if view.state is WalkState.QUESTION:
        return "does not fit: redo it, or keep it", State.OVER, 1.0
    if view.state is WalkState.WAITING:
        return view.steadiness, State.STALE, 1.0
    if view.is_stable or view.state is WalkState.TAKING:
        return view.steadiness, State.THERE, view.taking_share
    return view.steadiness, State.PUSH, 1.0


def step_words(view: WalkView) -> str:
    """Say which step this is, such as `step 7 of 20: walk 1, loading`."""
    if view.state in ENDED:
        return f"{len(view.points)} points"
    if view.lift is None:
        return f"{view.steps_total} steps"
    words = STAGES[view.lift.stage]
    if view.lift.stage is Stage.WALK:
        way = {1: ", loading", -1: ", unloading"}.get(view.lift.direction, "")
        words = f"walk {view.lift.run}{way}"
    return f"step {view.steps_done + 1} of {view.steps_total}: {words}"


def number_words(view: WalkView) -> tuple[str, str]:
    """Write the live reading: kilograms as soon as there is a line, else what the board says.

    Args:
        view: the walk.

    Returns:
        Digits and unit.
    """
    if view.reading is None:
        return DASHES, ""
    if view.load_kg is not None:
        return f"{round(view.load_kg, 2) + 0.0:.2f}", "kg"
    unit = "" if view.quantity == "count" else view.quantity
    return f"{view.reading:.0f}" if not unit else f"{view.reading:.2f}", unit


def caption_words(view: WalkView) -> str:
    """Say what the live reading is."""
    if view.load_kg is None:
        return "the board's reading now"
    return "on the cell now, by the line so far"


def remark_words(view: WalkView) -> str:
    """Give what was noticed last, unless it was put right or the page says it already.

    Args:
        view: the walk.

    Returns:
        One sentence or nothing.
    """
    last = view.remarks[-1] if view.remarks else ""
    is_mended = any(
        last.startswith(f"{point.label}:") and not point.remark for point in view.points
    )
    return "" if is_mended or view.state is WalkState.QUESTION else last
