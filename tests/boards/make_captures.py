"""Make the captures in recordings/: `python -m tests.boards.make_captures`.

They come from the simulated board at 10 samples a second and hold one punch hold each, with
what goes wrong on real cables put in by hand. The expected result beside each was worked out
from the same lines without any decoder.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from strikebridge.boards.simulated_board import GAIN_N_PER_COUNT, BoardModel, SimulatedBoard
from strikebridge.calibration.certificate_file import certificate_to_json
from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import Chunk

SAMPLES = 105
LOST = (60,)
TORN = (75,)


def board_lines() -> tuple[SimulatedBoard, list[tuple[int, bytes]]]:
    board = SimulatedBoard(BoardModel(rate_hz=10.0, seed=7))
    lines = [(line.at_us, line.data) for _ in range(SAMPLES) for line in board.next_lines()]
    return board, lines


def own() -> tuple[SimulatedBoard, list[tuple[int, bytes]], dict[str, object]]:
    board, lines = board_lines()
    sent: list[tuple[int, bytes]] = [
        (1000, b"4213*77AA\n"),
        (2000, b"# wall board\r\n"),
        (3000, board.identity_line()),
    ]
    counts: list[int] = []
    numbers: list[int] = []
    for i, (at_us, data) in enumerate(lines):
        if i in LOST:
            continue
        if i in TORN:
            sent.append((at_us, data[:9] + data[12:]))
            continue
        sent.append((at_us, data))
        counts.append(int(data.partition(b"*")[0].split(b",")[3]))
        numbers.append(i)
    expected = {
        "counts": counts,
        "number": numbers,
        "unreadable": 1,
        "shape": "strikebridge-lines",
    }
    return board, sent, expected


def bare() -> tuple[SimulatedBoard, list[tuple[int, bytes]], dict[str, object]]:
    board, lines = board_lines()
    sent: list[tuple[int, bytes]] = [
        (1000, b"13\r\n"),
        (2000, b"HX711 not ready\r\n"),
        (3000, b"\r\n"),
    ]
    counts: list[int] = []
    for i, (at_us, data) in enumerate(lines):
        if i in LOST:
            continue
        count = int(data.partition(b"*")[0].split(b",")[3])
        sent.append((at_us, b"%d\r\n" % count))
        counts.append(count)
    expected = {
        "counts": counts,
        "number": list(range(len(counts))),
        "unreadable": 1,
        "shape": "bare-integers",
    }
    return board, sent, expected


def described() -> tuple[SimulatedBoard, list[tuple[int, bytes]], dict[str, object]]:
    """A sketch that labels its readings; one line loses its end and runs into the next."""
    board, lines = board_lines()
    sent: list[tuple[int, bytes]] = [
        (1000, b"ding: 13 raw\r\n"),
        (2000, b"HX711 not ready\r\n"),
        (3000, b"\r\n"),
    ]
    counts: list[int] = []
    for i, (at_us, data) in enumerate(lines):
        if i in LOST:
            continue
        count = int(data.partition(b"*")[0].split(b",")[3])
        if i in TORN:
            sent.append((at_us, b"Reading: %d" % (count // 1000)))
            continue
        if i - 1 in TORN:
            sent.append((at_us, b"Reading: %d raw\r\n" % count))
            continue
        sent.append((at_us, b"Reading: %d raw\r\n" % count))
        counts.append(count)
    expected = {
        "counts": counts,
        "number": list(range(len(counts))),
        "unreadable": 2,
        "shape": "described-lines",
    }
    return board, sent, expected


def main(folder: Path) -> None:
    for make in (own, bare, described):
        board, sent, expected = make()
        shape = str(expected["shape"])
        place = folder / shape
        place.mkdir(parents=True, exist_ok=True)
        path = place / "capture.jsonl"
        path.unlink(missing_ok=True)
        header = Header(
            board="serial:/dev/ttyUSB0",
            started="2026-01-01T09:00:00.000+00:00",
            shape=shape,
            calibration=certificate_to_json(board.certificate()),
        )
        writer = RecordingWriter(path, header)
        for at_us, data in sent:
            writer.append(Chunk(header.board, at_us, data))
        writer.close()
        rep = board.reps[0]
        expected["truth"] = {
            "onset_s": round(rep.onset_s, 4),
            "peak_N": round(rep.peak_N, 1),
            "plateau_N": round(rep.plateau_N, 1),
            "release_s": round(rep.release_s, 4),
            "gain_N_per_count": GAIN_N_PER_COUNT,
            "zero_counts": board.zero_counts,
        }
        (place / "expected.json").write_text(json.dumps(expected) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path("recordings"))
