"""Kill a restore at random moments and at every step: `python -m ... restore_kills --n 50`.

Each time the data folder is opened again by the next program. It then has to hold the old
state or the new one, whole, and nothing half done: `old` and `new` below. At random moments the
command is killed from outside; at every step it kills itself (SIGKILL) before the n-th time
that it opens, makes, moves or removes a file. Anything else fails.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sys
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from strikebridge.cli import run
from strikebridge.safekeeping.backup import make_backup
from strikebridge.safekeeping.contents import WORK, set_aside
from strikebridge.safekeeping.exchange import JOB
from strikebridge.safekeeping.restore import restore_backup
from strikebridge.safekeeping.settling import settle
from tests.safekeeping.made import fill, state_of

if TYPE_CHECKING:
    from collections.abc import Callable

assert sys.platform != "win32", "it forks and kills as POSIX does"
STEPS = ("open", "os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.link", "os.utime")
"""Audit events of Python at which a file is touched (docs.python.org, Audit events table)."""


@dataclass(frozen=True, slots=True)
class Case:
    """An old state, a backup of a new one, and what both look like.

    Attributes:
        folder: has the data folder `old` and the file `new.zip`.
        old: sums of the old state.
        new: sums of the new state.
    """

    folder: Path
    old: dict[str, str]
    new: dict[str, str]

    @property
    def backup(self) -> Path:
        """The backup of the new state."""
        return self.folder / "new.zip"


def prepare(folder: Path, *, noise_bytes: int = 0) -> Case:
    """Make an old state and a backup of a new one.

    Args:
        folder: an empty folder.
        noise_bytes: length of a recording of noise in the new state, so that it takes a while.
    """
    old, new = folder / "old", folder / "new"
    fill(old)
    fill(new, turns=5)
    (old / "checks" / "only-old.jsonl").write_bytes(b"{}\n")
    (old / "plates.csv").unlink()
    shutil.rmtree(new / "points")
    noise = random.Random(1).randbytes(noise_bytes)
    (new / "recordings" / "noise.jsonl").write_bytes(noise.replace(b"\n", b" ") + b"\n")
    case = Case(folder, state_of(old), state_of(new))
    make_backup(new, case.backup)
    shutil.rmtree(new)
    return case


def look(case: Case, data: Path) -> str:
    """Open a data folder as the next program does, and say which state it holds."""
    settle(data)
    assert not (data / JOB).exists(), "a restore is still unfinished"
    assert not (data / WORK).exists(), "something half ready is left over"
    aside = set_aside(data)
    state = state_of(data)
    if state == case.old:
        assert not aside, "the old state is in place, and something is set aside"
        return "old"
    assert state == case.new, f"neither old nor new: {sorted(state)}"
    assert len(aside) == 1, "the new state is in place, and the old one was not kept"
    assert state_of(aside[0]) == case.old, "the old state was not kept whole"
    return "new"


def start(case: Case, data: Path) -> int:
    """Start the command in a copy of this process, and give its id."""
    child = os.fork()
    if child == 0:
        with Path(os.devnull).open("w") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            os._exit(run(["restore", str(case.backup), "--data", str(data)]))
    return child


def kill_at_random(case: Case, times: int, draw: random.Random) -> Counter[str]:
    """Kill the command from outside at random moments, and count how things stood then."""
    found: Counter[str] = Counter()
    data = case.folder / "data"
    longest_s = 0.0
    for number in range(times + 1):
        shutil.copytree(case.folder / "old", data)
        child = start(case, data)
        began_s = time.monotonic()
        if number:
            time.sleep(draw.uniform(0.0, longest_s))
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        if number:
            how = "killed" if os.WIFSIGNALED(status) else "was over"
            found[f"{how}, {look(case, data)}"] += 1
        else:  # once to its end, to know how long it takes
            assert os.WEXITSTATUS(status) == 0, "the restore failed"
            longest_s = time.monotonic() - began_s
        shutil.rmtree(data)
    return found


def kill_at_step(job: Callable[[], object], step: int) -> bool:
    """Do a job in a copy of this process that kills itself before a step, if it gets so far.

    Args:
        job: what is done.
        step: which touch of a file, from 1.

    Returns:
        True if it was killed, False if it came to its end before.
    """
    child = os.fork()
    if child == 0:
        left = step

        def count(event: str, _: tuple[object, ...]) -> None:
            nonlocal left
            if event in STEPS:
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(count)
        code = 1
        try:
            job()
            code = 0
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return True
    assert os.WEXITSTATUS(status) == 0, "the job failed"
    return False


def kill_at_every_step(
    begin: Path, job: Callable[[Path], object], look_at: Callable[[Path], str], each: int
) -> tuple[Counter[str], int]:
    """Kill a job before every so many steps, each time from the same beginning.

    Args:
        begin: a data folder to begin with.
        job: what is done in a copy of it.
        look_at: says how a data folder stands afterwards.
        each: 1 for every step.

    Returns:
        How things stood, and how many steps there are.
    """
    found: Counter[str] = Counter()
    data = begin.parent / "data"
    step = 1
    while True:
        shutil.copytree(begin, data)
        is_killed = kill_at_step(lambda: job(data), step)
        found[look_at(data)] += is_killed
        shutil.rmtree(data)
        if not is_killed:
            return found, step
        step += each


def main() -> None:
    """Run the campaign, print what came of it, and fail where anything is broken."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--n", type=int, default=50)
    parser.add_argument("--each", type=int, default=1)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with TemporaryDirectory() as folder:
        steps_in, random_in = Path(folder, "steps"), Path(folder, "random")
        case = prepare(steps_in)
        steps, last = kill_at_every_step(
            case.folder / "old",
            lambda data: restore_backup(data, case.backup),
            lambda data: look(case, data),
            options.each,
        )
        sys.stdout.write(
            f"before its {last} steps, every {options.each}: {steps['old']} times old, "
            f"{steps['new']} times new\n"
        )
        other = prepare(random_in, noise_bytes=10_000_000)
        found = kill_at_random(other, options.n, random.Random(options.seed))
        for how, times in sorted(found.items()):
            sys.stdout.write(f"{options.n} times at random: {times:3} {how}\n")


if __name__ == "__main__":
    main()
