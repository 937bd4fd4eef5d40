"""A board that is lost in the middle of a group session: real bytes from another process."""

from __future__ import annotations

import contextlib
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from strikebridge.bookkeeper import Bookkeeper
from strikebridge.calibration.apply import Calibration
from strikebridge.club.rig_setup import RigSetup
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.group_station import GroupSetup, GroupStation
from strikebridge.opening import begin_session, plan_of
from strikebridge.recording import RecordingReader
from strikebridge.samples import Event, Rep
from strikebridge.session.group_table import Input
from strikebridge.station import StationSetup
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2
from tests.ptys import posix
from tests.rig import COUNTS_PER_KG, ForeignRig, foreign_rig
from tests.running import WITHIN_S, running

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from strikebridge.pipeline import Outcome

PLAN = """\
name = "short"
mode = "athlete"
get_set_s = 0
result_s = 0
change_s = 0
[[block]]
name = "Straights"
exercises = ["straight"]
seconds = 1
reps_per_side = 2
rest_s = 0
"""
PUSH_KG = 60.0
AWAY_S = 2.0


@dataclass
class Wall:
    """A group at a wall whose board is another process."""

    station: GroupStation
    rig: ForeignRig

    def wait_for(self, is_so: Callable[[], bool], what: str) -> None:
        ends_s = time.monotonic() + WITHIN_S
        while not is_so():
            assert time.monotonic() < ends_s, f"never {what}: {self.station.glance()}"
            if self.station.wait(0.01):
                assert self.station.error is None
                return

    def wait_for_stage(self, stage: str) -> None:
        self.wait_for(lambda: self.is_in(stage), stage)

    def push(self) -> None:
        """Push, and hold long enough; again where a busy computer let the board go quiet."""
        is_held = False
        while not is_held:
            self.wait_for(self.is_ready, "ready")
            self.rig.put(PUSH_KG)
            self.wait_for(lambda: self.is_in("hold") or not self.is_ready(), "hold")
            self.wait_for(lambda: self.is_held_long_enough() or not self.is_in("hold"), "held")
            is_held = self.is_in("hold")
            if not is_held:
                self.rig.put(0.0)

    def is_in(self, stage: str) -> bool:
        return self.station.glance().stage == stage

    def is_ready(self) -> bool:
        glance = self.station.glance()
        is_there = glance.force_N is not None and glance.trouble is None
        return is_there and self.is_in("ready")

    def is_held_long_enough(self) -> bool:
        left_s = self.station.glance().seconds_left
        return left_s is not None and left_s <= 0.0

    def do_turn(self) -> None:
        order = self.station.group.conductor.order
        before = order.open_turns
        while order.open_turns == before:
            self.push()
            self.rig.put(0.0)
            self.wait_for(lambda: not self.is_in("hold"), "let go")

    def lose_and_find(self, turn: int, *, is_paused: bool = False) -> None:
        """Pull the plug and put it in again; what is safe and what to do is said meanwhile."""
        self.rig.pull()
        self.wait_for_stage("lost")
        self.rig.put(0.0)
        lost_s = self.station.seconds
        self.wait_for(lambda: self.station.seconds > lost_s + AWAY_S, "away")
        trouble = self.station.glance().trouble
        assert trouble is not None
        assert "unplugged" in trouble.what
        assert "Reps so far are saved." in trouble.advice
        assert "I go on by myself." in trouble.advice
        if is_paused:
            self.station.command(Input.PAUSE)
        self.rig.plug()
        if is_paused:
            self.wait_for_stage("paused")
            self.station.command(Input.GO)
        self.wait_for(self.is_ready, "ready again")
        now = self.station.group.conductor.turn
        assert now is not None
        assert now.number == turn


@posix
@pytest.mark.slow
@pytest.mark.timeout(240)
def test_a_group_waits_for_its_board_and_goes_on_where_it_was(tmp_path: Path) -> None:
    (tmp_path / "short.toml").write_text(PLAN)
    recording = tmp_path / "s.jsonl"
    with (
        contextlib.closing(open_store(tmp_path)) as store,
        foreign_rig(tmp_path, faster=1.0, share=0.25) as rig,
    ):
        Roster(store).add(saltmarsh_quay()[0])
        opened = begin_session(
            store, plan_of("", store, tmp_path / "short.toml"), None, RigSetup()
        )
        book = Bookkeeper(Training(store), opened.record.id)
        group = GroupSetup(
            opened.record.id, opened.conductor, opened.athletes, book, RigSetup()
        )
        gain = Calibration.by_hand(STANDARD_GRAVITY_M_PER_S2 / COUNTS_PER_KG)
        setup = StationSetup(
            f"serial:{rig.path}", recording=recording, by_hand=gain, is_patient=True
        )
        found: list[Outcome] = []
        wall = Wall(GroupStation(setup, group, on_outcome=found.append), rig)
        with contextlib.closing(book), running(wall.station):
            wall.do_turn()
            wall.push()
            wall.lose_and_find(2)  # in the middle of a hold
            wall.do_turn()
            wall.lose_and_find(3, is_paused=True)  # at rest; the coach wants time for the cable
            wall.do_turn()
            wall.do_turn()
            assert wall.station.wait(WITHIN_S)  # the plan is over
        assert wall.station.error is None
        reps = History(store).reps(opened.record.id)
        assert [(rep.turn, rep.attempt, rep.is_kept) for rep in reps] == [
            (turn, 1, True) for turn in (1, 2, 3, 4)
        ]
        assert Training(store).resume_point(opened.record.id).next_turn is None
    expected_N = PUSH_KG * STANDARD_GRAVITY_M_PER_S2
    for rep in reps:
        assert rep.measures["peak_force"].value == pytest.approx(expected_N, rel=0.01)
    whole = [one for one in found if isinstance(one, Rep) and one.hold.complete]
    assert len(whole) == len(reps)
    events = [one for one in RecordingReader(recording) if isinstance(one, Event)]
    kinds = [one.kind for one in events]
    assert [one for one in kinds if one in ("lost", "back", "done")] == [
        *("done", "lost", "back", "done", "lost", "back", "done", "done")
    ]
    assert kinds[kinds.index("lost") + 1] == "stopped"  # there was a hold under way
    after = events[kinds.index("back") :]
    assert next(one for one in after if one.kind == "turn").detail["turn"] == 2
