"""A tenth of the campaign `python -m tests.corpus`: what is found in scenes with known truth.

The limits are those the project sets itself; a tenth of the scenes scatters more than all, so
shares are asked for with the slack of a few holds. The seeds were not used for tuning.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from strikebridge.boards.address import make_decoder
from strikebridge.calibration.apply import Calibration
from strikebridge.pipeline import Pipeline
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk, Rep
from strikebridge.stream_setup import Setup, setup_for
from tests.corpus.files import write
from tests.corpus.scenes import SCENES, make
from tests.corpus.score import Score, add, mean

if TYPE_CHECKING:
    from pathlib import Path

FIRST, COUNT = 1001, 4
LEAST = {"leans-and-shifted-zero": 0.98, "glitches-at-10": 0.98, "weak-and-noisy": 0.98}
LEAST |= {"squad-of-four": 0.95, "everything": 0.90}


@pytest.mark.slow
@pytest.mark.timeout(240)
@pytest.mark.parametrize("name", sorted(SCENES))
def test_a_tenth_of_the_campaign(name: str, tmp_path: Path) -> None:
    score = Score()
    for seed in range(FIRST, FIRST + COUNT):
        add(score, make(name, seed), tmp_path)
    least = LEAST.get(name, 1.0)
    assert score.true >= 20
    assert score.precision >= least, score.notes
    assert score.recall >= least, score.notes
    assert score.merged == 0, score.notes
    assert score.split == 0 or name == "everything", score.notes
    if score.onset_periods:
        assert mean(score.onset_periods) <= 1.5
    assert mean([*score.peak_percent, 0.0]) <= 1.0
    assert mean([*score.peak_slow_percent, 0.0]) <= 3.0
    assert mean([*score.mean_percent, 0.0]) <= 1.0
    assert mean([*score.ramp_mean_percent, 0.0]) <= 2.0
    assert np.mean(score.peak_covered) >= 0.87, score.notes
    assert np.mean(score.mean_covered) >= 0.87, score.notes
    assert mean([*score.peak_u95_percent, 0.0]) <= 3.0
    assert sum(not right for right in score.words_right) <= 2, score.notes
    assert sum(score.slow_words_wrong) == 0, score.notes


@pytest.mark.parametrize("form", ["bare", "lines"])
@pytest.mark.parametrize(
    ("name", "seed"), [("clean", 1001), ("clean", 1002), ("weak-and-noisy", 1004)]
)
def test_the_verdict_comes_within_0_3_s_of_the_release(
    name: str, seed: int, form: str, tmp_path: Path
) -> None:
    """By the arrivals of the lines themselves, fed one by one as on a live board."""
    scene = make(name, seed)
    scene = replace(scene, form=form)
    reader = RecordingReader(write(scene, tmp_path))
    kit = scene.kit
    gain = Calibration.by_hand(kit.gain_N_per_count, kit.offset_counts)
    setup = setup_for(reader.header, Setup(calibration=gain))
    pipeline = Pipeline(make_decoder(reader.header.shape), setup)
    waits_s = []
    for record in reader:
        for rep in pipeline.feed([record]):
            if isinstance(rep, Rep) and rep.hold.release_s is not None:
                assert isinstance(record, Chunk)
                waits_s.append(1e-6 * record.arrived_us - rep.hold.release_s)
    assert len(waits_s) == len(scene.truths)
    # a wire that holds lines back until some have come adds its own delay
    assert max(waits_s) <= 0.3 + (kit.bunch - 1) / kit.rate_hz


def test_a_seed_gives_the_same_scene_again() -> None:
    one, other = make("everything", 3), make("everything", 3)
    assert one.truths == other.truths
    assert np.array_equal(one.reading.counts, other.reading.counts)
    assert not np.array_equal(
        one.reading.counts[:50], make("everything", 5).reading.counts[:50]
    )
