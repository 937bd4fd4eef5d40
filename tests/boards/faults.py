"""Faults of cable and board, through real ports: `python -m tests.boards.faults --n 200`.

Each session is a station on a pseudo-terminal. At its other end a thread plays a simulated
board in real time, 17 s with two pushes, and does one thing wrong, when chance decides.
The table has one line a kind of fault.

| column | says |
| --- | --- |
| crash | sessions that ended by themselves, where they should not have |
| invented | holds found whole where nobody pushed |
| lost | pushes clear of the fault (1 s on either side) that were not found whole |
| unmarked | holds cut by a loss of the board that were called whole |
| bytes | sessions whose recording is not what arrived through the port, byte for byte |
| recovery | from the board's return to its next bytes in the recording, 99th percentile |
| late | how old the first reading was that a killed program lost, the oldest of all |

Arrived is what the program had read when the plug was pulled: in half of the sessions all that
was written, in the others the rest dies with the port, as it does in a driver. Opening a port
throws away what waited in it, so a later port may lack what was written before the recording
says `back`, and no more. The bytes of one stay in order and are never changed.

`disk full` and `kill -9` run `strikebridge record` as a process of its own. The names of ports
and plugs are made up for `other name`: pseudo-terminals have no USB plug. All else is real.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING
from unittest import mock

import numpy as np
from typing_extensions import override

from strikebridge.boards.line_decoder import CONVERTER_HIGH
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk, Event, Rep
from strikebridge.station import Station, StationSetup
from tests.boards.fault_processes import disk_full, killed
from tests.ptys import Pty, open_pty
from tests.running import WITHIN_S, running

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.pipeline import Outcome

SESSION_S = 17.0
AT_ONCE = 6
ARRIVES_WITHIN_S = 20.0  # what was written is read by then, or the program does not read
CLOCKS_S = 0.02  # the board's clock and the stream's are told from each other so well
LINES_BEFORE = 100  # that come before any fault does
RECOVERY_S = 1.0  # 99th percentile
CLEAR_S = 1.0  # a push this far from the fault has to be found
LINGER_S = 20.0
LATE_S = 0.3
"""A killed program may lose 0.1 s, and `tests/test_recording.py` holds it to that. Here some
sessions share the machine, and the port and the program's start lie on the way as well."""
KINDS = (
    *("unplug", "other name", "garbage", "30 % loss", "stuck", "silence", "reset"),
    *("clock leap", "bunching", "saturation", "disk full", "kill -9"),
)
PLUGS: dict[str, str] = {}  # port -> serial number of the plug that is in it


@dataclass
class Session:
    """One session and what came of it."""

    kind: str
    seed: int
    begin_s: float
    end_s: float
    crash: str = ""
    invented: int = 0
    lost: int = 0
    unmarked: int = 0
    bytes_wrong: str = ""
    recovery_s: list[float] = field(default_factory=list)
    late_s: float | None = None
    found: int = 0
    events: list[str] = field(default_factory=list)


