r"""The recording of a stream: an append-only log of everything that arrived, and its reader.

JSON Lines, UTF-8. The first line is the header, every further line one record in order of
arrival:

```
{"strikebridge_recording":1,"board":"serial:/dev/ttyUSB0","shape":"auto", ... }
{"at_us":12873,"text":"S,1,100012,84211*1A2B\n"}
{"at_us":25101,"base64":"/wD+"}
{"at_us":4000000,"event":"go","detail":{}}
```

The bytes of a chunk stand as text when they are pure ASCII, else as base64. Events never hold a
name or free text; whoever is erased is cut out with the raw force (`safekeeping/cutting`). A
torn last line is normal after a crash and costs only itself; so does any other line that cannot
be read, and the reader counts them.

The writer has a thread of its own: handing a record over never waits for the disk. Each record
reaches the operating system as soon as that thread runs (milliseconds), so a killed program
loses less than the last 100 ms; once a second the file is forced to the disk against a power
cut. The recording never drops: when the disk cannot take it, the next hand-over is an error.
"""

from __future__ import annotations

import base64
import io
import os
import threading
import time
from typing import TYPE_CHECKING, Annotated, Any

import msgspec
import numpy as np

from strikebridge.chunk_run import ChunkRun
from strikebridge.errors import RecordingError
from strikebridge.private_files import open_private
from strikebridge.samples import Chunk, Event, Identity, Record

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

VERSION = 1
GATHER_S = 0.025  # the writer looks this often: woken by each line it would get in its way
GATHER_BYTES = 2**18  # or as soon as so much waits
SYNC_EVERY_S = 1.0
READ_BYTES = 2**19  # looked at together; larger blocks are no faster, and take memory
WAITING_LIMIT_BYTES = 64 * 2**20  # at 1000 lines a second, a quarter of an hour of a stuck disk


