"""Scenes as files: recordings and plain CSV, written from their published formats."""

from __future__ import annotations

import json
from binascii import crc_hqx
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from tests.corpus.scenes import Scene

STARTED = "2026-03-02T18:00:00+00:00"


def write(scene: Scene, folder: Path) -> Path:
    """Write a scene in its form.

    Args:
        scene: the scene.
        folder: where to.

    Returns:
        The file: CSV of counts (host stamps) or forces (times to the millisecond), or a
        recording of checked lines or bare numbers.
    """
    stem = f"{scene.name}-{scene.seed}"
    if scene.form in ("counts", "forces"):
        path = folder / f"{stem}.csv"
        path.write_text(_table(scene), encoding="utf-8", newline="")
        return path
    path = folder / f"{stem}.jsonl"
    lines = _checked_lines(scene) if scene.form == "lines" else _bare_numbers(scene)
    records = [(int(at_s * 1e6), text) for at_s, text in lines]
    shape = "strikebridge-lines" if scene.form == "lines" else "bare-integers"
    rows = [json.dumps(_header(shape))]
    events = [(int(at_s * 1e6), None) for at_s in scene.gos_s]
    both: list[tuple[int, str | None]] = sorted(
        [*records, *events], key=lambda one: (one[0], one[1] is not None)
    )
    for at_us, text in both:
        if text is None:
            rows.append(json.dumps({"at_us": at_us, "event": "go", "detail": {}}))
        else:
            rows.append(json.dumps({"at_us": at_us, "text": text}))
    path.write_text("\n".join(rows) + "\n", encoding="utf-8", newline="")
    return path


def _header(shape: str) -> dict[str, object]:
    return {
        "strikebridge_recording": 1,
        "board": "serial:/dev/ttyUSB0",
        "started": STARTED,
        "shape": shape,
    }


def _table(scene: Scene) -> str:
    reading, kit = scene.reading, scene.kit
    if scene.form == "counts":
        pairs = zip(reading.arrived_s.tolist(), reading.counts.tolist(), strict=True)
        rows = [f"{at_s:.6f},{count}" for at_s, count in pairs]
        return "\r\n".join(["time_s,count_1", *rows]) + "\r\n"
    forces = (reading.counts - kit.offset_counts) * kit.gain_N_per_count
    rows = [
        f"{at_s:.3f},{force:.3f}"
        for at_s, force in zip(reading.taken_s.tolist(), forces.tolist(), strict=True)
    ]
    return "\n".join(["time_s,force_N", *rows]) + "\n"


def _checked_lines(scene: Scene) -> list[tuple[float, str]]:
    """Lines with a running number, the board's clock and a CRC; its clock starts anywhere."""
    reading = scene.reading
    out = []
    for number, taken_s, at_s, count in zip(
        reading.number.tolist(),
        reading.taken_s.tolist(),
        reading.arrived_s.tolist(),
        reading.counts.tolist(),
        strict=True,
    ):
        ticks = (int(taken_s * 1e6) + 4_294_000_000) % 2**32
        payload = f"S,{(number + 65_000) % 65_536},{ticks},{count}"
        out.append((at_s, f"{payload}*{crc_hqx(payload.encode(), 0xFFFF):04X}\n"))
    return out


def _bare_numbers(scene: Scene) -> list[tuple[float, str]]:
    pairs = zip(scene.reading.arrived_s.tolist(), scene.reading.counts.tolist(), strict=True)
    return [(at_s, f"{count}\n") for at_s, count in pairs]
