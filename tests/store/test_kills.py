"""Reps survive a killed program: what was said to be saved is there, and once."""

from __future__ import annotations

import contextlib
import random
import sqlite3
import sys
from typing import TYPE_CHECKING

import pytest

from strikebridge.store.database import FILE, open_store
from strikebridge.store.training import Training
from tests.store.kills import Found, kill_once, look, prepare
from tests.store.made import DAY
from tests.store.saver import attempt

if TYPE_CHECKING:
    from pathlib import Path

TWICE = """
DROP INDEX one_kept_a_turn;
INSERT INTO rep SELECT 2, session_id, turn, 2, athlete_id, exercise, hand, stance, setup_key,
set_number, rep_number, effort, hold_s, band_low_N, band_high_N, way, is_kept, rise, hold,
faults, sentence, detail, cue, certificate, recording, start_s, end_s, go_s, ended_at, peak_N
FROM rep
"""


@pytest.mark.slow
@pytest.mark.timeout(300)
@pytest.mark.skipif(sys.platform == "win32", reason="needs select on a pipe")
def test_kills_at_random_moments_lose_nothing_and_double_nothing(data: Path) -> None:
    draw = random.Random(20260301)
    said: set[int] = set()
    prepare(data)
    for _ in range(5):
        said |= kill_once(data, draw)
        found = look(data, said)
        assert found == Found(lost=0, twice=0, torn=0, saved=found.saved)
    assert said, "nothing was ever saved"


@pytest.mark.parametrize(
    ("harm", "expected"),
    [
        ("DELETE FROM measure WHERE rep_id = 1", Found(lost=1, twice=0, torn=1, saved=1)),
        ("UPDATE rep SET sentence = 'Handed over again.'", Found(1, 0, 1, 1)),
        ("UPDATE rep SET is_kept = 0", Found(lost=2, twice=0, torn=0, saved=0)),
        (
            TWICE,
            Found(lost=1, twice=1, torn=1, saved=2),
        ),
    ],
)
def test_the_look_finds_what_is_lost_twice_or_torn(
    data: Path, harm: str, expected: Found
) -> None:
    prepare(data)
    with contextlib.closing(open_store(data)) as store:
        Training(store, lambda: DAY).save(attempt(1, 1))
    assert look(data, {1}) == Found(lost=0, twice=0, torn=0, saved=1)
    with contextlib.closing(sqlite3.connect(data / FILE)) as at:
        at.executescript(harm)
    assert look(data, {1, 7}) == expected
