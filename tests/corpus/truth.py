"""What is true of a push: the project's definitions applied to the unsmeared, noiseless force.

Written again from the definitions and sharing nothing with the package, so that a slip in one
shows against the other. Where the truth lies close to a limit, both words are right.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from tests.corpus.athlete import Floats

FLOOR_N = 2.0
NEAR = 0.15  # share of a limit within which either word is right


@dataclass(frozen=True)
class Truth:
    """One hold, from its force alone; times on the scene's own axis.

    Attributes:
        onset_s: when the push was 2 N above what was there before: the floor of the definition.
        release_s: when it last fell through half of its level.
        level_N, peak_N, mean_N: level, largest force, mean of the hold window (NaN if too
            short).
        rises, holds: words that are right.
        is_snap, is_ramp: how it was pushed.
        reaction_s: onset after the go, None without one.
    """

    onset_s: float
    release_s: float
    level_N: float
    peak_N: float
    mean_N: float
    rises: frozenset[str]
    holds: frozenset[str]
    is_snap: bool
    is_ramp: bool
    reaction_s: float | None = None


@dataclass(frozen=True)
class Context:
    """What a push came into: its kind, the load there was, the go, the prescription."""

    kind: str
    lean_N: float = 0.0
    go_s: float | None = None
    hold_s: float | None = None
    band_N: tuple[float, float] | None = None


def find(force_N: Floats, start_s: float, grid_hz: float, context: Context) -> Truth:
    """Apply the definitions.

    Args:
        force_N: force from the first newton of the push to its last, a lean included.
        start_s: when that first newton comes.
        grid_hz: points a second.
        context: what it came into.
    """
    peak_N = float(force_N.max())
    level_N = float(np.median(force_N[force_N > 0.5 * peak_N]))
    release = int(np.flatnonzero(force_N >= 0.5 * level_N)[-1])
    let_go = _let_go(force_N, release, grid_hz)
    window = _window(force_N, (let_go, level_N), grid_hz, context)
    held_s = let_go / grid_hz
    reaction_s = None if context.go_s is None else start_s - context.go_s
    return Truth(
        onset_s=start_s + _left_rest(force_N - context.lean_N) / grid_hz,
        release_s=start_s + release / grid_hz,
        level_N=level_N,
        peak_N=peak_N,
        mean_N=float(window.mean()) if len(window) else float("nan"),
        rises=_rise_words(force_N, grid_hz, context, reaction_s),
        holds=_hold_words(window, held_s, grid_hz, context),
        is_snap=context.kind == "snap",
        is_ramp=context.kind == "ramp",
        reaction_s=reaction_s,
    )


def _left_rest(above_N: Floats) -> int:
    """Go back from 10 % of the rise to where it left the rest."""
    sure = int(np.argmax(above_N >= 0.1 * above_N.max()))
    return (
        int(np.flatnonzero(above_N[: sure + 1] <= FLOOR_N)[-1]) if above_N[0] <= FLOOR_N else 0
    )


def _let_go(force_N: Floats, release: int, grid_hz: float) -> int:
    before = force_N[
        max(0, release - round(0.6 * grid_hz)) : max(1, release - round(0.25 * grid_hz))
    ]
    above = np.flatnonzero(force_N[: release + 1] > 0.8 * float(before.mean()))
    return int(above[-1]) if len(above) else release


def _window(
    force_N: Floats, landmarks: tuple[int, float], grid_hz: float, context: Context
) -> Floats:
    let_go, level_N = landmarks
    reached = int(np.argmax(force_N >= 0.9 * level_N))
    top = int(np.argmax(force_N))
    start = top if reached < top <= reached + 0.8 * grid_hz else reached
    start = min(start + round(0.3 * grid_hz), let_go // 2)
    end = let_go
    if context.hold_s is not None:
        end = min(end, round(context.hold_s * grid_hz))
    end -= round(0.1 * grid_hz)
    return force_N[start:end] if end - start >= 0.5 * grid_hz else force_N[:0]


def _rise_words(
    force_N: Floats, grid_hz: float, context: Context, reaction_s: float | None
) -> frozenset[str]:
    """Take the first word that applies; near a limit also what comes after it."""
    early_N = force_N[: round(grid_hz) + 1]
    height_N = float(early_N.max()) - context.lean_N
    share = (float(force_N[round(0.2 * grid_hz)]) - context.lean_N) / height_N
    checks = [
        ("false start", 0.1 - reaction_s if reaction_s is not None else -1.0, 0.065),
        ("leaning", context.lean_N / max(20.0, 0.1 * float(force_N.max())) - 1.0, NEAR),
        ("two-stage", _stall_s(early_N - context.lean_N, grid_hz) / 0.15 - 1.0, 2.0 * NEAR),
        ("snap", share / 0.7 - 1.0, 0.1),
    ]
    return _first(checks, "ramp")


def _hold_words(
    window: Floats, held_s: float, grid_hz: float, context: Context
) -> frozenset[str]:
    if not len(window):
        short = held_s < (context.hold_s or 0.0) * 0.9
        return frozenset({"early let-go"} if short else {"not measurable"})
    t = np.arange(len(window)) / grid_hz
    slope, middle = np.polyfit(t - t.mean(), window, 1)
    left = window - middle - slope * (t - t.mean())
    checks = [
        ("not measurable", 0.55 - len(window) / grid_hz, 0.1),
        ("early let-go", 1.0 - held_s / (0.9 * (context.hold_s or 1e-3)), 0.03),
        # a short window turns with where exactly it lies
        ("sagging", -float(slope / middle) / 0.05 - 1.0, NEAR if len(t) > grid_hz else 0.5),
        ("shaky", float(left.std() / middle) / 0.05 - 1.0, NEAR),
    ]
    if context.band_N is not None:
        low_N, high_N = context.band_N
        outside = max(low_N - float(middle), float(middle) - high_N) / float(middle)
        checks.append(("outside band", outside, 0.03))
    return _first(checks, "steady")


def _first(checks: list[tuple[str, float, float]], last: str) -> frozenset[str]:
    """Collect the words up to the first that surely applies: name, excess, what is near."""
    words: set[str] = set()
    for word, excess, near in checks:
        if excess > -near:
            words.add(word)
        if excess > near:
            return frozenset(words)
    return frozenset(words | {last})


def _stall_s(early_N: Floats, grid_hz: float) -> float:
    """Find the longest pause or fall between 10 % and the final passing of 80 % of P."""
    top_N = float(early_N.max())
    begin = int(np.argmax(early_N >= 0.1 * top_N))
    end = int(np.argmax(early_N >= 0.8 * top_N))
    under = early_N[end:] < 0.8 * top_N
    edges = np.flatnonzero(np.diff(np.concatenate(([0], under.astype(np.int8), [0]))))
    for start, stop in edges.reshape(-1, 2).tolist():
        # swings of the plateau through 80 % are no second rise
        if stop < len(under) and stop - start > 0.15 * grid_hz:
            bottom_N = float(early_N[end + start : end + stop].min())
            if float(early_N[end + stop :].max()) > bottom_N + 0.1 * top_N:
                end = end + stop
                break
    step = max(1, round(0.01 * grid_hz))
    rise_N = early_N[begin : end + 1 : step]
    if len(rise_N) < 3:
        return 0.0
    slopes = np.diff(rise_N)
    slow = np.concatenate(([0], (slopes < 0.1 * slopes.max()).astype(np.int8), [0]))
    runs = np.flatnonzero(np.diff(slow)).reshape(-1, 2)
    longest = max((stop - start for start, stop in runs.tolist()), default=0)
    return float(longest * step / grid_hz)
