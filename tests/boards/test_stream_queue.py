import asyncio
import threading

import pytest

from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.errors import BoardLostError, RecordingError
from strikebridge.samples import Chunk, Event, Record


def chunk(i: int) -> Chunk:
    return Chunk("x", i, b"%d" % i)


async def test_keeps_the_order() -> None:
    queue = StreamQueue()
    queue.put(chunk(1))
    queue.put(Event("go", 2))
    queue.put(chunk(3))
    assert queue.waiting == 3
    assert await queue.take(timeout_s=1.0) == [chunk(1), Event("go", 2), chunk(3)]
    assert queue.waiting == 0


async def test_stamps_on_its_own_rising_clock() -> None:
    queue = StreamQueue()
    before = queue.now_us()
    queue.put_bytes("x", b"a")
    queue.put_bytes("x", b"b")
    taken = await queue.take(timeout_s=1.0)
    assert taken is not None
    stamps = [record.arrived_us for record in taken if isinstance(record, Chunk)]
    assert before <= stamps[0] <= stamps[1] <= queue.now_us()


async def test_refuses_more_than_it_may_hold_and_counts() -> None:
    queue = StreamQueue(limit=2)
    for i in range(5):
        queue.put(chunk(i))
    assert queue.refused == 3
    assert queue.most_waiting == 2
    assert await queue.take(timeout_s=1.0) == [chunk(0), chunk(1)]
    queue.put(chunk(9))
    assert await queue.take(timeout_s=1.0) == [chunk(9)]


async def test_waits_no_longer_than_told() -> None:
    assert await StreamQueue().take(timeout_s=0.001) == []


async def test_wakes_for_another_thread() -> None:
    queue = StreamQueue()
    taker = asyncio.create_task(queue.take(timeout_s=10.0))
    await asyncio.sleep(0)  # one turn of the loop: the taker waits now
    thread = threading.Thread(target=queue.put, args=(chunk(1),))
    thread.start()
    assert await taker == [chunk(1)]
    thread.join()


async def test_fails_after_everything_before_was_taken_and_only_once() -> None:
    queue = StreamQueue()
    queue.put(chunk(1))
    queue.fail(BoardLostError("gone"))
    assert await queue.take(timeout_s=1.0) == [chunk(1)]
    with pytest.raises(BoardLostError, match="gone"):
        await queue.take(timeout_s=1.0)
    assert await queue.take(timeout_s=0.001) == []
    queue.put(chunk(2))
    assert await queue.take(timeout_s=1.0) == [chunk(2)]


async def test_failure_and_end_wake_a_waiting_taker() -> None:
    for tell, told in ((StreamQueue.end, None), (lambda q: q.fail(BoardLostError("x")), "x")):
        queue = StreamQueue()
        taker = asyncio.create_task(queue.take(timeout_s=10.0))
        await asyncio.sleep(0)
        tell(queue)
        if told is None:
            assert await taker is None
        else:
            with pytest.raises(BoardLostError, match=told):
                await taker


async def test_ends_after_everything_was_taken() -> None:
    queue = StreamQueue()
    queue.put(chunk(1))
    queue.end()
    assert await queue.take(timeout_s=1.0) == [chunk(1)]
    assert await queue.take(timeout_s=1.0) is None


def test_a_link_that_delivers_after_the_end_does_no_harm() -> None:
    queue = StreamQueue()
    asyncio.run(queue.take(timeout_s=0.001))
    queue.put(chunk(1))
    queue.fail(BoardLostError("x"))
    queue.end()
    assert queue.waiting == 1


async def test_a_first_look_comes_before_the_takers_turn() -> None:
    queue = StreamQueue()
    seen: list[list[Record]] = []
    had_turn: list[bool] = []

    def look(records: list[Record]) -> None:
        seen.append(records)
        had_turn.append(taker.done())

    taker = asyncio.create_task(queue.take(timeout_s=10.0, first_look=look))
    await asyncio.sleep(0)
    queue.put(chunk(1))
    assert await taker == [chunk(1)]
    assert seen == [[chunk(1)]]
    assert had_turn == [False]
    queue.put(chunk(2))
    assert await queue.take(timeout_s=10.0, first_look=seen.append) == [chunk(2)]
    assert seen == [[chunk(1)], [chunk(2)]]
    assert await queue.take(timeout_s=0.001, first_look=seen.append) == []
    assert len(seen) == 2


async def test_an_error_of_the_first_look_is_the_takers() -> None:
    def fail(records: list[Record]) -> None:
        raise RecordingError(f"{len(records)} could not be kept")

    queue = StreamQueue()
    taker = asyncio.create_task(queue.take(timeout_s=10.0, first_look=fail))
    await asyncio.sleep(0)
    queue.put(chunk(1))
    with pytest.raises(RecordingError):
        await taker