class Player(threading.Thread):
    """Plays a board into a port, and does what the session says."""

    def __init__(self, session: Session, folder: Path) -> None:
        super().__init__(daemon=True)
        self.session = session
        self.board = SimulatedBoard(BoardModel(seed=session.seed))
        self.chance = np.random.default_rng(session.seed)
        self.link = folder / "port"
        self.sent: list[bytes] = []  # what went into each port
        self.writes: list[list[tuple[float, int]]] = []  # when, and how much there was then
        self.recorded: Callable[[], int] = int  # bytes that the program has read so far
        self.arrived: int | None = None  # of them when the plug was pulled
        self.began_s = 0.0
        self.back_s: float | None = None
        self._still: list[int] = []
        self._held = b""
        self.port = self._plug_in()

    def _plug_in(self) -> Pty:
        """Open a port; `unplug` keeps the name, `other name` takes the new one."""
        port = open_pty()
        if self.session.kind == "other name":
            self.link = Path(port.path)
            PLUGS[port.path] = f"A{self.session.seed}"
        else:
            self.link.unlink(missing_ok=True)
            self.link.symlink_to(port.path)
        self.sent.append(b"")
        self.writes.append([])
        return port

    @override
    def run(self) -> None:
        """Play in real time."""
        self._wait_for_reader()
        self.began_s = time.monotonic()
        self._write(self.board.identity_line())
        while self.board.now_s < SESSION_S:
            for line in self.board.next_lines():
                wait_s = self.began_s + line.at_us * 1e-6 - time.monotonic()
                if wait_s > 0.0:
                    time.sleep(wait_s)
                self._play(line.at_us, line.data)
        self._write(self._held)
        self._write(b"# over\n")

    def _wait_for_reader(self) -> None:
        while not os.read(self.port.ours, 16):
            continue

    def _write(self, data: bytes) -> None:
        if data and self.port.is_open:
            self.writes[-1].append((time.monotonic(), len(self.sent[-1]) + len(data)))
            self.port.write(data)
            self.sent[-1] += data

    def _see_it_arrive(self) -> None:
        """Wait until the program has read all that was written."""
        until_s = time.monotonic() + ARRIVES_WITHIN_S
        while self.recorded() < len(self.sent[-1]) and time.monotonic() < until_s:
            time.sleep(0.001)

    def _play(self, at_us: int, data: bytes) -> None:
        begin_s, end_s = self.session.begin_s, self.session.end_s
        is_faulty = begin_s <= at_us * 1e-6 < end_s
        kind = self.session.kind
        if kind in ("unplug", "other name"):
            self._play_unplugged(data, is_faulty=is_faulty)
        elif kind == "bunching" and is_faulty:
            self._held += data
            if len(self._held) > 1000:  # about 0.4 s
                self._write(self._held)
                self._held = b""
        elif kind in ("reset", "clock leap") and at_us * 1e-6 >= begin_s:
            self._write(self._anew(at_us, data))
        else:
            self._write(self._held + (self._spoilt(data) if is_faulty else data))
            self._held = b""

    def _play_unplugged(self, data: bytes, *, is_faulty: bool) -> None:
        if is_faulty and self.port.is_open:
            self._write(data[: int(self.chance.integers(1, len(data)))])
            if self.chance.random() < 0.5:
                self._see_it_arrive()
                self.arrived = len(self.sent[-1])
            else:
                self.arrived = self.recorded()
            PLUGS.pop(self.port.path, None)
            # the number of a port is given away again at once: its name has to go before
            if self.link.is_symlink():
                self.link.unlink()
            self.port.pull()
        elif not is_faulty and not self.port.is_open:
            self.port = self._plug_in()
            self.back_s = time.monotonic()
        self._write(data)

    def _spoilt(self, data: bytes) -> bytes:
        kind = self.session.kind
        if kind == "silence" or (kind == "30 % loss" and self.chance.random() < 0.3):
            return b""
        if kind == "garbage":
            return self.chance.bytes(len(data))
        _, sequence, micros, counts = data.partition(b"*")[0].split(b",")
        if kind == "stuck":
            self._still = self._still or [int(counts)]
            return close_line(b"S,%s,%s,%d" % (sequence, micros, self._still[0]))
        if kind == "saturation":
            return close_line(b"S,%s,%s,%d" % (sequence, micros, CONVERTER_HIGH))
        return data

    def _anew(self, at_us: int, data: bytes) -> bytes:
        """Number and clock begin anew, or the clock leaps by an hour."""
        _, sequence, _, counts = data.partition(b"*")[0].split(b",")
        begun_us = round(self.session.begin_s * 1e6)
        if self.session.kind == "clock leap":
            us = (at_us + 3_600_000_000) % 2**32
            return close_line(b"S,%s,%d,%s" % (sequence, us, counts))
        if at_us - begun_us < 400_000:  # start-up, and the converter settles
            return b""
        self._still = self._still or [int(sequence)]
        fresh = int(sequence) - self._still[0]
        return close_line(b"S,%d,%d,%s" % (fresh, at_us - begun_us, counts))


def play(session: Session, folder: Path) -> None:
    """Run one session and judge it."""
    player = Player(session, folder)
    recording = folder / "session.jsonl"
    outcomes: list[Outcome] = []
    setup = StationSetup(
        f"serial:{player.link}",
        recording=recording,
        certificate=player.board.certificate(),
        is_patient=True,
    )
    station = Station(setup, on_outcome=outcomes.append)
    player.recorded = lambda: station.bytes_recorded
    player.start()
    with running(station):
        _follow(session, player, station)
    player.join(WITHIN_S)
    PLUGS.pop(player.port.path, None)
    player.port.pull()
    _judge(session, player, [o for o in outcomes if isinstance(o, Rep)], recording)


