"""What a disk does and refuses: forcing names to it, reading back, and words for a coach."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

FULL = (errno.ENOSPC, errno.EDQUOT)


def disk_words(path: Path, error: OSError, kept: str) -> str:
    """Say in words why a file cannot be written.

    Args:
        path: the file.
        error: what the system said.
        kept: sentence on what is safe.
    """
    if error.errno in FULL:
        return f"The disk of {path} is full. {kept} Make room, or choose another disk."
    if error.errno == errno.EFBIG:
        return (
            f"The disk of {path} takes no file of that size. {kept} Choose another disk, or "
            "have this one formatted as exFAT."
        )
    where = error.filename or path
    return f"{where} cannot be read or written ({error.strerror}). {kept} Check the disk."


def sync_folder(folder: Path) -> None:
    """Force names that came or went to the disk; Windows does so by itself.

    Args:
        folder: the folder they are in.

    Raises:
        OSError: the disk does not answer.
    """
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            with contextlib.suppress(OSError):  # some network disks cannot
                os.fsync(handle)
        finally:
            os.close(handle)


def forget_cached(handle: int) -> None:
    """Have a file read from the disk next time, not from what the system still has of it.

    Args:
        handle: of the open file, written and forced to the disk.
    """
    if sys.platform == "linux":
        os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)


def give_name(part: Path, path: Path) -> None:
    """Give a finished file its name, never that of another one.

    Args:
        part: the file; where the disk knows links it also keeps this name.
        path: its name.

    Raises:
        OSError: there is a file of this name, or the disk refuses.
    """
    try:
        path.hardlink_to(part)
    except FileExistsError:
        raise
    except OSError:  # a stick knows no links
        if path.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
        part.rename(path)
    sync_folder(path.parent)
