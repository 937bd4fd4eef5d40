"""What has to be seen to before a data folder is used: finish what was broken off, close it.

Every command asks for its data folder, and so comes through here first.
"""

from __future__ import annotations

import contextlib
import shutil
from typing import TYPE_CHECKING

from strikebridge.errors import SafekeepingError, StrikebridgeError
from strikebridge.safekeeping.contents import WORK, is_loose, tighten
from strikebridge.safekeeping.exchange import JOB, Exchange, complete, read_job
from strikebridge.safekeeping.one_at_a_time import one_at_a_time

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.safekeeping.exchange import Erasure


def settle(data: Path) -> list[str]:
    """See to a data folder; costs next to nothing where there is nothing to do.

    Args:
        data: the data folder; it need not exist.

    Returns:
        What the coach should know of it, in whole sentences.

    Raises:
        SafekeepingError: a restore that was broken off cannot be finished.
    """
    remarks: list[str] = []
    if is_loose(data):
        tighten(data)
        remarks.append(
            f"Others on this computer could look into {data}. It was closed to them; if "
            "someone else is meant to read it, give that back by hand."
        )
    if (data / JOB).exists():
        remarks += _finish(data)
    elif (data / WORK).exists():
        with contextlib.suppress(SafekeepingError), one_at_a_time(data, wait_s=0.0):
            shutil.rmtree(data / WORK, ignore_errors=True)
    return remarks


def _finish(data: Path) -> list[str]:
    with one_at_a_time(data):
        job = read_job(data)
        if job is None:
            return []  # another program has just finished it
        if isinstance(job, Exchange):
            complete(data, job)
            return ["A restore that was broken off has been finished."]
        return [_finish_erasure(data, job)]


def _finish_erasure(data: Path, job: Erasure) -> str:
    # imported here, for every command comes by and hardly any needs the database's library
    from strikebridge.safekeeping.erasing import finish_erasure  # noqa: PLC0415

    try:
        finish_erasure(data, job)
    except StrikebridgeError as error:
        return f"An erasure is not finished yet. {error}"
    return "An erasure that was broken off has been finished."
