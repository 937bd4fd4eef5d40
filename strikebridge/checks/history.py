"""What is known of a board over the weeks: its checks and its overloads, one file a board.

JSON Lines, UTF-8, only ever appended to, in the folder `checks` of the data folder:

```
{"kind":"overload","at":"2026-03-02T18:10:00+01:00","board":"simulated 1.0", ... }
{"kind":"check","at":"2026-03-02T18:30:00+01:00","verdict":"good","zero":[8123.4], ... }
```

A line that cannot be read (a crash, a full disk) costs only itself; the reader counts them. An
overload asks for a check: that is no mark of its own but follows from the order of the lines,
so nothing has to be taken back when the check is passed.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

import msgspec

from strikebridge.calibration.shelf import place_of
from strikebridge.errors import CheckError
from strikebridge.private_files import open_private, private_folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

FOLDER = "checks"
OLD_AFTER = timedelta(days=7)
"""A gain is checked before a session; after a week without one it is said. Our own limit."""


class Verdict(StrEnum):
    """What a check ends with, worst last."""

    GOOD = "good"
    ZERO_MOVED = "zero moved"
    GAIN_MOVED = "gain moved"
    CELL_DAMAGED = "cell damaged"


ADVICE: dict[Verdict, str] = {
    Verdict.GOOD: "go ahead",
    Verdict.ZERO_MOVED: "see that the rig hangs free, then run verify once more",
    Verdict.GAIN_MOVED: "calibrate again before you trust a number",
    Verdict.CELL_DAMAGED: "use another cell, or calibrate again and watch its zero",
}
"""What to do, for the end of a sentence."""


class Way(StrEnum):
    """How the gain was checked."""

    PLATE = "plate"
    SCALE = "scale"
    SHUNT = "shunt"
    NONE = "none"


class CheckRecord(msgspec.Struct, frozen=True, kw_only=True, tag_field="kind", tag="check"):
    """One check.

    Attributes:
        at: when, RFC 3339 with offset.
        board: what the board says of itself, in words; may be empty.
        address: where it was plugged in.
        certificate: id of the certificate it was checked against.
        verdict: how it ended.
        way: how the gain was checked.
        zero: mean reading of the untouched rig, one a cell.
        u_zero: standard uncertainty of each of these means, noise and drift of the minute.
        zero_N: the same zero as a force above that of the certificate [N].
        noise_N: SD of a single reading of the untouched rig, cells added [N].
        load_N: what the reference weighs or pulls [N]; None without one.
        gain_error: measured over reference, less one; None where the gain is unchecked.
        gain_u95: expanded uncertainty of that, 99 times in 100 enough; None as above.
    """

    at: str
    board: str = ""
    address: str = ""
    certificate: str
    verdict: Verdict
    way: Way
    zero: tuple[float, ...]
    u_zero: tuple[float, ...]
    zero_N: float
    noise_N: float
    load_N: float | None = None
    gain_error: float | None = None
    gain_u95: float | None = None


class OverloadRecord(
    msgspec.Struct, frozen=True, kw_only=True, tag_field="kind", tag="overload"
):
    """The cell was pushed beyond what it is rated for.

    Attributes:
        at: when, RFC 3339 with offset.
        board: what the board says of itself, in words; may be empty.
        address: where it was plugged in.
        certificate: id of the certificate in use.
        force_N: largest force seen [N].
        rating_N: what the cell is rated for [N].
    """

    at: str
    board: str = ""
    address: str = ""
    certificate: str = ""
    force_N: float
    rating_N: float


HistoryRecord = CheckRecord | OverloadRecord
_decode = msgspec.json.Decoder(HistoryRecord).decode
_encode = msgspec.json.Encoder().encode


@dataclass(frozen=True, slots=True)
class History:
    """Everything on file about one board.

    Attributes:
        records: in the order in which they happened.
        damaged: lines that could not be read.
    """

    records: tuple[HistoryRecord, ...] = ()
    damaged: int = 0

    def checks_against(self, certificate: str) -> tuple[CheckRecord, ...]:
        """List the checks against one certificate.

        Args:
            certificate: its id.

        Returns:
            In the order in which they happened.
        """
        return tuple(
            one
            for one in self.records
            if isinstance(one, CheckRecord) and one.certificate == certificate
        )


def board_file(data: Path, board: str, address: str) -> Path:
    """Name the file of a board.

    Args:
        data: the data folder.
        board: what the board says of itself, of which the first word is its name; empty where
            it says nothing.
        address: where it is plugged in, which names a board that says nothing; its options do
            not matter.

    Returns:
        A path inside `checks`; neither folder nor file need exist.
    """
    said = board.split(" ", 1)[0] or place_of(address)
    name = re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")
    return data / FOLDER / f"{name or 'board'}.jsonl"


def read_history(path: Path) -> History:
    """Read what is on file about a board.

    Args:
        path: from `board_file`.

    Returns:
        The history, empty where there is no file yet.

    Raises:
        CheckError: the file is there and cannot be read.
    """
    if not path.exists():
        return History()
    records: list[HistoryRecord] = []
    damaged = 0
    for line in _lines(path):
        try:
            record = _decode(line)
            datetime.fromisoformat(record.at)
        except ValueError:  # msgspec's errors are ValueErrors
            damaged += 1
        else:
            records.append(record)
    return History(tuple(records), damaged)


def append_record(path: Path, record: HistoryRecord) -> None:
    """Add one line, forced to the disk before returning.

    Args:
        path: from `board_file`; its folder is made for the user alone if need be.
        record: what happened.

    Raises:
        CheckError: it cannot be written.
    """
    try:
        private_folder(path.parent)
        with open_private(path, "ab+") as file:
            end = file.seek(0, os.SEEK_END)
            if end:
                file.seek(end - 1)
            # the torn last line of a crash must not swallow the new one
            start = b"\n" if end and file.read(1) != b"\n" else b""
            file.write(start + _encode(record) + b"\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        msg = (
            f"The history {path} cannot be written ({error.strerror}). What it held is"
            " unchanged. Choose a data folder with room, and check again."
        )
        raise CheckError(msg) from error


def open_overload(history: History, made_at: str) -> OverloadRecord | None:
    """Find an overload that still asks for a check.

    Args:
        history: of the board.
        made_at: when the certificate in use was made, RFC 3339 with offset.

    Returns:
        The newest overload that neither a good check nor a new calibration came after.
    """
    made = datetime.fromisoformat(made_at)
    for record in reversed(history.records):
        if isinstance(record, OverloadRecord):
            return record if datetime.fromisoformat(record.at) > made else None
        if record.verdict is Verdict.GOOD:
            return None
    return None


def standing(history: History, certificate: str, made_at: str, now: datetime) -> str:
    """Say in one sentence what a coach should know of the checks before using a board.

    Args:
        history: of the board.
        certificate: id of the certificate in use.
        made_at: when that was made, RFC 3339 with offset.
        now: the time now, with its zone.

    Returns:
        A sentence, empty where the last check is recent and good.
    """
    overload = open_overload(history, made_at)
    if overload is not None:
        return (
            f"The cell was overloaded {_ago(overload.at, now)} and not found good since:"
            " run verify before you trust a number."
        )
    checks = history.checks_against(certificate)
    if checks and checks[-1].verdict is not Verdict.GOOD:
        last = checks[-1]
        said = f"The last check, {_ago(last.at, now)}, said {last.verdict}"
        return f"{said}: {ADVICE[last.verdict]}."
    # a calibration is a check as well
    newest = max([made_at, *(check.at for check in checks)], key=datetime.fromisoformat)
    if now - datetime.fromisoformat(newest) <= OLD_AFTER:
        return ""
    since = "last checked" if checks else "calibrated"
    return f"This board was {since} {_ago(newest, now)}: run verify before the session."


def _ago(at: str, now: datetime) -> str:
    days = (now - datetime.fromisoformat(at)).days
    if days <= 0:
        return "less than a day ago"
    return "a day ago" if days == 1 else f"{days} days ago"


def _lines(path: Path) -> Iterator[bytes]:
    try:
        yield from path.read_bytes().splitlines()
    except OSError as error:
        msg = (
            f"The history {path} cannot be read ({error.strerror})."
            " Check who may read it, or move it away."
        )
        raise CheckError(msg) from error
