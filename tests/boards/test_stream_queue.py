from __future__ import annotations

import asyncio
import threading
from typing import TYPE_CHECKING

import pytest

from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.errors import BoardLostError, RecordingError
from strikebridge.samples import Chunk, Event, Record
from tests.running import WITHIN_S

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.boards.stream_queue import FirstLook


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


class Looker:
    """A taker's first look: it notes what it saw, and on which thread."""

    def __init__(self, *, must_act: bool = False) -> None:
        self.must_act = must_act
        self.seen: list[list[bytes]] = []
        self.threads: set[int] = set()

    def __call__(self, records: list[Record]) -> bool:
        self.seen.append(data_of(records))
        self.threads.add(threading.get_ident())
        return self.must_act


def data_of(records: list[Record] | None) -> list[bytes]:
    assert records is not None
    return [record.data for record in records if isinstance(record, Chunk)]


def on_a_thread(*steps: Callable[[], None]) -> None:
    """Do something on another thread, as a reader of a port does, and wait for its end."""

    def go() -> None:
        for step in steps:
            step()

    thread = threading.Thread(target=go)
    thread.start()
    thread.join()


async def waiting_taker(
    queue: StreamQueue, look: FirstLook, timeout_s: float = 10.0
) -> asyncio.Task[list[Record] | None]:
    taker = asyncio.create_task(queue.take(timeout_s=timeout_s, first_look=look))
    await asyncio.sleep(0)  # one turn of the loop: the taker waits now
    return taker


async def test_bytes_are_looked_at_on_the_thread_that_brings_them() -> None:
    queue, look = StreamQueue(), Looker()
    taker = await waiting_taker(queue, look)
    on_a_thread(lambda: queue.put_bytes("x", b"1"))
    assert look.seen == [[b"1"]]
    assert threading.get_ident() not in look.threads
    assert data_of(await taker) == [b"1"]
    assert look.seen == [[b"1"]]


async def test_what_has_come_already_is_looked_at_by_the_taker() -> None:
    queue, look = StreamQueue(), Looker()
    queue.put_bytes("x", b"1")
    queue.put_bytes("x", b"2")
    assert look.seen == []
    assert data_of(await queue.take(timeout_s=10.0, first_look=look)) == [b"1", b"2"]
    assert look.seen == [[b"1", b"2"]]
    assert look.threads == {threading.get_ident()}
    assert await queue.take(timeout_s=0.001, first_look=look) == []
    assert len(look.seen) == 1


async def test_events_alone_wait_for_the_taker_and_keep_their_place() -> None:
    queue, look = StreamQueue(), Looker()
    taker = await waiting_taker(queue, look)
    queue.put(Event("go", 1))
    assert look.seen == []
    queue.put_bytes("x", b"1")
    taken = await taker
    assert taken is not None
    assert taken[0] == Event("go", 1)
    assert data_of(taken) == [b"1"]


async def test_a_taker_who_has_looked_waits_on_until_he_is_roused() -> None:
    queue, look = StreamQueue(), Looker()
    taker = await waiting_taker(queue, look)
    on_a_thread(
        lambda: queue.put_bytes("x", b"1", rouses=False),
        lambda: queue.put_bytes("x", b"2", rouses=False),
    )
    await asyncio.sleep(0)
    assert not taker.done()
    assert look.seen == [[b"1"], [b"2"]]
    on_a_thread(queue.rouse)
    assert data_of(await taker) == [b"1", b"2"]
    assert await queue.take(timeout_s=0.001, first_look=look) == []


async def test_a_taker_who_must_act_has_his_turn_at_once() -> None:
    queue, look = StreamQueue(), Looker(must_act=True)
    taker = await waiting_taker(queue, look)
    queue.put_bytes("x", b"1", rouses=False)
    queue.put_bytes("x", b"2", rouses=False)  # he is on his way: this waits for him
    assert data_of(await taker) == [b"1"]
    assert look.seen == [[b"1"]]
    assert data_of(await queue.take(timeout_s=10.0, first_look=look)) == [b"2"]


async def test_there_is_nobody_to_rouse_where_nothing_was_looked_at() -> None:
    queue = StreamQueue()
    taker = await waiting_taker(queue, Looker(), timeout_s=0.02)
    queue.rouse()
    await asyncio.sleep(0)
    await asyncio.sleep(0)
    assert not taker.done()
    assert await taker == []


async def test_looking_ends_before_the_taker_goes_on() -> None:
    """His time is over while another thread looks: he waits, for the work is one man's."""
    queue = StreamQueue()
    is_looking, may_end, order = threading.Event(), threading.Event(), list[str]()

    def look(records: list[Record]) -> bool:
        is_looking.set()
        assert may_end.wait(WITHIN_S)
        order.append(f"looked at {len(records)}")
        return False

    taker = await waiting_taker(queue, look, timeout_s=0.01)
    reader = threading.Thread(
        target=queue.put_bytes, args=("x", b"1"), kwargs={"rouses": False}
    )
    reader.start()
    assert is_looking.wait(WITHIN_S)
    threading.Timer(0.05, may_end.set).start()
    assert data_of(await taker) == [b"1"]
    order.append("taken")
    reader.join()
    assert order == ["looked at 1", "taken"]


async def test_nothing_is_lost_or_doubled_between_a_busy_reader_and_a_taker() -> None:
    queue, look, count = StreamQueue(), Looker(), 2000

    def read() -> None:
        for i in range(count):
            queue.put_bytes("x", b"%d" % i, rouses=i % 7 == 0)
            if i % 50 == 0:
                queue.rouse()
        queue.end()

    reader = threading.Thread(target=read)
    reader.start()
    taken: list[bytes] = []
    while (records := await queue.take(timeout_s=0.001, first_look=look)) is not None:
        taken += data_of(records)
    reader.join()
    assert taken == [b"%d" % i for i in range(count)]
    assert [data for seen in look.seen for data in seen] == taken


@pytest.mark.parametrize("is_waiting", [True, False])
async def test_an_error_of_the_first_look_is_the_takers(is_waiting: bool) -> None:
    def fail(records: list[Record]) -> bool:
        raise RecordingError(f"{len(records)} could not be kept")

    queue = StreamQueue()
    if is_waiting:
        taker = await waiting_taker(queue, fail)
        on_a_thread(lambda: queue.put_bytes("x", b"1", rouses=False))
        with pytest.raises(RecordingError):
            await taker
    else:
        queue.put_bytes("x", b"1")
        with pytest.raises(RecordingError):
            await queue.take(timeout_s=10.0, first_look=fail)
    assert await queue.take(timeout_s=0.001, first_look=fail) == []
