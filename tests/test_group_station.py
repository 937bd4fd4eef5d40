"""A group at one wall, live: what the coach presses is led, recorded and written down."""

import contextlib
from pathlib import Path

import pytest

from strikebridge.bookkeeper import Bookkeeper
from strikebridge.club.rig_setup import RigSetup
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.club.training import Closing
from strikebridge.desk import BREATH
from strikebridge.group_station import GroupSetup, GroupStation
from strikebridge.opening import begin_session, plan_of
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event
from strikebridge.session.conductor import Key
from strikebridge.session.group_table import Input
from strikebridge.station import StationSetup
from strikebridge.store.database import open_store
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
rest_s = 1
"""


@pytest.mark.slow
@pytest.mark.timeout(120)
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
        station.start()
        assert station.wait(90.0)
        station.stop()
        book.close()
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
    assert glance.target_N == max(rep.measures["peak_force"].value or 0.0 for rep in reps[1:])
    events = [one for one in RecordingReader(tmp_path / "s.jsonl") if isinstance(one, Event)]
    kinds = [one.kind for one in events if one.kind in ("turn", "closed", "done")]
    assert kinds == ["turn", "closed", "turn", "done", "turn", "done", "turn", "done"]
    assert {one.detail["athlete"] for one in events if one.kind == "turn"} == {person.id}
