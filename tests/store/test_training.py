"""Reps as they come in: once, whole, and in the right place, whatever happens."""

from __future__ import annotations

import contextlib
import math
import threading
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from queue import Queue
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from strikebridge.club.athlete import Hand, Stance
from strikebridge.club.exercise import Way
from strikebridge.club.rig_setup import Cover, Feet, Fist, Pad, RigSetup
from strikebridge.club.training import (
    ClosedTurn,
    Closing,
    CueRecord,
    RepRecord,
    Saved,
    SessionRecord,
    new_id,
)
from strikebridge.errors import RosterError, StoreError
from strikebridge.samples import Effort, MeasureValue, Prescription, Status
from strikebridge.store.database import open_store
from strikebridge.store.training import Training
from tests.running import WITHIN_S
from tests.store.made import DAY, INES, JUNO, START, rep, session

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.store.past import History

SESSION = session().id
SHARED = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def closed(turn: int, why: Closing = Closing.SKIPPED) -> ClosedTurn:
    return ClosedTurn(SESSION, turn, INES.id, "rear-straight", why, START)


def test_a_rep_comes_back_as_it_was_saved(training: Training, history: History) -> None:
    assert training.save(rep(1)) is Saved.NOW
    assert history.reps(SESSION) == (rep(1),)


def test_the_same_rep_is_stored_once_and_the_first_stands(
    training: Training, history: History
) -> None:
    training.save(rep(1))
    assert training.save(replace(rep(1, 900.0), sentence="Twice.")) is Saved.ALREADY
    assert history.reps(SESSION) == (rep(1),)


def test_a_redo_takes_the_place_of_the_first_attempt_which_stays(
    training: Training, history: History
) -> None:
    training.save(rep(1))
    again = replace(rep(1, 900.0), attempt=2)
    assert training.save(again) is Saved.NOW
    assert history.reps(SESSION) == (replace(rep(1), is_kept=False), again)
    point = training.resume_point(SESSION)
    assert point.done == {1}
    assert dict(point.attempts) == {1: 2}


def test_an_earlier_attempt_that_comes_late_does_not_count(
    training: Training, history: History
) -> None:
    training.save(replace(rep(1), attempt=2))
    training.save(rep(1))
    assert [(one.attempt, one.is_kept) for one in history.reps(SESSION)] == [
        (1, False),
        (2, True),
    ]
    assert dict(training.resume_point(SESSION).attempts) == {1: 2}


def test_a_rep_taken_back_stays_and_its_turn_is_open(
    training: Training, history: History
) -> None:
    training.save(rep(1))
    assert training.take_back(SESSION, 1)
    assert not training.take_back(SESSION, 1)
    assert not training.take_back(SESSION, 2)
    assert history.reps(SESSION) == (replace(rep(1), is_kept=False),)
    assert training.resume_point(SESSION).next_turn == 1
    assert training.save(rep(1)) is Saved.ALREADY  # a resend does not bring it back
    assert training.resume_point(SESSION).next_turn == 1


def test_a_closed_turn_is_passed_over_until_it_is_opened_or_done(training: Training) -> None:
    training.close_turn(closed(1))
    training.close_turn(closed(2, Closing.PAIN))
    point = training.resume_point(SESSION)
    assert point.next_turn == 3
    assert point.stopped == {(INES.id, "rear-straight")}
    training.open_turn(SESSION, 1)
    training.open_turn(SESSION, 1)
    assert training.resume_point(SESSION).next_turn == 1
    training.close_turn(closed(1))
    training.save(rep(1))
    assert dict(training.resume_point(SESSION).closed) == {2: Closing.PAIN}


@pytest.mark.parametrize("why", Closing)
def test_only_pain_ends_an_exercise(training: Training, why: Closing) -> None:
    training.close_turn(closed(1, why))
    is_pain = why is Closing.PAIN
    expected = {(INES.id, "rear-straight")} if is_pain else set()
    assert training.resume_point(SESSION).stopped == expected


def test_the_newest_of_the_open_sessions_comes_first(training: Training) -> None:
    later = replace(session(number=2), started_at=START + timedelta(days=1))
    earlier = replace(session(number=3), started_at=START - timedelta(days=1))
    for one in (later, earlier):
        training.begin(one)
    assert training.unfinished() == (later, session(), earlier)


def test_the_newest_reason_of_a_closed_turn_stands(training: Training) -> None:
    training.close_turn(closed(1))
    training.close_turn(closed(1, Closing.NO_SHOW))
    assert dict(training.resume_point(SESSION).closed) == {1: Closing.NO_SHOW}


