"""Reps of invented athletes for the tests of progress."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from strikebridge.club.selection import Like, RepSummary
from strikebridge.progress.score import ScoreRun, score_run
from strikebridge.samples import MeasureValue, Status

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

LIKE = Like("a1", "rear straight", "right", "wall")
START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def force(
    value_N: float,
    certificate: str | None = "c1",
    u_own: float = 1.0,
    u_common: float = 0.0,
    dof: float = math.inf,
) -> MeasureValue:
    return MeasureValue("peak_force", value_N, "N", u_own, u_common, certificate, dof)


def withheld() -> MeasureValue:
    return MeasureValue(
        "peak_force", None, "N", None, None, status=Status.WITHHELD, reason="too slow"
    )


def session(
    day: float,
    values: Sequence[float | MeasureValue],
    like: Like = LIKE,
    cues: Sequence[str] = (),
    sets: Sequence[int] = (),
    **more: Any,
) -> list[RepSummary]:
    """Reps of one session; a number becomes a force, anything else is taken as it is."""
    at = START + timedelta(days=day)
    return [
        RepSummary(
            like=like,
            session=f"s{day}",
            at=at + timedelta(minutes=i),
            turn=i,
            value=value if isinstance(value, MeasureValue) else force(float(value), **more),
            cue=cues[i] if cues else "",
            set_number=sets[i] if sets else 1,
        )
        for i, value in enumerate(values)
    ]


def camp(
    levels: Iterable[float],
    like: Like = LIKE,
    days_apart: float = 4,
    reps: int = 3,
    **more: Any,
) -> list[RepSummary]:
    """Reps with one score a session, each rep of it the same."""
    found = []
    for i, level in enumerate(levels):
        found += session(i * days_apart, [float(level)] * reps, like, **more)
    return found


def run_of(levels: Iterable[float], **more: Any) -> ScoreRun:
    return score_run(camp(levels, **more))
