"""Round values for the ticks of an axis, wherever one is drawn."""

from __future__ import annotations

import math

STEPS = (1.0, 2.0, 5.0, 10.0)


def tick_step(span: float, most: int) -> float:
    """Choose a round step.

    Args:
        span: what the axis covers, above 0.
        most: most steps it may be cut into, at least 1.

    Returns:
        1, 2 or 5 times a power of ten, the smallest that cuts the span into `most` at the most.
    """
    power = 10.0 ** math.floor(math.log10(span / most))
    return next(step * power for step in STEPS if step * power * most >= span * (1.0 - 1e-9))


def ticks(low: float, high: float, most: int) -> list[float]:
    """List round values on an axis.

    Args:
        low: least value.
        high: largest value, above `low`.
        most: most steps.

    Returns:
        Values from low to high.
    """
    step = tick_step(high - low, most)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(number * step, 9) + 0.0 for number in range(first, last + 1)]
