"""What is found in scenes with known truth; seeds here were not used for tuning.

Limits are those the project sets itself; the full campaign is `python -m tests.holds.score`.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.holds.scenes import SCENES
from tests.holds.score import Score, add

LEAST = {
    "clean": 1.0,
    "mixed": 1.0,
    "fast": 1.0,
    "taps": 1.0,
    "sag": 1.0,
    "doubles": 1.0,
    "leans": 0.98,
    "glitches": 0.98,
    "weak": 0.98,
    "everything": 0.90,
}


@pytest.mark.parametrize("name", sorted(LEAST))
def test_precision_and_recall(name: str) -> None:
    score = Score()
    for seed in (901, 902, 903):
        add(score, SCENES[name](seed), f"seed {seed}")
    assert score.true >= 18
    assert score.precision >= LEAST[name], score.notes
    assert score.recall >= LEAST[name], score.notes


@pytest.mark.parametrize("name", ["clean", "mixed", "doubles"])
def test_a_snap_begins_where_it_begins(name: str) -> None:
    """At most 1.5 sample periods beyond the converter's own delay, on average."""
    score = Score()
    for seed in (904, 905, 906):
        add(score, SCENES[name](seed))
    assert np.mean(score.onset_periods) <= 1.5
    assert np.mean(score.release_s) <= 0.005
