"""The slope that a drop-off rests on, beside SciPy's and a worked example."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import theilslopes

from strikebridge.measures.several import median_slope


def test_median_slope_of_the_worked_example() -> None:
    # Theil 1950, Sen 1968 (J Am Stat Assoc 63:1379-1389); no classic worked example is known,
    # so this one is derived (and agrees with SciPy): one odd value, slope 29/28
    places = [0.0, 7.0, 14.0, 21.0, 28.0, 35.0]
    values = [600.0, 612.0, 605.0, 633.0, 560.0, 641.0]
    assert median_slope(places, values) == pytest.approx(1.0357142857, abs=5e-11)
    assert float(np.polyfit(places, values, 1)[0]) == pytest.approx(0.3142857143, abs=5e-11)


@pytest.mark.parametrize("seed", range(5))
def test_median_slope_is_that_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    places, values = np.cumsum(rng.uniform(0.5, 2.0, 9)), rng.normal(size=9)
    expected = theilslopes(values, places).slope
    assert median_slope(places.tolist(), values.tolist()) == pytest.approx(expected, rel=1e-12)
