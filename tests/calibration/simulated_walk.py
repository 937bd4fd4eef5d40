"""Plate walks drawn at random, with everything a club's kit does to them.

`python -m tests.calibration.simulated_walk --n 2000` prints how often the true force lies
within its plus-minus, and how much wider that is than it need be.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.calibration.gravity import given_gravity
from strikebridge.calibration.plates import Steps
from strikebridge.calibration.walk import Walk, WalkInput, analyse_walk

if TYPE_CHECKING:
    from strikebridge.samples import Floats

GRAVITY = given_gravity(9.81)
GAIN = 212.0  # counts a newton
ZERO = 8_000.0
SHARES = (0.2, 0.5, 0.8, 1.0)
LADDER = ((), ("A",), ("A", "B"), ("A", "B", "C"), ("A", "B", "C", "D"))
MASSES_KG = {"A": 20.0, "B": 20.0, "C": 10.0, "D": 5.0}


@dataclass(frozen=True)
class Kit:
    """How good plates and cell are; shares of the largest load unless said otherwise."""

    tolerance: float  # of each plate, share of its mass
    one_make: bool = False
    noise: float = 1e-4  # of the mean of a step
    repeat: float = 1e-4  # of a step put on again
    drift: float = 1e-4  # of zero, over the walk
    bend: float = 3e-4  # largest departure from a straight line
    loop: float = 3e-4  # half the opening of the hysteresis


KITS = {
    "plates 2 %, each its own": Kit(0.02),
    "plates 2 %, one make": Kit(0.02, one_make=True),
    "plates 0.1 %": Kit(0.001),
    "weights, cell at its worst": Kit(5e-5, bend=5e-4, loop=5e-4, repeat=3e-4),
    "weights, noise alone": Kit(5e-5, noise=5e-4, bend=0.0, loop=0.0, drift=0.0),
}


@dataclass(frozen=True)
class TrueCell:
    """One cell as it really is."""

    bend_N: float
    is_wavy: bool
    loop_N: float
    top_N: float

    def reading(self, force_N: float, direction: int) -> float:
        x = force_N / self.top_N
        shape = np.sin(2.0 * np.pi * x) if self.is_wavy else 4.0 * x * (1.0 - x)
        loop = -direction * 4.0 * x * (1.0 - x)
        felt_N = force_N + self.bend_N * shape + self.loop_N * loop
        return ZERO + GAIN * float(felt_N)


def draw_walk(kit: Kit, draw: np.random.Generator) -> tuple[WalkInput, TrueCell, Floats]:
    """Draw one walk: twice up and down a ladder of four plates; and readings at true forces."""
    top_N = sum(MASSES_KG.values()) * GRAVITY.value_m_per_s2
    shared = draw.uniform(-1.0, 1.0)
    off = {
        name: kit.tolerance * (shared if kit.one_make else draw.uniform(-1.0, 1.0))
        for name in MASSES_KG
    }
    cell = TrueCell(
        bend_N=kit.bend * top_N * draw.uniform(-1.0, 1.0),
        is_wavy=bool(draw.integers(2)),
        loop_N=kit.loop * top_N * draw.uniform(0.0, 1.0),
        top_N=top_N,
    )
    walk = [(names, way, run) for run in (1, 2) for names, way in _up_and_down()]
    drift_N = kit.drift * top_N * draw.uniform(-1.0, 1.0) * np.linspace(-0.5, 0.5, len(walk))
    jitter_N = top_N * np.hypot(kit.noise, kit.repeat)
    loads, readings = [], []
    for (names, way, _), moved_N in zip(walk, drift_N, strict=True):
        true_kg = sum(MASSES_KG[name] * (1.0 + off[name]) for name in names)
        counts = cell.reading(true_kg * GRAVITY.value_m_per_s2, way)
        readings.append(round(counts + GAIN * (moved_N + draw.normal(0.0, jitter_N))))
        loads.append(sum(MASSES_KG[name] for name in names) * GRAVITY.value_m_per_s2)
    steps = Steps(
        load_N=np.array(loads),
        reading=np.array(readings, dtype=np.float64),
        direction=np.array([way for _, way, _ in walk]),
        run=np.array([run for _, _, run in walk]),
        plates=tuple(names for names, _, _ in walk),
        labels=tuple(f"step {i}" for i in range(len(walk))),
    )
    plates = tuple(
        PlateRecord(name, mass, mass * kit.tolerance, "iron" if kit.one_make else "")
        for name, mass in MASSES_KG.items()
    )
    later = np.array(
        [cell.reading(share * top_N, 1) + GAIN * draw.normal(0.0, jitter_N) for share in SHARES]
    )
    return WalkInput(steps, plates, GRAVITY, step=1.0), cell, later


def _up_and_down() -> list[tuple[tuple[str, ...], int]]:
    up: list[tuple[tuple[str, ...], int]] = [(names, 1) for names in LADDER]
    return up + [(names, -1) for names in LADDER[-2::-1]]


SIX_KG = {"A": 20.0, "B": 20.0, "C": 10.0, "D": 10.0, "E": 5.0, "F": 2.5}


def draw_suspect_walk(
    draw: np.random.Generator, off: float | None, tolerance: float = 0.02
) -> tuple[WalkInput, str]:
    """Draw a walk of six plates, each once alone, then a ladder up and down.

    All lie within 0.5 % but one, which is off by a share either way; None: all are right.
    """
    names = list(SIX_KG)
    errors = {name: draw.uniform(-0.005, 0.005) for name in names}
    wrong = names[int(draw.integers(6))] if off is not None else ""
    if off is not None:
        errors[wrong] = off * draw.choice([-1.0, 1.0])
    top_N = sum(SIX_KG.values()) * GRAVITY.value_m_per_s2
    ladder = [tuple(names[:i]) for i in range(2, 7)]
    up: list[tuple[str, ...]] = [(), *((name,) for name in names), *ladder]
    walk = [(on, 1) for on in up] + [(on, -1) for on in [*ladder[-2::-1], ()]]
    cell = TrueCell(
        3e-4 * top_N * draw.uniform(-1.0, 1.0),
        bool(draw.integers(2)),
        3e-4 * top_N * draw.uniform(0.0, 1.0),
        top_N,
    )
    loads, readings = [], []
    for on, way in walk:
        true_N = sum(SIX_KG[name] * (1.0 + errors[name]) for name in on) * 9.81
        counts = cell.reading(true_N, way) + GAIN * top_N * 1e-4 * draw.normal()
        readings.append(round(counts))
        loads.append(sum(SIX_KG[name] for name in on) * 9.81)
    steps = Steps(
        load_N=np.array(loads),
        reading=np.array(readings, dtype=np.float64),
        direction=np.array([way for _, way in walk]),
        run=np.ones(len(walk), dtype=np.int64),
        plates=tuple(on for on, _ in walk),
        labels=tuple(f"step {i}" for i in range(len(walk))),
    )
    plates = tuple(PlateRecord(name, kg, kg * tolerance) for name, kg in SIX_KG.items())
    return WalkInput(steps, plates, GRAVITY, step=1.0), wrong


def accusations(n: int, tolerance: float, seed: int = 1) -> tuple[float, float]:
    """Repeat: share of wrong plates named, and share of clean walks with an accusation."""
    draw = np.random.default_rng(seed)
    named = accused = 0
    for _ in range(n):
        walk, wrong = draw_suspect_walk(draw, 0.03, tolerance)
        named += [suspect.name for suspect in analyse_walk(walk).suspects] == [wrong]
        clean, _ = draw_suspect_walk(draw, None, tolerance)
        accused += bool(analyse_walk(clean).suspects)
    return named / n, accused / n


def try_walk(kit: Kit, draw: np.random.Generator) -> tuple[Walk, Floats, Floats]:
    """Draw a walk, calibrate, and compare: errors and u95 at the shares of the range [N]."""
    walk, cell, later = draw_walk(kit, draw)
    result = analyse_walk(walk)
    found = [result.at(float(reading)) for reading in later]
    errors = np.array([force_N for force_N, _, _ in found]) - np.array(SHARES) * cell.top_N
    return result, errors, np.array([k * u_N for _, u_N, k in found])


def campaign(kit: Kit, n: int, seed: int = 1) -> tuple[Floats, Floats]:
    """Repeat: share covered, and mean u95 over the half-width that covers exactly 95 %."""
    draw = np.random.default_rng(seed)
    tried = [try_walk(kit, draw)[1:] for _ in range(n)]
    errors = np.abs(np.array([errors for errors, _ in tried]))
    u95 = np.array([u95 for _, u95 in tried])
    covered = np.mean(errors <= u95, axis=0)
    width = np.mean(u95, axis=0) / np.quantile(errors, 0.95, axis=0)
    return covered, width


def main() -> None:
    parser = argparse.ArgumentParser(description="Coverage of simulated plate walks.")
    parser.add_argument("--n", type=int, default=2000, help="walks for each kit")
    n = parser.parse_args().n
    head = "".join(f"{share:>14.0%}" for share in SHARES)
    sys.stdout.write(f"{'covered, and width over what is needed':42}{head}\n")
    for name, kit in KITS.items():
        covered, width = campaign(kit, n)
        cells = "".join(
            f"{100 * c:8.1f} %{w:5.2f}" for c, w in zip(covered, width, strict=True)
        )
        sys.stdout.write(f"{name:42}{cells}\n")
    for tolerance in (0.005, 0.02, 0.05):
        named, accused = accusations(n, tolerance)
        sys.stdout.write(
            f"one plate of six off by 3 %, tolerance {tolerance:.1%}: named in {named:.1%},"
            f" clean walks accused {accused:.1%}\n"
        )


if __name__ == "__main__":
    main()
