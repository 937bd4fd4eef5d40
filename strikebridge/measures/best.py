"""Whether a force is a new best: one rule for the wall, the review and the report.

A best is new only where the gain is larger than its own doubt, and only like is held against
like: a mean beside a peak, or two definitions of one measure, tell nothing of each other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.measures.coverage import difference

if TYPE_CHECKING:
    from collections.abc import Iterable

    from strikebridge.samples import MeasureValue

NEW_BEST = "new best"
LEVEL = "level with best"


def largest(values: Iterable[MeasureValue | None]) -> MeasureValue | None:
    """Find the largest value; of equal ones the first, which the later did not beat.

    Args:
        values: in the order they were done; those withheld or missing do not count.

    Returns:
        The largest, None where there is none.
    """
    known = [one for one in values if one is not None and one.value is not None]
    return max(known, key=lambda one: one.value or 0.0, default=None)


def against_best(now: MeasureValue | None, best: MeasureValue | None) -> str:
    """Hold a value against the best before it.

    Args:
        now: the value.
        best: the best before it.

    Returns:
        `NEW_BEST`, `LEVEL`, or empty: it is below, or the two cannot be compared.
    """
    if now is None or best is None or now.value is None or best.value is None:
        return ""
    if (now.name, now.version) != (best.name, best.version):
        return ""
    gain, u95 = difference(now, best)
    if abs(gain) <= u95:
        return LEVEL
    return NEW_BEST if gain > 0.0 else ""