def test_a_cue_is_noted_once(training: Training, history: History) -> None:
    cue = CueRecord(SESSION, INES.id, START, "hip first", 1)
    later = replace(cue, given_at=START + timedelta(seconds=1), cue="chin down", turn=2)
    for one in (later, cue, cue):
        training.note_cue(one)
    assert history.cues(SESSION) == (cue, later)


def test_a_session_begins_and_ends_once(training: Training, history: History) -> None:
    training.begin(replace(session(), plan="another"))
    assert training.unfinished() == (session(),)
    training.end(SESSION, START + timedelta(hours=1))
    training.end(SESSION, START + timedelta(hours=2))
    assert training.unfinished() == ()
    ended = replace(session(), ended_at=START + timedelta(hours=1))
    assert history.sessions() == (ended,)


def test_a_session_keeps_the_offset_of_its_day(training: Training, history: History) -> None:
    far = datetime(2026, 3, 2, 0, 15, tzinfo=timezone(timedelta(hours=5, minutes=45)))
    training.begin(replace(session(number=2), started_at=far))
    newest, before = history.sessions()
    assert before.id == SESSION  # 18:30 +01:00 is an hour before 00:15 +05:45
    found = newest.started_at
    assert found == far
    assert found.utcoffset() == far.utcoffset()


def test_what_is_not_there_is_said_and_nothing_stored(
    training: Training, history: History
) -> None:
    stranger = replace(rep(1), athlete="7" * 32)
    with pytest.raises(RosterError, match="not in the roster"):
        training.save(stranger)
    with pytest.raises(RosterError, match="not in the roster"):
        training.begin(replace(session(number=2), athletes=("7" * 32,)))
    lost = replace(rep(1), session="f" * 32)
    for call in (
        lambda: training.save(lost),
        lambda: training.end("f" * 32, START),
        lambda: training.resume_point("f" * 32),
        lambda: training.close_turn(replace(closed(1), session="f" * 32)),
        lambda: training.note_cue(CueRecord("f" * 32, INES.id, START, "x", 1)),
    ):
        with pytest.raises(StoreError, match="no session ffff"):
            call()
    assert history.reps(SESSION) == ()
    assert history.sessions() == (session(),)


def test_turns_are_counted_from_one(training: Training, history: History) -> None:
    with pytest.raises(StoreError, match="nothing was changed"):
        training.save(replace(rep(1), turn=0))
    assert history.reps(SESSION) == ()


finite = st.floats(-1e6, 1e6)
positive = st.floats(0.0, 1e6)
words = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=20)
measure_values = st.builds(
    MeasureValue,
    name=st.sampled_from(["peak_force", "sag", "held_time"]),
    value=st.none() | finite,
    unit=st.sampled_from(["N", "s", "%/s"]),
    u_own=st.none() | positive,
    u_common=st.none() | positive,
    certificate=st.none() | words,
    dof=positive | st.just(math.inf),
    coverage=st.floats(1.9, 13.0),
    status=st.sampled_from(Status),
    reason=words,
    version=st.integers(1, 9),
)
setups = st.builds(
    RigSetup,
    # whole millimetres: the key does not tell finer ones apart
    pad_height_m=st.none() | st.integers(0, 3000).map(lambda mm: mm / 1000.0),
    distance_m=st.none() | st.integers(0, 3000).map(lambda mm: mm / 1000.0),
    pad=st.none() | st.sampled_from(Pad),
    cover=st.none() | st.sampled_from(Cover),
    fist=st.none() | st.sampled_from(Fist),
    elbow_deg=st.none() | st.integers(0, 180).map(float),
    feet=st.none() | st.sampled_from(Feet),
)
reps = st.builds(
    RepRecord,
    session=st.just(SESSION),
    turn=st.integers(1, 10_000),
    athlete=st.sampled_from([INES.id, JUNO.id]),
    exercise=words,
    set_number=st.integers(1, 9),
    rep_number=st.integers(1, 9),
    ended_at=st.integers(0, 10**15).map(lambda us: START + timedelta(microseconds=us)),
    hand=st.none() | st.sampled_from(Hand),
    stance=st.none() | st.sampled_from(Stance),
    setup=st.none() | setups,
    prescription=st.builds(
        Prescription,
        st.sampled_from(Effort),
        st.none() | positive,
        st.none() | st.tuples(positive, positive),
    ),
    way=st.sampled_from(Way),
    is_kept=st.booleans(),
    rise=words,
    faults=st.lists(st.sampled_from(["leaning", "two-stage", "sagging"])).map(tuple),
    sentence=words,
    detail=words,
    cue=words,
    certificate=st.none() | words,
    recording=st.none() | words,
    start_s=st.none() | finite,
    end_s=st.none() | finite,
    go_s=st.none() | finite,
    measures=st.lists(measure_values, max_size=3).map(lambda some: {m.name: m for m in some}),
)


