"""An invented athlete: what force a punch hold puts on the cell, as a curve with known truth.

No measurement stands behind the figures; they are plausible (common practice, no source) and
serve to try the program out, never to judge an athlete. The curve of one repetition is made at
once, at 1 000 points a second, so that its true onset, peak and release are known exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats

GRID_HZ = 1000.0
BALL_LAG_S = 0.008  # the ball gives way and passes the force on a little later
LEAN_BEFORE_S = 1.2


class Shape(StrEnum):
    """What a repetition looks like."""

    SNAP = "snap"
    PUSH = "push"
    TWO_STAGE = "two-stage"
    LEAN = "lean"
    SAG = "sag"
    SHAKY = "shaky"
    EARLY = "early"


HOW_OFTEN = {
    Shape.SNAP: 0.66,
    Shape.PUSH: 0.08,
    Shape.TWO_STAGE: 0.06,
    Shape.LEAN: 0.05,
    Shape.SAG: 0.05,
    Shape.SHAKY: 0.05,
    Shape.EARLY: 0.05,
}


@dataclass(frozen=True, slots=True)
class Task:
    """What the athlete sets out to do.

    Attributes:
        force_N: largest force meant [N].
        hold_s: seconds to hold [s].
        is_maximal: False to rise calmly to `force_N` and stay there.
    """

    force_N: float
    hold_s: float
    is_maximal: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedRep:
    """One repetition and the truth about it; all times on the board's clock.

    Attributes:
        shape: what it looks like.
        go_s: when the athlete was told to [s].
        onset_s: when the push begins, a lean before it not counted [s].
        peak_N: largest force on the cell [N].
        plateau_N: median force between 0.5 s after the onset and the let-go [N].
        release_s: when the force falls through half of the plateau [s].
        time_s: grid [s], shape (n,).
        force_N: force on the cell [N], shape (n,).
    """

    shape: Shape
    go_s: float
    onset_s: float
    peak_N: float
    plateau_N: float
    release_s: float
    time_s: Floats
    force_N: Floats

    def at(self, time_s: Floats) -> Floats:
        """Give the force at any times.

        Args:
            time_s: board clock [s], shape (m,).

        Returns:
            Force [N], shape (m,); 0 before and after the repetition.
        """
        return np.interp(time_s, self.time_s, self.force_N, left=0.0, right=0.0)


def draw_shape(rng: np.random.Generator) -> Shape:
    """Draw what a repetition looks like; most are good ones.

    Args:
        rng: source of chance.
    """
    return Shape(rng.choice(list(HOW_OFTEN), p=list(HOW_OFTEN.values())))


def make_rep(shape: Shape, task: Task, go_s: float, rng: np.random.Generator) -> SimulatedRep:
    """Make one repetition.

    Args:
        shape: what it looks like.
        task: what the athlete sets out to do.
        go_s: when he is told to [s].
        rng: source of chance.

    Returns:
        The repetition with its truth.
    """
    onset_s = go_s + rng.uniform(0.20, 0.35)
    share = rng.uniform(0.55, 0.70) if shape is Shape.EARLY else 1.0
    let_go_s = onset_s + task.hold_s * share + rng.uniform(0.10, 0.25) * (share == 1.0)
    fall_s = rng.uniform(0.08, 0.15)
    time_s = np.arange(-LEAN_BEFORE_S - 0.3, let_go_s + fall_s + 0.3 - onset_s, 1.0 / GRID_HZ)
    effort = _rise(shape, time_s, rng, is_maximal=task.is_maximal)
    effort *= 1.0 + _sag(shape, rng) * np.clip(time_s - 0.3, 0.0, None)
    effort *= 1.0 + _tremor(shape, time_s, rng)
    if shape is Shape.LEAN:
        lean = rng.uniform(0.15, 0.25) * _smooth((time_s + LEAN_BEFORE_S) / 0.4)
        effort = lean + (1.0 - lean) * effort
    effort *= 1.0 - _smooth((time_s - (let_go_s - onset_s)) / fall_s)
    force_N = task.force_N * _through_ball(effort)
    time_s = time_s + onset_s
    held = force_N[(time_s >= onset_s + 0.5) & (time_s <= let_go_s)]
    plateau_N = float(np.median(held))
    falling = (time_s > let_go_s) & (force_N < plateau_N / 2.0)
    return SimulatedRep(
        shape=shape,
        go_s=go_s,
        onset_s=onset_s,
        peak_N=float(force_N.max()),
        plateau_N=plateau_N,
        release_s=float(time_s[np.argmax(falling)]),
        time_s=time_s,
        force_N=force_N,
    )


def _smooth(x: Floats) -> Floats:
    """Go from 0 to 1 as the smoothest reach does (minimum jerk, Flash and Hogan 1985)."""
    x = np.clip(x, 0.0, 1.0)
    rise: Floats = x**3 * (10.0 - 15.0 * x + 6.0 * x**2)
    return rise


def _rise(
    shape: Shape, time_s: Floats, rng: np.random.Generator, *, is_maximal: bool
) -> Floats:
    """Draw the effort without sag, tremor and let-go: 1 is the peak meant."""
    if shape is Shape.PUSH:
        return _smooth(time_s / rng.uniform(0.9, 1.3))
    if shape is Shape.TWO_STAGE:
        touch = rng.uniform(0.25, 0.35)
        pause_s = rng.uniform(0.35, 0.50)
        return touch * _smooth(time_s / 0.10) + (1.0 - touch) * _smooth(
            (time_s - 0.10 - pause_s) / 0.18
        )
    rise_s = rng.uniform(0.10, 0.16) if is_maximal else rng.uniform(0.25, 0.40)
    plateau = rng.uniform(0.90, 0.96) if is_maximal else rng.uniform(0.98, 1.0)
    fade = np.exp(-np.clip(time_s - rise_s, 0.0, None) / 0.15)
    effort: Floats = _smooth(time_s / rise_s) * (plateau + (1.0 - plateau) * fade)
    return effort


def _sag(shape: Shape, rng: np.random.Generator) -> float:
    """Draw how fast the effort fades, a share of it a second."""
    if shape is Shape.SAG:
        return float(rng.uniform(-0.12, -0.08))
    return float(rng.uniform(-0.020, -0.003))


def _tremor(shape: Shape, time_s: Floats, rng: np.random.Generator) -> Floats:
    """Draw the trembling of held muscles, 6 to 12 times a second."""
    depth = rng.uniform(0.09, 0.12) if shape is Shape.SHAKY else rng.uniform(0.004, 0.010)
    low_hz, high_hz = (6.0, 8.0) if shape is Shape.SHAKY else (6.0, 12.0)
    tremor = np.zeros_like(time_s)
    # one swing leads in a shaky hold: equal ones would beat, and leave it calm for a while
    for weight in (1.0, 0.15, 0.1) if shape is Shape.SHAKY else (0.8, 0.5, 0.3):
        turn = 2.0 * np.pi * rng.uniform(low_hz, high_hz) * time_s
        tremor += depth * weight * np.sin(turn + rng.uniform(0.0, 2.0 * np.pi))
    return tremor


def _through_ball(effort: Floats) -> Floats:
    """Pass the effort through the ball, a lag of the first order."""
    steps = np.arange(int(8 * BALL_LAG_S * GRID_HZ))
    kernel = np.exp(-steps / (BALL_LAG_S * GRID_HZ))
    return np.convolve(effort, kernel / kernel.sum())[: len(effort)]
