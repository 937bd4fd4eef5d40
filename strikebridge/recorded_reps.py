"""Stored reps found again in their recordings, with curve and bricks.

A database holds no curve: a rep knows its recording and where in it it begins. Each recording
is analysed once more by the pipeline that analysed it live, and so the very same holds come
out. A recording that has been moved away costs the curves and nothing else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.analysis import analyse_file
from strikebridge.errors import StrikebridgeError
from strikebridge.stream_setup import Setup

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from strikebridge.club.training import RepRecord
    from strikebridge.samples import Rep

SAME_S = 1e-3  # far less than a reading is long

Place = tuple[str, float]
"""Name of the recording and beginning of the rep in it [s]."""


def recorded_reps(
    reps: Sequence[RepRecord], folder: Path
) -> tuple[dict[Place, Rep], tuple[str, ...]]:
    """Fetch stored reps out of their recordings.

    Args:
        reps: the reps.
        folder: where the recordings lie.

    Returns:
        The reps by their places; and what could not be fetched, each a sentence.
    """
    wanted: dict[str, list[float]] = {}
    for rep in reps:
        if rep.recording is not None and rep.start_s is not None:
            wanted.setdefault(rep.recording, []).append(rep.start_s)
    found: dict[Place, Rep] = {}
    cautions = []
    for recording, starts in sorted(wanted.items()):
        try:
            analysis = analyse_file(folder / recording, Setup())
        except StrikebridgeError as error:
            cautions.append(f"{_count(len(starts))} without a curve: {error}")
            continue
        held = {_steps(float(one.hold.force.time_s[0])): one for one in analysis.reps}
        here = {(recording, at): held[_steps(at)] for at in starts if _steps(at) in held}
        found |= here
        if len(here) < len(starts):
            missing = _count(len(starts) - len(here))
            cautions.append(f"{missing} without a curve: not found in {recording}.")
    return found, tuple(cautions)


def _steps(time_s: float) -> int:
    """Count in whole steps, for a time out of a database may differ in its last digit."""
    return round(time_s / SAME_S)


def _count(reps: int) -> str:
    return "1 rep" if reps == 1 else f"{reps} reps"
