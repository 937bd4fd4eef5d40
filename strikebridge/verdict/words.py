"""How the verdict is said: a sentence on the movement for the athlete, numbers for the coach.

The athlete reads at most one thing to mend, the weightiest, from four metres: short words of
the gym, no number. The coach reads why.
"""

from __future__ import annotations

from strikebridge.samples import Effort, MeasureValue
from strikebridge.units import decimals_for

NOT_MEASURABLE = "not measurable"

ATHLETE: dict[str, str] = {
    "over rating": "Stop. That was more than the load cell is made for.",
    "false start": "You went before the go. Wait for it, then push.",
    "leaning": "You were leaning on it. Start loose, then push.",
    "double hit": "You hit, came off and hit again. Hit once and stay on it.",
    "two-stage": "You touched, then pushed. Hit it in one go.",
    "early let-go": "You let go early. Stay on it until the count is over.",
    "ramp": "You pushed it up. Snap into it.",
    "sagging": "You faded. Stay as hard at the end as at the start.",
    "outside band": "You left the band. Find it and stay in it.",
    "shaky": "You were shaking. Brace and hold it still.",
    "over range": "That was more than the board can read. Tell your coach.",
    "incomplete": "Part of that one is missing. Do it again.",
}
"""Fault -> what the athlete reads, the weightiest first: safety, start, rise, hold, the kit."""

PRAISE: dict[tuple[str, str], str] = {
    ("snap", "steady"): "Snapped in and held. Same again.",
    ("snap", NOT_MEASURABLE): "Snapped in. Same again.",
    (NOT_MEASURABLE, "steady"): "Held steady. Same again.",
    (NOT_MEASURABLE, NOT_MEASURABLE): "That one counts. Same again.",
}
"""Words without a fault -> what the athlete reads."""

BACKWARDS_WALL = "Force reads backwards: turn the cell"
"""To be read from four metres, where pushes read as pulls."""

BACKWARDS = (
    "The force went far below zero and came back, as if somebody had pulled: the cell is "
    "mounted the wrong way round, or the gain has the wrong sign. Turn the cell, or give the "
    "gain with the other sign; until then no hold is right."
)

NEAR_BAND = "That may have been outside the band. Aim for its middle."


def weighed(faults: set[str], effort: Effort) -> tuple[str, ...]:
    """Put faults in order of weight.

    Args:
        faults: all that apply.
        effort: in a submaximal hold the band is the task and the snap is not: a ramp comes
        last.

    Returns:
        The faults, weightiest first.
    """
    order = list(ATHLETE)
    if effort is Effort.SUBMAXIMAL:
        order.remove("ramp")
        order.append("ramp")
    return tuple(fault for fault in order if fault in faults)


def athlete_sentence(
    words: tuple[str, str], faults: tuple[str, ...], *, is_above: bool, is_near_band: bool
) -> str:
    """Say one thing about the movement.

    Args:
        words: word on the rise, and on the hold.
        faults: weightiest first.
        is_above: whether the hold mean lies above the band; used for `outside band` only.
        is_near_band: whether it cannot be told if the hold was in its band: no praise then.

    Returns:
        One short message without numbers.
    """
    if not faults:
        return NEAR_BAND if is_near_band else PRAISE[words]
    if faults[0] == "outside band":
        return "Too hard. Ease into the band." if is_above else "Too light. Push into the band."
    return ATHLETE[faults[0]]


def figure(value: MeasureValue, unit: str | None = None) -> str:
    """Write a value no finer than its uncertainty.

    Args:
        value: a value that is not withheld.
        unit: what to write after it; its own unit where None.

    Returns:
        Text such as `72 %`.
    """
    number = 0.0 if value.value is None else value.value
    decimals = decimals_for(value.u95, most=2)
    shown = round(number, decimals) + 0.0  # no minus before a zero
    return f"{shown:.{decimals}f} {value.unit if unit is None else unit}".rstrip()


def coach_detail(rise: tuple[str, str], hold: tuple[str, str], others: list[str]) -> str:
    """Say why, with numbers.

    Args:
        rise: word on the rise and its reason.
        hold: word on the hold and its reason.
        others: further remarks, each complete in itself.

    Returns:
        One sentence.
    """
    parts = [f"Rise {rise[0]}: {rise[1]}", f"hold {hold[0]}: {hold[1]}", *others]
    return "; ".join(parts) + "."
