"""Score the detector on scenes: precision, recall, errors; `python -m tests.holds.score`."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field

import numpy as np

from strikebridge.holds import HoldDetector
from strikebridge.samples import Hold
from tests.holds.scenes import SCENES, Scene


@dataclass
class Score:
    true: int = 0
    found: int = 0
    hit: int = 0
    onset_periods: list[float] = field(default_factory=list)
    release_s: list[float] = field(default_factory=list)
    peak: list[float] = field(default_factory=list)
    z_zero: list[float] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def precision(self) -> float:
        return self.hit / self.found if self.found else 1.0

    @property
    def recall(self) -> float:
        return self.hit / self.true if self.true else 1.0


def holds_of(scene: Scene) -> list[Hold]:
    detector = HoldDetector()
    found = detector.feed(scene.block) + detector.finish()
    return [x for x in found if isinstance(x, Hold)]


def add(score: Score, scene: Scene, name: str = "") -> None:
    """Match by overlap of more than half of both; one to one."""
    holds = holds_of(scene)
    delay_s = 2.0 / scene.block.rate_hz
    score.true += len(scene.truth)
    score.found += len(holds)
    free = list(holds)
    for true in scene.truth:
        for hold in free:
            end_s = hold.release_s if hold.release_s is not None else hold.force.time_s[-1]
            both = min(end_s, true.release_s) - max(hold.onset_s, true.onset_s)
            longest = max(end_s - hold.onset_s, true.release_s - true.onset_s)
            if both > 0.5 * longest:
                score.hit += 1
                free.remove(hold)
                if true.is_snap:
                    error = (hold.onset_s - true.onset_s - delay_s) * scene.block.rate_hz
                    score.onset_periods.append(abs(error))
                    if abs(error) > 5:
                        score.notes.append(
                            f"{name} onset off {error:.1f} at {true.onset_s:.2f}"
                        )
                score.release_s.append(abs(end_s - true.release_s - delay_s))
                held = (hold.force.time_s >= hold.onset_s) & (hold.force.time_s <= end_s)
                peak = float(hold.force.force_N[held].max())
                score.peak.append(peak / true.peak_N - 1.0)
                break
        else:
            score.notes.append(f"{name} missed {true.onset_s:.2f}-{true.release_s:.2f}")
    score.notes.extend(
        f"{name} extra {h.onset_s:.2f}-{h.release_s} L {h.level_N:.0f}" for h in free
    )


def main() -> None:
    first, count = int(sys.argv[1]), int(sys.argv[2])
    names = sys.argv[3:] or list(SCENES)
    out = []
    for name in names:
        score = Score()
        for seed in range(first, first + count):
            add(score, SCENES[name](seed), f"seed {seed}")
        out.append(
            f"{name:11s} n {score.true:4d} precision {score.precision:.3f} "
            f"recall {score.recall:.3f} onset {np.mean(score.onset_periods):5.2f} periods "
            f"release {1000 * np.mean(score.release_s):5.1f} ms "
            f"peak {100 * np.mean(score.peak):+5.2f} ({100 * np.std(score.peak):.2f}) %"
        )
        out.extend("    " + note for note in score.notes[:8])
    sys.stdout.write("\n".join(out) + "\n")


if __name__ == "__main__":
    main()