def _follow(session: Session, player: Player, station: Station) -> None:
    """Wait until all that was played has been read."""
    until_s = time.monotonic() + SESSION_S + WITHIN_S
    while player.is_alive() and time.monotonic() < until_s and not station.wait(0.05):
        pass
    while time.monotonic() < until_s and not station.wait(0.05):
        if player.sent[-1] and station.bytes_recorded >= len(b"".join(player.sent)):
            break
        if not player.is_alive():
            until_s = min(until_s, time.monotonic() + LINGER_S)
            player.sent[-1] = player.sent[-1] or b" "
    if station.error is not None:
        session.crash = repr(station.error)


def _judge(session: Session, player: Player, reps: list[Rep], recording: Path) -> None:
    records = list(RecordingReader(recording))
    chunks = [record for record in records if isinstance(record, Chunk)]
    session.events = [record.kind for record in records if isinstance(record, Event)]
    _judge_bytes(session, player, records)
    if not chunks:
        session.crash = session.crash or "nothing was recorded"
        return
    # the stream's axis is anchored at the arrival of the first reading, late or not
    offset_s = _offsets_s(chunks)[0]
    truth = [(rep.onset_s + offset_s, rep.release_s + offset_s) for rep in player.board.reps]
    truth = [(a, b) for a, b in truth if b < SESSION_S + offset_s - 0.8]
    begin_s, end_s = session.begin_s + offset_s, session.end_s + offset_s
    whole = [rep for rep in reps if rep.hold.complete]
    session.found = len(whole)
    for rep in whole:
        onset_s, release_s = rep.hold.onset_s, rep.hold.release_s or rep.hold.onset_s
        if not any(a - 0.5 < release_s and onset_s < b + 0.5 for a, b in truth):
            session.invented += 1
        is_cut = onset_s < begin_s - 0.2 and release_s > begin_s + 0.2
        if session.kind in ("unplug", "other name") and is_cut:
            session.unmarked += 1
    for a, b in truth:
        is_clear = b + CLEAR_S < begin_s or a - CLEAR_S > end_s
        if is_clear and not any(_shared_s(rep, a, b) > 0.6 * (b - a) for rep in whole):
            session.lost += 1


def _shared_s(rep: Rep, a: float, b: float) -> float:
    """How long a hold found and a push overlap [s]."""
    end_s = rep.hold.onset_s if rep.hold.release_s is None else rep.hold.release_s
    return min(b, end_s) - max(a, rep.hold.onset_s)


def _offsets_s(chunks: list[Chunk]) -> list[float]:
    """Stream's clock less board's clock [s], by each of the first lines; late where it was."""
    return [
        chunk.arrived_us * 1e-6 - int(parts[2]) * 1e-6
        for chunk in chunks[:LINES_BEFORE]
        for line in chunk.data.split(b"\n")
        if len(parts := line.split(b",")) == 4 and parts[0] == b"S" and b"*" in parts[3]
    ]


def _judge_bytes(session: Session, player: Player, records: list[Chunk | Event]) -> None:
    """Compare what went into each port with what was recorded of it."""
    parts = [b""]
    backs_us = [0]
    for record in records:
        if isinstance(record, Event):
            if record.kind == "back":
                parts.append(b"")
                back_us = record.at_us
                backs_us.append(back_us)
                first = next(
                    (r for r in records if isinstance(r, Chunk) and r.arrived_us >= back_us),
                    None,
                )
                if first is not None and player.back_s is not None:
                    session.recovery_s.append(_since_back(session, player, records, first))
        else:
            parts[-1] += record.data
    sent = [part for part in player.sent if part.strip()]
    for place, part in enumerate(sent):
        got = parts[place] if place < len(parts) else b""
        if place:
            least = len(part) - _before(player, place, backs_us, records)
            is_sound = part.endswith(got)
        else:
            least = len(part) if player.arrived is None else player.arrived
            is_sound = part.startswith(got)
        if not is_sound or len(got) < least:
            session.bytes_wrong = f"port {place}: {len(got)} of {len(part)} bytes"
        if place == len(sent) - 1 and not got.endswith(b"# over\n"):
            session.bytes_wrong = f"port {place}: its end is missing"


