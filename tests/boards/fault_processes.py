"""A disk that fills up and a process that is killed, with `strikebridge record` itself."""

from __future__ import annotations

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

if TYPE_CHECKING:
    from pathlib import Path

LIMIT_BYTES = 40_000  # what the disk has room for
LATE_S = 0.3
"""A killed program may lose 0.1 s, and `tests/test_recording.py` holds it to that. Here eight
sessions share the machine, and the port and the program's start lie on the way as well."""
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


def _start(
    folder: Path, seed: int, *more: str
) -> tuple[Pty, Writer, subprocess.Popen[bytes], Path]:
    port = open_pty()
    recording = folder / "a.jsonl"
    words = [sys.executable, "-c", RECORD, f"serial:{port.path}", str(recording), *more]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    # the program asks who is there as soon as the port is open
    os.read(port.ours, 16)
    writer = Writer(port, seed)
    writer.start()
    return port, writer, process, recording


def _end(port: Pty, writer: Writer, process: subprocess.Popen[bytes]) -> str:
    _, said = process.communicate(timeout=20.0)
    writer.stopping.set()
    writer.join()
    port.pull()
    return said.decode()


def _kept(recording: Path) -> bytes:
    records = RecordingReader(recording)
    return b"".join(record.data for record in records if isinstance(record, Chunk))


def disk_full(folder: Path, seed: int) -> tuple[str, str]:
    """Let the disk fill up; say what went wrong: in the program, and with its bytes."""
    port, writer, process, recording = _start(folder, seed, str(LIMIT_BYTES))
    said = _end(port, writer, process)
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
    port, writer, process, recording = _start(folder, seed)
    writer.stopping.wait(after_s)
    killed_s = time.monotonic()
    process.kill()
    said = _end(port, writer, process)
    if not recording.exists():
        return f"nothing was recorded: {said[-200:]}", "", None
    kept, sent = _kept(recording), b"".join(data for _, data in writer.sent)
    ends = np.cumsum([len(data) for _, data in writer.sent])
    lost_s = [at_s for (at_s, _), end in zip(writer.sent, ends, strict=True) if end > len(kept)]
    late_s = max(killed_s - min(lost_s, default=killed_s), 0.0)
    if not sent.startswith(kept) or late_s > LATE_S:
        return "", f"{len(kept)} of {len(sent)} bytes, {late_s:.2f} s", late_s
    return "", "", late_s
