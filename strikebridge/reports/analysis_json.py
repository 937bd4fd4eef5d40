"""The document that `analyse --json` prints: SI units, no NaN, every measure always there."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from strikebridge.analysis import peak_time_s

if TYPE_CHECKING:
    from strikebridge.analysis import Analysis
    from strikebridge.samples import MeasureValue, Rep

Json = dict[str, "Json"] | list["Json"] | str | int | float | bool | None


def analysis_document(analysis: Analysis) -> dict[str, Json]:
    """Write an analysis as plain values.

    Args:
        analysis: what was found in one stream.

    Returns:
        A document of plain values that JSON can carry; numbers that are not finite are null.
    """
    return {
        "recording": analysis.recording,
        "rate_hz": number(analysis.rate_hz),
        "settling_s": number(analysis.settling_s),
        "calibration": analysis.calibration,
        "holds": [rep_document(rep) for rep in analysis.reps],
        "contacts": [
            {
                "start_s": number(contact.start_s),
                "end_s": number(contact.end_s),
                "peak_N": number(contact.peak_N),
                "reason": contact.reason,
            }
            for contact in analysis.contacts
        ],
        "gaps": [
            {"start_s": number(gap.start_s), "end_s": number(gap.end_s), "lost": gap.lost}
            for gap in analysis.gaps
        ],
    }


def rep_document(rep: Rep) -> dict[str, Json]:
    """Write one rep as plain values.

    Args:
        rep: the rep.

    Returns:
        Its times, words and measures.
    """
    hold = rep.hold
    return {
        "number": hold.number,
        "onset_s": number(hold.onset_s),
        "peak_s": number(peak_time_s(rep)),
        "release_s": number(hold.release_s),
        "rise": rep.verdict.rise,
        "hold": rep.verdict.hold,
        "faults": list(rep.verdict.faults),
        "complete": hold.complete,
        "measures": {name: measure_document(value) for name, value in rep.measures.items()},
    }


def measure_document(value: MeasureValue) -> dict[str, Json]:
    """Write one measure as plain values.

    Args:
        value: the measure.

    Returns:
        Value, its doubts, unit, status and reason.
    """
    return {
        "value": number(value.value),
        "u95": number(value.u95),
        "u_own": number(value.u_own),
        "u_common": number(value.u_common),
        "unit": value.unit,
        "status": value.status.value,
        "reason": value.reason,
    }


def number(value: float | None) -> float | None:
    """Make a number safe for JSON.

    Args:
        value: any number, or None.

    Returns:
        A plain float, or None where it is missing or not finite.
    """
    return None if value is None or not math.isfinite(value) else float(value)
