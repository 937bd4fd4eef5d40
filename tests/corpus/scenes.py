"""The scenes, from easy to nasty; each is a function of a seed.

A `Stage` is drawn on stroke by stroke and then run through a kit. All figures are inventions in
the range of a club gym (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from tests.corpus.athlete import Push, draw, knock, rest_hand
from tests.corpus.kit import Kit, Reading, convert
from tests.corpus.truth import Context, Truth, find

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.corpus.athlete import Floats


@dataclass
class Scene:
    """A finished scene.

    Attributes:
        name, seed: which.
        kit: the rig.
        reading: what arrived.
        truths: the holds there were, in order.
        gos_s: go signals.
        hold_s, band_N: what was prescribed.
        form: how it is to be written: counts, forces, lines or bare.
    """

    name: str
    seed: int
    kit: Kit
    reading: Reading
    truths: list[Truth]
    gos_s: list[float]
    hold_s: float | None
    band_N: tuple[float, float] | None
    form: str


@dataclass
class Stage:
    """A wall to be drawn on."""

    rng: np.random.Generator
    kit: Kit
    now_s: float = 0.0
    hold_s: float | None = None
    band_N: tuple[float, float] | None = None
    lean_N: float = 0.0
    let_go_s: float = 0.0
    strokes: list[tuple[float, Floats]] = field(default_factory=list)
    moves: list[tuple[float, float]] = field(default_factory=list)
    truths: list[Truth] = field(default_factory=list)
    gos_s: list[float] = field(default_factory=list)

    @property
    def grid_hz(self) -> float:
        return 2000.0 if self.kit.rate_hz < 200.0 else 8000.0

    def any(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def is_so(self, chance: float) -> bool:
        return bool(self.rng.random() < chance)

    def wait(self, low_s: float, high_s: float) -> None:
        self.now_s += self.any(low_s, high_s)

    def stroke(self, force_N: Floats) -> None:
        # on the grid exactly, so that the truth is exact
        self.now_s = round(self.now_s * self.grid_hz) / self.grid_hz
        self.strokes.append((self.now_s, force_N))
        self.now_s += len(force_N) / self.grid_hz

    def push(self, push: Push, reaction_s: float | None = None) -> None:
        """Add a push, above the lean there is."""
        go_s = None
        if reaction_s is not None:
            go_s = self.now_s
            self.gos_s.append(go_s)
            self.now_s += reaction_s
        force_N, let_go = draw(push, self.rng, self.grid_hz)
        start_s = round(self.now_s * self.grid_hz) / self.grid_hz
        self.stroke(force_N)
        self.let_go_s = start_s + let_go / self.grid_hz
        context = Context(push.rise, self.lean_N, go_s, self.hold_s, self.band_N)
        whole_N = force_N
        if self.lean_N:
            # the hand eases off with the push: what lies below it is force all the same
            whole_N = force_N + self._under(start_s, len(force_N))
        self.truths.append(find(whole_N, start_s, self.grid_hz, context))

    def lean_and_push(self, lean_N: float, lean_s: float, push: Push) -> None:
        """Rest a hand on the ball, and push from there."""
        self.now_s = round(self.now_s * self.grid_hz) / self.grid_hz
        whole_s = lean_s + push.hold_s + 3.0
        hand = rest_hand(lean_N, whole_s, self.rng, self.grid_hz)
        begin_s = self.now_s
        mark = len(self.strokes)
        self.strokes.append((begin_s, hand))
        self.now_s = begin_s + lean_s
        self.lean_N = lean_N
        self.push(push)
        self.lean_N = 0.0
        # the hand leaves the ball with the push; cut it short and work the truth out anew
        stop = round((self.now_s - begin_s) * self.grid_hz)
        fading = hand[:stop].copy()
        ends = round(push.fall_s * self.grid_hz)
        fading[-ends:] *= np.linspace(1.0, 0.0, ends)
        self.strokes[mark] = (begin_s, fading)
        start_s, force_N = self.strokes[-1]
        begin = round((start_s - begin_s) * self.grid_hz)
        whole_N = force_N + fading[begin : begin + len(force_N)]
        context = Context(push.rise, lean_N, None, self.hold_s, self.band_N)
        self.truths[-1] = find(whole_N, start_s, self.grid_hz, context)

    def _under(self, start_s: float, count: int) -> Floats:
        begin_s, hand = self.strokes[-2]
        begin = round((start_s - begin_s) * self.grid_hz)
        return hand[begin : begin + count]

    def tap(self, peak_N: float, seconds: float) -> None:
        self.stroke(knock(peak_N, seconds, self.grid_hz))

    def bump(self) -> None:
        """Something knocks the ball: it swings to both sides."""
        first = self.any(20.0, 300.0)
        for k in range(3):
            part = knock(first * 0.5**k * (-0.6 if k == 1 else 1.0), 0.05, self.grid_hz)
            self.stroke(part)

    def stay_on(self, level_N: float, seconds: float) -> None:
        """After a push, let the hand lie on the ball: the force never returns to zero."""
        back_s = self.now_s - self.let_go_s
        self.now_s = self.let_go_s
        self.stroke(rest_hand(level_N, seconds + back_s, self.rng, self.grid_hz))

    def move_ball(self, by_N: float) -> None:
        self.moves.append((self.now_s, by_N))

    def reading(self) -> Reading:
        count = round((self.now_s + 2.0) * self.grid_hz)
        force_N, zero_N = np.zeros(count), np.zeros(count)
        for at_s, curve in self.strokes:
            begin = round(at_s * self.grid_hz)
            force_N[begin : begin + len(curve)] += curve
        for at_s, by_N in self.moves:
            begin = round(at_s * self.grid_hz)
            soft = np.minimum(1.0, np.arange(count - begin) / (0.1 * self.grid_hz))
            zero_N[begin:] += by_N * soft
        return convert(force_N, zero_N, self.grid_hz, self.kit, self.rng)


RATES_HZ = {"10": (10.3, 10.7), "80": (70.0, 94.0), "320": (315.0, 335.0), "1000": (995, 1005)}


def _kit(rng: np.random.Generator, rates: tuple[str, ...], seed: int) -> Kit:
    """Pick a rig: any offset, either sign, counts small enough for 2 500 N to fit 24 bits."""
    low_hz, high_hz = RATES_HZ[rates[seed % len(rates)]]
    gain = float(rng.uniform(0.0004, 0.0012)) * (1.0 if rng.random() < 0.6 else -1.0)
    offset = float(rng.uniform(-2.0e6, 5.0e5)) if gain > 0 else float(rng.uniform(-5e5, 2.0e6))
    return Kit(
        rate_hz=float(rng.uniform(low_hz, high_hz)),
        noise_N=float(rng.uniform(0.05, 0.6)),
        gain_N_per_count=gain,
        offset_counts=offset,
        stages=int(rng.choice([1, 1, 2, 4])),
        bunch=int(rng.choice([1, 1, 4, 8])) if low_hz > 50.0 else 1,
        jitter_s=float(rng.choice([0.0005, 0.002])),
    )


def _stage(seed: int, salt: int, rates: tuple[str, ...], hold_s: float | None = 3.0) -> Stage:
    rng = np.random.default_rng([seed, salt])
    stage = Stage(rng, _kit(rng, rates, seed), hold_s=hold_s)
    stage.wait(1.5, 3.0)
    return stage


def _held(stage: Stage, low_N: float, high_N: float) -> Push:
    """An ordinary maximal hold, a little longer than prescribed."""
    return Push(
        level_N=float(np.exp(stage.any(np.log(low_N), np.log(high_N)))),
        hold_s=stage.any(3.0, 3.8),
        sag_per_s=stage.any(-0.025, 0.0),
        swing=stage.any(0.008, 0.02),
        overshoot=stage.any(0.0, 0.12) if stage.is_so(0.6) else 0.0,
        fall_s=stage.any(0.06, 0.3),
    )


def clean(seed: int) -> Stage:
    stage = _stage(seed, 1, ("80", "10", "320", "80"))
    for _ in range(6):
        stage.push(_held(stage, 300.0, 700.0))
        stage.wait(2.0, 5.0)
    return stage


def mixed(seed: int) -> Stage:
    stage = _stage(seed, 2, ("80", "320", "10", "80", "1000"))
    stage.kit.creep = 0.002
    levels = stage.rng.permutation([50.0, 90.0, 150.0, 400.0, 800.0, 1200.0, 1600.0, 2000.0])
    for level_N in levels.tolist():
        rise = str(stage.rng.choice(["snap", "snap", "ramp", "two-stage"]))
        push = replace(_held(stage, 100.0, 101.0), level_N=level_N, rise=rise)
        stage.push(replace(push, hold_s=stage.any(1.5, 5.0)))
        stage.wait(1.5, 5.0)
    return stage


def fast(seed: int) -> Stage:
    stage = _stage(seed, 3, ("320", "1000"))
    stage.kit.hum_N = stage.any(1.0, 5.0)
    for _ in range(6):
        stage.push(_held(stage, 100.0, 900.0))
        stage.wait(1.5, 3.0)
    return stage


def taps(seed: int) -> Stage:
    stage = _stage(seed, 4, ("80", "10", "320"))
    for _ in range(6):
        for _ in range(int(stage.rng.integers(0, 3))):
            if stage.is_so(0.5):
                stage.tap(stage.any(20.0, 500.0), stage.any(0.04, 0.3))
            else:
                stage.bump()
            stage.wait(0.8, 2.0)
        stage.push(_held(stage, 150.0, 900.0))
        stage.wait(1.5, 3.0)
    return stage


def sagging(seed: int) -> Stage:
    stage = _stage(seed, 5, ("80", "10", "320", "80"))
    for _ in range(6):
        kind = int(stage.rng.integers(5))
        push = _held(stage, 150.0, 900.0)
        if kind == 0:
            push = replace(push, hold_s=stage.any(0.9, 2.2))
        elif kind == 1:
            push = replace(push, sag_per_s=stage.any(-0.13, -0.075), overshoot=0.0)
        elif kind == 2:
            push = replace(push, shake=stage.any(0.07, 0.10))
        stage.push(push)
        stage.wait(1.5, 3.0)
    return stage


def starts(seed: int) -> Stage:
    stage = _stage(seed, 6, ("80", "320", "80", "1000"))
    for _ in range(6):
        kind = int(stage.rng.integers(3))
        push = _held(stage, 150.0, 900.0)
        if kind == 0:
            stage.push(push, reaction_s=stage.any(-0.3, 0.02))
        elif kind == 1:
            stage.push(replace(push, rise="double"), reaction_s=stage.any(0.18, 0.4))
        else:
            stage.push(push, reaction_s=stage.any(0.16, 0.4))
        stage.wait(2.0, 3.5)
    return stage


def leans(seed: int) -> Stage:
    stage = _stage(seed, 7, ("80", "10", "320", "80"))
    for _ in range(6):
        kind = int(stage.rng.integers(4))
        push = _held(stage, 200.0, 900.0)
        if kind == 0:
            lean_N = max(30.0, push.level_N * stage.any(0.15, 0.3))
            stage.lean_and_push(lean_N, stage.any(1.0, 3.0), push)
        else:
            if kind == 1:
                stage.move_ball(stage.any(8.0, 60.0) * (1.0 if stage.is_so(0.5) else -1.0))
                stage.wait(2.0, 4.0)
            stage.push(push)
            if kind == 2:
                stage.stay_on(stage.any(0.05, 0.2) * push.level_N, stage.any(1.0, 3.0))
        stage.wait(1.8, 3.0)
    return stage


def glitches(seed: int) -> Stage:
    stage = _stage(seed, 8, ("10",))
    stage.kit.glitch_share = 0.012
    for _ in range(6):
        stage.push(_held(stage, 200.0, 900.0))
        stage.wait(2.5, 5.0)
    return stage


def weak(seed: int) -> Stage:
    stage = _stage(seed, 9, ("80", "10", "320", "80"))
    stage.kit.noise_N = stage.any(0.5, 2.5)
    stage.kit.drift_N_per_s = stage.any(-0.03, 0.03)
    stage.kit.warm_up_N = stage.any(-3.0, 3.0)
    for _ in range(6):
        stage.push(_held(stage, 55.0, 150.0))
        stage.wait(2.0, 5.0)
    return stage


def squad(seed: int) -> Stage:
    stage = _stage(seed, 10, ("80", "320", "10", "80"))
    stage.kit.creep = 0.002
    levels = [stage.any(60, 130), stage.any(200, 400), stage.any(500, 900), stage.any(1e3, 2e3)]
    for turn in range(8):
        push = replace(_held(stage, 100.0, 101.0), level_N=levels[turn % 4])
        push = replace(push, rise=str(stage.rng.choice(["snap", "snap", "snap", "ramp"])))
        change = int(stage.rng.integers(4))
        if change == 1:
            stage.bump()
            stage.wait(1.0, 2.0)
        elif change == 2:
            stage.move_ball(stage.any(5.0, 40.0) * (1.0 if stage.is_so(0.5) else -1.0))
            stage.wait(1.5, 3.0)
        stage.push(push)
        if change == 0:
            stage.stay_on(stage.any(0.05, 0.2) * push.level_N, stage.any(0.7, 2.5))
        stage.wait(1.5, 4.0)
    return stage


def bands(seed: int) -> Stage:
    """Submaximal holds in and out of a band."""
    stage = _stage(seed, 12, ("80", "10", "320", "80"), 5.0)
    stage.band_N = (300.0, 350.0)
    for _ in range(5):
        aim_N = float(stage.rng.choice([325.0, 325.0, 250.0, 410.0]))
        push = replace(_held(stage, 100.0, 101.0), level_N=aim_N, hold_s=stage.any(5.0, 5.6))
        rise = "snap" if stage.is_so(0.6) else "ramp"
        stage.push(
            replace(push, rise=rise, overshoot=0.0, sag_per_s=0.0, swing=stage.any(0.006, 0.01))
        )
        stage.wait(1.5, 3.0)
    return stage


def everything(seed: int) -> Stage:
    stage = _stage(seed, 11, ("80", "320", "80"))
    kit = stage.kit
    kit.noise_N, kit.creep = stage.any(0.3, 2.0), 0.002
    kit.drift_N_per_s, kit.warm_up_N = stage.any(-0.03, 0.03), stage.any(-3.0, 3.0)
    kit.glitch_share, kit.loss_share, kit.gap_s = 0.0015, 0.01, stage.any(0.05, 0.4)
    for _ in range(8):
        kind = int(stage.rng.integers(7))
        push = _held(stage, 120.0, 1500.0)
        if kind == 0:
            lean_N = max(30.0, push.level_N * stage.any(0.15, 0.3))
            stage.lean_and_push(min(lean_N, 120.0), stage.any(1.0, 3.0), push)
        elif kind == 1:
            stage.push(replace(push, rise="double"))
        elif kind == 2:
            stage.push(replace(push, rise="two-stage", hold_s=stage.any(1.5, 4.0)))
        else:
            if kind == 3:
                stage.move_ball(stage.any(8.0, 60.0) * (1.0 if stage.is_so(0.5) else -1.0))
                stage.wait(2.0, 4.0)
            if kind == 4:
                stage.bump()
                stage.wait(1.0, 1.5)
            stage.push(replace(push, sag_per_s=stage.any(-0.1, 0.0)))
            if kind == 5:
                stage.stay_on(stage.any(0.05, 0.2) * push.level_N, stage.any(1.0, 3.0))
        stage.wait(1.8, 3.0)
    return stage


SCENES: dict[str, Callable[[int], Stage]] = {
    "clean": clean,
    "mixed": mixed,
    "fast-with-hum": fast,
    "taps-and-bumps": taps,
    "sag-and-early": sagging,
    "false-start-and-double": starts,
    "leans-and-shifted-zero": leans,
    "glitches-at-10": glitches,
    "weak-and-noisy": weak,
    "band": bands,
    "squad-of-four": squad,
    "everything": everything,
}


def make(name: str, seed: int) -> Scene:
    """Make a scene.

    Args:
        name: a key of SCENES.
        seed: the same one gives the same scene.
    """
    stage = SCENES[name](seed)
    forms = ("lines",) if stage.gos_s else ("counts", "lines", "forces", "bare")
    reading = stage.reading()
    return Scene(
        name=name,
        seed=seed,
        kit=stage.kit,
        reading=reading,
        truths=stage.truths,
        gos_s=stage.gos_s,
        hold_s=stage.hold_s,
        band_N=stage.band_N,
        form=forms[seed // 2 % len(forms)],
    )