@pytest.mark.slow
@pytest.mark.timeout(240)
@settings(SHARED, max_examples=15)
@given(one=reps)
def test_any_rep_comes_back_to_the_last_bit(
    training: Training, history: History, one: RepRecord
) -> None:
    attempt = training.resume_point(SESSION).attempts.get(one.turn, 0) + 1
    one = replace(one, attempt=attempt)
    assert training.save(one) is Saved.NOW
    assert history.reps(SESSION).count(one) == 1
    assert training.save(one) is Saved.ALREADY


steps = st.lists(
    st.tuples(
        st.sampled_from(["save", "again", "redo", "take back", "close", "open"]),
        st.integers(1, 3),
    ),
    max_size=15,
)


@pytest.mark.slow
@pytest.mark.timeout(240)
@settings(SHARED, max_examples=12)
@given(taken=steps)
def test_any_order_of_steps_ends_where_a_plain_model_does(
    training: Training, history: History, taken: list[tuple[str, int]]
) -> None:
    at = replace(session(3), id=new_id())
    training.begin(at)
    attempts: dict[int, int] = {}
    kept: dict[int, int] = {}
    shut: set[int] = set()
    for step, turn in taken:
        one = replace(rep(turn), session=at.id, attempt=max(1, attempts.get(turn, 0)))
        if step == "redo" or (step == "save" and turn not in attempts):
            attempts[turn] = attempts.get(turn, 0) + 1
            kept[turn] = attempts[turn]
            shut.discard(turn)
            assert training.save(replace(one, attempt=attempts[turn])) is Saved.NOW
        elif step in ("again", "save") and turn in attempts:
            assert training.save(one) is Saved.ALREADY
        elif step == "take back":
            assert training.take_back(at.id, turn) == (kept.pop(turn, None) is not None)
        elif step == "close":
            training.close_turn(replace(closed(turn), session=at.id))
            shut.add(turn)
        elif step == "open":
            training.open_turn(at.id, turn)
            shut.discard(turn)
    point = training.resume_point(at.id)
    assert point.done == set(kept)
    assert set(point.closed) == shut - set(kept)  # a turn that is done says why no longer
    assert dict(point.attempts) == attempts
    found = {one.turn: one.attempt for one in history.reps(at.id) if one.is_kept}
    assert found == kept
    assert len(history.reps(at.id)) == sum(attempts.values())


def test_two_connections_at_one_session_store_each_rep_once(
    training: Training, history: History, data: Path
) -> None:
    results: Queue[list[Saved]] = Queue()
    start = threading.Barrier(3)

    def save_all() -> None:
        with contextlib.closing(open_store(data)) as own:
            start.wait(timeout=WITHIN_S)
            results.put([Training(own, lambda: DAY).save(rep(turn)) for turn in range(1, 11)])

    threads = [threading.Thread(target=save_all) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    said = [results.get(timeout=WITHIN_S) for _ in threads]
    assert [sorted(of_turn).count(Saved.NOW) for of_turn in zip(*said, strict=True)] == [1] * 10
    assert history.reps(SESSION) == tuple(rep(turn) for turn in range(1, 11))


def test_databases_opened_at_the_same_moment_are_made_once(tmp_path: Path) -> None:
    results: Queue[str] = Queue()
    start = threading.Barrier(4)

    def open_it() -> None:
        start.wait(timeout=WITHIN_S)
        try:
            open_store(tmp_path).close()
            results.put("")
        except StoreError as error:
            results.put(str(error))

    threads = [threading.Thread(target=open_it) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert [results.get(timeout=WITHIN_S) for _ in threads] == [""] * 4


def test_a_reader_waits_for_nobody_and_sees_only_what_is_whole(
    training: Training, history: History, data: Path
) -> None:
    training.save(rep(1))
    with contextlib.closing(open_store(data)) as other, other.writing() as at:
        at.connection().exec_driver_sql("UPDATE rep SET sentence = 'half-way'")
        assert history.reps(SESSION) == (rep(1),)
    assert history.reps(SESSION)[0].sentence == "half-way"


def test_a_writer_that_is_kept_waiting_too_long_says_so(
    training: Training, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.store.database.WAIT_S", 0.05)
    with (
        contextlib.closing(open_store(data)) as other,
        contextlib.closing(open_store(data)) as holder,
    ):
        waiting = Training(other, lambda: DAY)
        with holder.writing() as at:
            at.connection()  # a transaction begins with its first use
            with pytest.raises(StoreError, match="Another program holds it"):
                waiting.save(rep(1))
        assert waiting.save(rep(1)) is Saved.NOW


def test_the_session_of_a_record_is_what_was_begun(training: Training) -> None:
    found: SessionRecord = training.resume_point(SESSION).session
    assert found == session()
