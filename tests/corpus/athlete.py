"""Made-up athletes: the force of a push against time, drawn on a fine grid, nothing smeared.

Every curve is built from a rise, a plateau with swings, and a let-go. The numbers are
inventions in the range of what is usual at a wall (common practice, no source), but for the
swings: a held force scatters by 1.7 % at the very least (Taylor, Christou, Enoka 2003, J
Neurophysiol 90:1350-1361), and its tremor lies about 8 to 12 Hz (value from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

RISES = ("snap", "ramp", "two-stage", "double")


@dataclass(frozen=True)
class Push:
    """What an athlete is about to do; times in seconds, shares of the level."""

    level_N: float
    hold_s: float
    rise: str = "snap"
    sag_per_s: float = 0.0
    swing: float = 0.012
    shake: float = 0.0
    overshoot: float = 0.0
    fall_s: float = 0.12


def draw(push: Push, rng: np.random.Generator, grid_hz: float) -> tuple[Floats, int]:
    """Draw the force of a push from its first newton to its last.

    Returns:
        Force [N], and the point at which the let-go begins.
    """
    rise = _rise(push.rise, rng, grid_hz)
    count = len(rise) + round(push.hold_s * grid_hz)
    shape = np.concatenate((rise, np.ones(count - len(rise))))
    top = len(rise) - _last_climb(rise)
    since_s = np.maximum(0.0, np.arange(count) - top) / grid_hz
    shape = shape * (1.0 + push.overshoot * _overshoot(since_s, rng))
    shape = shape * np.maximum(0.1, 1.0 + push.sag_per_s * since_s)
    swings = push.swing * (
        0.8 * _band(count, (0.4, 3.0), rng, grid_hz)
        + 0.5 * _band(count, (7.0, 11.0), rng, grid_hz)
    )
    swings += push.shake * _band(count, (2.5, 6.0), rng, grid_hz)
    held = push.level_N * np.maximum(0.0, shape * (1.0 + swings))
    return np.concatenate((held, held[-1] * _fall(push.fall_s, rng, grid_hz))), len(held)


def rest_hand(
    level_N: float, seconds: float, rng: np.random.Generator, grid_hz: float
) -> Floats:
    """A hand that lies on the ball: it comes on slowly and wavers by some percent."""
    count = round(seconds * grid_hz)
    waver = 1.0 + 0.05 * _band(count, (0.3, 4.0), rng, grid_hz)
    ends = round(0.12 * grid_hz)
    window = np.ones(count)
    window[:ends] = _smooth(np.arange(ends) / ends)
    window[-ends:] = window[:ends][::-1]
    return level_N * waver * window


def knock(peak_N: float, seconds: float, grid_hz: float) -> Floats:
    """A tap or a short bump: a half sine."""
    count = max(3, round(seconds * grid_hz))
    return peak_N * np.sin(np.pi * np.arange(count) / (count - 1))


def _rise(kind: str, rng: np.random.Generator, grid_hz: float) -> Floats:
    if kind == "ramp":
        seconds = rng.uniform(0.8, 2.0)
        x = np.arange(round(seconds * grid_hz)) / (seconds * grid_hz)
        return x if rng.random() < 0.6 else _smooth(x)
    final = _quick(rng, grid_hz)
    if kind == "snap":
        return final
    if kind == "two-stage":
        step = rng.uniform(0.2, 0.6)
        pause = np.ones(round(rng.uniform(0.25, 0.45) * grid_hz))
        creeping = 1.0 + 0.05 * np.arange(len(pause)) / len(pause)
        first = step * np.concatenate((_quick(rng, grid_hz), creeping))
        return np.concatenate((first, first[-1] + (1.0 - first[-1]) * final))
    hit = rng.uniform(0.55, 1.0)
    low = hit * rng.uniform(0.0, 0.3)
    down = 1.0 - _smooth(np.arange(round(0.08 * grid_hz)) / (0.08 * grid_hz))
    first = np.concatenate((hit * _quick(rng, grid_hz), low + (hit - low) * down))
    wait = np.full(round(rng.uniform(0.10, 0.22) * grid_hz), low)
    return np.concatenate((first, wait, low + (1.0 - low) * final))


def _quick(rng: np.random.Generator, grid_hz: float) -> Floats:
    """Rise from nothing to all in a tenth of a second or two, in one of three shapes."""
    kind = int(rng.integers(3))
    if kind == 0:
        tau_s = rng.uniform(0.030, 0.065)
        t = np.arange(round(4.5 * tau_s * grid_hz)) / grid_hz
        curve = 1.0 - np.exp(-t / tau_s)
    elif kind == 1:
        tau_s = rng.uniform(0.018, 0.038)
        t = np.arange(round(8.0 * tau_s * grid_hz)) / grid_hz
        curve = 1.0 - (1.0 + t / tau_s) * np.exp(-t / tau_s)
    else:
        seconds = rng.uniform(0.08, 0.18)
        curve = _smooth(np.arange(round(seconds * grid_hz)) / (seconds * grid_hz))
    scaled: Floats = curve / curve[-1]
    return scaled


def _last_climb(rise: Floats) -> int:
    """Count the samples from where the rise last came up through 95 % to its end."""
    under = np.flatnonzero(rise < 0.95)
    return len(rise) - int(under[-1]) - 1 if len(under) else len(rise)


def _overshoot(since_s: Floats, rng: np.random.Generator) -> Floats:
    rise_s, decay_s = rng.uniform(0.03, 0.08), rng.uniform(0.15, 0.5)
    return (1.0 - np.exp(-since_s / rise_s)) * np.exp(-since_s / decay_s)


def _fall(seconds: float, rng: np.random.Generator, grid_hz: float) -> Floats:
    if rng.random() < 0.5:
        x: Floats = np.arange(1, round(seconds * grid_hz)) / (seconds * grid_hz)
        return 1.0 - _smooth(x)
    tau_s = seconds / 3.0
    t = np.arange(1, round(7.0 * tau_s * grid_hz)) / grid_hz
    tail: Floats = np.exp(-t / tau_s) - np.exp(-7.0) * t / (7.0 * tau_s)
    return tail


def _smooth(x: Floats) -> Floats:
    return x * x * (3.0 - 2.0 * x)


def _band(
    count: int, edges_hz: tuple[float, float], rng: np.random.Generator, grid_hz: float
) -> Floats:
    """Swings of unit SD between two frequencies: a few sines of any phase."""
    t = np.arange(count) / grid_hz
    total = np.zeros(count)
    for _ in range(6):
        turn = 2.0 * np.pi * rng.uniform(*edges_hz)
        total += np.sin(turn * t + rng.uniform(0.0, 2.0 * np.pi))
    unit: Floats = total * np.sqrt(2.0 / 6.0)
    return unit
