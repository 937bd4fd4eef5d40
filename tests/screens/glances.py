"""One Glance of every kind, with the invented athletes of Saltmarsh Quay."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.glance import Glance, Phase, Trace, Trouble
from strikebridge.samples import Effort
from strikebridge.units import ForceUnit, to_newtons

if TYPE_CHECKING:
    from strikebridge.samples import Floats

KG_N = to_newtons(1.0, ForceUnit.KG)
RATE_HZ = 80.0


def push(time_s: Floats, peak_kg: float, onset_s: float, sharp_s: float = 0.05) -> Floats:
    since_s = np.clip(time_s - onset_s, 0.0, None)
    return peak_kg * KG_N * (1.0 - np.exp(-since_s / sharp_s))


def trace_of(peak_kg: float = 84.6, onset_s: float = 3.2) -> Trace:
    time_s = np.arange(0.0, 6.0, 1.0 / RATE_HZ)
    return Trace(time_s, push(time_s, peak_kg, onset_s))


def rise_of(peak_kg: float = 84.6, sharp_s: float = 0.05) -> Trace:
    time_s = np.arange(0.0, 0.5, 1.0 / RATE_HZ)
    return Trace(time_s, push(time_s, peak_kg, 0.0, sharp_s))


BASE = Glance(
    Phase.READY,
    stale=False,
    age_s=0.01,
    athlete="Ines Halloran",
    exercise="rear straight",
    hand="right",
    hold_s=3.0,
    rep_number=2,
    rep_total=5,
    force_N=1.2 * KG_N,
    force_u95_N=0.7 * KG_N,
    target_N=88.0 * KG_N,
    trace=trace_of(0.0),
)
HOLDING = replace(
    BASE,
    phase=Phase.HOLD,
    force_N=81.4 * KG_N,
    peak_N=84.6 * KG_N,
    peak_u95_N=0.8 * KG_N,
    elapsed_s=1.8,
    seconds_left=1.2,
    bricks=(0.86, 0.8),
    trace=trace_of(),
)
IN_BAND = replace(
    HOLDING,
    force_N=64.4 * KG_N,
    peak_N=66.6 * KG_N,
    effort=Effort.SUBMAXIMAL,
    hold_s=5.0,
    target_N=None,
    band_N=(60.0 * KG_N, 69.0 * KG_N),
    trace=trace_of(66.0),
)
RESULT = replace(
    HOLDING,
    phase=Phase.RESULT,
    elapsed_s=3.0,
    bricks=(0.86, 1.0, 0.93),
    quality_percent=93.2,
    quality_u95_percent=2.1,
    sentence="You touched, then pushed. Hit it in one go.",
    change_last_N=2.4 * KG_N,
    change_last_u95_N=0.9 * KG_N,
    change_best="new best",
    is_snap=False,
    rise=rise_of(),
)
GLANCES: dict[str, Glance] = {
    "waiting": Glance(Phase.WAITING),
    "trouble": Glance(
        Phase.WAITING,
        trouble=Trouble(
            "The board went quiet 3 s ago.",
            "Reps so far are saved. Check the plug; I go on by myself.",
            3.4,
        ),
    ),
    "ready": BASE,
    "ready, with a remark": replace(
        BASE,
        rep_number=0,
        target_N=None,
        remark="Calibration 0123456789ab of wall-left, made 12 days ago.",
    ),
    "ready, a free rep": replace(HOLDING, phase=Phase.READY, seconds_left=None),
    "count-in": replace(BASE, phase=Phase.COUNT_IN, seconds_left=2.3),
    "hold": HOLDING,
    "hold, in the band": IN_BAND,
    "hold, above the band": replace(IN_BAND, force_N=74.0 * KG_N),
    "hold, far above the band": replace(IN_BAND, force_N=4000.0, peak_N=4000.0),
    "hold, nothing to reach": replace(HOLDING, target_N=None, hold_s=None, bricks=()),
    "hold, near the rating": replace(HOLDING, strain="near the rating"),
    "hold, over the rating": replace(HOLDING, strain="over the rating"),
    "ready, after an overload": replace(
        BASE,
        rep_number=0,
        target_N=None,
        warning="Cell overloaded: verify first",
        remark="The cell was overloaded: run verify before you trust a number.",
    ),
    "hold, stale": replace(HOLDING, stale=True),
    "result": RESULT,
    "result, in pounds": replace(RESULT, unit=ForceUnit.LB, peak_N=152.8 * KG_N),
    "result, in newtons": replace(RESULT, unit=ForceUnit.N, peak_N=1834.0),
    "result, withheld": replace(RESULT, peak_N=None, quality_percent=None, is_snap=None),
    "rest": replace(
        BASE,
        phase=Phase.REST,
        seconds_left=17.2,
        following="Bartholomew Wetherall-Achterbergen",
    ),
    "rest, tall letters": replace(BASE, phase=Phase.REST, following="Ångström É. Ý. Çağlayan"),
    "rest, left": replace(BASE, phase=Phase.REST, seconds_left=17.2, hand="left"),
    "rest, no roster": Glance(Phase.REST, stale=False, age_s=0.0),
}
