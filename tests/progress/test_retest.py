"""How reliable a test is, measured by the club."""

from __future__ import annotations

import numpy as np
import pytest

from strikebridge.progress.agreement import agreement
from strikebridge.progress.retest import Icc, mean_squares, retest


def table(
    seed: int = 1, athletes: int = 12, tests: int = 3, learning: float = 0.0
) -> list[list[float]]:
    rng = np.random.default_rng(seed)
    level = 600 + 100 * rng.normal(size=(athletes, 1))
    scores = level + 20 * rng.normal(size=(athletes, tests)) + learning * np.arange(tests)
    rows: list[list[float]] = scores.tolist()
    return rows


def test_report() -> None:
    found = retest(table())
    low, high = found.typical_error_95
    assert low < found.typical_error < high
    assert low < 20.0 < high
    assert found.least_real_change > found.minimal_difference > 2.7 * found.typical_error
    assert found.typical_error_percent == pytest.approx(
        100 * found.typical_error / np.mean(table())
    )
    one = found.correlations[Icc.FIXED]
    assert one.low < one.value < one.high
    assert found.shifts[0] == 0.0
    assert found.cautions == ()


def test_interval_of_the_typical_error_holds_the_truth() -> None:
    inside = 0
    for seed in range(400):
        low, high = retest(table(seed)).typical_error_95
        inside += low <= 20.0 <= high
    assert 0.92 <= inside / 400 <= 0.98


def test_learning_and_few_athletes_are_said() -> None:
    found = retest(table(learning=40.0, athletes=5))
    assert any("learning" in caution for caution in found.cautions)
    assert any("5 athletes" in caution for caution in found.cautions)


def test_tables_that_cannot_be_used() -> None:
    with pytest.raises(ValueError, match="3 athletes and two tests"):
        mean_squares([[1.0, 2.0], [2.0, 3.0]])
    with pytest.raises(ValueError, match="3 athletes and two tests"):
        mean_squares([[1.0], [2.0], [4.0]])
    with pytest.raises(ValueError, match="same number"):
        mean_squares([[1.0, 2.0], [2.0, 3.0], [1.0, 2.0, 3.0]])
    with pytest.raises(ValueError, match="equal"):
        retest([[1.0, 1.0], [2.0, 2.0], [5.0, 5.0]])


def test_agreement_takes_three_pairs_of_equal_rows() -> None:
    with pytest.raises(ValueError, match="3 pairs"):
        agreement([1.0, 2.0], [1.0, 2.0])
    with pytest.raises(ValueError, match="shorter"):
        agreement([1.0, 2.0, 3.0], [1.0, 2.0])
    found = agreement([1.0, 2.0, 4.0], [2.0, 2.0, 2.0])
    assert found.bias == pytest.approx(1.0 / 3.0)
