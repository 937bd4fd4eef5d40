"""One backup, restore or erasure at a time, and no restore while anything is recorded.

Two files of the data folder are locked by the system's own locks; a killed program lets go of
them by itself. Safekeeping holds the one alone. Whatever records holds the other together with
all that record, and a restore holds it alone: what is being written would go on in the folder
that was set aside.
"""

from __future__ import annotations

import contextlib
import os
import sys
import time
from typing import TYPE_CHECKING

from strikebridge.errors import SafekeepingError
from strikebridge.private_files import open_private, private_folder

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

LOCK = "safekeeping.lock"
RECORDING = "recording.lock"
LOOK_EVERY_S = 0.02
WAIT_S = 10.0
CLOSING_S = 1.0  # for a program that is just closing
SEATS = 64
"""How many may record at once on Windows, where each locks a byte of its own."""
ANOTHER = (
    "Another backup, restore or erasure is under way here. Nothing was changed. Wait for its "
    "end, then try again."
)
RESTORING = "A restore is under way in the data folder. Wait for its end, then try again."
IS_RECORDED = (
    "The data folder is in use: something is being recorded there, or a window is open. "
    "Nothing was changed. End it, then try again."
)


@contextlib.contextmanager
def one_at_a_time(data: Path, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold a data folder for one job of safekeeping.

    Args:
        data: the data folder; it is made if need be.
        wait_s: how long to wait for another one [s].

    Raises:
        SafekeepingError: another one is under way, or the folder cannot be written.
    """
    with _held(data, LOCK, _take_alone, wait_s, ANOTHER):
        yield


@contextlib.contextmanager
def recording_in(data: Path) -> Iterator[None]:
    """Keep a restore away from a data folder as long as something is recorded there.

    Args:
        data: the data folder; it is made if need be. A restore is waited for some seconds.

    Raises:
        SafekeepingError: a restore is under way, or the folder cannot be written.
    """
    with _held(data, RECORDING, _take_together, WAIT_S, RESTORING):
        yield


@contextlib.contextmanager
def nobody_records(data: Path, wait_s: float = CLOSING_S) -> Iterator[None]:
    """Keep everybody from recording into a data folder, if nobody does.

    Args:
        data: the data folder; it is made if need be.
        wait_s: how long to wait for somebody [s].

    Raises:
        SafekeepingError: something is recorded, or the folder cannot be written.
    """
    with _held(data, RECORDING, _take_alone, wait_s, IS_RECORDED):
        yield


@contextlib.contextmanager
def _held(
    data: Path, name: str, take: Callable[[int], bool], wait_s: float, words: str
) -> Iterator[None]:
    """Hold one of the two files; the system lets go of it when it is closed."""
    try:
        private_folder(data)
        file = open_private(data / name, "ab")
    except OSError as error:
        raise SafekeepingError(
            f"The data folder {data} cannot be written ({error.strerror}). Nothing was "
            "changed. Check who owns it, or choose another one with --data."
        ) from error
    with file:
        deadline_s = time.monotonic() + wait_s
        while not take(file.fileno()):
            if time.monotonic() > deadline_s:
                raise SafekeepingError(words)
            time.sleep(LOOK_EVERY_S)
        yield


def _take_alone(handle: int) -> bool:
    """Take a file where nobody else has it."""
    try:
        if sys.platform == "win32":
            _lock_bytes(handle, 0, SEATS)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _take_together(handle: int) -> bool:
    """Take a file beside others who take it like that."""
    if sys.platform == "win32":
        for seat in range(SEATS):
            with contextlib.suppress(OSError):
                _lock_bytes(handle, seat, 1)
                return True
    else:
        with contextlib.suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
            return True
    return False


if sys.platform == "win32":

    def _lock_bytes(handle: int, first: int, count: int) -> None:
        os.lseek(handle, first, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, count)
