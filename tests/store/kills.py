"""Kill a program that saves reps, again and again: `python -m tests.store.kills --n 50`.

Each time the database is looked into: every rep that was said to be saved is there, once and
whole, and nothing is there twice.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import select
import sqlite3
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from strikebridge.store.database import FILE, open_store
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.store.made import DAY, INES, JUNO, session
from tests.store.saver import MEASURES, TURNS

START_WITHIN_S = 60.0
LONGEST_S = 0.6  # of saving before the kill


@dataclass(frozen=True, slots=True)
class Found:
    """What was in the database after a kill.

    Attributes:
        lost: reps that were said to be saved and are not there.
        twice: turns with more than one rep that counts, or the same attempt twice.
        torn: reps without all their measures, or changed by being handed over again.
        saved: reps that count.
    """

    lost: int
    twice: int
    torn: int
    saved: int


def prepare(data: Path) -> None:
    """Begin a session that is long enough."""
    with contextlib.closing(open_store(data)) as store:
        Roster(store, lambda: DAY).add_all([INES, JUNO])
        Training(store, lambda: DAY).begin(session(turns=TURNS))


def kill_once(data: Path, draw: random.Random) -> set[int]:
    """Start the program, kill it at a random moment, and give what it said to be saved."""
    command = [sys.executable, "-m", "tests.store.saver", str(data)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdout is not None
        ready, _, _ = select.select([program.stdout], [], [], START_WITHIN_S)
        said = [program.stdout.readline()] if ready else []
        end_s = time.monotonic() + draw.uniform(0.0, LONGEST_S)
        while (left_s := end_s - time.monotonic()) > 0.0:
            if select.select([program.stdout], [], [], left_s)[0]:
                said.append(program.stdout.readline())
        program.kill()
        said += program.stdout.readlines()
    assert said[:1] == ["started\n"], "the program did not start"
    return {int(line.split()[1]) for line in said[1:] if line.endswith("\n")}


def look(data: Path, said: set[int]) -> Found:
    """Look into the database without the program."""
    with contextlib.closing(sqlite3.connect(data / FILE)) as at:
        assert at.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert at.execute("PRAGMA foreign_key_check").fetchall() == []
        kept = [turn for (turn,) in at.execute("SELECT turn FROM rep WHERE is_kept")]
        rows = at.execute("SELECT turn, attempt FROM rep").fetchall()
        whole = at.execute(
            "SELECT count(*) FROM rep r WHERE r.sentence <> 'Handed over again.' AND "
            "(SELECT count(*) FROM measure m WHERE m.rep_id = r.id AND "
            "m.value = 1000.0 * r.attempt + r.turn) = ?",
            [MEASURES],
        ).fetchone()[0]
    return Found(
        lost=len(said - set(kept)),
        twice=len(kept) - len(set(kept)) + len(rows) - len(set(rows)),
        torn=len(rows) - whole,
        saved=len(kept),
    )


def main() -> None:
    """Kill as often as wanted and print what was found."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--n", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    draw = random.Random(options.seed)
    said: set[int] = set()
    sys.stdout.write("kill  said saved  on disk  lost  twice  torn\n")
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        prepare(data)
        for number in range(1, options.n + 1):
            said |= kill_once(data, draw)
            found = look(data, said)
            sys.stdout.write(
                f"{number:4}  {len(said):10}  {found.saved:7}  {found.lost:4}  {found.twice:5}"
                f"  {found.torn:4}\n"
            )
            sys.stdout.flush()


if __name__ == "__main__":
    main()
