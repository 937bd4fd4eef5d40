"""Published and analytic checks of isometric force-time measures.

The analytic curve is F = 600 (1 - exp(-t / 0.12)) N; its values follow from the formula, for
the definitions of Maffiuletti et al. 2016 (Eur J Appl Physiol 116:1091-1116): RFD from the
onset, and impulse as the trapezoid of the force above the baseline.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import log_ndtr

from strikebridge.measures import measure
from strikebridge.measures.impulse import integral_above
from strikebridge.measures.peaks import log_of_phi
from strikebridge.measures.view import look
from strikebridge.samples import Floats, Prescription, Status
from strikebridge.verdict import judge
from tests.made_holds import ONSET_S, block_of, held, hold_of

WINDOWS_MS = (50, 100, 150, 200, 250)
RFD_N_PER_S = (4089.112, 3392.411, 2853.981, 2433.373, 2101.165)  # derived from the formula
IMPULSE_N_S = {100: 19.291071, 200: 61.599043}  # likewise


def analytic(since_s: Floats) -> Floats:
    return 1.0 - np.exp(-np.maximum(since_s, 0.0) / 0.12)


@pytest.mark.parametrize("rate_hz", [1000.0, 2000.0])
def test_rates_of_force_development_to_the_digits_given(rate_hz: float) -> None:
    values = measure(held(analytic, rate_hz=rate_hz, newtons=600.0), Prescription())
    for ms, expected in zip(WINDOWS_MS, RFD_N_PER_S, strict=True):
        rfd = values[f"rfd_{ms}"]
        assert rfd.status is Status.OK
        assert rfd.value == pytest.approx(expected, abs=0.0005)


@pytest.mark.parametrize(("rate_hz", "tolerance"), [(1000.0, 0.0005), (2000.0, 0.0001)])
def test_impulses_to_what_the_trapezoid_rule_allows(rate_hz: float, tolerance: float) -> None:
    # the trapezoid rule loses h^2 / 12 (F'(0) - F'(T)): 0.00024 N.s at 1000 /s for 100 ms
    values = measure(held(analytic, rate_hz=rate_hz, newtons=600.0), Prescription())
    for ms, expected in IMPULSE_N_S.items():
        assert values[f"impulse_{ms}"].value == pytest.approx(expected, abs=tolerance)
        lost = (5000.0 - 5000.0 * np.exp(-ms / 120.0)) / 12.0 / rate_hz**2
        assert values[f"impulse_{ms}"].value == pytest.approx(expected - lost, abs=1e-6)


def test_steadiness_raw_and_detrended() -> None:
    # 80 /s, 3 s, F = 300 + 10 t + 3 sin(2 pi 2 t): CV 2.7507 % raw, 0.66928 % detrended (SD
    # n - 1 over the raw mean); derived from the formula. Detrending: after Tracy, PLoS Comput
    # Biol 2021, 1008707, Fig. 9.
    rate_hz, window_start_s = 80.0, 1.3
    time_s = np.arange(400) / rate_hz
    about_s = time_s - window_start_s
    curve = 300.0 + 10.0 * about_s + 3.0 * np.sin(2.0 * np.pi * 2.0 * about_s)
    # the window runs from 0.3 s after the step to 0.1 s before the last reading held
    is_held = (time_s >= 1.0) & (time_s <= 4.3875)
    hold = hold_of(block_of(np.where(is_held, curve, 0.0), rate_hz), 1.0, 4.39)
    values = measure(hold, Prescription())
    assert values["steadiness"].value == pytest.approx(0.66928, abs=0.000005)
    inside = curve[(about_s > -1e-9) & (about_s < 3.0 - 1e-9)]
    assert 100.0 * inside.std(ddof=1) / inside.mean() == pytest.approx(2.7507, abs=0.00005)


@pytest.mark.parametrize(
    ("rate_hz", "settling_s", "expected"),
    [
        # HX711 data sheet: 50 ms settling at 80 /s, 400 ms at 10 /s, hence (derived): nothing
        # at 50 ms, doubtful at 100 ms; at 10 /s no early rate at all
        (80.0, 0.050, {50: "withheld", 100: "coarse", 150: "coarse", 200: "coarse"}),
        (10.0, 0.400, dict.fromkeys(WINDOWS_MS, "withheld")),
        (1000.0, 0.004, dict.fromkeys(WINDOWS_MS, "ok")),
    ],
)
def test_windows_a_converter_cannot_carry(
    rate_hz: float, settling_s: float, expected: dict[int, str]
) -> None:
    values = measure(held(analytic, rate_hz=rate_hz, settling_s=settling_s), Prescription())
    assert {ms: values[f"rfd_{ms}"].status for ms in expected} == expected
    for ms in (100, 200):
        assert values[f"impulse_{ms}"].status == expected[ms]


def test_reaction_knows_the_start_rule_of_athletics() -> None:
    # Nobody reacts in less than 0.100 s (start rule of athletics, value from memory).
    hold = held(analytic, go_s=ONSET_S - 0.100 - 0.002, u_go_s=0.001)
    reaction = measure(hold, Prescription())["reaction"]
    # 1000 /s, settling unknown: four periods, of which half is the converter's delay
    assert reaction.value == pytest.approx(0.100, abs=1e-9)


@pytest.mark.parametrize("z", [-4.0, -1.25, -1e-9, 0.0, 0.3, 2.0, 8.0, 16.875])
def test_log_of_the_normal_distribution_is_that_of_scipy(z: float) -> None:
    # SciPy's log_ndtr, an independent implementation
    assert log_of_phi(z) == pytest.approx(float(log_ndtr(z)), rel=1e-13, abs=1e-300)


FORCE_N = (204.4556, 339.2411, 428.0971, 486.6746, 525.2913)  # derived from the formula
ALL_IMPULSES_N_S = (5.465325, 19.291071, 38.628345, 61.599043, 86.965042)  # likewise


@pytest.mark.parametrize(
    ("ms", "force_N", "area"), list(zip(WINDOWS_MS, FORCE_N, ALL_IMPULSES_N_S, strict=True))
)
def test_force_and_area_at_each_window(ms: int, force_N: float, area: float) -> None:
    view = look(held(analytic, rate_hz=2000.0, newtons=600.0), Prescription())
    end_s = view.onset_s + ms / 1000.0
    assert view.force_at(end_s) == pytest.approx(force_N, abs=0.00005)
    # the trapezoid rule loses h^2 / 12 (F'(0) - F'(T)), at most 0.0001 N.s at 2000 /s
    lost = (5000.0 - 5000.0 * np.exp(-ms / 120.0)) / 12.0 / 2000.0**2
    found = integral_above(view, view.onset_s, end_s)[0]
    assert found == pytest.approx(area - lost, abs=1e-6)


@pytest.mark.parametrize("rate_hz", [80.0, 1000.0])
@pytest.mark.parametrize(
    ("reaction_s", "u_go_s", "word"),
    [
        # nobody reacts in less than 0.100 s (start rule of athletics, value from memory)
        (0.020, 0.001, "false start"),
        (0.097, 0.050, "too close to call"),
        (0.180, 0.001, ""),
    ],
)
def test_a_start_is_false_only_where_that_is_sure(
    rate_hz: float, reaction_s: float, u_go_s: float, word: str
) -> None:
    settling_s = 4.0 / rate_hz
    go_s = ONSET_S - reaction_s - 0.5 * settling_s
    hold = held(analytic, rate_hz=rate_hz, settling_s=settling_s, go_s=go_s, u_go_s=u_go_s)
    values = measure(hold, Prescription())
    verdict = judge(hold, values, Prescription())
    assert ("false start" in verdict.faults) is (word == "false start")
    assert ("too close to call" in verdict.detail) is (word == "too close to call")
