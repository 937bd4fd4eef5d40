"""Best, last and mean of what is alike, against counting it by hand."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from strikebridge.club.athlete import Hand
from strikebridge.club.selection import Like
from strikebridge.club.training import Past, new_id
from strikebridge.samples import Effort, Prescription
from tests.store.made import INES, JUNO, SETUP, START, rep, session

if TYPE_CHECKING:
    from strikebridge.club.training import RepRecord
    from strikebridge.store.past import History
    from strikebridge.store.training import Training

LIKE = Like(INES.id, "rear-straight", "right", SETUP.key)
OTHER_SETUP = replace(SETUP, pad_height_m=1.5)
SUBMAXIMAL = Prescription(Effort.SUBMAXIMAL, 5.0, (300.0, 350.0))
MINUTE = timedelta(minutes=1)
_turns = itertools.count(1)


def test_an_empty_past_is_empty(training: Training, history: History) -> None:
    assert history.past(LIKE) == Past()
    assert history.alike(LIKE) == ()


def test_best_last_and_mean(training: Training, history: History) -> None:
    for turn, peak_N in enumerate((700.0, 900.0, None, 800.0), start=1):
        training.save(rep(turn, peak_N))
    past = history.past(LIKE)
    assert past.best is not None
    assert past.last is not None
    assert (past.count, past.mean) == (3, 800.0)
    assert past.best.value == rep(2, 900.0).measures["peak_force"]
    assert (past.best.turn, past.best.session) == (2, session().id)
    assert (past.last.turn, past.last.ended_at) == (4, rep(4).ended_at)
    assert history.past(LIKE, "rfd_100").mean == 900.0
    assert history.past(LIKE, "no_such_measure") == Past()


@pytest.mark.parametrize(
    "unlike",
    [
        replace(rep(1, 999.0), athlete=JUNO.id),
        replace(rep(1, 999.0), exercise="rear-hook"),
        replace(rep(1, 999.0), hand=Hand.LEFT),
        replace(rep(1, 999.0), hand=None),
        replace(rep(1, 999.0), setup=OTHER_SETUP),
        replace(rep(1, 999.0), setup=None),
        replace(rep(1, 999.0), prescription=SUBMAXIMAL),
        replace(rep(1, 999.0), is_kept=False),
    ],
)
def test_what_is_not_alike_does_not_count(
    training: Training, history: History, unlike: RepRecord
) -> None:
    training.save(unlike)
    training.save(rep(2, 700.0))
    past = history.past(LIKE)
    assert (past.count, past.mean) == (1, 700.0)
    assert history.alike(LIKE) == (rep(2, 700.0),)


def test_definitions_are_never_mixed(training: Training, history: History) -> None:
    training.save(rep(1, 900.0, version=1))
    training.save(rep(2, 700.0, version=2))
    training.save(rep(3, None, version=3))  # nothing to compare with yet
    assert history.past(LIKE).mean == 700.0
    assert history.past(LIKE, version=1).mean == 900.0
    assert history.past(LIKE, version=3) == Past()


def test_of_two_equal_ones_the_earlier_is_the_best(
    training: Training, history: History
) -> None:
    training.save(rep(2, 800.0))
    training.save(rep(1, 800.0))
    past = history.past(LIKE)
    assert past.best is not None
    assert past.last is not None
    assert (past.best.turn, past.last.turn) == (1, 2)


def test_the_newest_are_listed_oldest_first(training: Training, history: History) -> None:
    for turn in (3, 1, 2):
        training.save(rep(turn))
    assert [one.turn for one in history.alike(LIKE)] == [1, 2, 3]
    assert [one.turn for one in history.alike(LIKE, limit=2)] == [2, 3]


def test_sessions_of_an_athlete(training: Training, history: History) -> None:
    later = replace(
        session(number=2), athletes=(JUNO.id,), started_at=START + timedelta(days=1)
    )
    training.begin(later)
    assert history.sessions() == (later, session())
    assert history.sessions(INES.id) == (session(),)
    assert history.sessions(new_id()) == ()


some_reps = st.lists(
    st.builds(
        lambda peak_N, version, hand, setup, kept: replace(
            rep(1, peak_N, version), hand=hand, setup=setup, is_kept=kept
        ),
        st.none() | st.floats(100.0, 2000.0),
        st.sampled_from([1, 2]),
        st.sampled_from([None, Hand.LEFT]),
        st.sampled_from([None, SETUP]),
        st.booleans(),
    ),
    max_size=12,
)


@pytest.mark.slow
@pytest.mark.timeout(240)
@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(drawn=some_reps, hand=st.sampled_from([None, Hand.LEFT]), data=st.data())
def test_the_query_counts_as_a_loop_does(
    training: Training,
    history: History,
    drawn: list[RepRecord],
    hand: Hand | None,
    data: st.DataObject,
) -> None:
    exercise = f"trial-{next(_turns)}"
    saved = [
        replace(
            one, turn=next(_turns), exercise=exercise, ended_at=START + timedelta(minutes=i)
        )
        for i, one in enumerate(drawn)
    ]
    for one in data.draw(st.permutations(saved)):
        training.save(one)
    like = Like(INES.id, exercise, "" if hand is None else hand.value, SETUP.key)
    counting = [
        one
        for one in saved
        if one.is_kept
        and one.hand == hand
        and one.setup == SETUP
        and one.measures["peak_force"].value is not None
    ]
    newest = max((one.measures["peak_force"].version for one in counting), default=0)
    counting = [one for one in counting if one.measures["peak_force"].version == newest]
    values = [one.measures["peak_force"].value or 0.0 for one in counting]
    past = history.past(like)
    assert past.count == len(values)
    assert (None if past.best is None else past.best.value.value) == max(values, default=None)
    assert (None if past.last is None else past.last.turn) == (
        counting[-1].turn if counting else None
    )
    if values:
        assert past.mean == pytest.approx(sum(values) / len(values))
