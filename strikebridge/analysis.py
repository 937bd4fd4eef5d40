"""One file, offline: a recording or a table through the same pipeline as a live board."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.address import make_decoder
from strikebridge.boards.table_file import read_table
from strikebridge.errors import CalibrationError, RecordingError
from strikebridge.pipeline import Outcome, Pipeline
from strikebridge.recording import RecordingReader
from strikebridge.samples import Contact, Gap, Rep
from strikebridge.stream_setup import Setup, setup_for
from strikebridge.verdict.words import BACKWARDS

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from pathlib import Path

    from strikebridge.samples import CountBlock

# limits of what is plausible: our own convention
MOST_N = 3000.0  # half as much again as the strongest athlete this is made for
LIGHT_N = 45.0  # the weakest athlete this is made for holds 50 N
LONG_S, MANY = 0.7, 3  # so many contacts as long as holds show that holds were meant
SLOWEST_HZ = 2.0  # a table of fewer readings a second is probably stamped in milliseconds


@dataclass(frozen=True, slots=True, eq=False)
class Analysis:
    """What was found in one stream.

    Attributes:
        recording: name of the file.
        rate_hz: real sampling rate [1/s], None if there were too few samples to tell.
        settling_s: settling time of the converter [s], None if unknown.
        calibration: id of the certificate, `by hand`, or None where the input was a force.
        reps: holds with measures and verdict.
        contacts: touches that are no holds.
        gaps: samples that never came.
        remarks: what a reader should know about the file, in whole sentences.
    """

    recording: str
    rate_hz: float | None
    settling_s: float | None
    calibration: str | None
    reps: tuple[Rep, ...]
    contacts: tuple[Contact, ...]
    gaps: tuple[Gap, ...]
    remarks: tuple[str, ...] = ()


def collect(
    recording: str, pipeline: Pipeline, outcomes: list[Outcome], remarks: tuple[str, ...] = ()
) -> Analysis:
    """Put together what a pipeline has found.

    Args:
        recording: name of the file or board.
        pipeline: the pipeline, finished.
        outcomes: all it gave out, in order.
        remarks: what a reader should know about the file.

    Returns:
        The analysis.
    """
    calibration = pipeline.calibration
    remarks = (*remarks, *_doubts(pipeline, outcomes))
    return Analysis(
        recording=recording,
        rate_hz=pipeline.rate_hz,
        settling_s=pipeline.settling_s,
        calibration=None if calibration is None else calibration.id,
        # a number typed anew takes the place of the one before
        reps=tuple({one.hold.number: one for one in outcomes if isinstance(one, Rep)}.values()),
        contacts=tuple(one for one in outcomes if isinstance(one, Contact)),
        gaps=tuple(one for one in outcomes if isinstance(one, Gap)),
        remarks=remarks,
    )


def _doubts(pipeline: Pipeline, outcomes: list[Outcome]) -> list[str]:
    """Say what looks as if the kit or its gain were not what was told, in whole sentences."""
    said = []
    detector = pipeline.detector
    if detector is not None and detector.watch().pulls:
        said.append(BACKWARDS)
    # a typed number has no peak, and no gain that could be wrong
    reps = [one for one in outcomes if isinstance(one, Rep) and not one.is_typed]
    most_N = max((rep.measures["peak_force"].value or 0.0 for rep in reps), default=0.0)
    if most_N > MOST_N:
        said.append(
            f"A force of {most_N:.0f} N was found, more than anybody can hold: the gain is "
            "probably too large. Check it with a known plate."
        )
    contacts = [one for one in outcomes if isinstance(one, Contact)]
    long_N = [one.peak_N for one in contacts if one.end_s - one.start_s > LONG_S]
    if len(reps) + len(long_N) >= MANY and max(most_N, *long_N, 0.0) < LIGHT_N:
        said.append(
            f"Nothing that lasted as long as a hold was above {LIGHT_N:.0f} N: the gain is "
            "probably too small. Check it with a known plate."
        )
    return said


def peak_time_s(rep: Rep) -> float:
    """Find when the force was largest between onset and release.

    Args:
        rep: the rep.

    Returns:
        Time of the largest sample [s].
    """
    hold = rep.hold
    time_s = hold.force.time_s
    end_s = time_s[-1] if hold.release_s is None else hold.release_s
    inside = (time_s >= hold.onset_s) & (time_s <= end_s)
    if not inside.any():
        return hold.onset_s
    return float(time_s[inside][np.argmax(hold.force.force_N[inside])])


def analyse_file(path: Path, setup: Setup) -> Analysis:
    """Find and measure the holds of a recording or a table.

    Args:
        path: a recording, or a CSV with `time_s` and counts, force or mass.
        setup: what is known of it beforehand; a recording's own certificate, rate and settling
            are taken where it says nothing.

    Returns:
        What was found.

    Raises:
        RecordingError: the file cannot be read or holds no readings.
        FormatError: the table has something wrong; names line and column.
        CalibrationError: raw counts and no calibration, or one that does not fit.
    """
    if is_recording(path):
        return _analyse_recording(path, setup)
    return _analyse_table(path, setup)


def is_recording(path: Path) -> bool:
    """Tell a recording from a table by its first character.

    Args:
        path: the file.

    Raises:
        RecordingError: it cannot be read.
    """
    try:
        with path.open("rb") as file:
            return file.read(1) == b"{"
    except OSError as error:
        raise RecordingError(f"{path} cannot be read: {error.strerror}.") from error


def _analyse_recording(path: Path, setup: Setup) -> Analysis:
    reader = RecordingReader(path)
    decoder = make_decoder(reader.header.shape)
    pipeline = Pipeline(decoder, setup_for(reader.header, setup))
    outcomes: list[Outcome] = []
    for records in reader.batches():
        outcomes += pipeline.feed(records)
    outcomes += pipeline.finish()
    demand_forces(path, pipeline, unreadable=decoder.unreadable)
    remarks = []
    if reader.damaged:
        remarks.append(f"{reader.damaged} damaged lines of {path.name} were left out.")
    if decoder.unreadable:
        remarks.append(f"{decoder.unreadable} lines of the board could not be read.")
    return collect(path.name, pipeline, outcomes, tuple(remarks))


def _analyse_table(path: Path, setup: Setup) -> Analysis:
    table = read_table(path)
    pipeline = Pipeline(None, setup)
    outcomes: list[Outcome] = []
    ends_us: list[tuple[int, int]] = []
    with closing(_read_ahead(table.blocks)) as blocks:
        for block in blocks:
            outcomes += pipeline.feed_counts([block], table.quantity)
            ends_us.append((int(block.arrived_us[0]), int(block.arrived_us[-1])))
    outcomes += pipeline.finish()
    demand_forces(path, pipeline)
    seconds = (ends_us[-1][1] - ends_us[0][0]) * 1e-6
    remarks = (*table.remarks, *_doubt_times(path, pipeline.readings, seconds))
    return collect(path.name, pipeline, outcomes, remarks)


def _read_ahead(blocks: Iterator[CountBlock]) -> Generator[CountBlock, None, None]:
    """Read the next block on a second thread while this one is worked on.

    Most of reading is spent inside NumPy, which lets go of the interpreter meanwhile.

    Args:
        blocks: read as they are asked for.

    Yields:
        The same; whatever reading raises is raised here.
    """
    from concurrent.futures import ThreadPoolExecutor  # noqa: PLC0415 - needed for a table only

    with ThreadPoolExecutor(max_workers=1, thread_name_prefix="table") as reader:
        coming = reader.submit(next, blocks, None)
        while (block := coming.result()) is not None:
            coming = reader.submit(next, blocks, None)
            yield block


def _doubt_times(path: Path, count: int, seconds: float) -> list[str]:
    """Say so if the times of a table cannot well be seconds."""
    if count < 2 or count - 1 >= SLOWEST_HZ * seconds:
        return []
    rate_hz = (count - 1) / seconds
    remark = (
        f"{path.name} holds only {rate_hz:.2g} readings a second: time_s has to be in seconds, "
        "and this looks like milliseconds."
    )
    return [remark]


def demand_forces(path: Path, pipeline: Pipeline, *, unreadable: int = 0) -> None:
    """Make sure that holds could be found in a file at all.

    Args:
        path: the file.
        pipeline: the pipeline it went through, finished.
        unreadable: lines of the board that could not be read.

    Raises:
        RecordingError: there was not a single reading.
        CalibrationError: raw counts, and nobody said what they are worth.
    """
    if pipeline.readings == 0:
        reason = f": {unreadable} lines could not be read" if unreadable else ""
        raise RecordingError(f"There are no readings in {path}{reason}.")
    if pipeline.calibration is None:
        raise CalibrationError(
            f"{path} holds raw counts. Say what they are worth: --calibration CERTIFICATE, or "
            "--gain-n-per-count G --zero-counts Z."
        )
