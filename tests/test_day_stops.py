"""A stop for pain holds for the rest of the day, in every session of it."""

import contextlib
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from strikebridge.bookkeeper import Bookkeeper
from strikebridge.club.rig_setup import RigSetup
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import ClosedTurn, Closing
from strikebridge.day_stops import NOTED_DAYS, keep_stops
from strikebridge.group_station import ADVICE_S, GroupSetup, GroupStation
from strikebridge.opening import Opened, begin_session, plan_of, resume_session
from strikebridge.samples import Prescription
from strikebridge.session.chase import day_words
from strikebridge.session.group_table import Input
from strikebridge.session.pain_words import STOPPED
from strikebridge.station import StationSetup
from strikebridge.store.database import Store, open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training

PLAN = """\
name = "short"
mode = "rounds"
[[block]]
name = "Straights"
exercises = ["straight"]
seconds = 2
reps_per_side = 2
"""
INES, AYLA = saltmarsh_quay()[:2]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    (tmp_path / "short.toml").write_text(PLAN)
    with contextlib.closing(open_store(tmp_path)) as opened:
        Roster(opened).add_all((INES, AYLA))
        yield opened


def begin(store: Store, folder: Path) -> Opened:
    return begin_session(store, plan_of("", store, folder / "short.toml"), None, RigSetup())


def station_of(opened: Opened, store: Store) -> tuple[GroupStation, Bookkeeper]:
    book = Bookkeeper(Training(store), opened.record.id)
    group = GroupSetup(
        opened.record.id,
        opened.conductor,
        opened.athletes,
        book,
        RigSetup(),
        stops=opened.stops,
    )
    return GroupStation(StationSetup("simulated:"), group), book


def stop_for_pain(opened: Opened, store: Store) -> tuple[str, str]:
    """Press the key for pain at the first turn; give whose and what was stopped."""
    turn = opened.turns[0]
    station, book = station_of(opened, store)
    station.command(Input.PAIN)
    station._bide()  # as the acquisition thread does while it looks for a board
    book.close()
    return turn.athlete, turn.exercise.key


def coming(opened: Opened) -> set[tuple[str, str]]:
    return {(turn.athlete, turn.exercise.key) for turn in opened.conductor.order.coming}


def test_a_stop_in_one_session_holds_in_the_next_one_of_the_day(
    store: Store, tmp_path: Path
) -> None:
    stopped = stop_for_pain(begin(store, tmp_path), store)
    again = begin(store, tmp_path)
    every = {(turn.athlete, turn.exercise.key) for turn in again.turns}
    assert coming(again) == every - {stopped}
    closed = History(store).closed(again.record.id)
    assert {(one.athlete, one.exercise, one.why) for one in closed} == {
        (*stopped, Closing.PAIN)
    }
    assert len(closed) == 2
    (said,) = again.stops.today
    name = again.athletes[stopped[0]].name
    assert said.startswith(f"{name}, {again.turns[0].exercise.name}: stopped for pain today")
    # and it is said on wall and coach's page, and again at the turns of that athlete
    station, book = station_of(again, store)
    station._bide()
    book.close()
    station._show()
    glance = station.glance()
    assert glance.advice[1].startswith(f"{said} See someone qualified")
    assert glance.notes[0] == f"Stopped for pain at {again.turns[0].exercise.name} today."


def test_a_session_that_is_taken_up_again_keeps_to_a_stop_in_another(
    store: Store, tmp_path: Path
) -> None:
    first = begin(store, tmp_path)
    Training(store).end(begin(store, tmp_path).record.id, datetime.now().astimezone())
    second = begin(store, tmp_path)
    stopped = stop_for_pain(second, store)
    Training(store).end(second.record.id, datetime.now().astimezone())
    resumed = resume_session(store, "short", RigSetup())
    assert resumed.record.id == first.record.id
    assert stopped not in coming(resumed)


def test_a_stop_in_another_session_leaves_turns_that_were_over_as_they_are(
    store: Store, tmp_path: Path
) -> None:
    first = begin(store, tmp_path)
    turn = first.turns[0]
    kind = (turn.athlete, turn.exercise.key)
    skipped = ClosedTurn(
        first.record.id, turn.number, *kind, Closing.SKIPPED, datetime.now().astimezone()
    )
    Training(store).close_turn(skipped)
    second = begin(store, tmp_path)
    assert stop_for_pain(second, store) == kind
    Training(store).end(second.record.id, datetime.now().astimezone())
    resumed = resume_session(store, "short", RigSetup())
    assert kind not in coming(resumed)
    closed = {one.turn: one.why for one in History(store).closed(first.record.id)}
    assert closed.pop(turn.number) is Closing.SKIPPED
    assert set(closed.values()) == {Closing.PAIN}


