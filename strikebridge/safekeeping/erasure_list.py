"""Who was erased and when, without a name and without an id: one line each.

An id is turned into a mark that cannot be turned back. By it a backup of earlier days that is
put in place is cleared of that athlete again; it tells nothing to whoever reads the list.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import msgspec

from strikebridge.errors import SafekeepingError
from strikebridge.private_files import open_private
from strikebridge.safekeeping.contents import ERASURES

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path


class ErasedLine(msgspec.Struct, frozen=True, kw_only=True):
    """One erasure.

    Attributes:
        at: day, as 2026-03-01.
        mark: of the athlete, from `outside.mark_of`.
        sessions: sessions this athlete took part in.
        reps: reps that were removed.
        recordings: recordings that something was cut out of.
        files: files outside of the data folder that were removed.
    """

    at: str
    mark: str
    sessions: int
    reps: int
    recordings: int
    files: int


_encode = msgspec.json.Encoder().encode
_decode = msgspec.json.Decoder(ErasedLine).decode


def read_erasures(data: Path) -> list[ErasedLine]:
    """List the erasures, oldest first; a torn line is passed over.

    Args:
        data: the data folder.

    Raises:
        SafekeepingError: the list is there and cannot be read.
    """
    try:
        lines = (data / ERASURES).read_bytes().splitlines()
    except FileNotFoundError:
        return []
    except OSError as error:
        raise _refused(data, error) from error
    found = []
    for line in lines:
        try:
            found.append(_decode(line))
        except msgspec.MsgspecError:
            continue
    return found


def add_erasures(data: Path, more: Sequence[ErasedLine]) -> None:
    """Add erasures to the list, each athlete once; the first line stands.

    Args:
        data: the data folder.
        more: what to add.

    Raises:
        SafekeepingError: the list cannot be written; it is unchanged.
    """
    known = {one.mark: one for one in reversed([*read_erasures(data), *more])}
    path = data / ERASURES
    fresh = path.with_name(path.name + ".new")
    try:
        with open_private(fresh, "wb") as file:
            for one in sorted(known.values(), key=lambda one: one.at):
                file.write(_encode(one) + b"\n")
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    except OSError as error:
        raise _refused(data, error) from error


def _refused(data: Path, error: OSError) -> SafekeepingError:
    return SafekeepingError(
        f"The list {data / ERASURES} cannot be read or written ({error.strerror}). Check who "
        "owns it."
    )
