"""The recording: what goes in comes out, whatever happens to the program or the disk."""

import os
import random
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge import recording
from strikebridge.chunk_run import ChunkRun
from strikebridge.errors import RecordingError
from strikebridge.recording import (
    GATHER_BYTES,
    Header,
    RecordingReader,
    RecordingWriter,
    _decode_record,
)
from strikebridge.samples import Chunk, Event, Identity, Record
from tests.running import WITHIN_S

HEADER = Header(board="serial:x", started="2026-11-25T10:00:00+00:00")

chunks = st.builds(
    Chunk, st.just("serial:x"), st.integers(0, 2**53), st.binary(min_size=0, max_size=40)
)
events = st.builds(
    Event,
    st.sampled_from(["go", "cue", "prescribed"]),
    st.integers(0, 2**53),
    st.dictionaries(
        st.sampled_from(["hold_s", "effort"]), st.none() | st.integers() | st.just("x")
    ),
)


def wait_for(is_so: Callable[[], bool]) -> None:
    ends_s = time.monotonic() + WITHIN_S
    while not is_so():
        assert time.monotonic() < ends_s


@given(st.lists(chunks | events, max_size=20))
def test_what_was_recorded_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, records: list[Record]
) -> None:
    path = tmp_path_factory.mktemp("recording") / "a.jsonl"
    writer = RecordingWriter(path, HEADER)
    for record in records:
        writer.append(record)
    writer.close()
    reader = RecordingReader(path)
    assert list(reader) == records
    assert reader.damaged == 0
    assert writer.bytes_recorded == sum(len(r.data) for r in records if isinstance(r, Chunk))


def test_the_header_carries_all_that_is_known(tmp_path: Path) -> None:
    header = Header(
        board="simulated:",
        started="2026-11-25T10:00:00+00:00",
        shape="strikebridge-lines",
        identity=Identity("bench", "1.0", "HX711", 80.0, 0.05),
        nominal_rate_hz=80.0,
        settling_s=0.05,
        calibration={"id": "abc", "points": [[1.0, 2.0]]},
    )
    RecordingWriter(tmp_path / "a.jsonl", header).close()
    assert RecordingReader(tmp_path / "a.jsonl").header == header


@pytest.mark.parametrize("every_s", [0.0, 3600.0])
def test_it_is_forced_to_the_disk_again_and_again_and_at_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, every_s: float
) -> None:
    forced = threading.Semaphore(0)

    def force(descriptor: int, really: Callable[[int], None] = os.fsync) -> None:
        really(descriptor)
        forced.release()

    monkeypatch.setattr(recording, "SYNC_EVERY_S", every_s)
    monkeypatch.setattr(os, "fsync", force)
    writer = RecordingWriter(tmp_path / "a.jsonl", HEADER)
    if every_s == 0.0:
        assert forced.acquire(timeout=WITHIN_S)
        assert forced.acquire(timeout=WITHIN_S)
    else:
        assert not forced.acquire(blocking=False)
    writer.close()
    assert forced.acquire(blocking=False)


def test_much_is_written_at_once_and_little_is_gathered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recording, "GATHER_S", 3600.0)
    path = tmp_path / "a.jsonl"
    writer = RecordingWriter(path, HEADER)
    wait_for(lambda: path.stat().st_size > 0)  # the header goes at once
    writer.append(Chunk("serial:x", 1, b"1\n"))
    writer.append(Chunk("serial:x", 2, b"2" * GATHER_BYTES))
    wait_for(lambda: path.stat().st_size > GATHER_BYTES)
    writer.append(Event("go", 5))
    writer.close()  # waits for no gathering either
    assert len(list(RecordingReader(path))) == 3


