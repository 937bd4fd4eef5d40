"""`strikebridge session` on a simulated board: a group, start to end."""

import contextlib
import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from strikebridge.cli import run
from strikebridge.club.athlete import Stance
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.plan_file import read_plan
from strikebridge.session.turns import expected_s, turns_of
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training

Output = Callable[[], tuple[str, str]]
PLAN = """\
name = "short"
mode = "rounds"
order = "rotation"
change_s = 4

[[block]]
name = "Band"
exercises = ["band-shadow-boxing"]
seconds = 10
everyone = true
circuit = "c"

[[block]]
name = "Straights"
exercises = ["straight"]
seconds = 3
rest_s = 5
circuit = "c"
"""
BOARD = ("--board", "simulated:?seed=4", "--speed", "max")


@pytest.fixture
def output(capsys: pytest.CaptureFixture[str]) -> Output:
    def both() -> tuple[str, str]:
        out, err = capsys.readouterr()
        return out, err

    return both


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "short.toml"
    path.write_text(PLAN)
    return path


def session(plan: Path, data: Path, *words: str) -> int:
    return run(["session", str(plan), *BOARD, "--data", str(data), *words])


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_a_whole_group_goes_through_a_plan_hands_free(
    plan: Path, tmp_path: Path, output: Output
) -> None:
    data = tmp_path / "data"
    assert session(plan, data, "--json", "--pad-height-m", "1.4") == 0
    document: dict[str, Any] = json.loads(output()[0])
    assert (document["planned"], document["done"], document["skipped"]) == (12, 12, 0)
    reps = document["reps"]
    assert all(rep["kept"] and rep["measures"]["peak_force"]["value"] > 50.0 for rep in reps)
    assert all("hold_quality" in rep["measures"] for rep in reps)
    club = {one.name: one for one in saltmarsh_quay()}
    assert {rep["athlete"] for rep in reps} == set(club)
    for rep in reps:
        leads_left = club[rep["athlete"]].stance is Stance.ORTHODOX
        is_left = leads_left == rep["exercise"].startswith("lead")
        assert rep["hand"] == ("left" if is_left else "right")
    peaks = {
        rep["athlete"]: rep["measures"]["peak_force"]["value"]
        for rep in reps
        if rep["exercise"] == "rear-straight"
    }
    assert max(peaks.values()) > 1.3 * min(peaks.values())  # they differ in strength

    with contextlib.closing(open_store(data)) as store:
        kept = History(store).reps(document["session"])
        point = Training(store).resume_point(document["session"])
    assert len(kept) == point.session.turns == 18
    assert [rep.turn for rep in kept] == list(range(1, 19))
    assert point.next_turn is None
    assert point.session.ended_at is not None
    assert {rep.setup.pad_height_m for rep in kept if rep.setup is not None} == {1.4}
    turns = turns_of(read_plan(PLAN, EXERCISES), point.session.athletes, EXERCISES)
    took_s = (kept[-1].ended_at - point.session.started_at).total_seconds()
    assert took_s == pytest.approx(expected_s(read_plan(PLAN, EXERCISES), turns), rel=0.15)

    (recording,) = (data / "recordings").iterdir()
    text = recording.read_text()
    assert not [name for name in club if name in text]
    events = [one for one in RecordingReader(recording) if isinstance(one, Event)]
    assert sum(one.kind == "go" for one in events) == 12
    first_done = next(one for one in events if one.kind == "done")
    assert first_done.detail == {"turn": 1}
    assert {rep.recording for rep in kept} == {recording.name}
    assert all(rep.certificate for rep in kept if rep.start_s is not None)


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_in_words_it_says_what_comes_and_what_was_done(
    plan: Path, tmp_path: Path, output: Output
) -> None:
    data = tmp_path / "data"
    with contextlib.closing(open_store(data)) as store:
        people = saltmarsh_quay()[:2]
        Roster(store).add_all(people)
        Roster(store).put_in("evening", [people[1].name])
    assert session(plan, data, "--headless", "--group", "evening") == 0
    said = output()[0]
    assert "1 athlete: Tobias Merrow." in said
    # band 2 + 3 + 10, rest 20, hold 9, rest 5, hold 9, result 4
    assert "2 measured holds, 1 timed drill, about 62 seconds." in said
    assert "breathe out" in said
    assert "Tobias Merrow   rear straight   set 1 of 1, rep 1   " in said
    assert "2 of 2 holds done, 0 left out. Everything is saved." in said
    offered = said.splitlines()[-1].removeprefix("A report of it: strikebridge ")
    page = tmp_path / "session.html"
    assert run(shlex.split(offered.replace("session.html", shlex.quote(str(page))))) == 0
    assert output()[0] == f"Session report written to {page}.\n"
    written = page.read_text(encoding="utf-8")
    assert "3 of 3 reps done" in written
    assert written.count("<svg") == 4  # bars and curves of both punches
    assert "Ines Halloran" not in written
    assert session(plan, data, "--resume", "--headless") == 1
    assert "There is no session to take up again" in output()[1]


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_athlete_led_the_push_itself_begins_each_hold(
    plan: Path, tmp_path: Path, output: Output
) -> None:
    data = tmp_path / "data"
    assert session(plan, data, "--json", "--mode", "athlete") == 0
    document: dict[str, Any] = json.loads(output()[0])
    assert (document["planned"], document["done"], document["skipped"]) == (12, 12, 0)
    assert len(document["reps"]) == 12
    (recording,) = (data / "recordings").iterdir()
    kinds = [one.kind for one in RecordingReader(recording) if isinstance(one, Event)]
    assert "go" not in kinds  # nobody was counted in
    assert "ready" not in kinds


def test_mistakes_are_said_in_words(plan: Path, tmp_path: Path, output: Output) -> None:
    data = tmp_path / "data"
    assert run(["session", "leg-day", *BOARD, "--data", str(data)]) == 1
    said = output()[1]
    assert "cannot be read as a plan" in said
    assert "yours are named by their file, with folder and .toml." in said
    assert "Errno" not in said
    plan.write_text(PLAN.replace("seconds = 3", "seconds = 0"))
    assert session(plan, data) == 1
    assert "line 16, seconds: 0 will not do" in output()[1]
    assert run(["session", "fight-day", *BOARD, "--data", str(data), "--sets", "2"]) == 1
    assert "confirm with --beyond-dose" in output()[1]
    words = ("session", "fight-day", "--board", "serial:/dev/x", "--speed", "2")
    assert run([*words, "--data", str(data)]) == 2
    assert "--speed is for simulated" in output()[1]
    wrong = ("session", "fight-day", "--board", "simulated:", "--speed", "fast")
    assert run([*wrong, "--data", str(tmp_path / "untouched")]) == 2
    assert "speed=fast will not do" in output()[1]
    assert not (tmp_path / "untouched" / "strikebridge.sqlite").exists()
    assert session(plan.with_name("none.toml"), data, "--group", "nobody") == 1
