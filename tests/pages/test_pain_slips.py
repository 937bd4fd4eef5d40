"""A stop for pain by a slip, noticed in a later session of the day, taken back by the coach."""

from __future__ import annotations

import contextlib
import io
import json
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli import run
from strikebridge.club.rig_setup import RigSetup
from strikebridge.club.training import ClosedTurn, Closing, RepRecord
from strikebridge.day_stops import stopped_today, take_back_stop
from strikebridge.looking_back import look_back
from strikebridge.opening import resume_session
from strikebridge.pages.pain_slips import NONE_TODAY, SLIP_KEY, PainSlips
from strikebridge.pages.roster import RosterPage
from strikebridge.safekeeping.erasing import erase, find_for_erasure
from strikebridge.safekeeping.traces import find_traces
from strikebridge.store.database import Store, open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.stops import AS_IT_WAS, Stops
from strikebridge.store.training import Training
from tests.pages.keys import choose, press
from tests.test_day_stops import AYLA, INES, PLAN, begin, coming, stop_for_pain

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from strikebridge.opening import Opened


@pytest.fixture
def data(tmp_path: Path) -> Path:
    (tmp_path / "short.toml").write_text(PLAN)
    return tmp_path


@pytest.fixture
def store(data: Path) -> Iterator[Store]:
    with contextlib.closing(open_store(data)) as opened:
        Roster(opened).add_all((INES, AYLA))
        yield opened


def end(store: Store, opened: Opened) -> None:
    Training(store).end(opened.record.id, datetime.now().astimezone())


@pytest.fixture
def slipped(store: Store, data: Path) -> tuple[Opened, tuple[str, str]]:
    """An ended session with a stop for pain by a slip."""
    first = begin(store, data)
    kind = stop_for_pain(first, store)
    end(store, first)
    return first, kind


def said_of(page: RosterPage) -> str:
    return " ".join(one.words for one in page.sheet().side)


def test_the_question_names_athlete_and_exercise_and_a_second_press_takes_it_back(
    store: Store, data: Path, slipped: tuple[Opened, tuple[str, str]]
) -> None:
    first, (athlete, exercise) = slipped
    second = begin(store, data)  # where it is noticed
    assert (athlete, exercise) not in coming(second)
    page = RosterPage(Roster(store), PainSlips(store))
    name = second.athletes[athlete].name
    choose(page, name)
    assert f"{SLIP_KEY}: pain was a slip" in page.sheet().footer
    assert "Stopped for pain today at " in said_of(page)
    press(page, SLIP_KEY)
    shown = exercise.replace("-", " ")
    assert page.sheet().said.startswith(f"P again: the stop for pain of {name} at {shown} (")
    assert stopped_today(store, athlete, datetime.now().astimezone())
    press(page, SLIP_KEY)
    assert page.sheet().said.startswith(f"The stop for pain of {name} at {shown} is taken back")
    assert "pain was a slip" not in page.sheet().footer
    assert "was taken back at" in said_of(page)
    # the session that noticed it goes on with all of it, and so does the next one
    assert (athlete, exercise) in coming(resume_session(store, "short", RigSetup()))
    third = begin(store, data)
    assert (athlete, exercise) in coming(third)
    assert third.stops.today == ()
    assert third.stops.notes == {}
    # the one that has ended is not to be taken up again
    done = look_back(store, first.record.id)
    assert done.still_open == len(first.turns) - done.left_out
    assert {one.why for one in History(store).closed(first.record.id)} == {Closing.SKIPPED}


def test_any_other_key_means_no(store: Store, slipped: tuple[Opened, tuple[str, str]]) -> None:
    first, (athlete, _) = slipped
    page = RosterPage(Roster(store), PainSlips(store))
    for key in (SLIP_KEY, "G", SLIP_KEY):
        choose(page, first.athletes[athlete].name)
        press(page, key)
    assert page.sheet().said.startswith("P again: ")
    assert stopped_today(store, athlete, datetime.now().astimezone())
    other = next(one for one in first.athletes.values() if one.id != athlete)
    choose(page, other.name)
    press(page, SLIP_KEY)
    assert page.sheet().said == NONE_TODAY.format(name=other.name)
    assert stopped_today(store, athlete, datetime.now().astimezone())


