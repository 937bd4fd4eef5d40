"""Reps by what is asked for, against the reps that were saved; and how SQLite finds them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy.dialects import sqlite

from strikebridge.club.athlete import Hand
from strikebridge.club.exercise import Way
from strikebridge.club.selection import NO_SETUP, Kind, Like, Selection
from strikebridge.samples import Effort, Prescription, Status
from strikebridge.store import records as queries
from strikebridge.store.records import Records
from tests.store.made import INES, JUNO, SETUP, START, rep

if TYPE_CHECKING:
    from sqlalchemy import Select

    from strikebridge.club.training import RepRecord
    from strikebridge.store.database import Store
    from strikebridge.store.training import Training

OTHER_SETUP = replace(SETUP, pad_height_m=1.5)
SUBMAXIMAL = Prescription(Effort.SUBMAXIMAL, 5.0, (300.0, 350.0))
KEPT = [
    rep(1, 801.0),
    replace(rep(2, 802.0), athlete=JUNO.id),
    replace(rep(3, 803.0), exercise="rear-hook"),
    replace(rep(4, 804.0), hand=Hand.LEFT),
    replace(rep(5, 805.0), hand=None),
    replace(rep(6, 806.0), setup=OTHER_SETUP),
    replace(rep(7, 807.0), setup=None),
    replace(rep(8, 808.0), prescription=SUBMAXIMAL),
    rep(9, None),
    replace(rep(10, 810.0), way=Way.TYPED, ended_at=rep(1).ended_at - timedelta(days=9)),
]
IN_ORDER = [KEPT[-1], *KEPT[:-1]]


@pytest.fixture
def records(training: Training, store: Store) -> Records:
    for one in KEPT:
        training.save(one)
    training.save(replace(rep(1, 999.0), attempt=2, is_kept=False))
    training.save(replace(rep(20), measures={}, way=Way.TIMED, exercise="squat-hold"))
    return Records(store)


def turns(found: tuple[RepRecord, ...]) -> list[int]:
    return [one.turn for one in found]


@pytest.mark.parametrize(
    ("selection", "meant"),
    [
        (Selection(), [10, 1, 2, 3, 4, 5, 6, 7, 9]),
        (Selection(athlete=JUNO.id), [2]),
        (Selection(exercise="rear-hook"), [3]),
        (Selection(hand=Hand.LEFT), [4]),
        (Selection(setup=OTHER_SETUP.key), [6]),
        (Selection(setup=NO_SETUP), [7]),
        (Selection(effort=Effort.SUBMAXIMAL), [8]),
        (Selection(effort=None), [10, 1, 2, 3, 4, 5, 6, 7, 8, 9]),
        (Selection(since=rep(7).ended_at), [7, 9]),
        (Selection(until=rep(3).ended_at), [10, 1, 2]),
    ],
)
def test_a_selection_finds_what_it_says(
    records: Records, selection: Selection, meant: list[int]
) -> None:
    values = records.values(selection)
    assert [one.turn for one in values] == meant
    whole = [turn for turn in turns(records.reps(selection)) if turn != 20]
    assert whole == meant
    newest = records.newest_at(replace(selection, exercise=selection.exercise or None))
    assert newest is not None
    assert newest >= values[-1].at


def test_a_value_is_that_of_its_rep(records: Records) -> None:
    by_turn = {one.turn: one for one in records.values(Selection(effort=None))}
    for one in KEPT:
        found = by_turn[one.turn]
        assert found.value == one.measures["peak_force"]
        assert found.like == Like(
            one.athlete,
            one.exercise,
            one.hand or "",
            None if one.setup is None else one.setup.key,
            one.prescription.effort,
        )
        assert (found.session, found.set_number, found.cue) == (
            one.session,
            one.set_number,
            one.cue,
        )
        assert (found.at, found.way) == (one.ended_at, one.way)
    assert by_turn[9].value.status is Status.WITHHELD
    assert records.reps(Selection(effort=None))[:-1] == tuple(IN_ORDER)


def test_only_the_newest_definition_is_handed_out(records: Records, training: Training) -> None:
    training.save(rep(11, 811.0, version=2))
    assert [one.turn for one in records.values(Selection())] == [11]
    assert [one.turn for one in records.values(Selection(until=rep(3).ended_at))] == [10, 1, 2]


def test_an_empty_selection_is_empty(records: Records) -> None:
    nobody = Selection(athlete="0" * 32)
    assert records.values(nobody) == ()
    assert records.reps(nobody) == ()
    assert records.newest_at(nobody) is None
    assert records.kinds("0" * 32) == ()


def test_kinds_and_exercises_and_setups(records: Records) -> None:
    kinds = records.kinds(INES.id)
    assert kinds[0] == Kind(
        "squat-hold", "right", SETUP.key, Effort.MAXIMAL, rep(20).ended_at, 1
    )
    straight = Kind("rear-straight", "right", SETUP.key, Effort.MAXIMAL, rep(9).ended_at, 3)
    assert straight in kinds
    assert len(kinds) == 8
    assert records.exercises() == ("rear-hook", "rear-straight", "squat-hold")
    keys = [SETUP.key, OTHER_SETUP.key, "no such key"]
    assert records.setups(keys) == {SETUP.key: SETUP, OTHER_SETUP.key: OTHER_SETUP}


def plan(store: Store, query: Select[*tuple[Any, ...]]) -> list[str]:
    text = str(query.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True}))
    with store.reading() as at:
        rows = at.connection().exec_driver_sql(f"EXPLAIN QUERY PLAN {text}")
        return [row[3] for row in rows]


SINCE = rep(1).ended_at
SQUAD = Selection(exercise="rear-straight", since=SINCE)
ONE = Selection(athlete=INES.id, exercise="rear-straight", since=SINCE)


@pytest.mark.parametrize(
    "query",
    [
        queries.values_query(SQUAD, "peak_force"),
        queries.values_query(ONE, "peak_force"),
        queries.values_query(replace(ONE, exercise=None), "peak_force"),
        queries.values_query(replace(SQUAD, hand=Hand.LEFT), "peak_force"),
        *queries.reps_queries(ONE),
        *queries.reps_queries(replace(ONE, exercise=None)),
        *queries.reps_queries(SQUAD),
        queries.kinds_query(INES.id),
        queries.exercises_query(),
        queries.largest_query(ONE, KEPT[0].measures["peak_force"], SINCE),
        queries.newest_query(SQUAD),
        queries.newest_query(ONE),
        queries.newest_query(replace(ONE, exercise=None)),
    ],
)
def test_no_query_reads_a_whole_table(
    records: Records, store: Store, query: Select[*tuple[Any, ...]]
) -> None:
    for step in plan(store, query):
        assert not step.startswith("SCAN rep") or "USING" in step, step
        assert not step.startswith("SCAN measure"), step


def test_the_largest_is_the_earliest_of_them_and_of_one_definition(records: Records) -> None:
    like = KEPT[0].measures["peak_force"]
    here = Selection(athlete=INES.id, exercise=KEPT[0].exercise, hand=KEPT[0].hand)
    known = [one.value for one in records.values(here) if one.value.value is not None]
    later = START + timedelta(days=1)
    best = records.largest(here, like, later)
    assert best is not None
    assert best.value == max(one.value for one in known if one.value is not None)
    assert records.largest(here, replace(like, version=99), later) is None
    assert records.largest(replace(here, until=KEPT[-1].ended_at), like, later) is None
    assert records.largest(here, like, START) is None