@pytest.mark.parametrize(("days", "noted"), [(1, True), (NOTED_DAYS + 1, False)])
def test_another_day_it_is_free_again_and_a_note_says_what_was(
    store: Store, tmp_path: Path, days: int, *, noted: bool
) -> None:
    before = begin(store, tmp_path)
    turn = before.turns[0]
    then = datetime.now().astimezone() - timedelta(days=days)
    Training(store).close_turn(
        ClosedTurn(
            before.record.id,
            turn.number,
            turn.athlete,
            turn.exercise.key,
            Closing.PAIN,
            then,
        )
    )
    today = begin(store, tmp_path)
    assert len(today.conductor.order.coming) == len(today.turns)
    assert today.stops.today == ()
    day = day_words(then.date(), datetime.now().astimezone().date())
    said = (f"Stopped for pain at {turn.exercise.name} on {day}.",)
    assert today.stops.notes == ({turn.athlete: said} if noted else {})


def test_an_exercise_that_is_not_in_this_plan_is_noted_all_the_same(
    store: Store, tmp_path: Path
) -> None:
    opened = begin(store, tmp_path)
    now = datetime.now().astimezone()
    Training(store).close_turn(
        ClosedTurn(opened.record.id, 1, INES.id, "rear-hook", Closing.PAIN, now)
    )
    people = {INES.id: replace(INES), AYLA.id: AYLA}
    stops = keep_stops(store, opened.record.id, opened.turns, people, now)
    assert stops.today == ()
    assert stops.notes == {INES.id: ("Stopped for pain at rear hook today.",)}


def test_a_stop_by_a_slip_is_taken_back_on_the_wall_and_in_the_book(
    store: Store, tmp_path: Path
) -> None:
    opened = begin(store, tmp_path)
    station, book = station_of(opened, store)
    station.command(Input.PAIN)
    station._bide()
    station._show()
    assert station.glance().advice[0] == STOPPED
    station.command(Input.UNDO)
    station._bide()
    station._show()
    glance = station.glance()
    assert glance.advice == ()
    name, exercise = opened.athletes[opened.turns[0].athlete].name, opened.turns[0].exercise
    assert glance.told == f"Taken back: stop for pain of {name}, {exercise.name}. It may go on."
    station._now_us = int(ADVICE_S * 1e6) + 1
    station._show()
    assert station.glance().told == ""
    book.close()
    assert History(store).closed(opened.record.id) == ()
    assert begin(store, tmp_path).stops.today == ()


def test_a_stop_after_the_last_rep_holds_too_and_costs_no_result(
    store: Store, tmp_path: Path
) -> None:
    opened = begin(store, tmp_path)
    turn = opened.turns[1]
    assert turn.exercise == opened.turns[0].exercise
    station, book = station_of(opened, store)
    for _ in range(2):
        station._hear(opened.conductor._ledger.finish(Prescription(), None))
    station._hear(opened.conductor._ledger.stop_for_pain(turn))
    station._act_on_all()
    book.close()
    point = Training(store).resume_point(opened.record.id)
    assert point.done == {1, 2}
    assert not point.closed
    assert (turn.athlete, turn.exercise.key) not in coming(begin(store, tmp_path))
    station, book = station_of(opened, store)
    station._hear(opened.conductor._ledger.undo(is_under_way=False))
    station._act_on_all()
    book.close()
    assert History(store).closed(opened.record.id) == ()


def test_a_stop_does_not_stand_through_what_comes_next(store: Store, tmp_path: Path) -> None:
    opened = begin(store, tmp_path)
    station, book = station_of(opened, store)
    station.command(Input.PAIN)
    station._bide()
    station._show()
    assert station.glance().advice
    opened.conductor.board(is_there=True, now_s=0.0)
    opened.conductor.press(Input.GO, 0.0)  # another exercise is counted in
    station._show()
    assert station.glance().advice == ()
    assert station.glance().remark == ""
    book.close()
