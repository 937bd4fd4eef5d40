"""Levels and certificates for checks, and simulated checks of a rig that was calibrated so."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.certificate import PlateRecord, plain_certificate
from strikebridge.calibration.document import walk_certificate
from strikebridge.calibration.plates import Steps
from strikebridge.calibration.walk import WalkInput
from strikebridge.calibration.walk_analysis import analyse_walk
from strikebridge.checks.level import Level
from tests.calibration.simulated_walk import GAIN, GRAVITY, ZERO

if TYPE_CHECKING:
    from strikebridge.calibration.certificate import Certificate

MADE_AT = "2026-03-01T18:00:00+01:00"
SLOPE = 200.0  # counts a newton of the plain certificate


def level(reading: float, u: float = 2.0, noise: float = 12.0, at_s: float = 0.0) -> Level:
    return Level((reading,), (u,), 5, (noise,), 240, at_s, at_s + 3.0)


def plain(u_relative: float = 0.0, channels: int = 1) -> Certificate:
    return plain_certificate(
        1.0 / SLOPE,
        8000.0,
        made_at=MADE_AT,
        range_N=(0.0, 1000.0),
        u_relative=u_relative,
        channels=channels,
    )


def calibrated(
    masses_kg: dict[str, float],
    off: dict[str, float],
    draw: np.random.Generator,
    *,
    tolerance: float = 0.03,
    make: str = "",
) -> Certificate:
    """Calibrate with plates that are off by shares of their mass: up and down, twice."""
    names = tuple(masses_kg)
    up = [names[:n] for n in range(len(names) + 1)]
    alone = [(name,) for name in names[1:]]
    walk = [(on, 1) for on in [*up, *alone]] + [(on, -1) for on in up[-2::-1]]
    walk = walk * 2
    g = GRAVITY.value_m_per_s2
    true_N = np.array([sum(masses_kg[n] * (1.0 + off[n]) for n in on) * g for on, _ in walk])
    top_N = float(true_N.max())
    steps = Steps(
        load_N=np.array([sum(masses_kg[n] for n in on) * g for on, _ in walk]),
        reading=np.round(ZERO + GAIN * (true_N + draw.normal(0.0, 1e-4 * top_N, len(walk)))),
        direction=np.array([way for _, way in walk]),
        run=np.repeat([1, 2], len(walk) // 2),
        plates=tuple(on for on, _ in walk),
        labels=tuple(f"step {i}" for i in range(len(walk))),
    )
    plates = tuple(PlateRecord(n, kg, kg * tolerance, make) for n, kg in masses_kg.items())
    made = WalkInput(steps, plates, GRAVITY, step=1.0)
    return walk_certificate(made, analyse_walk(made), MADE_AT)


def levels_of(
    load_N: float, draw: np.random.Generator, *, moved: float = 0.0, noise_N: float = 0.02
) -> tuple[Level, Level, Level]:
    """See zero, load and zero again of a rig whose gain has moved by a share."""
    counts = noise_N * GAIN
    means = [0.0, load_N * (1.0 + moved) * (1.0 + draw.uniform(-1e-3, 1e-3)), 0.0]
    made = []
    for number, mean_N in enumerate(means):
        pieces = ZERO + GAIN * mean_N + draw.normal(0.0, counts, 6)
        u = float(np.std(pieces, ddof=1) / np.sqrt(6.0))
        made.append(replace(level(float(pieces.mean()), u, 12.0, 10.0 * number), dof=5))
    return made[0], made[1], made[2]
