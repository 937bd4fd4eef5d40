"""A made-up rig: cell, converter, wire and host, from the true force to what a file holds.

The converter adds up the force over its filter (a mean over four conversions, or the same
length made of two or four shorter means one after the other, as sinc filters are), so its step
response settles in four conversions and lags by two (data sheet of the HX711: 400 ms at 10, 50
ms at 80 readings a second). The rest follows what public logs of such boards show: true rates
that are not the printed ones, an offset anywhere, either sign, glitch words with a hole after
them, stamps that bunch.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.corpus.athlete import Floats

FILTER_PERIODS = 4.0
LARGEST = 2**23 - 1
GLITCH_APART = 10  # conversions; a converter that lost its place finds it again
HUM_HZ = 50.0


@dataclass
class Kit:
    """Cell, converter, wire and host of one scene."""

    rate_hz: float
    noise_N: float = 0.3
    gain_N_per_count: float = 0.0005
    offset_counts: float = 120_000.0
    stages: int = 1
    hum_N: float = 0.0
    drift_N_per_s: float = 0.0
    warm_up_N: float = 0.0
    creep: float = 0.0
    glitch_share: float = 0.0
    loss_share: float = 0.0
    gap_s: float = 0.0
    bunch: int = 1
    jitter_s: float = 0.002

    @property
    def delay_s(self) -> float:
        """By how much the filter lags."""
        return 0.5 * FILTER_PERIODS / self.rate_hz


@dataclass
class Reading:
    """What came of a scene.

    Attributes:
        number: running number of each reading that arrived.
        taken_s: when the converter was done with it.
        arrived_s: when the host saw it.
        counts: the word.
        ideal_N: what a converter without noise and faults would have delivered, at all numbers.
        ideal_s: times of those.
    """

    number: NDArray[np.int64]
    taken_s: Floats
    arrived_s: Floats
    counts: NDArray[np.int64]
    ideal_N: Floats
    ideal_s: Floats
    lost: int = field(default=0)


def convert(
    force_N: Floats, zero_N: Floats, grid_hz: float, kit: Kit, rng: np.random.Generator
) -> Reading:
    """Run a force through the rig.

    Args:
        force_N: true force of the athletes on the grid.
        zero_N: what moved balls add, on the grid.
        grid_hz: points a second.
        kit: the rig.
        rng: chance.
    """
    width_s = FILTER_PERIODS / kit.rate_hz
    first_s = width_s + rng.uniform(0.0, 1.0) / kit.rate_hz
    taken_s = np.arange(first_s, (len(force_N) - 2) / grid_hz, 1.0 / kit.rate_hz)
    ideal_N = _filtered(force_N, taken_s, grid_hz, kit)
    total_N = ideal_N + _filtered(zero_N, taken_s, grid_hz, kit)
    if kit.creep:
        total_N = total_N + _crept(ideal_N, kit)
    total_N = total_N + kit.drift_N_per_s * taken_s
    total_N = total_N + kit.warm_up_N * (1.0 - np.exp(-taken_s / 60.0))
    hum = kit.hum_N * np.sin(2.0 * np.pi * (HUM_HZ + 0.02) * taken_s + rng.uniform(0.0, 6.0))
    noise_N = _noise(len(taken_s), kit, rng)
    counts = np.rint((total_N + hum + noise_N) / kit.gain_N_per_count + kit.offset_counts)
    counts = np.clip(counts, -LARGEST - 1, LARGEST).astype(np.int64)
    counts, keep = _spoil(counts, kit, rng)
    at = np.flatnonzero(keep)
    return Reading(
        number=at,
        taken_s=taken_s[at],
        arrived_s=_arrivals(taken_s[at], kit, rng),
        counts=counts[at],
        ideal_N=ideal_N,
        ideal_s=taken_s,
        lost=int((~keep[at[0] : at[-1]]).sum()),
    )


def _filtered(force_N: Floats, taken_s: Floats, grid_hz: float, kit: Kit) -> Floats:
    """Take running means one after the other, together four conversions long."""
    part = FILTER_PERIODS / kit.rate_hz / kit.stages * grid_hz  # grid points a stage
    at = np.arange(len(force_N), dtype=np.float64)
    values = force_N
    for stage in range(kit.stages):
        area = np.concatenate(([0.0], np.cumsum(0.5 * (values[1:] + values[:-1]))))
        if stage == kit.stages - 1:
            at = taken_s * grid_hz
        upper = np.interp(at, np.arange(len(area)), area)
        values = (upper - np.interp(at - part, np.arange(len(area)), area)) / part
    return np.asarray(values, dtype=np.float64)


def _noise(count: int, kit: Kit, rng: np.random.Generator) -> Floats:
    """White noise, one part in eight of the variance in slower flicker."""
    white = rng.normal(0.0, kit.noise_N * np.sqrt(7.0 / 8.0), count)
    slow = rng.normal(0.0, kit.noise_N * np.sqrt(1.0 / 8.0), count // 8 + 2)
    return white + np.interp(np.arange(count) / 8.0, np.arange(len(slow)), slow)


def _crept(ideal_N: Floats, kit: Kit) -> Floats:
    """The cell gives a little more the longer it is loaded, and takes as long to come back."""
    crept = np.empty(len(ideal_N))
    now, share = 0.0, 1.0 / (8.0 * kit.rate_hz)
    for k, load_N in enumerate((kit.creep * ideal_N).tolist()):
        now += share * (load_N - now)
        crept[k] = now
    return crept


def _spoil(
    counts: NDArray[np.int64], kit: Kit, rng: np.random.Generator
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Put in glitch words with their holes, single losses, and one longer gap."""
    counts, keep = counts.copy(), np.ones(len(counts), bool)
    last = -GLITCH_APART
    for k in np.flatnonzero(rng.random(len(counts)) < kit.glitch_share).tolist():
        if k - last < GLITCH_APART:
            continue
        last = k
        word = int(counts[k])
        ones = 2 ** int(rng.integers(17, 25)) - 1
        counts[k] = [ones, 0, -word, word // 2][int(rng.integers(4))]
        if rng.random() < 0.9:
            keep[k + 1 : k + 5] = False
    keep &= rng.random(len(counts)) >= kit.loss_share
    if kit.gap_s:
        at = int(rng.integers(len(counts) // 4, 3 * len(counts) // 4))
        keep[at : at + round(kit.gap_s * kit.rate_hz)] = False
    return counts, keep


def _arrivals(taken_s: Floats, kit: Kit, rng: np.random.Generator) -> Floats:
    """Delay each reading a little, and hold some back until others have come."""
    late_s = taken_s + 0.001 + rng.exponential(kit.jitter_s, len(taken_s))
    late_s = np.maximum.accumulate(late_s)
    if kit.bunch > 1:
        last = np.minimum(
            (np.arange(len(late_s)) // kit.bunch + 1) * kit.bunch - 1, len(late_s) - 1
        )
        late_s = late_s[last]
    return late_s