def test_a_torn_last_line_costs_only_itself(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    writer = RecordingWriter(path, HEADER)
    records = [Chunk("serial:x", 10 * n, b"%d\n" % n) for n in range(5)]
    for record in records:
        writer.append(record)
    writer.close()
    whole = path.read_bytes()
    start_of_last = whole[:-1].rfind(b"\n") + 1
    for cut in range(start_of_last + 1, len(whole) - 1):
        path.write_bytes(whole[:cut])
        reader = RecordingReader(path)
        assert list(reader) == records[:-1]
        assert reader.damaged == 1


@pytest.mark.parametrize(
    "line",
    [
        b'{"at_us":1}',
        b'{"at_us":1,"base64":"?"}',
        b'{"at_us":1,"text":"\xc3\xa9"}',
        b'{"at_us":"x","text":"a"}',
        b"[]",
        b"\xff\xfe",
    ],
)
def test_a_damaged_line_in_the_middle_is_counted_and_left_out(
    tmp_path: Path, line: bytes
) -> None:
    path = tmp_path / "a.jsonl"
    writer = RecordingWriter(path, HEADER)
    writer.append(Event("go", 5))
    writer.close()
    path.write_bytes(path.read_bytes() + line + b'\n{"at_us":7,"text":"1\\n"}\n')
    reader = RecordingReader(path)
    assert list(reader) == [Event("go", 5), Chunk("serial:x", 7, b"1\n")]
    assert reader.damaged == 1


def test_an_existing_file_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    path.write_text("mine")
    with pytest.raises(RecordingError, match="exists already"):
        RecordingWriter(path, HEADER)
    assert path.read_text() == "mine"


def test_an_impossible_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="cannot be made"):
        RecordingWriter(tmp_path / "no" / "a.jsonl", HEADER)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no header"),
        (b"time_s,count_1\n", "no header"),
        (b'{"strikebridge_recording":99,"board":"b","started":"s"}\n', "newer"),
    ],
)
def test_what_is_no_recording_is_said(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "a"
    path.write_bytes(content)
    with pytest.raises(RecordingError, match=words):
        RecordingReader(path)


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="cannot be read"):
        RecordingReader(tmp_path / "none")


FULL_DISK = """
import resource, sys
from pathlib import Path
from strikebridge.errors import RecordingError
from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import Chunk
resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))
writer = RecordingWriter(Path(sys.argv[1]), Header(board="b", started="s"))
try:
    for n in range(2_000_000):
        writer.append(Chunk("b", n, b"%d\\n" % n))
    writer.close()
except RecordingError as error:
    print(error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="file size limits are POSIX")
def test_a_full_disk_is_said_and_what_was_recorded_is_readable(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    done = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(path)], capture_output=True, text=True, check=True
    )
    assert "What was recorded up to then is safe" in done.stdout
    numbers = [int(r.data) for r in RecordingReader(path) if isinstance(r, Chunk)]
    assert numbers == list(range(len(numbers)))
    assert len(numbers) > 500


KILLED = """
import sys
from pathlib import Path
from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import Chunk
import time
writer = RecordingWriter(Path(sys.argv[1]), Header(board="b", started="s"))
start = time.monotonic_ns()
n = 0
while True:
    while (time.monotonic_ns() - start) // 1_000_000 < n:
        time.sleep(0.0005)
    now = time.monotonic_ns()
    writer.append(Chunk("b", n, b"%d\\n" % now))
    n += 1
    sys.stdout.write("%d\\n" % now)
    sys.stdout.flush()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is POSIX")
