"""Two sides and a set: closed forms, published examples, and whether the intervals are true."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from strikebridge.measures import asymmetry, drop_off, is_real
from strikebridge.samples import MeasureValue, Status
from tests.made_holds import sure


def peak(
    value: float | None, u_own: float = 0.0, relative_u: float = 0.0, certificate: str = "a"
) -> MeasureValue:
    if value is None:
        return MeasureValue("peak_force", None, "N", None, None, status=Status.WITHHELD)
    return MeasureValue("peak_force", value, "N", u_own, relative_u * value, certificate)


def peaks(*values: float | None) -> list[MeasureValue]:
    return [peak(value) for value in values]


def in_order(*values: float | None) -> list[tuple[int, MeasureValue]]:
    return list(enumerate(peaks(*values), start=1))


@pytest.mark.parametrize(
    ("lead", "rear", "percent"),
    [
        # percentage difference, (max - min) / max x 100, of 450 and 500 N is 10.0 %; formula of
        # Bishop et al. 2016 (Strength Cond J, doi 10.1519/SSC.0000000000000264), value derived
        (450.0, 500.0, -10.0),
        (500.0, 450.0, 10.0),
        (300.0, 300.0, 0.0),
    ],
)
def test_asymmetry_keeps_its_sign(lead: float, rear: float, percent: float) -> None:
    found = asymmetry(peaks(lead), peaks(rear))
    assert found.value == pytest.approx(percent, abs=1e-12)
    assert found.unit == "%"


def test_asymmetry_is_of_the_means() -> None:
    found = asymmetry(peaks(440.0, None, 460.0), peaks(490.0, 500.0, 510.0))
    assert found.value == pytest.approx(-10.0)
    assert found.status is Status.OK
    # s/sqrt n is 10 N and 5.7735 N; the larger stands below the line as well: 0.9 of its doubt
    by_hand = math.hypot(100.0 * 10.0 / 500.0, 100.0 * 0.9 * 10.0 / math.sqrt(3.0) / 500.0)
    assert found.u_own == pytest.approx(by_hand)
    lead_part, rear_part = 2.0**4 / 1.0, (0.9 * 2.0 / math.sqrt(3.0)) ** 4 / 2.0
    assert found.dof == pytest.approx(sure(found.u_own) ** 4 / (lead_part + rear_part))
    assert found.coverage == pytest.approx(12.706, abs=0.001)  # t at one degree of freedom
    assert not is_real(found)


def test_one_rep_a_side_is_coarse_and_as_sure_as_it_was_measured() -> None:
    found = asymmetry([peak(450.0, 3.0)], [peak(500.0, 4.0)])
    assert found.status is Status.COARSE
    assert "varies" in found.reason
    assert found.u_own == pytest.approx(math.hypot(0.6, 0.9 * 0.8))
    assert found.coverage == 2.0
    assert is_real(found)


def test_a_gain_that_is_off_cancels_within_one_certificate_only() -> None:
    lead, rear = peak(450.0, 1.0, 0.02), peak(500.0, 1.0, 0.02)
    assert asymmetry([lead], [rear]).u_common == pytest.approx(0.0, abs=1e-12)
    other = replace(rear, certificate="b")
    # 2 % of 450 over 500, and 2 % of 500 times 450 / 500^2
    found = sure(asymmetry([lead], [other]).u_common)
    assert found == pytest.approx(math.hypot(1.8, 1.8), rel=0.02)
    set_of = [(k, peak(500.0 - 10.0 * k, 1.0, 0.02)) for k in range(5)]
    assert drop_off(set_of).u_common == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("lead", "rear", "reason"),
    [
        (peaks(), peaks(500.0), "both hands"),
        (peaks(None), peaks(500.0), "both hands"),
        (peaks(-1.0), peaks(500.0), "did not push"),
        (peaks(1.0), [replace(peak(5.0), unit="%")], "different units"),
    ],
)
def test_asymmetry_is_withheld(
    lead: list[MeasureValue], rear: list[MeasureValue], reason: str
) -> None:
    found = asymmetry(lead, rear)
    assert found.status is Status.WITHHELD
    assert reason in found.reason
    assert not is_real(found)


def test_drop_off_of_a_straight_set() -> None:
    found = drop_off(in_order(520.0, 510.0, 500.0, 490.0, 480.0))
    assert found.value == pytest.approx(-2.0)
    assert found.u_own == pytest.approx(0.0, abs=1e-12)
    assert is_real(found)


def test_one_odd_rep_does_not_decide_and_a_left_out_one_keeps_its_place() -> None:
    assert drop_off(in_order(520.0, 510.0, 900.0, 490.0, 480.0)).value == pytest.approx(
        100.0 * -10.0 / 510.0
    )
    assert drop_off(in_order(520.0, None, 500.0, 490.0, 480.0)).value == pytest.approx(
        100.0 * -10.0 / 495.0
    )


@pytest.mark.parametrize(
    ("reps", "reason"),
    [
        (in_order(1.0, 2.0), "3 reps"),
        (in_order(1.0, None, 2.0), "3 reps"),
        (in_order(-1.0, -2.0, -3.0), "no strength"),
        ([*in_order(1.0, 2.0), (3, replace(peak(5.0), unit="%"))], "different units"),
    ],
)
def test_drop_off_is_withheld(reps: list[tuple[int, MeasureValue]], reason: str) -> None:
    found = drop_off(reps)
    assert found.status is Status.WITHHELD
    assert reason in found.reason


@pytest.mark.parametrize("reps", [2, 3, 5, 12])
@pytest.mark.parametrize("varies", [0.0, 0.03])
def test_intervals_of_asymmetry_are_true(reps: int, varies: float) -> None:
    rng = np.random.default_rng(reps)
    u_own, inside, runs = 4.0, 0, 600
    for _ in range(runs):
        lead, rear = (
            [
                peak(mean * (1.0 + varies * rng.normal()) + u_own * rng.normal(), u_own)
                for _ in range(reps)
            ]
            for mean in (450.0, 500.0)
        )
        found = asymmetry(lead, rear)
        inside += abs(sure(found.value) + 10.0) <= sure(found.u95)
    assert inside / runs >= 0.93


@pytest.mark.parametrize("reps", [3, 4, 6, 10])
@pytest.mark.parametrize("varies", [0.0, 0.03])
def test_intervals_of_the_drop_off_are_true(reps: int, varies: float) -> None:
    rng = np.random.default_rng(reps)
    u_own, inside, runs = 4.0, 0, 600
    places = np.arange(1, reps + 1)
    means = 500.0 - 7.0 * places
    truth = 100.0 * -7.0 / float(np.median(means))
    for _ in range(runs):
        drawn = means * (1.0 + varies * rng.normal(size=reps)) + u_own * rng.normal(size=reps)
        found = drop_off([(int(k), peak(float(y), u_own)) for k, y in zip(places, drawn)])  # noqa: B905 - alike by making
        inside += abs(sure(found.value) - truth) <= sure(found.u95)
    assert inside / runs >= 0.93
