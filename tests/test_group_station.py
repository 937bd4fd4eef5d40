"""A group at one wall, live: what the coach presses is led, recorded and written down."""

import contextlib
from pathlib import Path

import pytest

from strikebridge.bookkeeper import Bookkeeper
from strikebridge.club.rig_setup import RigSetup
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import Closing
from strikebridge.desk import BREATH
from strikebridge.glance import Glance, Phase
from strikebridge.group_station import GroupSetup, GroupStation
from strikebridge.opening import begin_session, plan_of
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event
from strikebridge.session.conductor import Key
from strikebridge.session.group_table import Input, Stage
from strikebridge.session.pain_words import ALL_PAUSED, STOPPED
from strikebridge.sound.speaker import Speaker
from strikebridge.station import StationSetup
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.running import WITHIN_S, running

PLAN = """\
name = "short"
mode = "rounds"
[[block]]
name = "Straights"
exercises = ["straight"]
seconds = 2
reps_per_side = 2
rest_s = 1
"""


DRILL = """\
name = "drill"
mode = "rounds"
get_set_s = 0
[[block]]
name = "Band"
exercises = ["band-shadow-boxing"]
seconds = 5
sets = 2
set_rest_s = 5
everyone = true
"""


def test_what_is_only_timed_goes_on_without_a_board_and_pain_is_heard(tmp_path: Path) -> None:
    (tmp_path / "drill.toml").write_text(DRILL)
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add_all(saltmarsh_quay()[:2])
        plan = plan_of("", store, tmp_path / "drill.toml")
        opened = begin_session(store, plan, None, RigSetup())
        book = Bookkeeper(Training(store), opened.record.id)
        group = GroupSetup(
            opened.record.id, opened.conductor, opened.athletes, book, RigSetup()
        )
        advice: list[str] = []
        station = GroupStation(StationSetup("simulated:"), group, on_remark=advice.append)
        for now_s in (0, 3):
            opened.conductor.tick(now_s)
        stages = []
        for now_s in range(3, 16):  # as the acquisition thread does while it looks for a board
            station._now_us = now_s * 1_000_000
            station._bide()
            stages.append(opened.conductor.stage)
        station.command(Input.PAIN)
        station.command(Input.SKIP)
        station._bide()
        assert station._stopping.is_set()  # that was all
        book.close()
        point = Training(store).resume_point(opened.record.id)
        assert point.done == {1, 2}
        assert dict(point.closed) == {3: Closing.SKIPPED, 4: Closing.SKIPPED}
    assert stages[:5] == [Stage.DRILL] * 5
    assert stages[-1] is Stage.LOST  # what comes next waits for the board
    assert advice == [f"{STOPPED}. {ALL_PAUSED}"]


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_what_the_coach_presses_is_done_recorded_and_written_down(tmp_path: Path) -> None:
    (tmp_path / "short.toml").write_text(PLAN)
    person = saltmarsh_quay()[1]
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add(person)
        plan = plan_of("", store, tmp_path / "short.toml")
        opened = begin_session(store, plan, None, RigSetup())
        book = Bookkeeper(Training(store), opened.record.id)
        group = GroupSetup(
            opened.record.id, opened.conductor, opened.athletes, book, RigSetup(), ("snap",)
        )
        address = "simulated:?athlete=listens&speed=max&seed=2"
        station = GroupStation(StationSetup(address, recording=tmp_path / "s.jsonl"), group)
        station.command(Input.SKIP)  # the first of four turns
        station.cue(1)
        station.cue(2)  # there is no second one
        station.press(Key.GO)
        with contextlib.closing(book), running(station):
            assert station.wait(90.0)
        assert station.error is None
        point = Training(store).resume_point(opened.record.id)
        assert dict(point.closed) == {1: Closing.SKIPPED}
        assert point.done == {2, 3, 4}
        reps = History(store).reps(opened.record.id)
        assert [rep.cue for rep in reps] == ["snap", "", ""]
        assert [one.turn for one in History(store).cues(opened.record.id)] == [2]
    glance = station.glance()
    assert glance.athlete == person.name
    assert glance.notes == ("Mind the shoulder.", BREATH)
    assert glance.stage == "over"
    # what was to be reached in the last turn: the best until then, not the rep itself
    assert glance.target_N == reps[1].measures["peak_force"].value
    assert glance.target_from == "own best, today"
    events = [one for one in RecordingReader(tmp_path / "s.jsonl") if isinstance(one, Event)]
    kinds = [one.kind for one in events if one.kind in ("turn", "closed", "done")]
    assert kinds == ["turn", "closed", "turn", "done", "turn", "done", "turn", "done"]
    assert {one.detail["athlete"] for one in events if one.kind == "turn"} == {person.id}


