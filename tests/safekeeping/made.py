"""A data folder with something of everything, and what is in it as one value."""

from __future__ import annotations

import contextlib
import hashlib
from typing import TYPE_CHECKING

from strikebridge.safekeeping.contents import files_of
from strikebridge.store.copying import copy_database
from strikebridge.store.database import FILE, open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.store.made import DAY, INES, JUNO, rep, session

if TYPE_CHECKING:
    from pathlib import Path

HEADER = (
    b'{"strikebridge_recording":1,"board":"typed:","started":"2026-03-01T18:30:00+01:00"}\n'
)
FILES: dict[str, bytes] = {
    "recordings/2026-03-01.jsonl": HEADER + b'{"at_us":5,"text":"1000\\n"}\n',
    "certificates/quay.json": b'{"id": "abc"}\n',
    "checks/quay.jsonl": b'{"kind":"check"}\n',
    "points/quay.csv": b"mass_kg,reading\n20,1000\n",
    "plans/tuesday.toml": b'name = "tuesday"\n',
    "boards.json": b"{}\n",
    "plates.csv": b"name,mass_kg\nA,20\n",
}


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
reps_per_side = 3
sets = 3
rest_s = 2
set_rest_s = 2
"""


def fill(data: Path, *, turns: int = 2) -> None:
    """Put one of everything into a data folder."""
    with contextlib.closing(open_store(data)) as store:
        Roster(store, lambda: DAY).add_all([INES, JUNO])
        training = Training(store, lambda: DAY)
        training.begin(session())
        for turn in range(1, turns + 1):
            training.save(rep(turn))
    for name, content in FILES.items():
        path = data / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)


def database_of(data: Path) -> tuple[object, ...]:
    """Give what the database says: everybody, every session, every rep."""
    with contextlib.closing(open_store(data)) as store:
        history = History(store)
        sessions = history.sessions()
        reps = tuple(one for each in sessions for one in history.reps(each.id))
        return (Roster(store).all(), sessions, reps)


def state_of(data: Path) -> dict[str, str]:
    """Give the sum of every kept file; the database is copied first, so that it is one file."""
    sums = {one.name: _sum(one.path.read_bytes()) for one in files_of(data)}
    if (data / FILE).exists():
        copy = data.parent / f"copy-of-{data.name}"
        copy_database(data, copy)
        sums[FILE] = _sum(copy.read_bytes()[100:])  # its head counts changes of the file
        copy.unlink()
    return sums


def _sum(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
