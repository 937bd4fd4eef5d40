"""Holds made from formulas, with exact landmarks; shares no code with the simulated board."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from strikebridge.samples import Floats, ForceBlock, Hold

if TYPE_CHECKING:
    from collections.abc import Callable

    Shape = Callable[[Floats], Floats]

ONSET_S = 1.5


def block_of(
    force_N: Floats,
    rate_hz: float,
    *,
    relative_u: float = 0.0,
    resolution_N: float = 0.0,
    dof: float = np.inf,
) -> ForceBlock:
    count = len(force_N)
    return ForceBlock(
        number=np.arange(count),
        time_s=np.arange(count) / rate_hz,
        force_N=force_N,
        cells_N=force_N[:, None],
        u_own_N=np.full(count, resolution_N),
        u_common_N=relative_u * np.abs(force_N),
        flags=np.zeros(count, np.uint16),
        rate_hz=rate_hz,
        calibration="certificate-1",
        dof_common=dof,
    )


def hold_of(block: ForceBlock, onset_s: float, release_s: float | None, **more: Any) -> Hold:
    during = block.time_s >= onset_s
    force_N = block.force_N[during]
    upper_N = force_N[force_N > 0.5 * force_N.max()]
    level_N = float(np.median(upper_N)) if len(upper_N) else 0.0
    made = Hold(
        number=1,
        force=block,
        onset_s=onset_s,
        release_s=release_s,
        level_N=level_N,
        baseline_N=0.0,
        noise_N=0.0,
        u_zero_N=0.0,
        settling_s=None,
    )
    return replace(made, **more)


def snap(since_s: Floats) -> Floats:
    """Rise to 1 with a time constant of 50 ms."""
    return 1.0 - np.exp(-np.maximum(since_s, 0.0) / 0.05)


def held(  # noqa: PLR0913 - a builder for tests, all but the shape optional
    shape: Shape,
    *,
    rate_hz: float = 1000.0,
    newtons: float = 300.0,
    hold_s: float = 3.0,
    let_go_s: float = 0.02,
    noise_N: float = 0.0,
    rng: np.random.Generator | None = None,
    block: dict[str, Any] | None = None,
    **more: Any,
) -> Hold:
    """Make a hold: a shape from the onset on, then an exponential let-go after `hold_s`."""
    time_s = np.arange(round((ONSET_S + hold_s + 1.0) * rate_hz)) / rate_hz
    since_s = time_s - ONSET_S
    fading = np.exp(-np.maximum(since_s - hold_s, 0.0) / let_go_s)
    force_N = newtons * shape(since_s) * fading
    if rng is not None:
        force_N = force_N + noise_N * rng.normal(size=len(force_N))
    release_s = ONSET_S + hold_s + let_go_s * np.log(2.0)
    made = block_of(force_N, rate_hz, **(block or {}))
    return replace(hold_of(made, ONSET_S, release_s), **{"noise_N": noise_N} | more)


def sure(number: float | None) -> float:
    """Insist that a number is there."""
    assert number is not None
    return number
