"""The real `analyse` path against the truth of a scene."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.analysis import analyse_file
from strikebridge.calibration.apply import Calibration
from strikebridge.samples import Effort, Prescription, Rep
from strikebridge.stream_setup import Setup
from tests.corpus.files import write

if TYPE_CHECKING:
    from pathlib import Path

    from tests.corpus.scenes import Scene
    from tests.corpus.truth import Truth

SLOW_HZ = 60.0
WIRE_S = 0.001


@dataclass
class Score:
    """What is counted over the scenes of a group; errors are lists, one entry a hold."""

    true: int = 0
    found: int = 0
    hit: int = 0
    merged: int = 0
    split: int = 0
    onset_periods: list[float] = field(default_factory=list)
    onset_to_delay: list[float] = field(default_factory=list)
    peak_percent: list[float] = field(default_factory=list)
    peak_slow_percent: list[float] = field(default_factory=list)
    mean_percent: list[float] = field(default_factory=list)
    ramp_mean_percent: list[float] = field(default_factory=list)
    release_ms: list[float] = field(default_factory=list)
    peak_covered: list[bool] = field(default_factory=list)
    mean_covered: list[bool] = field(default_factory=list)
    peak_u95_percent: list[float] = field(default_factory=list)
    words_right: list[bool] = field(default_factory=list)
    slow_words_wrong: list[bool] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def precision(self) -> float:
        return self.hit / self.found if self.found else 1.0

    @property
    def recall(self) -> float:
        return self.hit / self.true if self.true else 1.0


def analyse(scene: Scene, folder: Path) -> list[Rep]:
    """Write a scene and run it through the real path."""
    path = write(scene, folder)
    calibration = None
    if scene.form != "forces":
        kit = scene.kit
        # where the zero lies is only roughly known, as after hanging the rig up
        zero = kit.offset_counts + 20.0 / kit.gain_N_per_count
        calibration = Calibration.by_hand(kit.gain_N_per_count, zero)
    effort = Effort.MAXIMAL if scene.band_N is None else Effort.SUBMAXIMAL
    prescription = Prescription(effort, scene.hold_s, scene.band_N)
    setup = Setup(calibration=calibration, prescription=prescription)
    reps = list(analyse_file(path, setup).reps)
    path.unlink()
    return reps


def add(score: Score, scene: Scene, folder: Path) -> None:
    """Score one scene: match by overlap of more than half of the longer, one to one."""
    reps = analyse(scene, folder)
    score.true += len(scene.truths)
    score.found += len(reps)
    spans = [_span(rep, scene) for rep in reps]
    free = set(range(len(reps)))
    for truth in scene.truths:
        match = next((k for k in sorted(free) if _overlap(truth, spans[k], scene) > 0.5), None)
        if match is None:
            score.notes.append(_note(scene, truth, "missed"))
            continue
        free.remove(match)
        score.hit += 1
        _compare(score, scene, truth, reps[match])
    for span in spans:
        touched = [
            t
            for t in scene.truths
            if min(span[1], t.release_s) - max(span[0], t.onset_s) > 0.25
        ]
        score.merged += len(touched) > 1
    for truth in scene.truths:
        parts = [
            s for s in spans if min(s[1], truth.release_s) - max(s[0], truth.onset_s) > 0.25
        ]
        score.split += len(parts) > 1
    score.notes += [
        f"{scene.name} {scene.seed} ({scene.form}, {scene.kit.rate_hz:.0f}/s): extra "
        f"{spans[k][0]:.2f}-{spans[k][1]:.2f}, {reps[k].hold.level_N:.0f} N"
        for k in sorted(free)
    ]


def _span(rep: Rep, scene: Scene) -> tuple[float, float]:
    hold = rep.hold
    end_s = float(hold.force.time_s[-1]) if hold.release_s is None else hold.release_s
    return hold.onset_s - axis_s(scene), end_s - axis_s(scene)


def axis_s(scene: Scene) -> float:
    """Find where the axis of a stream begins on that of the scene.

    The host knows a sample when it arrives: late by the wire (1 ms here) at the least. A board
    with a clock of its own is put on the axis by the arrival of its first sample.
    """
    reading = scene.reading
    if scene.form == "lines":
        return float(reading.arrived_s[0] - reading.taken_s[0])
    return 0.0 if scene.form == "forces" else WIRE_S


def _overlap(truth: Truth, span: tuple[float, float], scene: Scene) -> float:
    delay_s = scene.kit.delay_s
    both = min(span[1], truth.release_s + delay_s) - max(span[0], truth.onset_s + delay_s)
    return both / max(span[1] - span[0], truth.release_s - truth.onset_s)


def _compare(score: Score, scene: Scene, truth: Truth, rep: Rep) -> None:
    kit = scene.kit
    onset_s, end_s = _span(rep, scene)
    if truth.is_snap and "leaning" not in truth.rises:
        # a filter of unknown shape answers at once (a mean) or late (a sinc): anything from
        # no delay to half of the filter is the converter's own
        late_s = onset_s - truth.onset_s
        beyond_s = max(-late_s, late_s - kit.delay_s, 0.0)
        score.onset_periods.append(beyond_s * kit.rate_hz)
        score.onset_to_delay.append(abs(late_s - kit.delay_s) * kit.rate_hz)
    if rep.hold.release_s is not None:
        score.release_ms.append(1e3 * abs(end_s - truth.release_s - kit.delay_s))
    _compare_peak(score, scene, truth, rep)
    mean = rep.measures["hold_mean"]
    if mean.value is not None and mean.u95 is not None and not math.isnan(truth.mean_N):
        off = 100.0 * (mean.value / truth.mean_N - 1.0)
        (score.ramp_mean_percent if truth.is_ramp else score.mean_percent).append(abs(off))
        score.mean_covered.append(abs(mean.value - truth.mean_N) <= mean.u95)
        if not score.mean_covered[-1]:
            score.notes.append(
                _note(
                    scene,
                    truth,
                    f"mean {mean.value:.1f} +- {mean.u95:.1f}, is {truth.mean_N:.1f}",
                )
            )
    _compare_words(score, scene, truth, rep)


def _compare_peak(score: Score, scene: Scene, truth: Truth, rep: Rep) -> None:
    reading, kit = scene.reading, scene.kit
    during = (reading.ideal_s >= truth.onset_s) & (
        reading.ideal_s <= truth.release_s + 2.0 * kit.delay_s
    )
    delivered_N = float(reading.ideal_N[during].max())
    peak = rep.measures["peak_force"]
    assert peak.value is not None
    assert peak.u95 is not None
    off = abs(100.0 * (peak.value / delivered_N - 1.0))
    (score.peak_percent if kit.rate_hz >= SLOW_HZ else score.peak_slow_percent).append(off)
    score.peak_covered.append(abs(peak.value - truth.peak_N) <= peak.u95)
    if kit.rate_hz >= SLOW_HZ:
        score.peak_u95_percent.append(100.0 * peak.u95 / peak.value)
    if not score.peak_covered[-1]:
        score.notes.append(
            _note(
                scene,
                truth,
                f"peak {peak.value:.1f} +- {peak.u95:.1f}, is {truth.peak_N:.1f}, "
                f"delivered {delivered_N:.1f}",
            )
        )


def _compare_words(score: Score, scene: Scene, truth: Truth, rep: Rep) -> None:
    rise, hold = rep.verdict.rise, rep.verdict.hold
    if scene.kit.rate_hz >= SLOW_HZ:
        right = rise in truth.rises and hold in truth.holds
        score.words_right.append(right)
    else:
        unsure = "not measurable"
        right = rise in {*truth.rises, unsure} and hold in {*truth.holds, unsure}
        score.slow_words_wrong.append(not right)
    if not right:
        said = f"said {rise}, {hold}; right {sorted(truth.rises)}, {sorted(truth.holds)}"
        score.notes.append(_note(scene, truth, f"{said}. {rep.verdict.detail}"))


def _note(scene: Scene, truth: Truth, what: str) -> str:
    where = f"{scene.name} {scene.seed} ({scene.form}, {scene.kit.rate_hz:.0f}/s)"
    return f"{where} {truth.onset_s:.2f} s, {truth.level_N:.0f} N: {what}"


def mean(values: list[float]) -> float:
    """Mean, NaN where there is none."""
    return float(np.mean(values)) if values else math.nan
