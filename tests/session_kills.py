"""Kill a session at random moments and take it up again: `python -m tests.session_kills 50`.

Each run is a process of its own on a simulated board, killed as soon as its recording has
reached a length drawn at random. What it had said to be done must then be in the database, and
nothing twice. At the end the session is brought to its end, and every hold must be there.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.training import Training

PLAN = """\
name = "short"
mode = "rounds"
order = "rotation"
get_set_s = 1
result_s = 1
change_s = 1

[[block]]
name = "Both straights"
exercises = ["straight"]
seconds = 2
reps_per_side = 2
sets = {sets}
rest_s = 2
set_rest_s = 2
"""
DEADLINE_S = 120.0
LONGEST_BYTES = 250_000  # of the recording, when the run is killed


@dataclass(frozen=True, slots=True)
class Standing:
    """What the database has.

    Attributes:
        session: id of the session.
        turns: turns planned.
        rows: turn and attempt of every rep.
        kept: turns of the reps that count.
        next_turn: where it goes on, None when it is over.
    """

    session: str
    turns: int
    rows: tuple[tuple[int, int], ...]
    kept: tuple[int, ...]
    next_turn: int | None


def start(data: Path, plan: Path, *words: str) -> subprocess.Popen[str]:
    """Run a session in a process of its own."""
    return subprocess.Popen(
        [
            *(sys.executable, "-m", "strikebridge", "session", str(plan), "--headless"),
            *("--board", "simulated:", "--speed", "max", "--data", str(data), *words),
        ],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )


def kill_at(process: subprocess.Popen[str], folder: Path, size: int) -> list[str]:
    """Kill a run when its recording is that long, or let it end; give what it said."""
    known = set(folder.glob("*.jsonl")) if folder.exists() else set()
    deadline = time.monotonic() + DEADLINE_S
    while process.poll() is None and time.monotonic() < deadline:
        new = [one for one in folder.glob("*.jsonl") if one not in known]
        if new and new[0].stat().st_size >= size:
            process.kill()
            break
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(0.01)
    out, _ = process.communicate(timeout=DEADLINE_S)
    return out.splitlines()


def standing(data: Path, session: str | None = None) -> Standing | None:
    """Look into the database; None where no session has begun."""
    with contextlib.closing(open_store(data)) as store:
        training = Training(store)
        found = [one.id for one in training.unfinished()] if session is None else [session]
        if not found:
            return None
        point = training.resume_point(found[0])
        reps = History(store).reps(found[0])
        rows = tuple((rep.turn, rep.attempt) for rep in reps)
        kept = tuple(rep.turn for rep in reps if rep.is_kept)
        return Standing(found[0], point.session.turns, rows, kept, point.next_turn)


def campaign(folder: Path, kills: int, *, sets: int, seed: int = 1) -> tuple[Standing, int]:
    """Kill a session so often, then let it end.

    Returns:
        What the database has at the end, and how many kills met a session under way.

    Raises:
        AssertionError: a rep was lost, or is there twice.
    """
    chance = np.random.default_rng(seed)
    plan, data = folder / "short.toml", folder / "data"
    plan.write_text(PLAN.format(sets=sets))
    before: Standing | None = None
    met = 0
    for _ in range(kills):
        words = [] if before is None else ["--resume"]
        size = int(chance.integers(1000, LONGEST_BYTES))
        said = kill_at(start(data, plan, *words), data / "recordings", size)
        now = standing(data, None if before is None else before.session)
        done = sum(" kg   " in line for line in said)
        check(before, now, done)
        before = now
        if now is not None and now.next_turn is None:
            break
        met += now is not None
    words = [] if before is None else ["--resume"]
    if before is None or before.next_turn is not None:
        out, _ = start(data, plan, *words).communicate(timeout=4 * DEADLINE_S)
        assert "Everything is saved." in out, out
        before = standing(data, None if before is None else before.session)
    assert before is not None
    return before, met


def check(before: Standing | None, now: Standing | None, done: int) -> None:
    """Hold a killed run against the database before and after it."""
    if now is None:
        assert before is None
        assert done == 0
        return
    assert len(set(now.rows)) == len(now.rows), "an attempt is there twice"
    assert len(set(now.kept)) == len(now.kept), "two reps count for one turn"
    had = () if before is None else before.rows
    assert set(had) <= set(now.rows), "what was there is gone"
    assert len(now.rows) - len(had) >= done, "what was said to be done is not there"
    closed = now.turns if now.next_turn is None else now.next_turn - 1
    assert set(now.kept) <= set(range(1, closed + 1)), "it goes on before what is done"


def main() -> None:
    """Run the campaign and print what came of it."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    with TemporaryDirectory() as folder:
        began_s = time.monotonic()
        end, met = campaign(Path(folder), kills, sets=min(10, max(1, kills // 4)))
        sys.stdout.write(
            f"{met} of {kills} kills met a session under way, {end.turns} turns planned, "
            f"{len(end.kept)} kept, "
            f"{len(end.rows)} rows, next open turn {end.next_turn}, "
            f"{time.monotonic() - began_s:.0f} s\n"
        )


if __name__ == "__main__":
    main()
