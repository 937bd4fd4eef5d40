"""Force at even times, for formats that know no others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.export.dataset import ForceTrace
    from strikebridge.samples import Floats

EVEN_ENOUGH = 0.001  # of a period; less moves no force by more than the noise of a reading


@dataclass(frozen=True, slots=True, eq=False)
class EvenForce:
    """Force at even times.

    Attributes:
        start_s: time of the first value [s].
        rate_hz: values a second [1/s].
        force_N: force [N], shape (n,).
        is_resampled: True where the readings did not come at these times.
    """

    start_s: float
    rate_hz: float
    force_N: Floats
    is_resampled: bool


def evened(trace: ForceTrace, rate_hz: float) -> EvenForce:
    """Put force onto even times, from the first reading to the last, by straight lines.

    Readings that lie on these times already are handed on untouched.

    Args:
        trace: at least one reading.
        rate_hz: values a second, above 0.

    Returns:
        The force.
    """
    time_s, force_N = np.array(trace.time_s), np.array(trace.force_N)
    start_s = float(time_s[0])
    count = int(np.floor((time_s[-1] - start_s) * rate_hz + 0.5)) + 1
    grid_s = start_s + np.arange(count) / rate_hz
    if count == len(time_s) and np.max(np.abs(grid_s - time_s)) * rate_hz <= EVEN_ENOUGH:
        return EvenForce(start_s, rate_hz, force_N, is_resampled=False)
    return EvenForce(start_s, rate_hz, np.interp(grid_s, time_s, force_N), is_resampled=True)
