"""The force of each rep as a C3D file, for biomechanics software.

A cell has one axis, and the force platforms of C3D have six channels or more, so the force is
an analog channel in newtons and nothing else. Samples of C3D lie at even times by definition;
where a board's did not, the force is resampled, and the channel's description and the caution
that is handed back both say so. Values are stored as 32-bit floats, times count from the first
sample; the group REP has what belongs to the rep.
"""

from __future__ import annotations

import io
import struct
import warnings
from datetime import datetime
from typing import TYPE_CHECKING

import c3d
import numpy as np

from strikebridge.errors import FormatError
from strikebridge.export.dataset import (
    Dataset,
    ExportRep,
    ForceTrace,
    RepEvent,
    Written,
    get_file,
    put_file,
)
from strikebridge.export.even import evened

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.export.even import EvenForce

CHANNEL = "FORCE"
WORDS = ("athlete", "session", "exercise", "hand", "setup", "cue", "rise", "hold")
MINUTE_S = 60.0


class C3dFiles:
    """Writer and reader of one file a rep, `rep_00001.c3d` and so on."""

    def write(self, dataset: Dataset, folder: Path) -> Written:
        """Write the force of every rep that has one.

        Args:
            dataset: the reps; those without force are left out and said.
            folder: where.

        Returns:
            The files, and what was left out or resampled.

        Raises:
            FormatError: when a file cannot be written.
        """
        files, resampled = [], 0
        for rep in dataset.reps:
            if rep.force is None or not rep.force.time_s:
                continue
            # C3D keeps the rate as a 32-bit float, so the times are those of that rate
            even = evened(rep.force, float(np.float32(rep.force.rate_hz)))
            path = folder / f"rep_{rep.rep:05d}.c3d"
            put_file(path, _content(rep, rep.force.events, even))
            files.append(path)
            resampled += even.is_resampled
        cautions = []
        if resampled:
            cautions.append(
                f"{resampled} of {len(files)} curves did not come at even times and were "
                "resampled; the CSV files have the readings as they came."
            )
        if len(files) < len(dataset.reps):
            cautions.append(
                f"{len(dataset.reps) - len(files)} of {len(dataset.reps)} reps have no curve "
                "and are left out."
            )
        return Written(tuple(files), tuple(cautions))

    def read(self, folder: Path) -> Dataset:
        """Read the files back: force, events and words, not the measures.

        Args:
            folder: where they lie.

        Returns:
            The reps.

        Raises:
            FormatError: when a file is no C3D file of strikebridge.
        """
        return Dataset(tuple(_rep_of(path) for path in sorted(folder.glob("rep_*.c3d"))))


def _content(rep: ExportRep, events: tuple[RepEvent, ...], even: EvenForce) -> bytes:
    writer = c3d.Writer(point_rate=even.rate_hz, analog_rate=even.rate_hz)
    nowhere = np.zeros((0, 5), dtype=np.float32)
    writer.add_frames([(nowhere, np.array([[value]])) for value in even.force_N])
    writer.set_analog_labels([CHANNEL])
    writer.set_analog_scales([1.0])  # a reader may crash where there is none
    writer.set_analog_offsets([0])
    analog = writer.analog_group
    analog.add_str("UNITS", "UCUM code", "N", 1, 1)
    how = "resampled to even times" if even.is_resampled else "as sampled"
    text = f"force above the tracked zero, {how}"
    analog.add_str("DESCRIPTIONS", "what the channel is", text, len(text), 1)
    if events:
        _add_events(writer, events, even.start_s)
    group = writer.add_group(writer.numeric_key_next, "REP", "the rep")
    group.add("NUMBER", "number of the rep in the export", 2, "<H", rep.rep)
    group.add("START_S", "time of the first sample", 4, "<f", np.float32(even.start_s))
    for name, word in (
        ("AT", rep.at.isoformat()),
        ("SET", str(rep.set_number)),
        ("TURN", str(rep.turn)),
        *((name.upper(), str(getattr(rep, name))) for name in WORDS),
    ):
        # lengths in C3D are bytes, at most 255; an empty text cannot be stored
        kept = word.encode()[:255].decode(errors="ignore") or " "
        group.add_str(name, name.lower(), kept, len(kept.encode()))
    file = io.BytesIO()
    with warnings.catch_warnings():
        # a file of forces alone is in order; the library warns that no marker is in it
        warnings.filterwarnings("ignore", "No point data")
        writer.write(file)
    return file.getvalue()


def _add_events(writer: c3d.Writer, events: tuple[RepEvent, ...], start_s: float) -> None:
    group = writer.add_group(writer.numeric_key_next, "EVENT", "events of the rep")
    longest = max(len(event.label) for event in events)
    group.add("USED", "number of events", 2, "<h", len(events))
    contexts = "General" * len(events)
    group.add_str("CONTEXTS", "of which side", contexts, len("General"), len(events))
    labels = "".join(event.label.ljust(longest) for event in events)
    group.add_str("LABELS", "what happened", labels, longest, len(events))
    seconds = np.array([event.time_s - start_s for event in events])
    minutes = np.floor(seconds / MINUTE_S)
    times = np.column_stack([minutes, seconds - MINUTE_S * minutes]).astype(np.float32)
    words = "minutes and seconds from the first sample"
    group.add("TIMES", words, 4, "<f", times.tobytes(), 2, len(events))


def _rep_of(path: Path) -> ExportRep:
    content = get_file(path)
    try:
        with warnings.catch_warnings():
            # what the library only warns of, such as an early end, makes the file unusable here
            warnings.simplefilter("error")
            warnings.filterwarnings("ignore", "No point data")
            return _taken_from(c3d.Reader(io.BytesIO(content)))
    except (
        AttributeError,
        ValueError,
        AssertionError,
        IndexError,
        struct.error,
        UserWarning,
    ) as error:
        raise FormatError(
            f"{path} is no C3D file written by strikebridge, or is cut short. Export it again."
        ) from error


def _taken_from(reader: c3d.Reader) -> ExportRep:
    start_s = float(reader.get("REP:START_S").float_value)
    words = {
        name: reader.get(f"REP:{name.upper()}").string_value.strip()
        for name in (*WORDS, "at", "set", "turn")
    }
    force_N = [float(value) for _, _, some in reader.read_frames() for value in some[0]]
    rate_hz = float(reader.analog_rate)
    times_s = (start_s + i / rate_hz for i in range(len(force_N)))
    force = ForceTrace(tuple(times_s), tuple(force_N), rate_hz, _events_of(reader, start_s))
    return ExportRep(
        rep=int(reader.get("REP:NUMBER").uint16_value),
        at=datetime.fromisoformat(words.pop("at")),
        set_number=int(words.pop("set")),
        turn=int(words.pop("turn")),
        note="",
        measures=(),
        force=force,
        **words,
    )


def _events_of(reader: c3d.Reader, start_s: float) -> tuple[RepEvent, ...]:
    if reader.get("EVENT:USED") is None:
        return ()
    labels = [label.strip() for label in reader.get("EVENT:LABELS").string_array]
    times = np.asarray(reader.get("EVENT:TIMES").float_array, dtype=np.float64)
    return tuple(
        RepEvent(label, start_s + MINUTE_S * float(minutes) + float(seconds))
        for label, (minutes, seconds) in zip(labels, times, strict=True)
    )
