"""What a session is held against: all days before it, like with like, as in the report."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from strikebridge.cli.reporting import told_of
from strikebridge.club.exercise import Way
from strikebridge.looking_back import look_back
from strikebridge.samples import Effort, Prescription
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.store.made import INES, rep, session

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from strikebridge.club.training import RepRecord, SessionRecord

SUBMAXIMAL = Prescription(Effort.SUBMAXIMAL, 5.0, (300.0, 350.0))
TODAY = session(turns=1, number=9)


def weeks_ago(weeks: int, peak_N: float, number: int) -> RepRecord:
    return replace(
        rep(1, peak_N),
        session=session(number=number).id,
        ended_at=TODAY.started_at - timedelta(weeks=weeks),
    )


def began(at: datetime, number: int) -> SessionRecord:
    return replace(session(turns=1, number=number), athletes=(INES.id,), started_at=at)


def typed(one: RepRecord) -> RepRecord:
    held = replace(one.measures["peak_force"], name="hold_mean")
    return replace(one, way=Way.TYPED, measures={"hold_mean": held})


def words_of(data: Path, today: RepRecord, *before: RepRecord) -> tuple[str, float | None]:
    """Give what the review says, and the best [N] that the report holds it against."""
    today = replace(today, session=TODAY.id, ended_at=TODAY.started_at + timedelta(minutes=9))
    with contextlib.closing(open_store(data)) as store:
        Roster(store).add(INES)
        training = Training(store)
        for number in range(1, len(before) + 1):
            training.begin(began(before[number - 1].ended_at, number))
        training.begin(began(TODAY.started_at, 9))
        for one in (*before, today):
            training.save(one)
        (work,) = look_back(store, TODAY.id).people[0].work
        best = next(iter(told_of(store, TODAY, None).before.values()), None)
    return work.best_words, None if best is None else best.value


def test_a_best_of_long_ago_is_not_forgotten(tmp_path: Path) -> None:
    now, recent, old = rep(1, 1000.0), weeks_ago(2, 900.0, 1), weeks_ago(30, 1200.0, 2)
    assert words_of(tmp_path / "a", now, recent) == ("new best", 900.0)
    assert words_of(tmp_path / "b", now, recent, old) == ("", 1200.0)


def test_the_largest_of_reps_that_are_held_back_is_no_best(tmp_path: Path) -> None:
    def held_back(one: RepRecord) -> RepRecord:
        return replace(one, prescription=SUBMAXIMAL)

    now, before = held_back(rep(1, 400.0)), held_back(weeks_ago(2, 300.0, 1))
    assert words_of(tmp_path, now, before) == ("", None)


def test_what_was_typed_is_held_against_what_was_typed(tmp_path: Path) -> None:
    now, peak, held = (
        typed(rep(1, 1000.0)),
        weeks_ago(2, 900.0, 1),
        typed(weeks_ago(3, 1000.0, 2)),
    )
    assert words_of(tmp_path / "a", now, peak) == ("", None)
    assert words_of(tmp_path / "b", now, peak, held) == ("level with best", 1000.0)
