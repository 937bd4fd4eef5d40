"""Looking on at a board: what is counted, and how large noise and drift come out."""

import math
from pathlib import Path

import numpy as np
import pytest

from strikebridge.boards.address import make_decoder
from strikebridge.boards.simulated_board import BoardModel, SimulatedBoard
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.boards.watching import BoardReport, BoardWatch, watch_board
from strikebridge.errors import AddressError, BoardSilentError
from strikebridge.recording import Header, RecordingWriter
from strikebridge.samples import Chunk, Quantity
from tests.cli.streams import simulated_recording

RATE_HZ = 80.0


def lines_of(counts: list[int], *, leave_out: tuple[int, ...] = ()) -> list[Chunk]:
    """Our own lines with these counts, a line a chunk."""
    chunks = []
    for k, count in enumerate(counts):
        at_us = round(k * 1e6 / RATE_HZ)
        if k not in leave_out:
            line = close_line(b"S,%d,%d,%d" % (k % 65536, at_us, count))
            chunks.append(Chunk("serial:x", at_us + 1500, line))
    return chunks


def watched(chunks: list[Chunk], at_once: int = 10) -> BoardReport:
    watch = BoardWatch("serial:x", make_decoder())
    for k in range(0, len(chunks), at_once):
        watch.feed(chunks[k : k + at_once])
    return watch.report()


def wandering(seconds: float, *, noise: float, per_min: float) -> list[int]:
    """White noise upon a straight drift."""
    time_s = np.arange(0.0, seconds, 1.0 / RATE_HZ)
    noisy = np.random.default_rng(2).normal(0.0, noise, len(time_s))
    return [int(c) for c in np.round(84_000.0 + noisy + per_min / 60.0 * time_s)]


def test_noise_and_drift_come_out_as_put_in() -> None:
    report = watched(lines_of(wandering(30.0, noise=60.0, per_min=900.0)))
    # 30 seconds of 80 readings: the median of their SDs is good to some 3 %
    assert report.noise_sd == pytest.approx(60.0, rel=0.06)
    assert report.drift_per_min == pytest.approx(900.0, abs=90.0)
    assert report.rate_hz == pytest.approx(RATE_HZ, rel=1e-3)


def test_drift_is_no_noise_and_a_touch_is_no_drift() -> None:
    counts = wandering(20.0, noise=10.0, per_min=0.0)
    touched = [c + 50_000 if 800 <= k < 1000 else c for k, c in enumerate(counts)]
    report = watched(lines_of(touched))
    assert report.noise_sd == pytest.approx(10.0, rel=0.1)
    assert report.drift_per_min is not None
    assert abs(report.drift_per_min) < 60.0


@pytest.mark.parametrize("at_once", [1, 7, 10_000])
def test_what_was_read_is_counted(at_once: int) -> None:
    counts = wandering(5.0, noise=20.0, per_min=0.0)
    chunks = lines_of(counts, leave_out=(100, 101, 250))
    chunks.insert(50, Chunk("serial:x", chunks[50].arrived_us, b"S,1,2,3*0000\n"))
    report = watched(chunks, at_once)
    assert (report.address, report.understood, report.identity) == ("serial:x", True, None)
    assert (report.shape, report.quantity) == ("strikebridge-lines", Quantity.COUNT)
    assert (report.channels, report.readings, report.lost) == (1, 397, 3)
    assert report.unreadable_lines == 1
    assert (report.first, report.last) == ((counts[0],), (counts[-1],))
    assert report.questions == ()


def test_too_few_readings_have_no_spread() -> None:
    report = watched(lines_of([5, 6, 7]))
    assert (report.readings, report.noise_sd, report.drift_per_min) == (3, None, None)
    one_second = watched(lines_of(wandering(0.9, noise=20.0, per_min=0.0)))
    assert one_second.noise_sd == pytest.approx(20.0, rel=0.3)
    assert one_second.drift_per_min is None


def test_a_board_that_cannot_be_read_is_not_understood() -> None:
    report = watched([Chunk("serial:x", 1000 * k, b"\xff\xfe\x80%\n") for k in range(30)])
    assert not report.understood
    assert (report.readings, report.first, report.last) == (0, (), ())
    assert (report.rate_hz, report.noise_sd, report.drift_per_min) == (None, None, None)
    assert report.unreadable_lines > 0


def test_the_sum_of_the_cells_is_what_drifts() -> None:
    board = SimulatedBoard(BoardModel(seed=2, channels=4))
    chunks = [Chunk("simulated:", 0, board.identity_line())]
    while board.now_s < 3.5:
        chunks += [Chunk("simulated:", line.at_us, line.data) for line in board.next_lines()]
    report = watched(chunks)
    assert (report.channels, len(report.first), len(report.last)) == (4, 4, 4)
    assert report.identity == "simulated-2 1.0, hx711"
    assert report.rate_hz == pytest.approx(board.real_rate_hz, rel=2e-3)
    assert report.noise_sd is not None
    assert 20.0 < report.noise_sd < 400.0


async def test_a_recording_is_watched_to_its_end(tmp_path: Path) -> None:
    path = simulated_recording(tmp_path / "a.jsonl", seconds=3.0)
    told: list[tuple[int, float]] = []
    report = (
        await watch_board(
            f"replay:{path}?speed=max",
            600.0,
            lambda readings, over_s: told.append((readings, over_s)),
        )
    ).report()
    assert report.readings == told[-1][0] > 200
    assert told[-1][1] < 10.0
    assert report.lost == 0


async def test_watching_ends_in_time() -> None:
    clock = StreamQueue()
    watch = await watch_board("simulated:?speed=max", 0.5, lambda _readings, _over_s: None)
    report = watch.report()
    assert 0.5 <= clock.now_us() * 1e-6 < 5.0
    assert report.understood
    assert math.isfinite(report.rate_hz or math.nan)


async def test_silence_is_an_error_with_advice(tmp_path: Path) -> None:
    header = Header(board="serial:x", started="2026-11-25T10:00:00+00:00")
    RecordingWriter(tmp_path / "a.jsonl", header).close()
    with pytest.raises(BoardSilentError, match="Check that the board has power") as caught:
        await watch_board(
            f"replay:{tmp_path / 'a.jsonl'}", 0.5, lambda _readings, _over_s: None
        )
    assert caught.value.address == f"replay:{tmp_path / 'a.jsonl'}"


async def test_a_wrong_address_is_said_at_once() -> None:
    with pytest.raises(AddressError):
        await watch_board("pigeon:post", 5.0, lambda _readings, _over_s: None)
