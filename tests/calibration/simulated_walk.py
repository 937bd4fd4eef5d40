"""Plate walks drawn at random, with everything a club's kit does to them.

`python -m tests.calibration.simulated_walk --n 2000` prints how often the true force lies
within its plus-minus, and how much wider that is than it need be; it ends with 1 where a limit
is broken.

Cells creep: under every load, also under those before it and of the exercise, and with time as
a power of it (no law of the package's). How much it is over the 15 s of a step is drawn between
a fifth and the whole of the kit's share of the load, either way (0.02 to 0.1 %: data sheets say
0.03 % of rated output in 30 minutes for good cells; cheap ones 0.03 to 0.1 % in their first
half minute, value from memory). The true force is that of a hold that has lasted two seconds.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.calibration.creep import beyond_hold_N, step_times
from strikebridge.calibration.gravity import given_gravity
from strikebridge.calibration.plates import Steps
from strikebridge.calibration.walk import Walk, WalkInput
from strikebridge.calibration.walk_analysis import analyse_walk

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
    creep: float = 1e-3  # most of it while a load lies for one step, share of that load
    is_timed: bool = True  # the walk says when each load came and was read


COVERED, WIDEST, NAMED, ACCUSED = 0.93, 1.25, 0.95, 0.02
"""Limits: least covered, widest plus-minus over the one needed; wrong plates named, clean walks
accused."""
KITS = {
    "plates 2 %, each its own": Kit(0.02),
    "plates 2 %, one make": Kit(0.02, one_make=True),
    "plates 0.1 %": Kit(0.001),
    "plates 0.1 %, a table without times": Kit(0.001, is_timed=False),
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
    creep: float = 0.0

    def reading(self, force_N: float, direction: int, crept_N: float = 0.0) -> float:
        x = force_N / self.top_N
        shape = np.sin(2.0 * np.pi * x) if self.is_wavy else 4.0 * x * (1.0 - x)
        loop = -direction * 4.0 * x * (1.0 - x)
        felt_N = force_N + self.bend_N * shape + self.loop_N * loop + self.creep * crept_N
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
        creep=kit.creep * draw.uniform(0.2, 1.0) * draw.choice([-1.0, 1.0]),
    )
    walk = [(names, way, run) for run in (1, 2) for names, way in _up_and_down()]
    drift_N = kit.drift * top_N * draw.uniform(-1.0, 1.0) * np.linspace(-0.5, 0.5, len(walk))
    jitter_N = top_N * np.hypot(kit.noise, kit.repeat)
    load_N = np.array([sum(MASSES_KG[name] for name in names) for names, _, _ in walk])
    load_N *= GRAVITY.value_m_per_s2
    came_s, read_s = draw_times(len(walk), draw)
    crept_N = crept(load_N, came_s, read_s)
    readings = []
    for (names, way, _), moved_N, slow_N in zip(walk, drift_N, crept_N, strict=True):
        true_kg = sum(MASSES_KG[name] * (1.0 + off[name]) for name in names)
        counts = cell.reading(true_kg * GRAVITY.value_m_per_s2, way, float(slow_N))
        readings.append(round(counts + GAIN * (moved_N + draw.normal(0.0, jitter_N))))
    steps = Steps(
        load_N=load_N,
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
    held_N = np.array(SHARES) * top_N
    later = np.array(
        [
            cell.reading(force_N, 1, force_N * slow) + GAIN * draw.normal(0.0, jitter_N)
            for force_N, slow in zip(held_N, np.full(len(SHARES), grown(HELD_S)), strict=True)
        ]
    )
    times = (came_s, read_s) if kit.is_timed else step_times(len(walk), None)
    beyond_N = beyond_hold_N(load_N, *times)
    walk_input = WalkInput(steps, plates, GRAVITY, step=1.0, beyond_hold_N=beyond_N)
    return walk_input, cell, later


STEP_S, HELD_S = 15.0, 2.0


def grown(since_s: Floats | float) -> Floats:
    """Say how much of the creep over a step is there: a power law, 1 after a step."""
    grown_by: Floats = (np.maximum(since_s, 0.0) / STEP_S) ** 0.3
    return grown_by


def draw_times(count: int, draw: np.random.Generator) -> tuple[Floats, Floats]:
    """Draw when each load of a walk came and was read [s]; it was exercised before."""
    wait_s = draw.uniform(4.0, 9.0, count)
    came_s = 60.0 + np.cumsum(draw.uniform(3.0, 12.0, count) + wait_s) - wait_s
    return came_s, came_s + wait_s


def crept(load_N: Floats, came_s: Floats, read_s: Floats) -> Floats:
    """Add up what a creep of the whole load does to each reading [N]."""
    top_N = float(np.max(load_N))
    loads_N = np.concatenate([[top_N, 0.0, top_N, 0.0], load_N])
    since_s = read_s[:, np.newaxis] - np.concatenate([[10.0, 22.0, 35.0, 47.0], came_s])
    total_N: Floats = grown(since_s) @ np.diff(loads_N, prepend=0.0)
    return total_N


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
        1e-3 * draw.uniform(0.2, 1.0) * draw.choice([-1.0, 1.0]),
    )
    load_N = np.array([sum(SIX_KG[name] for name in on) for on, _ in walk]) * 9.81
    came_s, read_s = draw_times(len(walk), draw)
    readings = []
    crept_N = crept(load_N, came_s, read_s)
    for (on, way), slow_N in zip(walk, crept_N, strict=True):
        true_N = sum(SIX_KG[name] * (1.0 + errors[name]) for name in on) * 9.81
        counts = cell.reading(true_N, way, float(slow_N)) + GAIN * top_N * 1e-4 * draw.normal()
        readings.append(round(counts))
    steps = Steps(
        load_N=load_N,
        reading=np.array(readings, dtype=np.float64),
        direction=np.array([way for _, way in walk]),
        run=np.ones(len(walk), dtype=np.int64),
        plates=tuple(on for on, _ in walk),
        labels=tuple(f"step {i}" for i in range(len(walk))),
    )
    plates = tuple(PlateRecord(name, kg, kg * tolerance) for name, kg in SIX_KG.items())
    beyond_N = beyond_hold_N(load_N, came_s, read_s)
    return WalkInput(steps, plates, GRAVITY, step=1.0, beyond_hold_N=beyond_N), wrong


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


def main() -> int:
    parser = argparse.ArgumentParser(description="Coverage of simulated plate walks.")
    parser.add_argument("--n", type=int, default=2000, help="walks for each kit")
    n = parser.parse_args().n
    broken = False
    head = "".join(f"{share:>14.0%}" for share in SHARES)
    sys.stdout.write(f"{'covered, and width over what is needed':42}{head}\n")
    for name, kit in KITS.items():
        covered, width = campaign(kit, n)
        broken |= bool(np.any(covered < COVERED) or np.any(width > WIDEST))
        cells = "".join(
            f"{100 * c:8.1f} %{w:5.2f}" for c, w in zip(covered, width, strict=True)
        )
        sys.stdout.write(f"{name:42}{cells}\n")
    for tolerance in (0.005, 0.02, 0.05):
        named, accused = accusations(n, tolerance)
        broken |= named < NAMED or accused >= ACCUSED
        sys.stdout.write(
            f"one plate of six off by 3 %, tolerance {tolerance:.1%}: named in {named:.1%},"
            f" clean walks accused {accused:.1%}\n"
        )
    sys.stdout.write("a limit is broken\n" if broken else "within all limits\n")
    return int(broken)


if __name__ == "__main__":
    sys.exit(main())
