"""What is exported, and what a format is."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from datetime import datetime  # noqa: TC003 - msgspec reads the types
from importlib import import_module
from pathlib import Path
from typing import Protocol, cast

from strikebridge.errors import FormatError
from strikebridge.export import FORMATS
from strikebridge.samples import MeasureValue  # noqa: TC001 - as above


@dataclass(frozen=True, slots=True)
class RepEvent:
    """Something that happened during a rep.

    Attributes:
        label: `go`, `onset`, `peak` or `release`, or another short word.
        time_s: on the axis of the force [s].
    """

    label: str
    time_s: float


@dataclass(frozen=True, slots=True)
class ForceTrace:
    """The force of a rep.

    Attributes:
        time_s: time of each reading [s], rising, shape (n,).
        force_N: force above the tracked zero [N], shape (n,).
        rate_hz: real sampling rate [1/s].
        events: what happened, in the order of time.
    """

    time_s: tuple[float, ...]
    force_N: tuple[float, ...]
    rate_hz: float
    events: tuple[RepEvent, ...] = ()


@dataclass(frozen=True, slots=True)
class ExportRep:
    """One rep with everything that was found out about it.

    Attributes:
        rep: number of the rep in this export, from 1; ties the files together.
        athlete: name, alias or pseudonym, as the coach chose.
        session: id of the session.
        at: when the rep was over, with its zone.
        exercise: key of the exercise.
        hand: `left`, `right` or empty.
        setup: key of the set-up, empty where none was noted.
        set_number: which set, from 1.
        turn: place in the session.
        cue: cue given before it, empty without one.
        note: the coach's own words, may be empty.
        rise: the word on the rise.
        hold: the word on the hold.
        measures: every measure with its doubts.
        force: the raw curve, None where it is not exported.
        effort: `maximal` or `submaximal`.
        hold_s: seconds prescribed [s], None where none were.
        way: `measured`, `typed` or `timed`.
        faults: words of the verdict.
    """

    rep: int
    athlete: str
    session: str
    at: datetime
    exercise: str
    hand: str
    setup: str
    set_number: int
    turn: int
    cue: str
    note: str
    rise: str
    hold: str
    measures: tuple[MeasureValue, ...]
    force: ForceTrace | None = None
    effort: str = "maximal"
    hold_s: float | None = None
    way: str = "measured"
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Dataset:
    """All that is exported at once.

    Attributes:
        reps: in the order of their numbers.
    """

    reps: tuple[ExportRep, ...]


@dataclass(frozen=True, slots=True)
class Written:
    """What became of an export.

    Attributes:
        files: the files, in the order of writing.
        cautions: what a reader has to know, each a sentence.
    """

    files: tuple[Path, ...]
    cautions: tuple[str, ...] = ()


class ExportFormat(Protocol):
    """A way to write results, and to read them back."""

    def write(self, dataset: Dataset, folder: Path) -> Written:
        """Write everything this format can hold.

        Raises:
            FormatError: when a file cannot be written.
        """
        ...

    def read(self, folder: Path) -> Dataset:
        """Read what `write` wrote.

        Raises:
            FormatError: when a file is missing or is not as it was written.
        """
        ...


def export_format(key: str) -> ExportFormat:
    """Make the format of a key.

    Args:
        key: one of `FORMATS`.

    Raises:
        FormatError: when there is no such format.
    """
    if key not in FORMATS:
        known = ", ".join(sorted(FORMATS))
        raise FormatError(f"There is no export format {key!r}. Choose one of: {known}.")
    module, name = FORMATS[key].split(":")
    return cast("ExportFormat", getattr(import_module(module), name)())


def put_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, for the user alone.

    Args:
        path: where; folders that are missing are made.
        content: what.

    Raises:
        FormatError: when it cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FormatError(
            f"{path} cannot be written: {error.strerror}. Nothing that was there before was "
            "changed; choose another folder."
        ) from error


def get_file(path: Path) -> bytes:
    """Read a file.

    Args:
        path: where.

    Raises:
        FormatError: when it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise FormatError(f"{path} cannot be read: {error.strerror}.") from error
