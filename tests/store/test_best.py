"""The peak that stands beside a rep is the rep's own, whatever happened to the database."""

from __future__ import annotations

import contextlib
import sqlite3
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from strikebridge.club.selection import like_of, selection_of
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.restore import restore_backup
from strikebridge.store.database import FILE, open_store
from strikebridge.store.erasing import erase_athlete
from strikebridge.store.past import History
from strikebridge.store.records import Records, largest_query, values_query
from tests.store.made import INES, JUNO, START, rep, session
from tests.store.shape import load_dump
from tests.store.test_migrations import DUMPS
from tests.store.test_records import plan

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.store.database import Store
    from strikebridge.store.training import Training

ASTRAY = """
SELECT rep.id, "peak_N", value FROM rep
LEFT JOIN measure ON measure.rep_id = rep.id AND name = 'peak_force'
WHERE "peak_N" IS NOT value
"""
LIKE = like_of(rep(1))


def check(data: Path, best_N: float | None, reps: int) -> None:
    """See that no peak is astray, and what is found through the index."""
    with contextlib.closing(sqlite3.connect(data / FILE)) as at:
        assert at.execute(ASTRAY).fetchall() == []
        assert at.execute("SELECT count(*) FROM rep").fetchone() == (reps,)
    with contextlib.closing(open_store(data)) as store:
        best = History(store).past(LIKE).best
        later = START.replace(year=START.year + 1)
        like = rep(1).measures["peak_force"]
        largest = Records(store).largest(selection_of(LIKE), like, later)
    assert (None if best is None else best.value.value) == best_N
    assert (None if largest is None else largest.value) == best_N


@pytest.mark.parametrize("dump", DUMPS, ids=lambda path: path.stem)
def test_an_old_database_has_its_peaks_beside_its_reps(dump: Path, data: Path) -> None:
    load_dump(dump, data / FILE)
    open_store(data).close()
    check(data, 800.0, 2)


def test_peaks_follow_saving_undo_redo_import_and_erasing(
    training: Training, store: Store, data: Path
) -> None:
    training.save(rep(1, 800.0))
    training.save(rep(2, 900.0))
    training.save(rep(3, None))
    check(data, 900.0, 3)
    training.take_back(session().id, 2)
    check(data, 800.0, 3)
    training.save(replace(rep(2, 850.0), attempt=2))
    check(data, 850.0, 4)
    long_ago = replace(session(2, 2), athletes=(INES.id, JUNO.id))
    past = [replace(rep(1, 950.0), session=long_ago.id)]
    past += [replace(rep(2, 999.0), session=long_ago.id, athlete=JUNO.id)]
    training.add_past([(long_ago, past)])
    check(data, 950.0, 6)
    erase_athlete(store, JUNO.id, START)
    check(data, 950.0, 5)
    erase_athlete(store, INES.id, START)
    check(data, None, 0)


def test_peaks_come_back_from_a_backup(training: Training, store: Store, data: Path) -> None:
    training.save(rep(1, 800.0))
    file = data.parent / "club.zip"
    make_backup(data, file)
    training.save(rep(2, 900.0))
    store.close()
    restore_backup(data, file)
    check(data, 800.0, 1)


def test_the_best_is_found_through_its_index(training: Training, store: Store) -> None:
    training.save(rep(1))
    query = largest_query(selection_of(LIKE), rep(1).measures["peak_force"], START)
    steps = plan(store, query)
    assert any("USING INDEX best" in step and "peak_N" in step for step in steps), steps
    # whoever asks for days is not led through the reps in the order of their force
    days = replace(selection_of(LIKE), since=START)
    steps = plan(store, values_query(days, "peak_force"))
    assert any("USING INDEX alike" in step and "ended_at" in step for step in steps), steps
