"""Look for somebody in every byte of what the program keeps, whatever the file is."""

from __future__ import annotations

import html
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


class Traces:
    """What somebody is known by, to be looked for in files."""

    def __init__(self, athlete: str, name: str) -> None:
        """Say what to look for.

        Args:
            athlete: id.
            name: name; it is looked for whatever its capitals, as text, and as JSON and HTML
                write it. One of three letters is not looked for at all.
        """
        wanted = [athlete]
        if len(name) >= SHORTEST_NAME:
            for one in (
                name,
                name_key(name),
                name.upper(),
            ):  # bytes have capitals in ASCII only
                wanted += [one, json.dumps(one)[1:-1], html.escape(one)]
        words = [one.encode() for one in dict.fromkeys(wanted)]
        self._either = re.compile(b"|".join(map(re.escape, words)), re.IGNORECASE)
        self._longest = max(map(len, words))

    def are_in(self, path: Path) -> bool:
        """Say whether there is a trace in a file, or in its name.

        Args:
            path: the file.

        Raises:
            OSError: it cannot be read.
        """
        if self._either.search(path.name.encode()):
            return True
        held = b""
        with path.open("rb") as file:
            while block := file.read(BLOCK_BYTES):
                if self._either.search(held + block):
                    return True
                held = block[-self._longest :]
        return False


def find_traces(data: Path, athlete: str, name: str) -> list[Path]:
    """Name every file that still holds an athlete's id or name, in its name or inside.

    Args:
        data: the data folder.
        athlete: id.
        name: name.

    Returns:
        The files, in order.

    Raises:
        OSError: a file cannot be read.
    """
    traces = Traces(athlete, name)
    return [path for path in _all_files(data) if traces.are_in(path)]


def _all_files(data: Path) -> Iterator[Path]:
    tops = [data / name for name in (*CONTENTS, *LOGS, OUTSIDE, JOB)]
    for top in (*tops, *set_aside(data)):
        if top.is_dir():
            yield from sorted(path for path in top.rglob("*") if path.is_file())
        elif top.is_file():
            yield top
