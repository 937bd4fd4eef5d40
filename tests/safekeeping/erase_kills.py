"""Kill an erasure at every step: `python -m tests.safekeeping.erase_kills --each 1`.

Before each step at which it opens, makes, moves or removes a file it kills itself (SIGKILL).
When the data folder is opened again, either nothing has happened yet and everything is there,
or the erasure is finished then: no byte of the athlete is left, and everybody else is whole.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from strikebridge.safekeeping.contents import WORK
from strikebridge.safekeeping.erasing import erase, find_for_erasure
from strikebridge.safekeeping.exchange import JOB
from strikebridge.safekeeping.settling import settle
from strikebridge.safekeeping.traces import find_traces
from tests.safekeeping.made import FILES, HEADER, database_of, fill
from tests.store.made import INES, JUNO

assert sys.platform != "win32", "it forks and kills as POSIX does"

from tests.safekeeping.restore_kills import kill_at_every_step  # noqa: E402 - after that

TURN = b'{"at_us":%d,"event":"turn","detail":{"athlete":"%b"}}\n'
THEIRS = TURN % (7, INES.id.encode()) + b'{"at_us":8,"text":"2000\\n"}\n'
OTHERS = TURN % (9, JUNO.id.encode()) + b'{"at_us":10,"text":"3000\\n"}\n'
NOTE = b'{"at_us":7,"event":"erased","detail":{}}\n'


def prepare(data: Path) -> None:
    """Make a data folder with somebody in the database and in two recordings."""
    fill(data)
    for name in ("2026-03-01", "2026-03-02"):
        (data / "recordings" / f"{name}.jsonl").write_bytes(HEADER + THEIRS + OTHERS)


def do(data: Path) -> None:
    """Erase."""
    athlete, held = find_for_erasure(data, INES.id)
    erase(data, athlete, held)


def look(data: Path) -> str:
    """Open a data folder as the next program does, and say how it stands."""
    settle(data)
    assert not (data / JOB).exists(), "the erasure is still unfinished"
    assert not (data / WORK).exists(), "something half ready is left over"
    athletes, _, reps = database_of(data)
    assert isinstance(reps, tuple)
    recordings = {path.read_bytes() for path in (data / "recordings").glob("*.jsonl")}
    if athletes == (INES, JUNO):
        assert len(reps) == 2
        assert recordings == {HEADER + THEIRS + OTHERS}
        return "not begun"
    assert athletes == (JUNO,), "somebody else is gone"
    assert recordings == {HEADER + NOTE + OTHERS}, "a recording is not what it should be"
    assert find_traces(data, INES.id, INES.name) == []
    assert all(
        (data / name).read_bytes() == content
        for name, content in FILES.items()
        if not name.startswith("recordings")
    )
    return "erased"


def main() -> None:
    """Run the campaign and print what came of it; anything else fails."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--each", type=int, default=1)
    options = parser.parse_args()
    with TemporaryDirectory() as folder:
        begin = Path(folder, "begin")
        prepare(begin)
        found, last = kill_at_every_step(begin, do, look, options.each)
    sys.stdout.write(
        f"before its {last} steps, every {options.each}: {found['not begun']} times not begun, "
        f"{found['erased']} times erased\n"
    )


if __name__ == "__main__":
    main()
