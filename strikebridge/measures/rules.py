"""Which readings a measure needs: the rules that decide between ok, coarse and withheld.

They depend on the board alone (rate, settling, lost readings), so the same hold may be sound on
one board and withheld on another. The limits are our own convention.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.measures.table import Estimate, Outcome, Withheld

if TYPE_CHECKING:
    from strikebridge.measures.view import View

COARSE_TIMES_HZ = 150.0
LOWEST_TIMES_HZ = 60.0
WINDOW_SAMPLES = 5
WITHHELD_SETTLINGS, COARSE_SETTLINGS = 2.0, 4.0
NO_ONSET = Withheld("the start of the rise could not be seen")
TOO_SLOW = Withheld(
    f"the board is too slow: this takes {LOWEST_TIMES_HZ:.0f} readings a second at least"
)
SLOW = f"the board is slow for this: below {COARSE_TIMES_HZ:.0f} readings a second"
SLOW_ONSET = f"the start is only rough: below {LOWEST_TIMES_HZ:.0f} readings a second"
HOLE = "readings were lost on the way"


def timed(view: View, estimate: Estimate) -> Outcome:
    """Apply the rule for times of the rise: coarse under 150 /s, withheld under 60 /s.

    Args:
        view: the hold.
        estimate: what was found.

    Returns:
        The estimate with its reasons, or withheld.
    """
    if not view.hold.onset_sure:
        return NO_ONSET
    if view.rate_hz < LOWEST_TIMES_HZ:
        return TOO_SLOW
    reasons = [estimate.coarse] if estimate.coarse else []
    if view.rate_hz < COARSE_TIMES_HZ:
        reasons.append(SLOW)
    return Estimate(
        estimate.value,
        estimate.normal,
        estimate.rectangular,
        estimate.common,
        "; ".join(reasons),
    )


def early_window(view: View, window_s: float) -> Withheld | str:
    """Judge whether a window from the onset can be measured.

    Args:
        view: the hold.
        window_s: length of the window [s].

    Returns:
        Withheld, or why the window is only coarse, empty where it is sound.
    """
    if not view.hold.onset_sure:
        return NO_ONSET
    ms = round(window_s * 1000.0)
    if window_s * view.rate_hz < WINDOW_SAMPLES - 1e-6:
        return Withheld(f"{ms} ms hold fewer than {WINDOW_SAMPLES} readings of this board")
    if window_s < WITHHELD_SETTLINGS * view.settling_s - 1e-9:
        return Withheld(f"this board smears a step over {ms / 2:.0f} ms or more")
    if view.onset_s + window_s > view.time_s[-1]:
        return Withheld("the readings stop before the end of this window")
    reasons = []
    if window_s < COARSE_SETTLINGS * view.settling_s - 1e-9:
        reasons.append(f"this board smears a step over more than {ms / 4:.0f} ms")
    if view.rate_hz < COARSE_TIMES_HZ:
        reasons.append(SLOW)
    if view.has_hole(view.onset_s, view.onset_s + window_s):
        reasons.append(HOLE)
    return "; ".join(reasons)
