"""A hold whose force was read off a plain scale and typed: stored as what it is.

The recording keeps an event with the number as it was typed. Live, replay and analysis make the
same rep of it: one that has a hold force and nothing else. Each other measure is withheld and
says why. A number that was corrected is a second event with the number of the same hold.
"""

from __future__ import annotations

import math

import numpy as np

from strikebridge.measures.run import MEASURES
from strikebridge.samples import (
    Event,
    ForceBlock,
    Hold,
    MeasureValue,
    Prescription,
    Rep,
    Status,
    Verdict,
)
from strikebridge.units import NEWTONS_PER_UNIT, ForceUnit

KIND = "typed"
SCALE_SHARE = 0.02
"""What a plain scale may be off, as a share (common practice, no source)."""
COARSE = "read off a scale and typed; how good the scale is nobody has checked"
WITHHELD = "only the hold force was typed; a plain scale shows no more"
NOT_KNOWN = "not measurable"


def typed(
    number: int, value: float, step: float, unit: ForceUnit, *, go_us: int, now_us: int
) -> Event:
    """Write a typed number as the event that a recording keeps.

    Args:
        number: of the hold; the same again where it corrects one.
        value: as typed, in `unit`.
        step: smallest step of what was typed, in `unit`.
        unit: what the scale shows.
        go_us: when the hold began [us].
        now_us: when it was typed [us].

    Returns:
        The event; `typed_rep` reads it.
    """
    detail = {"number": number, "value": value, "step": step, "unit": unit.value}
    return Event(KIND, now_us, {**detail, "go_us": go_us})


def typed_rep(event: Event, prescription: Prescription) -> Rep:
    """Make the rep of a typed number.

    Args:
        event: from `typed`.
        prescription: what was asked for.

    Returns:
        A rep with a hold force, and every other measure withheld.
    """
    detail = event.detail
    unit = ForceUnit(str(detail["unit"]))
    newtons = NEWTONS_PER_UNIT[unit]
    value_N = float(detail["value"] or 0.0) * newtons
    step_N = float(detail["step"] or 0.0) * newtons
    go_s = float(detail["go_us"] or 0.0) * 1e-6
    hold_s = prescription.hold_s or max(0.0, event.at_us * 1e-6 - go_s)
    values = {
        name: MeasureValue(
            name,
            None,
            definition.unit,
            None,
            None,
            status=Status.WITHHELD,
            reason=WITHHELD,
            version=definition.version,
        )
        for name, definition in MEASURES.items()
    }
    values["hold_mean"] = typed_value("hold_mean", value_N, step_N)
    u_own_N, u_common_N = values["hold_mean"].u_own or 0.0, values["hold_mean"].u_common or 0.0
    hold = Hold(
        number=int(detail["number"] or 0),
        force=_block(go_s, hold_s, value_N, u_own_N, u_common_N),
        onset_s=go_s,
        release_s=go_s + hold_s,
        level_N=value_N,
        baseline_N=0.0,
        noise_N=0.0,
        u_zero_N=0.0,
        settling_s=None,
        onset_sure=False,
        go_s=go_s,
    )
    faults = _faults(value_N, prescription)
    word = faults[0] if faults else NOT_KNOWN
    sentence = "Stay inside the band." if faults else "Number noted."
    verdict = Verdict(NOT_KNOWN, word, faults, sentence, COARSE)
    return Rep(hold, prescription, values, (), verdict, is_typed=True)


def typed_value(name: str, value_N: float, step_N: float) -> MeasureValue:
    """Give a force that was read off a plain scale its doubts.

    *Uncertainty*: half a step of what was typed, and what a plain scale may be off, both
    rectangular; the latter is shared by all that came off that scale.

    Args:
        name: name of the measure.
        value_N: force [N].
        step_N: smallest step of what was typed [N].
    """
    return MeasureValue(
        name,
        value_N,
        "N",
        step_N / (2.0 * math.sqrt(3.0)),
        SCALE_SHARE * value_N / math.sqrt(3.0),
        status=Status.COARSE,
        reason=COARSE,
        version=MEASURES[name].version,
    )


def _faults(value_N: float, prescription: Prescription) -> tuple[str, ...]:
    band_N = prescription.band_N
    is_outside = band_N is not None and not band_N[0] <= value_N <= band_N[1]
    return ("outside band",) if is_outside else ()


def _block(
    go_s: float, hold_s: float, value_N: float, u_own_N: float, u_common_N: float
) -> ForceBlock:
    """Draw the number as what is known of it: one level from the go to the end."""
    force_N = np.full(2, value_N)
    return ForceBlock(
        number=np.arange(2),
        time_s=np.array([go_s, go_s + max(hold_s, 1e-6)]),
        force_N=force_N,
        cells_N=force_N[:, np.newaxis],
        u_own_N=np.full(2, u_own_N),
        u_common_N=np.full(2, u_common_N),
        flags=np.zeros(2, np.uint16),
        rate_hz=1.0 / max(hold_s, 1e-6),
        calibration=None,
    )
