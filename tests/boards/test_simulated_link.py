import asyncio
import os
from collections.abc import Callable
from typing import Any

import pytest

from strikebridge.boards import pseudo_port
from strikebridge.boards.address import make_decoder, open_link
from strikebridge.boards.pseudo_port import bunched
from strikebridge.boards.simulated_board import TimedLine
from strikebridge.boards.simulated_link import SimulatedLink
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.errors import BoardNotFoundError
from strikebridge.samples import Chunk, Event, Record
from tests.ptys import posix


def make(text: str) -> SimulatedLink:
    link = open_link(text)
    assert isinstance(link, SimulatedLink)
    return link


async def some(queue: StreamQueue) -> list[Record]:
    """Take what comes next; a wake-up may be one too many and bring nothing."""
    async with asyncio.timeout(15.0):
        while not (records := await queue.take(timeout_s=1.0)):
            assert records is not None, "the stream ended"
    return records


async def follow(
    link: SimulatedLink,
    enough: Callable[[list[float]], bool],
    *,
    decoder: Any = None,
    queue: Any = None,
) -> tuple[list[Chunk], Any, list[float]]:
    """Read until `enough(readings)`; return chunks, decoder and counts."""
    decoder = decoder or make_decoder("auto")
    queue = queue or StreamQueue()
    await link.open(queue)
    chunks: list[Chunk] = []
    counts: list[float] = []
    try:
        while not enough(counts):
            records = await some(queue)
            chunks += [record for record in records if isinstance(record, Chunk)]
            for block in decoder.feed(chunks[-len(records) :]):
                counts += block.counts[:, 0].tolist()
    finally:
        await link.close()
    return chunks, decoder, counts


@posix
async def test_bytes_pass_through_a_real_port() -> None:
    link = make("simulated:?rate_hz=320&seed=3")
    chunks, decoder, counts = await follow(link, lambda counts: len(counts) >= 80)
    assert not link.is_stamped
    assert decoder.identity.rate_hz == 320.0
    assert decoder.unreadable == 0
    assert {chunk.board for chunk in chunks} == {"simulated:?rate_hz=320&seed=3"}
    fast = make("simulated:?rate_hz=320&seed=3&speed=max")
    _, _, same = await follow(fast, lambda counts: len(counts) >= 80)
    assert counts[:80] == same[:80]
    await link.close()


@posix
async def test_the_board_keeps_time() -> None:
    """Nothing comes before the board has made it."""
    link = make("simulated:?rate_hz=320&seed=3")
    queue = StreamQueue()
    chunks, _, _ = await follow(link, lambda counts: len(counts) >= 160, queue=queue)
    (block,) = make_decoder("strikebridge-lines").feed(chunks)
    assert block.ticks_us is not None
    lag_us = block.arrived_us - block.ticks_us - link._offset_us
    assert lag_us.min() > -2000


@posix
async def test_says_again_what_it_is_through_the_port() -> None:
    link = make("simulated:?rate_hz=320")
    queue = StreamQueue()
    await link.open(queue)
    text = b""
    while text.count(b"I,1,simulated") < 2:
        await link.send(b"?\n")
        records = await some(queue)
        text += b"".join(record.data for record in records if isinstance(record, Chunk))
    await link.close()


async def test_says_again_what_it_is_without_a_port() -> None:
    link = make("simulated:?speed=max")
    await link.send(b"?\n")
    chunks, _, _ = await follow(link, lambda counts: len(counts) >= 20)
    assert b"".join(chunk.data for chunk in chunks).count(b"I,1,simulated") == 2


@posix
async def test_opened_again_it_goes_on() -> None:
    link = make("simulated:?rate_hz=320")
    decoder = make_decoder("auto")
    queue = StreamQueue()
    await follow(link, lambda counts: len(counts) >= 20, decoder=decoder, queue=queue)
    made = link.board.now_s
    decoder.finish()
    await follow(link, lambda counts: len(counts) >= 20, decoder=decoder, queue=queue)
    assert link.board.now_s > made
    assert decoder.unreadable == 0


async def test_stamps_of_the_boards_own_clock_at_other_speeds() -> None:
    link = make("simulated:?rate_hz=80&seed=3&speed=50")
    assert link.is_stamped
    chunks, _, _ = await follow(link, lambda counts: len(counts) >= 100)
    (block,) = make_decoder("strikebridge-lines").feed(chunks)
    assert block.ticks_us is not None
    assert block.arrived_us.tolist() == block.ticks_us.tolist()


async def test_goes_no_faster_than_its_reader() -> None:
    link = make("simulated:?speed=max")
    queue = StreamQueue()
    await follow(link, lambda counts: len(counts) >= 2000, queue=queue)
    assert queue.most_waiting <= 10


async def test_the_athlete_hears_the_go_on_the_streams_clock() -> None:
    link = make("simulated:?seed=3&speed=max&athlete=listens")
    queue = StreamQueue()
    await link.open(queue)
    newest_us = said_us = 0
    while newest_us < 6_000_000:
        records = await some(queue)
        newest_us = max(r.arrived_us for r in records if isinstance(r, Chunk))
        if newest_us > 3_000_000 and not link.board.reps:
            await link.hear(Event("go", newest_us))
            said_us = newest_us
    (rep,) = link.board.reps
    assert rep.go_s == pytest.approx(said_us * 1e-6)
    await link.close()


@posix
async def test_the_athlete_hears_the_go_at_natural_speed() -> None:
    link = make("simulated:?seed=3&athlete=listens")
    queue = StreamQueue()
    await link.open(queue)
    await link.hear(Event("go", queue.now_us()))
    assert link.board.reps[0].go_s < 5.0
    await link.close()


def test_lines_are_held_back_into_bunches() -> None:
    lines = [TimedLine(us, b"%d" % us) for us in (1, 999, 1000, 1001)]
    assert [us for us, _ in bunched(lines, 1000)] == [1000, 1000, 1000, 2000]
    assert [us for us, _ in bunched(lines, 0)] == [1, 999, 1000, 1001]


async def test_an_error_of_the_model_reaches_the_reader(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    link = make("simulated:?speed=max")

    def fail() -> None:
        raise ZeroDivisionError("model")

    monkeypatch.setattr(link.board, "next_lines", fail)
    queue = StreamQueue()
    await link.open(queue)
    assert len(await some(queue)) == 1  # the identity came before
    with pytest.raises(ZeroDivisionError, match="model"):
        await some(queue)
    await link.close()


@posix
async def test_no_pseudo_terminal_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse() -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "openpty", refuse)
    with pytest.raises(BoardNotFoundError, match="gave no pseudo-terminal"):
        await make("simulated:").open(StreamQueue())


@posix
async def test_a_port_that_nobody_reads_does_not_stop_the_board() -> None:
    port = pseudo_port.PseudoPort(make("simulated:").board, 0)
    for _ in range(3000):
        port._put(b"x" * 100)
    port._listen()
    port.close()
    with pytest.raises(OSError, match="Bad file"):
        os.fstat(port._ours)


@posix
async def test_a_port_that_cannot_be_opened_is_given_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    link = make("simulated:")
    monkeypatch.setattr(os, "ttyname", lambda fd: "/dev/there-is-no-such-port")
    with pytest.raises(BoardNotFoundError):
        await link.open(StreamQueue())
    await link.close()
