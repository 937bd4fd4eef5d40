"""Cut somebody's turns out of a recording, and leave everybody else's as they were.

A recording names athletes by their random ids only, in the events that say whose turn it is.
What lies between the beginning of a turn and that of the next athlete's is that athlete's: the
raw force, and what was called out and prescribed. It goes, with a note `erased` in its place.
What was said of the board meanwhile stays, for the others' readings mean nothing without it.

A recording holds nothing else by which somebody could be known. Raw force that nobody is named
beside (free repetitions, checks, calibrations) is nobody's and stays.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

import msgspec

from strikebridge.intake import ERASED
from strikebridge.private_files import open_private

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

OF_THE_BOARD = frozenset(
    {
        *("identity", "calibrated", "rated", "baud", "lost", "back", "quiet", "heard"),
        *("fault", "fault_over"),
    }
)
"""Events that tell of the board, and of nobody at it."""
_IS_EVENT = b'"event":'  # inside of a text its quotation marks would be escaped


class _Line(msgspec.Struct):
    at_us: int
    event: str
    detail: dict[str, Any] = {}


_decode = msgspec.json.Decoder(_Line).decode


def names(path: Path, athlete: str) -> bool:
    """Say whether somebody is named in a file.

    Args:
        path: the file.
        athlete: id.

    Raises:
        OSError: it cannot be read.
    """
    wanted = athlete.encode()
    with path.open("rb") as file:
        return any(wanted in line for line in file)


def cut_out(path: Path, athlete: str) -> int:
    """Cut somebody's turns out of a recording; it is replaced whole or not at all.

    Args:
        path: the recording.
        athlete: id.

    Returns:
        How many stretches were cut out.

    Raises:
        OSError: it cannot be read, or the disk refuses; it is unchanged then.
    """
    part = path.with_name(path.name + ".part")
    changed_ns = path.stat().st_mtime_ns
    cut = 0
    try:
        with path.open("rb") as file, open_private(part, "wb") as fresh:
            for line, is_note in _without(file, athlete.encode()):
                cut += is_note
                fresh.write(line)
            fresh.flush()
            os.fsync(fresh.fileno())
        os.utime(part, ns=(changed_ns, changed_ns))
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return cut


def _without(lines: Iterable[bytes], athlete: bytes) -> Iterator[tuple[bytes, bool]]:
    """Leave out what is theirs, with a note in its place; True beside each note."""
    is_theirs = False
    for number, line in enumerate(lines):  # the first is the header
        event = None if number == 0 or _IS_EVENT not in line else _event(line)
        if event is not None and event.event == "turn":
            was_theirs, is_theirs = is_theirs, athlete in line
            if is_theirs and not was_theirs:
                yield _note(event.at_us), True
        is_kept = not is_theirs or (event is not None and event.event in OF_THE_BOARD)
        if is_kept and athlete not in line:
            yield line, False


def _event(line: bytes) -> _Line | None:
    try:
        return _decode(line)
    except msgspec.MsgspecError:
        return None


def _note(at_us: int) -> bytes:
    return msgspec.json.encode({"at_us": at_us, "event": ERASED, "detail": {}}) + b"\n"
