from __future__ import annotations

from dataclasses import astuple

import msgspec
import numpy as np
import pytest
from scipy import stats

from strikebridge.checks.check_words import trend_words
from strikebridge.checks.history import CheckRecord, Verdict
from strikebridge.checks.trend import gain_trend, zero_trend
from strikebridge.units import ForceUnit
from tests.checks.test_history import check


def checks(days: list[float], zeros: list[float], gains: list[float]) -> list[CheckRecord]:
    return [
        msgspec.structs.replace(check(day), zero_N=zero, gain_error=gain)
        for day, zero, gain in zip(days, zeros, gains, strict=True)
    ]


def test_a_steady_drift_is_found_whatever_one_check_says() -> None:
    days = [0.0, 10.0, 20.0, 30.0, 40.0]
    made = checks(days, [0.0, 1.0, 99.0, 3.0, 4.0], [0.0, 1e-4, 2e-4, 3e-4, 4e-4])
    zero, gain = zero_trend(made), gain_trend(made)
    assert zero is not None
    assert gain is not None
    assert astuple(zero) == (5, pytest.approx(40.0), pytest.approx(3.0))
    assert gain.per_month == pytest.approx(3e-4)


def test_the_slope_agrees_with_scipy() -> None:
    draw = np.random.default_rng(1)
    days = np.cumsum(draw.uniform(1.5, 9.0, 12))
    zeros = draw.normal(0.0, 1.0, 12) + 0.05 * days
    trend = zero_trend(checks(days.tolist(), zeros.tolist(), [0.0] * 12))
    assert trend is not None
    # Theil-Sen slope of SciPy, a general-purpose library; times there are whole seconds
    assert trend.per_month == pytest.approx(30.0 * stats.theilslopes(zeros, days)[0], rel=1e-4)


def test_too_few_say_nothing() -> None:
    assert zero_trend(checks([0.0, 9.0], [0.0, 1.0], [0.0, 0.0])) is None
    # all on one evening
    assert zero_trend(checks([0.0, 0.01, 0.02], [0.0, 1.0, 2.0], [0.0] * 3)) is None
    bent = [check(day, Verdict.CELL_DAMAGED) for day in (0.0, 9.0, 18.0)]
    assert zero_trend(bent) is None
    unchecked = [
        msgspec.structs.replace(one, gain_error=None) for one in map(check, (0, 9, 18))
    ]
    assert gain_trend(unchecked) is None
    assert zero_trend(unchecked) is not None


def test_the_trend_in_words() -> None:
    made = checks([0.0, 10.0, 20.0], [0.0, 9.80665, 2 * 9.80665], [0.0, 1e-3, 2e-3])
    assert trend_words(made, ForceUnit.KG) == (
        "Over 3 checks in 20 days: zero +3.00 kg a month, gain +0.30 % a month."
    )
    bare = [msgspec.structs.replace(one, gain_error=None) for one in made]
    assert trend_words(bare, ForceUnit.N) == "Over 3 checks in 20 days: zero +29.4 N a month."
    assert trend_words(made[:2], ForceUnit.KG) == ""
