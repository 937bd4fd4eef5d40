"""Seeded scenes of a wall with exact truth; a model of its own, for the detector's tests.

The finger-tip view: a force is drawn on a fine grid (at least 2000 points/s), smeared by the
converter's moving average, sampled, and spoilt by noise, wander, hum, glitches and losses.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from strikebridge.samples import Floats, ForceBlock

FINE_HZ = 8000.0


@dataclass
class Truth:
    onset_s: float
    release_s: float
    peak_N: float = 0.0
    is_snap: bool = True


@dataclass
class Scene:
    block: ForceBlock
    truth: list[Truth] = field(default_factory=list)


def block_of(
    time_s: Floats, force_N: Floats, rate_hz: float, number: np.ndarray | None = None
) -> ForceBlock:
    n = len(time_s)
    return ForceBlock(
        number=np.arange(n) if number is None else number,
        time_s=time_s,
        force_N=force_N,
        cells_N=force_N.reshape(n, 1).copy(),
        u_own_N=np.full(n, 0.01),
        u_common_N=np.full(n, 0.1),
        flags=np.zeros(n, np.uint16),
        rate_hz=rate_hz,
        calibration=None,
    )


def cut(block: ForceBlock, size: int) -> list[ForceBlock]:
    return [part(block, k, k + size) for k in range(0, len(block), size)]


def part(block: ForceBlock, begin: int, end: int | None) -> ForceBlock:
    s = slice(begin, end)
    return ForceBlock(
        block.number[s],
        block.time_s[s],
        block.force_N[s],
        block.cells_N[s],
        block.u_own_N[s],
        block.u_common_N[s],
        block.flags[s],
        block.rate_hz,
        block.calibration,
    )


class Wall:
    """Draw a scene stroke by stroke, then sample it."""

    def __init__(self, seed: int, rate_hz: float, noise_N: float = 0.4) -> None:
        self.rng = np.random.default_rng(seed)
        self.rate_hz = rate_hz
        self.noise_N = noise_N
        self.now_s = 0.0
        self.strokes: list[tuple[float, Floats]] = []
        self.truth: list[Truth] = []
        self.hum_N = 0.0
        self.creep = 0.0
        self.drift_N_per_s = 0.0
        self.offset_N = 0.0
        self.shifts: list[tuple[float, float]] = []
        self.glitch_share = 0.0
        self.loss_share = 0.0
        self.settle = 4

    def uniform(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def rest(self, seconds: float) -> None:
        self.now_s += seconds

    def smooth_noise(self, n: int, hz: float) -> Floats:
        knots = self.rng.normal(size=int(n / FINE_HZ * hz) + 4)
        return np.interp(np.arange(n) / FINE_HZ * hz, np.arange(len(knots)), knots)

    def draw(self, force: Floats) -> None:
        self.strokes.append((self.now_s, force))
        self.now_s += len(force) / FINE_HZ

    def push(  # noqa: PLR0913 - the knobs of one hold
        self,
        level_N: float,
        hold_s: float,
        *,
        rise_s: float = 0.12,
        fall_s: float = 0.12,
        sag: float = 0.0,
        tremor: float = 0.012,
        linear: bool = False,
        pre: Floats | None = None,
    ) -> None:
        """Add a hold: rise, plateau with tremor and sag, fall; `pre` is what comes first."""
        n = int((rise_s + hold_s) * FINE_HZ)
        t = np.arange(n) / FINE_HZ
        if linear:
            shape = np.minimum(1.0, t / rise_s)
        else:
            x = np.minimum(1.0, t / rise_s)
            shape = x * x * (3 - 2 * x)
        body = level_N * shape * (1.0 + sag * np.maximum(0.0, t - rise_s))
        body = body * (
            1.0 + tremor * self.smooth_noise(n, 16.0) + 0.01 * self.smooth_noise(n, 2.0)
        )
        x = np.arange(int(fall_s * FINE_HZ)) / (fall_s * FINE_HZ)
        fall = body[-1] * (1 - x * x * (3 - 2 * x))
        force = np.concatenate([body, fall])
        onset_s = self.now_s
        if pre is not None:
            m = min(len(pre), len(force))
            force[:m] = np.maximum(force[:m], pre[:m])
        self.draw(force)
        level = float(np.median(body[body > 0.5 * body.max()]))
        below = np.flatnonzero(fall < 0.5 * level)
        at = len(body) + (below[0] if len(below) else 0)
        self.truth.append(
            Truth(onset_s, onset_s + at / FINE_HZ, float(force.max()), rise_s <= 0.2)
        )

    def double(self, level_N: float, hold_s: float) -> None:
        """A short hit, back to a part of it, then the push."""
        hit = self.uniform(0.4, 0.9) * level_N
        n_hit = int(self.uniform(0.10, 0.2) * FINE_HZ)
        gap = int(self.uniform(0.05, 0.25) * FINE_HZ)
        dip = self.uniform(0.02, 0.35) * level_N
        up = hit * np.sin(np.pi * np.arange(n_hit) / n_hit)
        up[n_hit // 2 :] = np.maximum(up[n_hit // 2 :], dip)
        pre = np.concatenate([up, np.full(gap, dip)])
        onset_s = self.now_s
        self.draw(pre)
        self.push(level_N, hold_s)
        true = self.truth[-1]
        true.onset_s = onset_s
        true.is_snap = False

    def tap(self, peak_N: float, seconds: float) -> None:
        n = int(seconds * FINE_HZ)
        self.draw(peak_N * np.sin(np.pi * np.arange(n) / n))

    def bump(self, peak_N: float) -> None:
        n = int(0.8 * FINE_HZ)
        t = np.arange(n) / FINE_HZ
        self.draw(peak_N * np.exp(-t / 0.12) * np.sin(2 * np.pi * 6.0 * t))

    def lean(self, level_N: float, seconds: float, *, into_s: float = 0.3) -> Floats:
        n = int(seconds * FINE_HZ)
        ends = np.minimum(1.0, np.arange(n) / (into_s * FINE_HZ))
        waver = 1.0 + 0.08 * self.smooth_noise(n, 2.0) + 0.02 * self.smooth_noise(n, 8.0)
        return level_N * waver * ends

    def lean_and_push(
        self, lean_N: float, level_N: float, hold_s: float, lean_s: float
    ) -> None:
        lean = self.lean(lean_N, lean_s)
        self.draw(lean)
        self.push(level_N, hold_s, pre=np.full(int(hold_s * FINE_HZ), lean[-1]))
        true = self.truth[-1]
        true.is_snap = True

    def hand_after(self, level_N: float, seconds: float) -> None:
        """A hand left on the ball after a hold."""
        lean = self.lean(level_N, seconds, into_s=0.01)
        self.now_s -= 0.12
        start = np.minimum(1.0, np.arange(len(lean)) / (0.12 * FINE_HZ))
        end = np.minimum(1.0, np.arange(len(lean))[::-1] / (0.15 * FINE_HZ))
        self.draw(lean * start * end)

    def shift(self, step_N: float) -> None:
        self.shifts.append((self.now_s, step_N))

    def scene(self) -> Scene:
        n_fine = int((self.now_s + 0.5) * FINE_HZ)
        force = np.zeros(n_fine)
        for at_s, stroke in self.strokes:
            first = int(at_s * FINE_HZ)
            force[first : first + len(stroke)] += stroke
        for at_s, step in self.shifts:
            force[int(at_s * FINE_HZ) :] += step
        if self.creep:
            force = force + self._crept(force)
        force += self.drift_N_per_s * np.arange(n_fine) / FINE_HZ
        window = max(1, round(self.settle * FINE_HZ / self.rate_hz))
        summed = np.concatenate([np.zeros(1), np.cumsum(force)])
        step = FINE_HZ / self.rate_hz
        at = np.arange(window, n_fine, step)
        index = at.astype(int)
        seen = (summed[index] - summed[index - window]) / window
        time_s = at / FINE_HZ
        seen = seen + self.rng.normal(0.0, self.noise_N, len(seen))
        seen += self.hum_N * np.sin(2 * np.pi * 50.02 * time_s + 1.0)
        seen += self.offset_N
        block = block_of(time_s, seen, self.rate_hz)
        if self.glitch_share:
            block = self._glitch(block)
        if self.loss_share:
            keep = np.flatnonzero(self.rng.random(len(block)) > self.loss_share)
            block = pick(block, keep)
        return Scene(block, self.truth)

    def _crept(self, force: Floats) -> Floats:
        every = int(FINE_HZ / 100)
        coarse = force[::every]
        out = np.zeros(len(coarse))
        a = 1.0 / (100 * 8.0)
        for k in range(1, len(coarse)):
            out[k] = out[k - 1] + a * (self.creep * coarse[k] - out[k - 1])
        return np.interp(np.arange(len(force)), np.arange(len(coarse)) * every, out)

    def _glitch(self, block: ForceBlock) -> ForceBlock:
        force = block.force_N.copy()
        keep = np.ones(len(block), bool)
        for k in np.flatnonzero(self.rng.random(len(force)) < self.glitch_share):
            kind = self.rng.integers(4)
            offset = self.offset_N if self.offset_N else 4000.0
            force[k] = [
                (2.0 ** self.rng.integers(17, 24) - 1) * 0.002,
                0.0 if self.offset_N else -offset,
                -force[k] if self.offset_N else -2 * offset,
                0.5 * force[k] if self.offset_N else -0.5 * offset,
            ][kind]
            if self.rng.random() < 0.8:
                keep[k + 1 : k + 5] = False
        block = block_of(block.time_s, force, block.rate_hz, block.number)
        return pick(block, np.flatnonzero(keep))


def pick(block: ForceBlock, keep: np.ndarray) -> ForceBlock:
    return ForceBlock(
        block.number[keep],
        block.time_s[keep],
        block.force_N[keep],
        block.cells_N[keep],
        block.u_own_N[keep],
        block.u_common_N[keep],
        block.flags[keep],
        block.rate_hz,
        block.calibration,
    )


def clean(seed: int) -> Scene:
    wall = Wall(seed, 80.0 * (1 + 0.1 * np.random.default_rng(seed).uniform(-1, 1)))
    wall.rest(2.0)
    for _ in range(8):
        wall.push(wall.uniform(300, 700), wall.uniform(2.5, 5.0))
        wall.rest(wall.uniform(1.5, 5.0))
    return wall.scene()


def mixed(seed: int) -> Scene:
    wall = Wall(seed, [10.4, 80.0, 92.0][seed % 3])
    wall.creep = 0.002
    wall.rest(1.5)
    for level in wall.rng.permutation([55, 90, 150, 400, 800, 1200, 1600, 2000]):
        if wall.rng.random() < 0.25:
            wall.push(float(level), 3.0, rise_s=wall.uniform(0.5, 2.0), linear=True)
        else:
            wall.push(float(level), wall.uniform(1.0, 5.0), rise_s=wall.uniform(0.08, 0.2))
        wall.rest(wall.uniform(1.5, 5.0))
    return wall.scene()


def fast(seed: int) -> Scene:
    wall = Wall(seed, [332.0, 1000.0][seed % 2], noise_N=0.8)
    wall.hum_N = wall.uniform(1.0, 5.0)
    wall.rest(2.0)
    for _ in range(6):
        wall.push(wall.uniform(100, 900), 3.0)
        wall.rest(wall.uniform(1.5, 3.0))
    return wall.scene()


def taps(seed: int) -> Scene:
    wall = Wall(seed, [80.0, 10.5, 320.0][seed % 3])
    wall.rest(1.5)
    for _ in range(8):
        for _ in range(int(wall.rng.integers(0, 3))):
            if wall.rng.random() < 0.5:
                wall.tap(wall.uniform(20, 500), wall.uniform(0.05, 0.3))
            else:
                wall.bump(wall.uniform(20, 300))
            wall.rest(wall.uniform(0.7, 2.0))
        wall.push(wall.uniform(150, 900), 3.0)
        wall.rest(wall.uniform(1.5, 3.0))
    return wall.scene()


def sag(seed: int) -> Scene:
    wall = Wall(seed, [80.0, 10.5, 320.0][seed % 3])
    wall.rest(1.5)
    for _ in range(8):
        wall.push(
            wall.uniform(150, 900),
            wall.uniform(0.8, 5.0),
            sag=wall.uniform(-0.09, 0.0),
            fall_s=wall.uniform(0.08, 0.5),
            tremor=wall.uniform(0.005, 0.05),
        )
        wall.rest(wall.uniform(1.5, 3.0))
    return wall.scene()


def doubles(seed: int) -> Scene:
    wall = Wall(seed, [80.0, 320.0][seed % 2])
    wall.rest(1.5)
    for _ in range(8):
        if wall.rng.random() < 0.6:
            wall.double(wall.uniform(150, 900), 3.0)
        else:
            wall.push(wall.uniform(150, 900), 3.0)
        wall.rest(wall.uniform(1.5, 3.0))
    return wall.scene()


def leans(seed: int) -> Scene:
    wall = Wall(seed, [80.0, 10.5, 320.0][seed % 3])
    wall.rest(1.5)
    for _ in range(8):
        kind = wall.rng.integers(4)
        level = wall.uniform(200, 900)
        if kind == 0:
            wall.lean_and_push(wall.uniform(25, 80), level, 3.0, wall.uniform(0.9, 3.0))
        else:
            if kind == 1:
                wall.shift(wall.uniform(8, 60) * (1 if wall.rng.random() < 0.5 else -1))
                wall.rest(wall.uniform(1.6, 4.0))
            wall.push(level, 3.0)
            if kind == 2:
                wall.hand_after(wall.uniform(20, 70), wall.uniform(1.0, 3.0))
        wall.rest(wall.uniform(1.5, 3.0))
    return wall.scene()


def glitches(seed: int) -> Scene:
    wall = Wall(seed, 10.5)
    wall.glitch_share = 0.012
    wall.offset_N = [0.0, 3700.0, -9000.0][seed % 3]
    wall.rest(2.0)
    for _ in range(8):
        wall.push(wall.uniform(200, 900), wall.uniform(3.0, 5.0))
        wall.rest(wall.uniform(2.5, 5.0))
    return wall.scene()


def weak(seed: int) -> Scene:
    wall = Wall(seed, [80.0, 10.5, 320.0][seed % 3])
    wall.noise_N = wall.uniform(1.0, 4.0)
    wall.drift_N_per_s = wall.uniform(-0.05, 0.05)
    wall.rest(2.0)
    for _ in range(8):
        wall.push(wall.uniform(55, 150), 3.0)
        wall.rest(wall.uniform(2.0, 5.0))
    return wall.scene()


def everything(seed: int) -> Scene:
    wall = Wall(seed, [80.0, 92.0, 320.0][seed % 3])
    wall.noise_N = wall.uniform(0.3, 2.0)
    wall.drift_N_per_s = wall.uniform(-0.05, 0.05)
    wall.creep = 0.002
    wall.offset_N = wall.uniform(-20000, 20000)
    wall.glitch_share = 0.0015
    wall.loss_share = 0.01
    wall.rest(1.5)
    for _ in range(10):
        kind = wall.rng.integers(7)
        level = wall.uniform(120, 1500)
        if kind == 0:
            wall.lean_and_push(wall.uniform(25, 60), level, 3.0, wall.uniform(1.0, 3.0))
        elif kind == 1:
            wall.double(level, 3.0)
        else:
            if kind == 2:
                wall.shift(wall.uniform(8, 60) * (1 if wall.rng.random() < 0.5 else -1))
                wall.rest(wall.uniform(1.6, 4.0))
            if kind == 3:
                wall.tap(wall.uniform(20, 300), 0.15)
                wall.rest(1.0)
            wall.push(level, wall.uniform(1.5, 5.0), sag=wall.uniform(-0.06, 0.0))
            if kind == 4:
                wall.hand_after(wall.uniform(20, 50), wall.uniform(1.0, 3.0))
        wall.rest(wall.uniform(1.5, 3.0))
    return wall.scene()


SCENES = {
    "clean": clean,
    "mixed": mixed,
    "fast": fast,
    "taps": taps,
    "sag": sag,
    "doubles": doubles,
    "leans": leans,
    "glitches": glitches,
    "weak": weak,
    "everything": everything,
}
