"""Ticks of an axis."""

import pytest

from strikebridge.axes import tick_step, ticks


@pytest.mark.parametrize(
    ("low", "high", "most", "expected"),
    [
        (0.0, 50.0, 5, [0.0, 10.0, 20.0, 30.0, 40.0, 50.0]),
        (0.0, 47.5, 5, [0.0, 10.0, 20.0, 30.0, 40.0]),
        (-0.08, 0.08, 5, [-0.05, 0.0, 0.05]),
        (0.0, 1.0, 5, [0.0, 0.2, 0.4, 0.6, 0.8, 1.0]),
    ],
)
def test_ticks_are_round(low: float, high: float, most: int, expected: list[float]) -> None:
    assert ticks(low, high, most) == pytest.approx(expected)
    assert tick_step(high - low, most) >= (high - low) / most * (1.0 - 1e-9)
