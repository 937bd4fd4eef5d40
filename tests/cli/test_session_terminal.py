"""A session in a terminal, as a coach sees and leads it: a process of its own behind a pty."""

from __future__ import annotations

import codecs
import contextlib
import os
import select
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli.session_view import HOME
from strikebridge.club.training import Closing
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.training import Training
from tests.ptys import open_terminal, posix, settings_of
from tests.running import WITHIN_S

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

PLAN = """\
name = "short"
mode = "coach"
order = "rotation"
get_set_s = 0
change_s = 0
result_s = 12
[[block]]
name = "Straights"
exercises = ["straight"]
seconds = 3
rest_s = 0
"""
SPEED = 3.0  # times real time: two seconds to call off a rep, four to look at a result


class Terminal:
    """What a coach sees, and the keys.

    Attributes:
        process: the program.
        text: all that it has written.
        screen: the picture that was looked at last.
    """

    def __init__(self, ours: int, process: subprocess.Popen[bytes]) -> None:
        self.process = process
        self.text = ""
        self.screen = ""
        self._ours = ours
        self._decoder = codecs.getincrementaldecoder("utf-8")()
        self._looked_at = 0  # pictures

    def read(self) -> None:
        """Take in what was written since."""
        while select.select([self._ours], [], [], 0.02)[0]:
            try:
                data = os.read(self._ours, 65_536)
            except OSError:  # the other end is closed
                return
            if not data:
                return
            self.text += self._decoder.decode(data)

    def wait_for(self, is_so: Callable[[str], bool], what: str) -> None:
        """Look at picture after picture, none left out, beginning with the last one."""
        ends_s = time.monotonic() + WITHIN_S
        while not is_so(self.screen):
            assert time.monotonic() < ends_s, f"never {what}:\n{self.screen}"
            pictures = self.text.split(HOME)[1:-1]
            if self._looked_at < len(pictures):
                self.screen = pictures[self._looked_at]
                self._looked_at += 1
                continue
            self.read()
            assert self.process.poll() is None, self.text[-2000:]

    def wait_for_stage(self, *stages: str) -> None:
        self.wait_for(lambda screen: stage_of(screen) in stages, " or ".join(stages))

    def press(self, key: str) -> None:
        os.write(self._ours, key.encode())

    def name(self) -> str:
        return self.screen.splitlines()[0].split("   ")[0]


def stage_of(screen: str) -> str:
    lines = screen.replace("\x1b[K", "").splitlines()
    return lines[1] if len(lines) > 1 else ""


@contextlib.contextmanager
def terminal(folder: Path, *words: str) -> Iterator[tuple[Terminal, list[object]]]:
    """Start a session; give the terminal, and what its settings are before and after."""
    (folder / "short.toml").write_text(PLAN)
    ours, theirs = open_terminal()
    settings = [settings_of(theirs)]
    board = f"simulated:?seed=4&speed={SPEED}"
    process = subprocess.Popen(
        [
            *(sys.executable, "-m", "strikebridge", "session", str(folder / "short.toml")),
            *("--headless", "--board", board, "--data", str(folder / "data"), *words),
        ],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "COLUMNS": "100", "LINES": "40"},
    )
    try:
        yield Terminal(ours, process), settings
        settings.append(settings_of(theirs))
    finally:
        process.kill()
        process.wait()
        os.close(theirs)
        os.close(ours)


def lead(coach: Terminal) -> None:
    """Press every key once or more, each when the screen asks for it."""
    who = coach.name()
    coach.press("p")
    coach.wait_for_stage("paused")
    coach.press("p")
    coach.wait_for_stage("ready")
    coach.press(" ")
    coach.wait_for_stage("count-in")
    coach.press("b")  # called off
    coach.wait_for_stage("ready")
    coach.press("\x1b[6~")  # PageDown of a clicker
    coach.wait_for_stage("result")
    coach.press("z")  # turn 1 is over without a result
    coach.wait_for(lambda screen: "rear straight" in screen, "turn 2")
    coach.wait_for_stage("ready")
    coach.press("2")
    coach.wait_for(lambda screen: "cue given: hip first" in screen, "a cue")
    coach.press(" ")
    coach.wait_for_stage("result")
    coach.press("r")  # turn 2 again
    coach.wait_for_stage("count-in")
    coach.wait_for_stage("result")
    coach.wait_for(lambda _: coach.name() != who, "the next athlete")
    second = coach.name()
    coach.press("w")
    coach.wait_for(lambda screen: "Who goes now?" in screen, "a question")
    coach.press("1")
    coach.wait_for(lambda _: coach.name() not in (who, second), "a swap")
    coach.press("x")
    coach.wait_for(lambda screen: "X again ends" in screen, "a question")
    coach.press("x")
    coach.wait_for(lambda screen: "See someone qualified" in screen, "advice")
    coach.press("s")
    coach.wait_for(lambda _: coach.name() == second, "a skip")


@posix
@pytest.mark.slow
@pytest.mark.timeout(240)
def test_a_coach_leads_a_session_with_keys_alone(tmp_path: Path) -> None:
    with terminal(tmp_path, "--cue", "snap", "--cue", "hip first") as (coach, settings):
        coach.wait_for_stage("ready")
        assert "cues: 1 snap, 2 hip first" in coach.screen
        assert "Keys: space go, r redo, b stop, s skip, w swap, p pause" in coach.screen
        lead(coach)
        coach.press("q")
        assert coach.process.wait(WITHIN_S) == 1  # the plan is not over
        coach.read()
        assert "Take it up again with --resume." in coach.text
        assert "Traceback" not in coach.text
    assert settings[0] == settings[1]  # the terminal is as it was found
    with contextlib.closing(open_store(tmp_path / "data")) as store:
        (session,) = History(store).sessions()
        reps = History(store).reps(session.id)
        point = Training(store).resume_point(session.id)
    assert [(rep.turn, rep.attempt, rep.is_kept) for rep in reps] == [
        *((1, 1, False), (2, 1, False), (2, 2, True)),
    ]
    assert [rep.cue for rep in reps] == ["", "hip first", ""]
    assert point.done == {2}
    assert point.closed == {1: Closing.UNDONE, 5: Closing.PAIN, 6: Closing.SKIPPED}
