"""A recording played back: the same records, in their order, at their times."""

import asyncio
from pathlib import Path

import pytest

from strikebridge.boards.address import open_link, parse_address
from strikebridge.boards.replay_link import AT_ONCE, ReplayLink
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.errors import AddressError, CalibrationError, RecordingError
from strikebridge.recording import Header, RecordingReader, RecordingWriter
from strikebridge.samples import Chunk, Event, Record
from tests.cli.streams import simulated_recording


def a_recording(path: Path, records: list[Record]) -> Path:
    writer = RecordingWriter(
        path, Header(board="serial:x", started="2026-11-25T10:00:00+00:00")
    )
    for record in records:
        writer.append(record)
    writer.close()
    return path


async def played(address: str) -> tuple[list[Record], StreamQueue]:
    """Play to the end."""
    link, queue = open_link(address), StreamQueue()
    taken: list[Record] = []
    await link.open(queue)
    while (records := await queue.take(timeout_s=5.0)) is not None:
        taken += records
    await link.close()
    return taken, queue


@pytest.mark.parametrize("speed", ["max", "1000", "50"])
async def test_the_same_records_come_out(tmp_path: Path, speed: str) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=8.0)
    expected = list(RecordingReader(path))
    taken, queue = await played(f"replay:{path}?speed={speed}")
    assert taken == expected
    assert len(taken) > AT_ONCE
    assert queue.refused == 0


async def test_the_pace_is_kept(tmp_path: Path) -> None:
    records: list[Record] = [Chunk("serial:x", 100_000 * k, b"1\n") for k in range(5)]
    records.append(Event("go", 450_000))
    path = a_recording(tmp_path / "a.jsonl", records)
    link, queue = open_link(f"replay:{path}?speed=2"), StreamQueue()
    early_us: list[float] = []
    await link.open(queue)
    while (taken := await queue.take(timeout_s=5.0)) is not None:
        for record in taken:
            at_us = record.at_us if isinstance(record, Event) else record.arrived_us
            early_us.append(at_us / 2 - queue.now_us())
    await link.close()
    assert len(early_us) == 6
    assert max(early_us) <= 2000.0  # none comes before its time but for the timer's grain
    assert queue.now_us() >= 220_000


def test_it_says_what_it_is(tmp_path: Path) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=1.0)
    link = ReplayLink(parse_address(f"replay:{path}?speed=4"))
    assert (link.is_replay, link.is_stamped) == (True, True)
    assert link.address == f"replay:{path}?speed=4"
    assert link.header.board == "simulated:"
    assert link.certificate is not None
    assert link.certificate.id == SimulatedBoard(BoardModel(seed=3)).certificate().id


def test_a_recording_without_certificate_brings_none(tmp_path: Path) -> None:
    path = a_recording(tmp_path / "a.jsonl", [])
    assert ReplayLink(parse_address(f"replay:{path}")).certificate is None


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("replay:", "names no file"),
        ("replay:a.jsonl?speed=0", "speed"),
        ("replay:a.jsonl?speed=fast", "speed"),
        ("replay:a.jsonl?sped=2", "sped"),
    ],
)
def test_addresses_that_will_not_do(address: str, says: str) -> None:
    with pytest.raises(AddressError, match=says):
        open_link(address)


def test_files_that_will_not_do(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="cannot be read"):
        open_link(f"replay:{tmp_path / 'missing'}")
    (tmp_path / "a.csv").write_text("time_s,force_N\n")
    with pytest.raises(RecordingError, match="not a strikebridge recording"):
        open_link(f"replay:{tmp_path / 'a.csv'}")
    path = simulated_recording(tmp_path / "a.jsonl", seconds=1.0)
    path.write_text(path.read_text().replace('"u_relative":0.005', '"u_relative":0.001', 1))
    with pytest.raises(CalibrationError):
        open_link(f"replay:{path}")


async def test_a_file_that_goes_away_ends_the_stream_with_words(tmp_path: Path) -> None:
    path = a_recording(tmp_path / "a.jsonl", [Chunk("serial:x", 0, b"1\n")])
    link, queue = open_link(f"replay:{path}?speed=max"), StreamQueue()
    path.unlink()
    await link.open(queue)
    with pytest.raises(RecordingError, match="cannot be read on"):
        await queue.take(timeout_s=5.0)
    await link.close()


async def test_it_can_be_closed_at_any_time(tmp_path: Path) -> None:
    path = a_recording(
        tmp_path / "a.jsonl", [Chunk("serial:x", 0, b"1\n"), Chunk("serial:x", 10**9, b"2\n")]
    )
    link, queue = open_link(f"replay:{path}"), StreamQueue()
    await link.close()  # before it was opened
    await link.open(queue)
    assert await queue.take(timeout_s=5.0) == [Chunk("serial:x", 0, b"1\n")]
    await link.close()
    await link.close()
    others = asyncio.all_tasks() - {asyncio.current_task()}
    assert not others


async def test_it_does_not_listen(tmp_path: Path) -> None:
    path = a_recording(tmp_path / "a.jsonl", [])
    before = path.read_bytes()
    link = open_link(f"replay:{path}")
    await link.send(b"?\n")
    await link.hear(Event("go", 0))
    assert path.read_bytes() == before
