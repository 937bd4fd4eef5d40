"""Kill a session at random moments and go on: `python -m tests.session_kills --n 50`.

Each run is a process of its own that leads the six invented athletes through taper-day on a
simulated board. It is killed (SIGKILL on Linux and macOS) while it starts, at a random time, or
as soon as its recording has grown to a random size. Then the database is looked into: what was
said to be done is there, nothing is there twice, and the next run begins with the first turn
that is open. A session that comes to its end is followed by a new one. The last one is led to
its end, and each of its planned turns must be there once, as the plan has it.

The exit code is 1 when anything of this does not hold.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import re
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from strikebridge.recording import RecordingReader
from strikebridge.samples import Event
from strikebridge.session.exercises import EXERCISES
from strikebridge.session.plan import Plan
from strikebridge.session.turns import turns_of
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from strikebridge.club.training import RepRecord
    from strikebridge.session.turns import Turn

DEADLINE_S = 120.0
START_UP_S = 3.0  # of a run, on a laptop: imports, database, window-less board
START_UP_SHARE = 0.2  # of the kills
LONGEST_BYTES = 800_000  # of the recording, when a run is killed; a session has some 12 MB
LINE = re.compile(r"(.+?)   (.+?)   set (\d+) of \d+, rep (\d+)   (.* kg   .*|[\d.]+ s done)")


@dataclass(frozen=True, slots=True)
class Standing:
    """What the database has of the session under way.

    Attributes:
        session: its id.
        turns: every turn of its plan.
        names: id -> name of each athlete.
        reps: every attempt on record.
        next_turn: where it goes on, None when it is over.
    """

    session: str
    turns: tuple[Turn, ...]
    names: Mapping[str, str]
    reps: tuple[RepRecord, ...]
    next_turn: int | None

    @property
    def kept(self) -> list[int]:
        """Turns of the reps that count."""
        return [rep.turn for rep in self.reps if rep.is_kept]

    @property
    def attempts(self) -> list[tuple[int, int]]:
        """Turn and attempt of every rep."""
        return [(rep.turn, rep.attempt) for rep in self.reps]


@dataclass(frozen=True, slots=True)
class Kill:
    """What one kill left behind.

    Attributes:
        moment: when it came.
        stage: the last thing that the recording says.
        said: turns that were said to be done.
        recorded: turns that the recording says were done.
        began: turn that was called first, None where none was.
        is_over: True where the session had ended before.
    """

    moment: str
    stage: str
    said: frozenset[int]
    recorded: frozenset[int]
    began: int | None
    is_over: bool


@dataclass(frozen=True, slots=True)
class Found:
    """What is wrong after a kill, all of it empty where nothing is.

    Attributes:
        lost: turns that were said to be done, or had been there, and are not.
        twice: turns with two reps that count, or the same attempt twice.
        wrong: sentences about what began or goes on at the wrong place.
        again: turns whose rep ended in the moment of the kill, so that they come again.
    """

    lost: frozenset[int]
    twice: frozenset[int]
    wrong: tuple[str, ...]
    again: frozenset[int]

    @property
    def is_broken(self) -> bool:
        """Say whether a promise was broken; a rep that comes again breaks none."""
        return bool(self.lost or self.twice or self.wrong)


def start(data: Path, plan: str, *words: str) -> subprocess.Popen[str]:
    """Run a session in a process of its own."""
    return subprocess.Popen(
        [
            *(sys.executable, "-m", "strikebridge", "session", plan, "--headless"),
            *("--board", "simulated:?seed=4", "--speed", "max", "--data", str(data), *words),
        ],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )


def kill(process: subprocess.Popen[str], folder: Path, within: float, size: int) -> None:
    """Kill a run after so many seconds, or when its new recording is so long."""
    known = set(folder.glob("*.jsonl")) if folder.exists() else set()
    ends_s = time.monotonic() + min(within, DEADLINE_S)
    while process.poll() is None and time.monotonic() < ends_s:
        new = [one for one in folder.glob("*.jsonl") if one not in known]
        if new and new[0].stat().st_size >= size:
            break
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(0.005)
    process.kill()


def standing(data: Path, session: str | None) -> Standing | None:
    """Look into the database for a session, None for the one that is open."""
    if not data.exists():
        return None
    with contextlib.closing(open_store(data)) as store:
        training = Training(store)
        found = [one.id for one in training.unfinished()] if session is None else [session]
        if not found:
            return None
        point = training.resume_point(found[0])
        plan = msgspec.json.decode(point.session.plan_text, type=Plan)
        turns = turns_of(plan, point.session.athletes, EXERCISES)
        names = {one.id: one.name for one in Roster(store).all()}
        return Standing(found[0], turns, names, History(store).reps(found[0]), point.next_turn)


def said_done(lines: Sequence[str], now: Standing) -> set[int]:
    """Read off what was said to be done; the last line may be torn."""
    by_words = {
        (now.names[turn.athlete], turn.exercise.name, turn.set_number, turn.rep_number): (
            turn.number
        )
        for turn in now.turns
    }
    found = [match for line in lines if (match := LINE.fullmatch(line))]
    return {by_words[m[1], m[2], int(m[3]), int(m[4])] for m in found}


def left_behind(moment: str, out: str, recording: Path | None, now: Standing | None) -> Kill:
    """Gather what a killed run said and recorded."""
    said = set() if now is None else said_done(out.split("\n")[:-1], now)
    events: list[Event] = []
    if recording is not None and b"\n" in recording.read_bytes():
        events = [one for one in RecordingReader(recording) if isinstance(one, Event)]
    called = [int(one.detail["turn"] or 0) for one in events if one.kind == "turn"]
    done = {int(one.detail["turn"] or 0) for one in events if one.kind == "done"}
    return Kill(
        moment,
        events[-1].kind if events else "starting",
        frozenset(said),
        frozenset(done),
        called[0] if called else None,
        now is not None and now.next_turn is None,
    )


def judge(before: Standing | None, killed: Kill, now: Standing | None) -> Found:
    """Hold what a killed run said against the database before and after it.

    Args:
        before: the session before the run, None where a new one was begun.
        killed: what it said and recorded.
        now: the session after it, None where none had begun.
    """
    if now is None:
        return Found(killed.said, frozenset(), (), frozenset())
    had = set() if before is None else set(before.attempts)
    lost = (killed.said - set(now.kept)) | {turn for turn, _ in had - set(now.attempts)}
    wrong = []
    first = 1 if before is None else before.next_turn
    if killed.began not in (None, first):
        wrong.append(f"began with turn {killed.began}, not {first}")
    over = len(now.turns) if now.next_turn is None else now.next_turn - 1
    if not set(now.kept) <= set(range(1, over + 1)):
        wrong.append(f"goes on at turn {now.next_turn}, and later ones are done")
    again = killed.recorded - set(now.kept)
    return Found(frozenset(lost), _twice(now), tuple(wrong), again)


def _twice(now: Standing) -> frozenset[int]:
    """Name turns with two reps that count, or with the same attempt twice."""
    turns, attempts = now.kept, now.attempts
    return frozenset(
        [one for one in turns if turns.count(one) > 1]
        + [one[0] for one in attempts if attempts.count(one) > 1]
    )


def end_faults(end: Standing) -> list[str]:
    """Say what a session that came to its end lacks, against its plan."""
    faults = [] if end.next_turn is None else [f"turn {end.next_turn} is still open"]
    kept = {rep.turn: rep for rep in end.reps if rep.is_kept}
    for turn in end.turns:
        rep = kept.get(turn.number)
        planned = (turn.athlete, turn.exercise.key, turn.set_number, turn.rep_number)
        if rep is None:
            faults.append(f"turn {turn.number} is not there")
        elif planned != (rep.athlete, rep.exercise, rep.set_number, rep.rep_number):
            faults.append(f"turn {turn.number} is another one's")
        elif turn.is_measured and not (rep.measures and rep.certificate and rep.recording):
            faults.append(f"turn {turn.number} is not whole")
    return faults


class Campaign:
    """Kill sessions in one data folder.

    Attributes:
        faults: every broken promise in words.
        now: the session under way, None where none is.
        met: kills that met a session under way.
        again: reps that ended in the moment of a kill.
    """

    def __init__(self, folder: Path, plan: str = "taper-day", seed: int = 1) -> None:
        """Begin with an empty folder."""
        self.faults: list[str] = []
        self.now: Standing | None = None
        self.met = self.again = 0
        self._data, self._plan = folder / "data", plan
        self._chance = np.random.default_rng(seed)

    def kill_once(self, longest: int = LONGEST_BYTES, *words: str) -> str:
        """Start or take up a session, kill it, and look.

        Args:
            longest: size of the recording up to which it is killed.
            words: more of the command for a new session.

        Returns:
            A line of the table.
        """
        folder = self._data / "recordings"
        known = set(folder.glob("*.jsonl")) if folder.exists() else set()
        within_s, size, moment = DEADLINE_S, int(self._chance.integers(0, longest)), ""
        if self._chance.random() < START_UP_SHARE:
            within_s, size = float(self._chance.uniform(0.0, START_UP_S)), sys.maxsize
            moment = f"{within_s:.2f} s"
        before = self.now
        process = start(self._data, self._plan, *(words if before is None else ["--resume"]))
        kill(process, folder, within_s, size)
        out, _ = process.communicate(timeout=DEADLINE_S)
        now = standing(self._data, None if before is None else before.session)
        new = set(folder.glob("*.jsonl")) - known if folder.exists() else set()
        killed = left_behind(moment or f"{size} B", out, next(iter(new), None), now)
        found = judge(before, killed, now)
        self.met += now is not None and not killed.is_over
        self.again += len(found.again)
        if found.is_broken:
            self.faults.append(f"{killed.moment}: {found}")
        if now is not None and now.next_turn is None:
            self.faults += end_faults(now)
        self.now = None if now is None or now.next_turn is None else now
        n, kept = (len(now.attempts), len(now.kept)) if now is not None else (0, 0)
        return (
            f"{killed.moment:>9}  {killed.stage:12}  {killed.began or '-':>6}  "
            f"{len(killed.said):4}  {n:7}  {kept:4}  {len(found.lost):4}  "
            f"{len(found.twice):5}  {len(found.wrong):5}  {len(found.again):5}  "
            f"{'over' if now is not None and now.next_turn is None else _next(now):>4}"
        )

    def finish(self) -> Standing:
        """Lead the last session to its end, and hold it against its plan."""
        session = None if self.now is None else self.now.session
        words = [] if session is None else ["--resume"]
        out, _ = start(self._data, self._plan, *words).communicate(timeout=4 * DEADLINE_S)
        if "Everything is saved." not in out:
            self.faults.append(f"the last run ended with: {out[-300:]}")
        if session is None:
            with contextlib.closing(open_store(self._data)) as store:
                session = History(store).sessions()[0].id
        end = standing(self._data, session)
        assert end is not None
        self.faults += end_faults(end)
        return end


def _next(now: Standing | None) -> str:
    return "-" if now is None else str(now.next_turn)


HEAD = (
    " n  killed at  last event     began  said  on disk  kept  lost  twice  wrong  again  next"
)


def main() -> int:
    """Run the campaign and print what came of it; 1 when a promise was broken."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--n", type=int, default=50)
    parser.add_argument("--plan", default="taper-day")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    began_s = time.monotonic()
    with TemporaryDirectory() as folder:
        campaign = Campaign(Path(folder), options.plan, options.seed)
        sys.stdout.write(HEAD + "\n")
        for number in range(1, options.n + 1):
            sys.stdout.write(f"{number:2}  {campaign.kill_once()}\n")
            sys.stdout.flush()
        end = campaign.finish()
    sys.stdout.write(
        f"{campaign.met} of {options.n} kills met a session under way. The last one: "
        f"{len(end.turns)} turns planned, {len(end.kept)} kept, {len(end.reps)} attempts. "
        f"{campaign.again} reps ended in the moment of a kill and came again. "
        f"{len(campaign.faults)} faults. {time.monotonic() - began_s:.0f} s\n"
    )
    for fault in campaign.faults:
        sys.stdout.write(fault + "\n")
    return 1 if campaign.faults else 0


if __name__ == "__main__":
    sys.exit(main())