class Header(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of a stream when its recording begins; the first line of the file.

    Attributes:
        strikebridge_recording: version of the format.
        board: address of the board.
        started: start of the stream, RFC 3339 with offset.
        shape: decoder of its lines, a key of the table BOARDS or `auto`.
        identity: what the board says of itself, None if not known yet.
        nominal_rate_hz: nominal sampling rate [1/s], None if unknown.
        settling_s: settling time of the converter [s], None if unknown.
        calibration: the whole certificate as plain values, so that a recording explains itself;
            None where the stream had none.
    """

    strikebridge_recording: int = VERSION
    board: str
    started: str
    shape: str = "auto"
    identity: Identity | None = None
    nominal_rate_hz: float | None = None
    settling_s: float | None = None
    calibration: dict[str, Any] | None = None


class _Line(msgspec.Struct, omit_defaults=True):
    """One record as it stands in the file; exactly one of text, base64 and event is there."""

    at_us: Annotated[int, msgspec.Meta(ge=0, le=2**62)]
    text: str | None = None
    base64: str | None = None
    event: str | None = None
    detail: dict[str, str | float | int | None] | None = None


class _Text(msgspec.Struct, forbid_unknown_fields=True, gc=False):
    """A chunk of plain text, as nearly all lines are; decoded in half the time of a `_Line`."""

    at_us: Annotated[int, msgspec.Meta(ge=0, le=2**62)]
    text: str


_encode = msgspec.json.Encoder().encode
_decode_line = msgspec.json.Decoder(_Line).decode
_decode_texts = msgspec.json.Decoder(_Text).decode_lines
_decode_header = msgspec.json.Decoder(Header).decode


def _encode_record(record: Record) -> bytes:
    if isinstance(record, Event):
        line = _Line(record.at_us, event=record.kind, detail=dict(record.detail))
        return _encode(line)
    try:
        line = _Line(record.arrived_us, text=record.data.decode("ascii"))
    except UnicodeDecodeError:
        line = _Line(record.arrived_us, base64=base64.b64encode(record.data).decode("ascii"))
    return _encode(line)


def _decode_record(raw: bytes, board: str) -> Record | None:
    """Read one line; None where it is no record (torn, damaged)."""
    try:
        line = _decode_line(raw)
        if line.text is not None:
            return Chunk(board, line.at_us, line.text.encode("ascii"))
        if line.base64 is not None:
            return Chunk(board, line.at_us, base64.b64decode(line.base64, validate=True))
    except ValueError:  # msgspec's, ASCII's and base64's errors are all ValueErrors
        return None
    if line.event is None:
        return None
    return Event(line.event, line.at_us, line.detail or {})


def _decode_run(block: bytes, board: str) -> ChunkRun | None:
    """Read whole lines at once; None where one of them is anything but a chunk of text."""
    try:
        lines = _decode_texts(block)
        texts = [line.text for line in lines]
        data = "".join(texts).encode("ascii")
    except ValueError:
        return None
    # a record a line, each from its beginning on: else a torn one could hide in the next
    if not block.count(b"\n") == len(lines) == block.count(b"\n{") + 1:
        return None
    arrived_us = np.array([line.at_us for line in lines], np.int64)
    ends = np.cumsum(np.fromiter(map(len, texts), np.int64, len(texts)))
    return ChunkRun(board, arrived_us, ends, data)


def _apart(block: bytes) -> Iterator[bytes]:
    """Cut whole lines into those of an event and what lies between them."""
    start = 0
    # inside of a text its quotation marks would be escaped
    while (at := block.find(b',"event":', start)) >= 0:
        begin = max(start, block.rfind(b"\n", start, at) + 1)
        end = block.find(b"\n", at) + 1 or len(block)
        if begin > start:
            yield block[start:begin]
        yield block[begin:end]
        start = end
    if start < len(block):
        yield block[start:]


class RecordingWriter:
    """Append records to a new file, from a thread of its own.

    Attributes:
        path: the file.
        bytes_recorded: payload bytes of the chunks handed over so far.
    """

    def __init__(self, path: Path, header: Header) -> None:
        """Create the file and write the header.

        Args:
            path: a file that must not exist yet.
            header: what is known of the stream.

        Raises:
            RecordingError: the file exists or cannot be made; says what to do.
        """
        self.path = path
        self.bytes_recorded = 0
        try:
            self._file = open_private(path, "xb", is_unbuffered=True)
        except FileExistsError as error:
            raise RecordingError(
                f"{path} exists already and was left alone. Choose another name."
            ) from error
        except OSError as error:
            raise RecordingError(f"{path} cannot be made: {error.strerror}.") from error
        self._ready = threading.Condition()
        self._waiting: list[bytes] = []
        self._waiting_bytes = 0
        self._closing = False
        self._failure: OSError | None = None
        self._put(_encode(header))
        self._thread = threading.Thread(target=self._run, name="recording", daemon=True)
        self._thread.start()

    def append(self, record: Record) -> None:
        """Hand one record to the writer; never waits for the disk.

        Args:
            record: a chunk or an event.

        Raises:
            RecordingError: the disk is full or gone; what was recorded before is readable.
        """
        self._complain()
        self._put(_encode_record(record))
        if isinstance(record, Chunk):
            self.bytes_recorded += len(record.data)

    def close(self) -> None:
        """Write out what waits, force it to the disk and close the file.

        Raises:
            RecordingError: the last records did not reach the disk.
        """
        with self._ready:
            self._closing = True
            self._ready.notify()
        self._thread.join()
        self._file.close()
        self._complain()

    def _put(self, line: bytes) -> None:
        with self._ready:
            self._waiting.append(line)
            self._waiting_bytes += len(line) + 1
            if self._waiting_bytes >= GATHER_BYTES:
                self._ready.notify()

    def _complain(self) -> None:
        if self._failure is not None:
            raise RecordingError(
                f"The recording {self.path} stopped: {self._failure.strerror}. What was "
                "recorded up to then is safe and readable. Free some space, then start again."
            ) from self._failure
        if self._waiting_bytes > WAITING_LIMIT_BYTES:
            raise RecordingError(
                f"The disk does not keep up with the recording {self.path}. What was recorded "
                "up to then is safe and readable. Record to another disk."
            )

    def _run(self) -> None:
        synced_s = time.monotonic()
        wait_s = 0.0  # the header goes at once
        while True:
            with self._ready:
                if not self._closing and self._waiting_bytes < GATHER_BYTES:
                    self._ready.wait(wait_s)
                wait_s = GATHER_S
                lines, self._waiting = self._waiting, []
                is_last = self._closing
            try:
                self._write(b"\n".join([*lines, b""]) if lines else b"")
                if is_last or time.monotonic() - synced_s >= SYNC_EVERY_S:
                    os.fsync(self._file.fileno())
                    synced_s = time.monotonic()
            except OSError as error:
                self._failure = error
                return
            if is_last:
                return

    def _write(self, data: bytes) -> None:
        view = memoryview(data)
        while view:
            view = view[self._file.write(view) :]
        with self._ready:
            self._waiting_bytes -= len(data)


class RecordingReader:
    """Read a recording, whole or cut short by a crash.

    Attributes:
        path: the file.
        header: its header.
        damaged: lines that could not be read so far, the torn last one of a crash included.
    """

    def __init__(self, path: Path) -> None:
        """Read the header.

        Args:
            path: the file.

        Raises:
            RecordingError: no such file, or not a recording, or of a newer version.
        """
        self.path = path
        self.damaged = 0
        self.header = self._read_header()

    def _read_header(self) -> Header:
        try:
            with self.path.open("rb") as file:
                first = file.readline()
        except OSError as error:
            raise RecordingError(f"{self.path} cannot be read: {error.strerror}.") from error
        try:
            header = _decode_header(first)
        except ValueError as error:
            raise RecordingError(
                f"{self.path} is not a strikebridge recording: its first line is no header."
            ) from error
        if header.strikebridge_recording > VERSION:
            raise RecordingError(
                f"{self.path} was made by a newer strikebridge. Update this one to read it."
            )
        return header

    def __iter__(self) -> Iterator[Record]:
        """Yield the records in order of arrival, leaving out lines that cannot be read.

        Raises:
            RecordingError: the file cannot be read to its end.
        """
        for batch in self.batches():
            yield from batch

    def batches(self) -> Iterator[Sequence[Record]]:
        """Yield the records in order of arrival, many at once, leaving out unreadable lines.

        Yields:
            Runs of chunks wherever nothing else stands between them, which take a fraction of
            the time; lists of records elsewhere.

        Raises:
            RecordingError: the file cannot be read to its end.
        """
        self.damaged = 0
        board = self.header.board
        for lines in self._blocks():
            run = _decode_run(lines, board)
            if run is not None:
                yield run
                continue
            found = [_decode_record(raw, board) for raw in io.BytesIO(lines)]
            records = [record for record in found if record is not None]
            self.damaged += len(found) - len(records)
            yield records

    def _blocks(self) -> Iterator[bytes]:
        """Read on by whole lines, some thousand at once; each event by itself."""
        try:
            with self.path.open("rb") as file:
                file.readline()
                while block := file.read(READ_BYTES):
                    yield from _apart(block + file.readline())
        except OSError as error:
            raise RecordingError(f"{self.path} cannot be read on: {error.strerror}.") from error
