"""One backup, restore or erasure at a time; a killed one lets go by itself."""

from __future__ import annotations

import contextlib
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
    from collections.abc import Iterator
    from pathlib import Path

LOCK = "safekeeping.lock"
LOOK_EVERY_S = 0.02
WAIT_S = 10.0


@contextlib.contextmanager
def one_at_a_time(data: Path, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold a data folder for one job of safekeeping.

    Args:
        data: the data folder; it is made if need be.
        wait_s: how long to wait for another one [s].

    Raises:
        SafekeepingError: another one is under way, or the folder cannot be written.
    """
    try:
        private_folder(data)
        file = open_private(data / LOCK, "ab")
    except OSError as error:
        raise SafekeepingError(
            f"The data folder {data} cannot be written ({error.strerror}). Nothing was "
            "changed. Check who owns it, or choose another one with --data."
        ) from error
    with file:
        deadline_s = time.monotonic() + wait_s
        while not _take(file.fileno()):
            if time.monotonic() > deadline_s:
                raise SafekeepingError(
                    "Another backup, restore or erasure is under way here. Nothing was "
                    "changed. Wait for its end, then try again."
                )
            time.sleep(LOOK_EVERY_S)
        yield


def _take(handle: int) -> bool:
    """Take the lock; the system lets go of it when the file is closed."""
    try:
        if sys.platform == "win32":
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
