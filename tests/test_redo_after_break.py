"""Redo in a session that was taken up again: named on the wall first, then in the book."""

import contextlib
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from strikebridge.club.rig_setup import RigSetup
from strikebridge.club.training import RepRecord
from strikebridge.group_station import ADVICE_S
from strikebridge.opening import Opened, resume_session
from strikebridge.session.group_table import Input, Stage
from strikebridge.store.database import Store, open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.test_day_stops import AYLA, INES, PLAN, begin, station_of


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    (tmp_path / "short.toml").write_text(PLAN)
    with contextlib.closing(open_store(tmp_path)) as opened:
        Roster(opened).add_all((INES, AYLA))
        yield opened


@pytest.fixture
def resumed(store: Store, tmp_path: Path) -> Opened:
    """A session that broke off after turns 2 and 1, in that order."""
    first = begin(store, tmp_path)
    for minute, turn in enumerate(first.turns[1::-1]):
        at = datetime.now().astimezone() - timedelta(minutes=9 - minute)
        rep = RepRecord(
            session=first.record.id,
            turn=turn.number,
            athlete=turn.athlete,
            exercise=turn.exercise.key,
            set_number=turn.set_number,
            rep_number=turn.rep_number,
            ended_at=at,
        )
        Training(store).save(rep)
    return resume_session(store, "short", RigSetup())


def kept(store: Store, opened: Opened) -> list[int]:
    return [rep.turn for rep in History(store).reps(opened.record.id) if rep.is_kept]


def test_it_is_named_and_pauses_and_only_redo_again_takes_it_back(
    store: Store, resumed: Opened
) -> None:
    station, book = station_of(resumed, store)
    station._bide()  # no board here: the session waits for one
    station._hear(resumed.conductor.board(is_there=True, now_s=0.0))
    said: list[str] = []
    station._on_remark = said.append
    station.command(Input.REDO)
    station._obey(1.0)
    station._act_on_all()
    station._now_us = int(10.0 * ADVICE_S * 1e6)  # it stays there as long as it is asked
    station._show()
    turn, glance = resumed.turns[0], station.glance()
    name = resumed.athletes[turn.athlete].name
    words = (
        f"{name}, {turn.exercise.name}, set 1, rep 1, from before the break. Redo again takes "
        "it back; any other key: no."
    )
    assert glance.advice == ("Redo an earlier result?", words)
    assert said == [" ".join(glance.advice)]
    assert glance.stage == Stage.PAUSED
    station.command(Input.REDO)
    station._obey(2.0)
    station._act_on_all()
    station._show()
    assert station.glance().advice == ()
    assert resumed.conductor.turn == turn
    book.close()
    assert kept(store, resumed) == [2]
    assert len(History(store).reps(resumed.record.id)) == 2  # the original stays, marked


def test_space_goes_on_and_nothing_is_taken_back(store: Store, resumed: Opened) -> None:
    station, book = station_of(resumed, store)
    station._hear(resumed.conductor.board(is_there=True, now_s=0.0))
    for command in (Input.REDO, Input.GO, Input.REDO, Input.GO):
        station.command(command)
        station._obey(1.0)
    station._act_on_all()
    station._show()
    assert station.glance().advice == ()
    assert resumed.conductor.stage is not Stage.PAUSED
    book.close()
    assert kept(store, resumed) == [1, 2]


def test_the_order_in_which_turns_ended_outlasts_the_break(
    store: Store, resumed: Opened
) -> None:
    assert Training(store).resume_point(resumed.record.id).over == (2, 1)
    assert [party[0].number for party in resumed.conductor.order.over] == [2, 1]
