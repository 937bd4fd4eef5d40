"""A wall to be drawn on, stroke by stroke, with the truth of each push noted on the way."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from tests.corpus.athlete import Push, draw, knock, rest_hand
from tests.corpus.kit import Kit, Reading, convert
from tests.corpus.truth import Context, Truth, find

if TYPE_CHECKING:
    from tests.corpus.athlete import Floats


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
