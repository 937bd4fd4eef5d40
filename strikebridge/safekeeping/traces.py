"""Look for somebody in every byte of what the program keeps, whatever the file is."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from strikebridge.club.athlete import name_key
from strikebridge.safekeeping.contents import CONTENTS, set_aside
from strikebridge.safekeeping.exchange import JOB
from strikebridge.safekeeping.outside import FILE as OUTSIDE
from strikebridge.store.place import LOGS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

BLOCK_BYTES = 2**20
SHORTEST_NAME = 4  # letters; a shorter one is found in any noise


def find_traces(data: Path, athlete: str, name: str) -> list[Path]:
    """Name every file that still holds an athlete's id or name, in its name or inside.

    Args:
        data: the data folder.
        athlete: id.
        name: name; it is looked for whatever its capitals, as text and as JSON writes it.

    Returns:
        The files, in order.

    Raises:
        OSError: a file cannot be read.
    """
    wanted = [athlete]
    if len(name) >= SHORTEST_NAME:
        wanted += [name, name_key(name)]
        wanted += [json.dumps(one)[1:-1] for one in (name, name_key(name))]
    either = re.compile(
        b"|".join(re.escape(one.encode()) for one in dict.fromkeys(wanted)), re.IGNORECASE
    )
    longest = max(len(one.encode()) for one in wanted)
    return [
        path
        for path in _all_files(data)
        if either.search(path.name.encode()) or _holds(path, either, longest)
    ]


def _all_files(data: Path) -> Iterator[Path]:
    tops = [data / name for name in (*CONTENTS, *LOGS, OUTSIDE, JOB)]
    for top in (*tops, *set_aside(data)):
        if top.is_dir():
            yield from sorted(path for path in top.rglob("*") if path.is_file())
        elif top.is_file():
            yield top


def _holds(path: Path, either: re.Pattern[bytes], longest: int) -> bool:
    held = b""
    with path.open("rb") as file:
        while block := file.read(BLOCK_BYTES):
            if either.search(held + block):
                return True
            held = block[-longest:]
    return False