DRILL_PLAN = """\
name = "drill"
mode = "rounds"
change_s = 1
result_s = 1
[[block]]
name = "Band"
exercises = ["band-shadow-boxing"]
seconds = 4
everyone = true
[[block]]
name = "Straights"
exercises = ["rear-straight"]
seconds = 2
rest_s = 1
"""


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_what_was_played_when_is_recorded_also_of_what_is_only_timed(tmp_path: Path) -> None:
    """Count, go, last seconds and end, each at its time on the stream, with stated latency."""
    (tmp_path / "drill.toml").write_text(DRILL_PLAN)
    speaker = Speaker(0.5, backends=("NULL",))
    speaker.open()
    assert speaker.wait(WITHIN_S)
    with contextlib.closing(open_store(tmp_path)) as store:
        for person in saltmarsh_quay()[:2]:
            Roster(store).add(person)
        plan = plan_of("", store, tmp_path / "drill.toml")
        opened = begin_session(store, plan, None, RigSetup())
        book = Bookkeeper(Training(store), opened.record.id)
        group = GroupSetup(
            opened.record.id, opened.conductor, opened.athletes, book, RigSetup()
        )
        address = "simulated:?athlete=listens&speed=16&seed=2"
        recording = tmp_path / "s.jsonl"
        setup = StationSetup(address, recording=recording, speaker=speaker)
        station = GroupStation(setup, group)
        with contextlib.closing(book), running(station):
            assert station.wait(90.0)
        assert station.error is None
    events = [one for one in RecordingReader(recording) if isinstance(one, Event)]
    sounds = [one for one in events if one.kind == "sound"]
    told = [one.detail["signal"] for one in sounds]
    assert told[:7] == ["count", "count", "count", "go", "last", "last", "done"]  # the drill
    assert told[7:11] == ["count", "count", "count", "go"]  # the first hold
    start_us = sounds[3].at_us
    after_s = [(one.at_us - start_us) * 1e-6 for one in sounds[:7]]
    # a stream sixteen times as fast is looked at every 0.2 s of it or so
    assert after_s == pytest.approx([-3.0, -2.0, -1.0, 0.0, 2.0, 3.0, 4.0], abs=0.7)
    for one in sounds:
        assert one.detail["latency_s"] == pytest.approx(0.05, abs=0.02)
        assert float(one.detail["u_latency_s"] or 0.0) > 0.0


def test_a_stop_for_pain_stands_on_the_wall_until_it_goes_on(tmp_path: Path) -> None:
    (tmp_path / "short.toml").write_text(PLAN.replace("rounds", "coach"))
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add_all(saltmarsh_quay()[:2])
        plan = plan_of("", store, tmp_path / "short.toml")
        opened = begin_session(store, plan, None, RigSetup())
        book = Bookkeeper(Training(store), opened.record.id)
        group = GroupSetup(
            opened.record.id, opened.conductor, opened.athletes, book, RigSetup()
        )
        station, leads = GroupStation(StationSetup("simulated:"), group), opened.conductor

        def after(command: Input | None, now_s: float) -> Glance:
            station._now_us = round(now_s * 1e6)
            if command is not None:
                station._hear(leads.press(command, now_s))
            station._act_on_all()
            return station._with_turn(Glance(Phase.READY))

        name = opened.athletes[opened.record.athletes[0]].name
        assert after(Input.PAUSE, 0.0).advice == ()
        stopped = after(Input.PAIN, 1.0)
        assert stopped.advice[0] == "Stopped for pain"
        assert stopped.advice[1].startswith(f"{name}, lead straight: this exercise is over")
        assert after(None, 60.0).advice == stopped.advice  # a pause has no end
        assert after(Input.GO, 61.0).advice == ()
        assert after(Input.PAIN, 62.0).advice[0] == "Stopped for pain"
        assert after(None, 69.0).advice[0] == "Stopped for pain"
        assert after(None, 71.0).advice == ()  # without a pause for eight seconds
        assert after(Input.PAIN, 72.0).advice[0] == "Stopped for pain"
        assert after(Input.GO, 73.0).advice == ()  # nor over a count
        assert leads.stage is Stage.COUNT_IN
        book.close()
