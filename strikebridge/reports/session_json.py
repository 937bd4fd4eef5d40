"""The document that `session --json` prints: SI units, no NaN, every attempt of every turn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.exercise import Way
from strikebridge.reports.analysis_json import measure_document

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.training import RepRecord, ResumePoint
    from strikebridge.reports.analysis_json import Json
    from strikebridge.session.turns import Turn


def session_document(
    point: ResumePoint,
    turns: Sequence[Turn],
    reps: Sequence[RepRecord],
    athletes: Mapping[str, Athlete],
) -> dict[str, Json]:
    """Write a session as plain values.

    Args:
        point: where it stands.
        turns: every turn planned.
        reps: its reps, those taken back among them.
        athletes: id -> athlete.

    Returns:
        Counts of measured holds, and every measured rep.
    """
    holds = {turn.number for turn in turns if turn.is_measured}
    return {
        "session": point.session.id,
        "plan": point.session.plan,
        "planned": len(holds),
        "done": len(holds & point.done),
        "skipped": len(holds & set(point.closed)),
        "reps": [
            _rep(rep, athletes[rep.athlete].name) for rep in reps if rep.way is Way.MEASURED
        ],
    }


def _rep(rep: RepRecord, athlete: str) -> dict[str, Json]:
    return {
        "athlete": athlete,
        "exercise": rep.exercise,
        "hand": None if rep.hand is None else rep.hand.value,
        "set": rep.set_number,
        "rep": rep.rep_number,
        "turn": rep.turn,
        "attempt": rep.attempt,
        "kept": rep.is_kept,
        "rise": rep.rise,
        "hold": rep.hold,
        "cue": rep.cue,
        "measures": {name: measure_document(one) for name, one in rep.measures.items()},
        "recording": rep.recording,
        "calibration": rep.certificate,
    }