@pytest.mark.parametrize("seed", range(8))
def test_killed_at_a_random_moment_it_loses_less_than_the_last_100_ms(
    tmp_path: Path, seed: int
) -> None:
    """A thousand records a second; the killed program had told us which it had handed over."""
    path = tmp_path / "a.jsonl"
    lines_before_kill = random.Random(seed).randint(20, 300)
    with subprocess.Popen(
        [sys.executable, "-c", KILLED, str(path)], stdout=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        told = [int(process.stdout.readline()) for _ in range(lines_before_kill)]
        process.kill()
        rest = process.stdout.read()
        told += [int(line) for line in rest.split(b"\n")[:-1]]
    stamps = [int(r.data) for r in RecordingReader(path) if isinstance(r, Chunk)]
    assert len(stamps) > 0
    assert told[-1] - stamps[-1] < 100_000_000


def test_a_disk_that_does_not_keep_up_is_an_error_not_a_loss(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.recording.WAITING_LIMIT_BYTES", 1000)
    stuck = threading.Event()
    real_write = RecordingWriter._write

    def stuck_write(self: RecordingWriter, data: bytes) -> None:
        stuck.wait(WITHIN_S)
        real_write(self, data)

    monkeypatch.setattr(RecordingWriter, "_write", stuck_write)
    writer = RecordingWriter(tmp_path / "a.jsonl", HEADER)
    handed: list[Chunk] = []

    def hand_over_until_refused() -> None:
        for n in range(10_000):
            chunk = Chunk("serial:x", n, b"1\n")
            writer.append(chunk)
            handed.append(chunk)

    with pytest.raises(RecordingError, match="does not keep up"):
        hand_over_until_refused()
    assert handed
    stuck.set()
    writer.close()
    assert list(RecordingReader(tmp_path / "a.jsonl")) == handed


def record_lines(path: Path, *lines: bytes) -> RecordingReader:
    RecordingWriter(path, HEADER).close()
    with path.open("ab") as file:
        file.write(b"".join(lines))
    return RecordingReader(path)


def texts_until(count: int, start: int = 0) -> list[bytes]:
    return [b'{"at_us":%d,"text":"%d\\n"}\n' % (n, n * n) for n in range(start, count)]


def test_whole_blocks_are_read_as_runs_and_hold_the_same_records(tmp_path: Path) -> None:
    reader = record_lines(tmp_path / "a.jsonl", *texts_until(60_000))
    batches = list(reader.batches())
    assert all(isinstance(batch, ChunkRun) for batch in batches)
    assert len(batches) > 2
    expected = [Chunk(HEADER.board, n, b"%d\n" % (n * n)) for n in range(60_000)]
    assert [record for batch in batches for record in batch] == expected
    assert list(reader) == expected
    assert reader.damaged == 0


def test_an_event_only_parts_the_runs(tmp_path: Path) -> None:
    event = b'{"at_us":5,"event":"go","detail":{}}\n'
    reader = record_lines(
        tmp_path / "a.jsonl", event, *texts_until(5), event, *texts_until(9, 5), event
    )
    batches = list(reader.batches())
    assert [type(batch) for batch in batches] == [list, ChunkRun, list, ChunkRun, list]
    assert [len(batch) for batch in batches] == [1, 5, 1, 4, 1]


@pytest.mark.parametrize(
    "odd",
    [
        b'{"at_us":7,"base64":"/wD+"}\n',
        b'{"at_us":7,"text":"\xc3\xa9\\n"}\n',
        b'{"at_us":-7,"text":"1\\n"}\n',
        b'{"at_us":7,"text":"1\\n"\n',
        b'{"at_us":7,"text":"1\\n"} {"at_us":8,"text":"1\\n"}\n',
        b'{"at_us":7,\n"text":"1\\n"}\n',
        b"\n",
        b"\r\n",
        b'{"at_us":7,"text":"1\\n"}',
        b'{"at_us":7,"te',
    ],
)
def test_a_block_with_anything_odd_is_read_line_by_line(tmp_path: Path, odd: bytes) -> None:
    before, after = texts_until(4), texts_until(6, 4)
    whole = record_lines(tmp_path / "a.jsonl", *before, odd, *after)
    found = list(whole)
    by_line, damaged = [], 0
    for raw in b"".join([*before, odd, *after]).split(b"\n")[:-1]:
        record = _decode_record(raw, HEADER.board)
        damaged += record is None
        by_line += [] if record is None else [record]
    assert found == by_line
    assert whole.damaged == damaged
