"""The document that `progress --json` prints: SI units, no NaN, nothing rounded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.progress.score import measured
from strikebridge.reports.analysis_json import measure_document, number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.club.selection import Like, RepSummary
    from strikebridge.progress.cue import CueEffect
    from strikebridge.progress.estimate import Estimate
    from strikebridge.progress.overview import Overview, Squad
    from strikebridge.progress.score import Score
    from strikebridge.records import Camp, Sides, Standing
    from strikebridge.reports.analysis_json import Json


def camp_document(camp: Camp, names: Mapping[str, str]) -> dict[str, Json]:
    """Write what is on record as plain values.

    Args:
        camp: what is on record.
        names: id of an athlete -> name.

    Returns:
        A document of plain values that JSON can carry.
    """
    return {
        "measure": camp.measure,
        "since": None if camp.since is None else camp.since.isoformat(),
        "until": None if camp.until is None else camp.until.isoformat(),
        "standings": [_standing(one, names) for one in camp.standings],
        "sides": [_sides(one, names) for one in camp.sides()],
        "squads": {key: _squad(one) for key, one in camp.squads.items()},
        "setups": {key: _setup(one) for key, one in camp.setups.items()},
    }


def estimate_document(one: Estimate | None) -> dict[str, Json] | None:
    """Write a number with its interval.

    Args:
        one: the number, None where there is none.
    """
    if one is None:
        return None
    return {
        "value": number(one.value),
        "unit": one.unit,
        "u95": number(one.u95),
        "low": number(one.low),
        "high": number(one.high),
        "dof": number(one.dof),
        "word": one.word.value,
    }


def _like(like: Like, names: Mapping[str, str]) -> dict[str, Json]:
    return {
        "athlete": names[like.athlete],
        "athlete_id": like.athlete,
        "exercise": like.exercise,
        "hand": like.hand or None,
        "setup": like.setup,
        "effort": like.effort.value,
    }


def _standing(standing: Standing, names: Mapping[str, str]) -> dict[str, Json]:
    found = standing.overview
    return {
        **_like(found.like, names),
        "reps": found.reps,
        "sessions": found.sessions,
        "heading": found.heading.value,
        "best": _rep(found.best),
        "best_three": _score(found.best_three),
        "scores": [_score(one) for one in found.run.scores],
        "change": _change(found),
        "trend": estimate_document(found.trend),
        "typical_error": {
            "percent": number(100.0 * found.error.share),
            "dof": number(found.error.dof),
            "tests": found.error.tests,
            "source": found.error.source.value,
        },
        "smallest_worthwhile": number(found.worthwhile),
        "today": _today(found),
        "drop_off": {str(key): measure_document(one) for key, one in found.drop_offs.items()},
        "cues": [_cue(one) for one in found.cues],
        "cautions": [*found.run.cautions, *standing.cautions],
    }


def _rep(rep: RepSummary) -> dict[str, Json]:
    return {
        "value": number(rep.value.value),
        "u95": number(rep.value.u95),
        "unit": rep.value.unit,
        "at": rep.at.isoformat(),
        "session": rep.session,
    }


def _score(score: Score) -> dict[str, Json]:
    return {
        "value": number(score.value),
        "u95": number(measured(score).u95),
        "unit": score.unit,
        "at": score.at.isoformat(),
        "session": score.session,
        "averaged": score.averaged,
        "tries": score.tries,
    }


def _change(found: Overview) -> dict[str, Json] | None:
    change, document = found.change, None
    if change is not None:
        document = estimate_document(change.estimate)
    if change is None or document is None:
        return None
    return {
        **document,
        "percent": number(change.percent),
        "least_real": number(change.least_real),
        "before": number(change.before),
        "now": number(change.now),
        "tests_before": change.tests_before,
        "tests_now": change.tests_now,
    }


def _today(found: Overview) -> dict[str, Json]:
    today = found.today
    return {
        "word": today.word.value,
        "change": estimate_document(today.change),
        "level": number(today.level),
        "tests": today.tests,
        "matters": number(today.matters),
        "reason": today.reason,
    }


def _cue(cue: CueEffect) -> dict[str, Json]:
    return {
        "cue": cue.cue,
        "cued": cue.cued,
        "alike": cue.alike,
        "plain_change": number(cue.plain_change),
        "effect": estimate_document(cue.effect),
        "word": cue.word.value,
        "reason": cue.reason,
    }


def _sides(sides: Sides, names: Mapping[str, str]) -> dict[str, Json]:
    like = sides.lead.like
    return {
        "athlete": names[like.athlete],
        "lead": like.exercise,
        "rear": sides.rear.like.exercise,
        "setup": like.setup,
        "effort": like.effort.value,
        "sessions": [
            {"at": at.isoformat(), **measure_document(one)} for at, one in sides.by_session
        ],
        "pooled": estimate_document(sides.pooled),
    }


def _squad(squad: Squad) -> dict[str, Json]:
    return {
        "typical_error_percent": number(100.0 * squad.error.share),
        "dof": number(squad.error.dof),
        "pooled_dof": number(squad.error.pooled_dof),
        "is_assumed": squad.error.is_assumed,
        "smallest_worthwhile": {
            hand: number(one) for hand, one in (squad.worthwhile or {}).items()
        },
    }


def _setup(setup: RigSetup) -> dict[str, Json]:
    return {
        "pad_height_m": setup.pad_height_m,
        "distance_m": setup.distance_m,
        "pad": setup.pad,
        "cover": setup.cover,
        "fist": setup.fist,
        "elbow_deg": setup.elbow_deg,
        "feet": setup.feet,
    }
