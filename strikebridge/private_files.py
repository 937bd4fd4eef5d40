"""Files and folders for the user alone, whatever the umask says.

What is kept of people is nobody else's on the same computer: folders are made with 0700 and
files with 0600. On Windows the folders of a user's profile are closed to others by the system
itself, and nothing is done here; a data folder elsewhere has the permissions of its place.
"""

from __future__ import annotations

import os
import stat
import sys
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

FOLDER_MODE = 0o700
FILE_MODE = 0o600
OTHERS = 0o077
"""Everything that others and the group may do."""


def private_folder(path: Path) -> None:
    """Make a folder for the user alone, with its parents; one that is there stays as it is.

    Args:
        path: the folder.

    Raises:
        OSError: it cannot be made.
    """
    missing = [path]
    while not missing[-1].parent.exists():
        missing.append(missing[-1].parent)
    for folder in reversed(missing):
        # One by one: mkdir(parents=True) gives the parents what the umask leaves to others.
        folder.mkdir(exist_ok=True, mode=FOLDER_MODE)


def open_private(path: Path, mode: str, *, is_unbuffered: bool = False) -> IO[Any]:
    """Open a file that is made for the user alone; text is UTF-8 with plain line ends.

    Args:
        path: the file.
        mode: as of `open`.
        is_unbuffered: True to hand each write to the system at once; bytes only.

    Returns:
        The open file.

    Raises:
        OSError: it cannot be opened.
    """
    is_text = "b" not in mode
    return open(
        path,
        mode,
        buffering=0 if is_unbuffered else -1,
        encoding="utf-8" if is_text else None,
        newline="\n" if is_text else None,
        opener=_open_private,
    )


def _open_private(path: str, flags: int) -> int:
    return os.open(path, flags, FILE_MODE)


def is_open_to_others(path: Path) -> bool:
    """Say whether somebody else on this computer may do anything with a file or folder.

    Args:
        path: a file or folder.

    Raises:
        OSError: it is not there, or cannot be asked.
    """
    return sys.platform != "win32" and bool(stat.S_IMODE(path.stat().st_mode) & OTHERS)


def close_to_others(paths: Iterable[Path]) -> int:
    """Take from others what they may do with files and folders; what is gone is passed over.

    Args:
        paths: files and folders.

    Returns:
        How many were open to others and could be closed.
    """
    closed = 0
    for path in paths:
        try:
            if is_open_to_others(path):
                path.chmod(stat.S_IMODE(path.stat().st_mode) & ~OTHERS)
                closed += 1
        except OSError:
            continue  # gone meanwhile, or another user's
    return closed
