"""The document that `verify --json` prints: SI units, no NaN."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.checks.check_words import remarks, verdict_sentence

if TYPE_CHECKING:
    from strikebridge.checks.judging import Check, Gain, Shift
    from strikebridge.reports.analysis_json import Json


def check_document(check: Check) -> dict[str, Json]:
    """Write a check as plain values.

    Args:
        check: the check.

    Returns:
        `verdict` is `good`, `zero moved`, `gain moved` or `cell damaged`; `gain` is null where
        it is unchecked.
    """
    return {
        "verdict": check.verdict.value,
        "sentence": verdict_sentence(check),
        "certificate": check.certificate,
        "way": check.reference.way.value,
        "zero": {
            "reading": list(check.levels.zero.reading),
            "value_N": check.zero_N,
            "u95_N": check.zero_u95_N,
            "readings": check.levels.zero.n,
        },
        "zero_since_last": _shift(check.shift),
        "zero_after_load": _shift(check.back),
        "noise": {"sd_N": check.noise_N, "ratio": check.noise_ratio},
        "gain": _gain(check.gain),
        "remarks": [*remarks(check)],
    }


def _shift(shift: Shift | None) -> Json:
    if shift is None:
        return None
    return {
        "value_N": shift.value_N,
        "u95_N": shift.u95_N,
        "limit_N": shift.limit_N,
        "moved": shift.has_moved,
    }


def _gain(gain: Gain | None) -> Json:
    if gain is None:
        return None
    return {
        "measured_N": gain.measured_N,
        "expected_N": gain.expected_N,
        "error": gain.error,
        "u95": gain.u95,
        "limit": gain.limit,
        "seen": gain.seen,
        "moved": gain.has_moved,
        "same_plate": gain.is_same,
        "budget": [{"term": term.term, "u_N": term.u_N} for term in gain.terms],
    }
