"""A disk that fills up and a process that is killed, with `strikebridge record` itself."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time
from typing import TYPE_CHECKING

import numpy as np
from typing_extensions import override

from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk
from tests.ptys import Pty, open_pty
from tests.running import WITHIN_S

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LIMIT_BYTES = 40_000  # what the disk has room for
RECORD = """
import sys
from strikebridge.__main__ import main
if len(sys.argv) > 3:
    import resource, signal
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]), int(sys.argv[3])))
sys.argv = ["strikebridge", "record", sys.argv[1], "--output", sys.argv[2]]
sys.exit(main())
"""


class Writer(threading.Thread):
    """Writes a simulated board's lines in real time, and remembers when."""

    def __init__(self, port: Pty, seed: int) -> None:
        super().__init__(daemon=True)
        self.port = port
        self.board = SimulatedBoard(BoardModel(seed=seed))
        self.sent: list[tuple[float, bytes]] = []
        self.stopping = threading.Event()

    @override
    def run(self) -> None:
        """Write until told to stop."""
        began_s = time.monotonic()
        while not self.stopping.is_set():
            for line in self.board.next_lines():
                wait_s = began_s + line.at_us * 1e-6 - time.monotonic()
                if wait_s > 0.0 and self.stopping.wait(wait_s):
                    return
                self.port.write(line.data)
                self.sent.append((time.monotonic(), line.data))


@contextlib.contextmanager
def _recording(
    folder: Path, seed: int, *more: str
) -> Iterator[tuple[Writer, subprocess.Popen[bytes], Path]]:
    """Let the program record a board; afterwards nothing of either is left."""
    port = open_pty()
    recording = folder / "a.jsonl"
    words = [sys.executable, "-c", RECORD, f"serial:{port.path}", str(recording), *more]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    writer = Writer(port, seed)
    try:
        # the program asks who is there as soon as the port is open
        os.read(port.ours, 16)
        writer.start()
        yield writer, process, recording
    finally:
        process.kill()
        process.communicate()
        writer.stopping.set()
        if writer.is_alive():
            writer.join()
        port.pull()


def _kept(recording: Path) -> bytes:
    records = RecordingReader(recording)
    return b"".join(record.data for record in records if isinstance(record, Chunk))


def disk_full(folder: Path, seed: int) -> tuple[str, str]:
    """Let the disk fill up; say what went wrong: in the program, and with its bytes."""
    with _recording(folder, seed, str(LIMIT_BYTES)) as (writer, process, recording):
        said = process.communicate(timeout=WITHIN_S)[1].decode()
    wrong, bytes_wrong = "", ""
    if process.returncode != 1 or "is safe and readable" not in said or "Traceback" in said:
        wrong = f"exit {process.returncode}: {said[-200:]}"
    kept, sent = _kept(recording), b"".join(data for _, data in writer.sent)
    size = recording.stat().st_size
    if not sent.startswith(kept) or size < LIMIT_BYTES - 4096 or len(kept) < size // 3:
        bytes_wrong = f"{len(kept)} bytes in {size}"
    return wrong, bytes_wrong


def killed(folder: Path, seed: int, after_s: float) -> tuple[str, str, float | None]:
    """Kill the program; say what went wrong, as `disk_full`, and how old the first lost is."""
    with _recording(folder, seed) as (writer, process, recording):
        writer.stopping.wait(after_s)
        killed_s = time.monotonic()
        process.kill()
        said = process.communicate(timeout=WITHIN_S)[1].decode()
    if not recording.exists():
        return f"nothing was recorded: {said[-200:]}", "", None
    kept, sent = _kept(recording), b"".join(data for _, data in writer.sent)
    ends = np.cumsum([len(data) for _, data in writer.sent])
    lost_s = [at_s for (at_s, _), end in zip(writer.sent, ends, strict=True) if end > len(kept)]
    late_s = max(killed_s - min(lost_s, default=killed_s), 0.0)
    if not sent.startswith(kept):
        return "", f"{len(kept)} of {len(sent)} bytes, {late_s:.2f} s", late_s
    return "", "", late_s
