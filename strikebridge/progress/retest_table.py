"""The table of athletes and tests that a retest report is made from.

Each athlete's newest tests count. Whoever has too few of them, or has them further apart than
the protocol allows, is left out and named: between two tests nothing should have changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from strikebridge.progress.score import Score

WITHIN = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class RetestTable:
    """Athletes and their tests.

    Attributes:
        athletes: ids, one for each row.
        values: score of each test, oldest first, in the unit of the scores; shape (n, k).
        first_at: when the first test of all was, None without any row.
        last_at: when the last was, None without any row.
        left_out: id -> why, a few words.
    """

    athletes: tuple[str, ...]
    values: tuple[tuple[float, ...], ...]
    first_at: datetime | None
    last_at: datetime | None
    left_out: Mapping[str, str]


def retest_table(
    runs: Mapping[str, Sequence[Score]], tests: int = 2, within: timedelta = WITHIN
) -> RetestTable:
    """Make the table.

    Args:
        runs: id of an athlete -> scores of like reps, oldest first.
        tests: how many of each athlete, at least 2.
        within: how far apart the first and the last of them may be.

    Returns:
        The table; it may be too small to say anything.

    Raises:
        ValueError: with fewer than two tests.
    """
    if tests < 2:
        raise ValueError("A retest takes two tests of each athlete.")
    rows: dict[str, Sequence[Score]] = {}
    left_out: dict[str, str] = {}
    for athlete, scores in runs.items():
        newest = scores[-tests:]
        if len(newest) < tests:
            left_out[athlete] = f"{len(newest)} of {tests} tests"
        elif newest[-1].at - newest[0].at > within:
            left_out[athlete] = f"tests more than {within.days} days apart"
        else:
            rows[athlete] = newest
    moments = [score.at for row in rows.values() for score in row]
    return RetestTable(
        athletes=tuple(rows),
        values=tuple(tuple(score.value for score in row) for row in rows.values()),
        first_at=min(moments, default=None),
        last_at=max(moments, default=None),
        left_out=left_out,
    )
