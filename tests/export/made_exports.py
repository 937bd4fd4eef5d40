"""A small export of the invented club, with everything that is awkward to write."""

from __future__ import annotations

import math
from datetime import datetime, timedelta, timezone

import numpy as np

from strikebridge.export.dataset import Dataset, ExportRep, ForceTrace, RepEvent
from strikebridge.samples import MeasureValue, Status

NAMES = (
    '=HYPERLINK("http://saltmarsh.example","prize")',
    "+1 Tamsin",
    "-Jory",
    "@Wenna",
    "'quoted",
    'Ånnik, "the left"\r\nsecond line',
    "\tTab",
    "Plain Perran",
)


def trace(*, even: bool, seconds: float = 2.0, rate_hz: float = 80.0) -> ForceTrace:
    rng = np.random.default_rng(4)
    time_s = 12.5 + np.arange(int(seconds * rate_hz)) / rate_hz
    if not even:
        time_s = time_s + rng.uniform(-0.2, 0.2, len(time_s)) / rate_hz
    force_N = 600.0 / (1.0 + np.exp(-(time_s - 13.0) / 0.05)) + rng.normal(size=len(time_s))
    events = (RepEvent("go", 12.75), RepEvent("onset", 12.875), RepEvent("release", 14.25))
    return ForceTrace(tuple(time_s.tolist()), tuple(force_N.tolist()), rate_hz, events)


def made(*, even: bool = True, names: tuple[str, ...] = NAMES) -> Dataset:
    measures = (
        MeasureValue("peak_force", 612.25, "N", 3.5, 12.0, "c-1", 41.5, 2.02),
        MeasureValue("sag", -1.25, "%/s", 0.5, 0.0, None, math.inf),
        MeasureValue(
            "peak_rfd", None, "N/s", None, None, status=Status.WITHHELD, reason="-500 /s needed"
        ),
    )
    start = datetime(2026, 3, 2, 18, 0, tzinfo=timezone(timedelta(hours=1)))
    reps = tuple(
        ExportRep(
            rep=i,
            athlete=name,
            session="s1",
            at=start + timedelta(minutes=i),
            exercise="rear-straight",
            hand="right" if i % 2 else "",
            setup="wall-1",
            set_number=1,
            turn=i,
            cue="snap" if i % 3 else "",
            note=name[::-1],
            rise="snap",
            hold="steady",
            measures=measures if i % 2 else (),
            force=trace(even=even) if i != 2 else None,
            effort="maximal" if i % 2 else "submaximal",
            hold_s=5.0 if i % 3 else None,
            way="measured" if i % 2 else "typed",
            faults=("sagging", "over range") if i % 2 else (),
        )
        for i, name in enumerate(names, start=1)
    )
    return Dataset(reps)


NOTHING = Dataset(())
