"""The scenes, from easy to nasty; each is a function of a seed.

A `Stage` is drawn on and run through a kit. All figures are inventions in the range of a club
gym (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tests.corpus.athlete import Push
from tests.corpus.kit import Kit
from tests.corpus.stage import Stage

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.corpus.kit import Reading
    from tests.corpus.truth import Truth


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
