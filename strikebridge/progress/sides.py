"""The two sides of an athlete: over sessions, and as the published formulas have it.

Nine formulas for asymmetry are in print (Bishop, Read, Chavda, Turner 2016, Strength Cond J,
doi 10.1519/SSC.0000000000000264). strikebridge says the percentage difference with a sign; the
others are here for who has to compare with a paper.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from strikebridge.measures.several import asymmetry
from strikebridge.progress.estimate import Estimate
from strikebridge.progress.rep_summary import by_session

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import datetime

    from strikebridge.club.selection import RepSummary
    from strikebridge.samples import MeasureValue


SESSIONS_TO_TELL = 2
"""So many with both hands tell how much the difference varies; one tells nothing of it."""


def percentage_difference(left: float, right: float) -> float:
    """Give (max - min) / max [%], the bilateral strength asymmetry."""
    return 100.0 * abs(left - right) / max(left, right)


def limb_symmetry_index(left: float, right: float) -> float:
    """Give min / max [%]."""
    return 100.0 * min(left, right) / max(left, right)


def bilateral_asymmetry_index(left: float, right: float) -> float:
    """Give (max - min) / (max + min) [%]."""
    return 100.0 * abs(left - right) / (left + right)


def symmetry_index(left: float, right: float) -> float:
    """Give (max - min) / mean [%]."""
    return 100.0 * abs(left - right) / (0.5 * (left + right))


def log_ratio(left: float, right: float) -> float:
    """Give 100 ln(right / left) [%], above zero where the right is the stronger."""
    return 100.0 * math.log(right / left)


def symmetry_angle(left: float, right: float) -> float:
    """Give |45 degrees - arctan(left / right)| / 90 degrees [%]."""
    return 100.0 * abs(45.0 - math.degrees(math.atan2(left, right))) / 90.0


VARIANTS: Mapping[str, Callable[[float, float], float]] = {
    "percentage difference": percentage_difference,
    "limb symmetry index": limb_symmetry_index,
    "bilateral asymmetry index": bilateral_asymmetry_index,
    "symmetry index": symmetry_index,
    "log ratio": log_ratio,
    "symmetry angle": symmetry_angle,
}


def asymmetry_by_session(
    lead: Sequence[RepSummary], rear: Sequence[RepSummary]
) -> list[tuple[datetime, MeasureValue]]:
    """Compare lead and rear in each session that has both.

    Args:
        lead: reps of the lead hand, one exercise and set-up.
        rear: reps of the rear hand, like exercise and set-up.

    Returns:
        When the session began and the asymmetry [%], oldest first.

    Raises:
        ValueError: when the set-ups or the athletes differ.
    """
    if len({(rep.like.athlete, rep.like.setup) for rep in (*lead, *rear)}) > 1:
        raise ValueError("The sides of one athlete are compared at one set-up only.")
    others = {reps[0].session: reps for reps in by_session(rear)}
    return [
        (
            reps[0].at,
            asymmetry([rep.value for rep in reps], [rep.value for rep in others[key]]),
        )
        for reps in by_session(lead)
        if (key := reps[0].session) in others
    ]


def pooled_asymmetry(found: Sequence[MeasureValue]) -> Estimate | None:
    """Average the asymmetry over sessions.

    *Uncertainty*: scatter of the sessions / sqrt n, degrees of freedom n - 1, and no less than
    the mean own doubt / sqrt n. What a calibration is off by cancels in a ratio.

    Args:
        found: asymmetry of each session [%].

    Returns:
        The mean [%]; None with fewer than two sessions.
    """
    kept = [(one.value, one.u_own or 0.0) for one in found if one.value is not None]
    n = len(kept)
    if n < SESSIONS_TO_TELL:
        return None
    mean = sum(value for value, _ in kept) / n
    scatter = sum((value - mean) ** 2 for value, _ in kept) / (n - 1)
    measured = sum(u**2 for _, u in kept) / n
    return Estimate(mean, "%", math.sqrt(max(scatter, measured) / n), n - 1.0)