def _before(
    player: Player, place: int, backs_us: list[int], records: list[Chunk | Event]
) -> int:
    """How much went into a later port before the recording says that the board is back."""
    if place >= len(backs_us):
        return 0
    chunks = [record for record in records if isinstance(record, Chunk)]
    back_s = player.began_s + backs_us[place] * 1e-6 - min(_offsets_s(chunks)) + CLOCKS_S
    return max((size for at_s, size in player.writes[place] if at_s <= back_s), default=0)


def _since_back(
    session: Session, player: Player, records: list[Chunk | Event], first: Chunk
) -> float:
    """From the board's return to its first bytes, both on the board's clock [s]."""
    chunks = [record for record in records if isinstance(record, Chunk)]
    offset_s = min(_offsets_s(chunks))
    returned_s = (player.back_s or 0.0) - player.began_s
    return first.arrived_us * 1e-6 - offset_s - returned_s


def plan(n: int, seed: int) -> list[Session]:
    """Draw n sessions, all kinds alike."""
    chance = np.random.default_rng(seed)
    sessions = []
    for k in range(n):
        begin_s = float(chance.uniform(1.5, 13.0))
        lasts_s = float(chance.uniform(0.5, 3.5))
        sessions.append(
            Session(KINDS[k % len(KINDS)], 1000 * seed + k, begin_s, begin_s + lasts_s)
        )
    return sessions


def run(session: Session) -> Session:
    """Run one session in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            if session.kind == "disk full":
                session.crash, session.bytes_wrong = disk_full(Path(folder), session.seed)
            elif session.kind == "kill -9":
                session.crash, session.bytes_wrong, session.late_s = killed(
                    Path(folder), session.seed, session.begin_s
                )
            else:
                play(session, Path(folder))
        except Exception as error:  # noqa: BLE001 - whatever it is, it is the finding
            session.crash = repr(error)
    return session


def listed() -> list[SimpleNamespace]:
    """The plugs there are, as the system would list them."""
    return [
        SimpleNamespace(device=path, vid=0x1A86, pid=0x7523, serial_number=serial)
        for path, serial in list(PLUGS.items())
    ]


def campaign(n: int, seed: int) -> list[Session]:
    """Run n sessions, some at once."""
    with (
        mock.patch("serial.tools.list_ports.comports", listed),
        ThreadPoolExecutor(AT_ONCE) as pool,
    ):
        return list(pool.map(run, plan(n, seed)))


def table(sessions: list[Session]) -> list[str]:
    """Write the table."""
    head = ("found", "crash", "invented", "lost", "unmarked", "bytes", "recovery/s", "late/s")
    lines = [f"{'fault':<12}{'n':>4}" + "".join(f"{word:>11}" for word in head)]
    for kind in (*KINDS, "all"):
        those = [s for s in sessions if kind in (s.kind, "all")]
        if not those:
            continue
        times = [t for s in those for t in s.recovery_s]
        late = [s.late_s for s in those if s.late_s is not None]
        recovery = f"{np.quantile(times, 0.99):.2f}" if times else "-"
        lines.append(
            f"{kind:<12}{len(those):>4}{sum(s.found for s in those):>11}"
            f"{sum(bool(s.crash) for s in those):>11}{sum(s.invented for s in those):>11}"
            f"{sum(s.lost for s in those):>11}{sum(s.unmarked for s in those):>11}"
            f"{sum(bool(s.bytes_wrong) for s in those):>11}{recovery:>11}"
            f"{f'{max(late):.2f}' if late else '-':>11}"
        )
    return lines


def faults_of(sessions: list[Session]) -> list[Session]:
    """Give those in which something went wrong."""
    return [
        s for s in sessions if s.crash or s.invented or s.lost or s.unmarked or s.bytes_wrong
    ]


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--n", type=int, default=200, help="sessions")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(arguments)
    sessions = campaign(options.n, options.seed)
    print("\n".join(table(sessions)))
    bad = faults_of(sessions)
    for s in bad:
        print(s)
    slow = [t for s in sessions for t in s.recovery_s]
    is_slow = bool(slow) and float(np.quantile(slow, 0.99)) >= RECOVERY_S
    is_late = any(s.late_s is not None and s.late_s > LATE_S for s in sessions)
    return 1 if bad or is_slow or is_late else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