def test_the_original_stays_marked_with_both_moments(
    store: Store, slipped: tuple[Opened, tuple[str, str]]
) -> None:
    _, (athlete, exercise) = slipped
    now = datetime.now().astimezone()
    (stop,) = stopped_today(store, athlete, now)
    with store.reading() as at:
        before = at.connection().exec_driver_sql("SELECT count(*) FROM closed_turn").scalar()
    assert take_back_stop(store, athlete, exercise, now)
    (lifted,) = Stops(store).lifted(athlete, now - timedelta(days=1))
    assert (lifted.exercise, lifted.stopped_at) == (exercise, stop.at)
    assert abs(lifted.lifted_at - now) < timedelta(seconds=1)
    with store.reading() as at:
        query = "SELECT count(*) FROM closed_turn WHERE why = ? AND athlete_id = ?"
        kept = at.connection().exec_driver_sql(query, (AS_IT_WAS, athlete)).scalar()
    assert kept == before  # every turn that was closed, as it was
    assert not take_back_stop(store, athlete, exercise, now)
    assert Stops(store).lifted(athlete, now + timedelta(minutes=1)) == ()


def test_a_second_slip_is_kept_beside_the_first(
    store: Store, data: Path, slipped: tuple[Opened, tuple[str, str]]
) -> None:
    _, (athlete, exercise) = slipped
    now = datetime.now().astimezone()
    assert take_back_stop(store, athlete, exercise, now)
    again = begin(store, data)
    at = now + timedelta(seconds=1)
    turn = again.conductor.order.coming[0]
    Training(store).close_turn(
        ClosedTurn(again.record.id, turn.number, athlete, exercise, Closing.PAIN, at)
    )
    assert take_back_stop(store, athlete, exercise, at)
    Training(store).close_turn(
        ClosedTurn(again.record.id, turn.number, athlete, exercise, Closing.PAIN, at)
    )
    assert take_back_stop(store, athlete, exercise, at + timedelta(seconds=1))
    assert len(Stops(store).lifted(athlete, now - timedelta(hours=1))) == 3


def test_a_stop_after_the_last_rep_costs_no_result(store: Store, data: Path) -> None:
    opened = begin(store, data)
    turn, now = opened.turns[0], datetime.now().astimezone()
    kind = (turn.athlete, turn.exercise.key)
    rep = RepRecord(
        session=opened.record.id,
        turn=turn.number,
        athlete=turn.athlete,
        exercise=turn.exercise.key,
        set_number=1,
        rep_number=1,
        ended_at=now,
    )
    training = Training(store)
    training.save(rep)
    training.close_turn(ClosedTurn(opened.record.id, turn.number, *kind, Closing.PAIN, now))
    end(store, opened)
    assert take_back_stop(store, *kind, now)
    assert History(store).closed(opened.record.id) == ()
    assert training.resume_point(opened.record.id).done == {turn.number}


def test_a_stop_of_yesterday_is_left_as_it_is(store: Store, data: Path) -> None:
    opened = begin(store, data)
    turn, now = opened.turns[0], datetime.now().astimezone()
    kind = (turn.athlete, turn.exercise.key)
    then = now - timedelta(days=1)
    closed = ClosedTurn(opened.record.id, turn.number, *kind, Closing.PAIN, then)
    Training(store).close_turn(closed)
    assert not take_back_stop(store, *kind, now)
    assert [one.why for one in History(store).closed(opened.record.id)] == [Closing.PAIN]


def test_the_terminal_asks_by_both_names_and_takes_it_back(
    data: Path,
    store: Store,
    slipped: tuple[Opened, tuple[str, str]],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    first, (athlete, exercise) = slipped
    name = first.athletes[athlete].name
    words = ["athletes", "slip", name, "--data", str(data)]
    monkeypatch.setattr("sys.stdin", io.StringIO("n\n"))
    assert run(words) == 1
    asked = f"Was the stop for pain of {name} at {exercise.replace('-', ' ')} ("
    assert asked in capsys.readouterr().err
    assert stopped_today(store, athlete, datetime.now().astimezone())
    monkeypatch.setattr("sys.stdin", io.StringIO("y\n"))
    assert run(words) == 0
    assert "is taken back, and stays on record" in capsys.readouterr().out
    assert not stopped_today(store, athlete, datetime.now().astimezone())
    assert run([*words, "--yes", "--json"]) == 1
    assert NONE_TODAY.format(name=name) in capsys.readouterr().err
    again = stop_for_pain(begin(store, data), store)
    assert run([*words, "--yes", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["athlete"], found["exercise"]) == (name, again[1])
    assert found["stopped_at"] <= found["taken_back_at"]


def test_whoever_is_erased_goes_from_there_too(
    data: Path, store: Store, slipped: tuple[Opened, tuple[str, str]]
) -> None:
    _, (athlete, exercise) = slipped
    take_back_stop(store, athlete, exercise, datetime.now().astimezone())
    store.close()
    who, held = find_for_erasure(data, athlete)
    erase(data, who, held)
    assert find_traces(data, who.id, who.name) == []
