"""Make the captures of Bluetooth devices: `python -m tests.boards.make_radio_captures`.

One invented hold each, sent by the published layouts, with what goes wrong on the air put in by
hand. The expected result beside each was worked out without any decoder.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import Chunk
from tests.boards import radio_devices as air

Capture = tuple[str, list[tuple[int, bytes]], list[float], list[int]]

SAMPLES = 104
FAILED = 60
TORN = 75


def weight_scale() -> Capture:
    sent = [(2000, air.line("r", air.FEATURE, bytes.fromhex("38000000")))]
    kept, numbers = [], []
    for i in range(SAMPLES):
        at_us = 50_000 + 100_000 * i
        value = max(0.0, round(air.punch_kg(i * 0.1) / 0.005) * 0.005)
        payload = air.kilograms(value)
        if i == FAILED:
            payload = bytes.fromhex("00FFFF")
        if i == TORN:
            payload = payload[:2]
        sent.append((at_us, air.line("n", air.WEIGHT, payload)))
        if i == 0:
            sent.append((at_us + 900, air.line("r", air.BATTERY, b"\x5a")))
        if i not in (FAILED, TORN):
            kept.append(round(value, 3))
            numbers.append(i - (i > TORN))
    return "ble:C0:5E:00:00:00:01", sent, kept, numbers


def bthome() -> Capture:
    sent: list[tuple[int, bytes]] = []
    kept, numbers = [], []
    for i in range(SAMPLES + 2):
        at_us = 50_000 + 200_000 * i
        value = max(0.0, round(air.punch_kg(i * 0.2 - 8.0), 2))
        data = air.packet(37 + i, value, battery=90 if i % 10 == 0 else None)
        if i == FAILED:
            continue  # never heard
        if i == TORN:
            data = data[:-1]
        times = 2 if i % 10 == 0 else 1  # the same advertisement, heard again
        sent += [(at_us + 20_000 * j, air.line("a", air.BTHOME, data)) for j in range(times)]
        if i != TORN:
            kept.append(value)
            numbers.append(i)
    return "advert:C0:5E:00:00:00:02", sent, kept, numbers


def presentation_format() -> Capture:
    sent: list[tuple[int, bytes]] = []
    kept = []
    for i in range(SAMPLES):
        at_us = 50_000 + 25_000 * i
        tenths = round(air.punch_kg(3.0 + i * 0.025) * 98.0665)
        payload = tenths.to_bytes(2, "little", signed=True)
        if i == TORN:
            payload += b"\0"
        else:
            kept.append(tenths / 10.0)
        sent.append((at_us, air.line("n", air.NUMBER, payload, air.NEWTON_TENTHS)))
        if i == 0:
            sent.append((at_us + 900, air.line("r", air.BATTERY, b"\x0b")))
    return "ble:C0:5E:00:00:00:03", sent, kept, list(range(len(kept)))


def strikebridge_stream() -> Capture:
    sent = [(2000, air.line("r", air.STREAM_IDENTITY, air.IDENTITY))]
    kept: list[float] = []
    numbers: list[int] = []
    micros, n = 2**32 - 700_000, 0
    for i in range(60):
        size = 1 + i % 4
        rows = [[84_000 + round(400 * air.punch_kg(3.0 + (n + k) / 80.0))] for k in range(size)]
        data = air.block(65_500 + n, micros, rows)
        if i == 40:
            data = data[:-1]
        if i != 30:  # never heard
            sent.append((50_000 + 12_500 * (n + size), air.line("n", air.STREAM_BLOCK, data)))
        if i not in (30, 40):
            kept += [float(row[0]) for row in rows]
            numbers += range(n, n + size)
        n, micros = n + size, micros + 12_500 * size
    return "ble:C0:5E:00:00:00:04", sent, kept, numbers


def main(folder: Path) -> None:
    for make in (weight_scale, bthome, presentation_format, strikebridge_stream):
        board, sent, kept, numbers = make()
        shape = make.__name__.replace("_", "-")
        place = folder / shape
        place.mkdir(parents=True, exist_ok=True)
        path = place / "capture.jsonl"
        path.unlink(missing_ok=True)
        header = Header(board=board, started="2026-01-01T09:00:00.000+00:00", shape=shape)
        writer = RecordingWriter(path, header)
        writer.append(Chunk(board, 1000, b"6CD*21C3\n"))  # begun in the middle
        for at_us, data in sent:
            writer.append(Chunk(board, at_us, data))
        writer.close()
        expected = {"counts": kept, "number": numbers, "unreadable": 1, "shape": shape}
        (place / "expected.json").write_text(json.dumps(expected) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path("recordings"))
