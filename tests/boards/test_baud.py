"""The baud rate is found by trial, from bytes as a wrong rate delivers them."""

import select
import threading

import pytest

from strikebridge.boards.address import open_link
from strikebridge.boards.baud import USUAL_BAUDS, BaudTrial
from strikebridge.boards.stream_queue import StreamQueue
from strikebridge.samples import Chunk, Event
from tests.ptys import open_pty, posix

TEXT = b"".join(b"Reading: %d raw\r\n" % (84_213 + 37 * n % 91) for n in range(400))


def read_at(text: bytes, sent_baud: int, read_baud: int) -> bytes:
    """What a UART makes of a line of bytes that were sent at another rate.

    One start bit (0), eight data bits from the lowest, one stop bit (1), as any textbook on
    asynchronous serial transmission has it; each bit is sampled in its middle.
    """
    frames = [(0, *(byte >> n & 1 for n in range(8)), 1) for byte in text]
    bits = bytes(bit for frame in frames for bit in frame) + b"\1" * 20

    def level(at: float) -> int:
        place = int(at * sent_baud)
        return bits[place] if place < len(bits) else 1

    out = bytearray()
    at, end, step = 0.0, len(bits) / sent_baud, 1.0 / read_baud
    while at < end:
        if level(at) == 1:
            fall = bits.find(0, int(at * sent_baud))  # a receiver waits for a start bit
            if fall < 0:
                break
            at = fall / sent_baud + 1e-9
            continue
        data = sum(level(at + (1.5 + n) * step) << n for n in range(8))
        if level(at + 9.5 * step) == 1:  # else a framing error, and no byte
            out.append(data)
        at += 9.5 * step
    return bytes(out)


def test_the_same_rate_gives_the_same_bytes() -> None:
    assert read_at(TEXT[:200], 9600, 9600) == TEXT[:200]


@pytest.mark.parametrize("baud", USUAL_BAUDS)
def test_every_usual_rate_is_found(baud: int) -> None:
    trial = BaudTrial()
    tried = [trial.baud]
    heard_at: dict[int, bytes] = {}
    for _ in range(4000):
        if trial.baud not in heard_at:
            heard_at[trial.baud] = read_at(TEXT[:300], baud, trial.baud)
        heard = heard_at[trial.baud]
        for place in range(0, len(heard), 16):
            if trial.feed(heard[place : place + 16]):
                tried.append(trial.baud)
                break
        if trial.is_settled:
            break
    assert trial.is_settled
    assert trial.baud == baud
    assert len(set(tried)) == len(tried)
    assert not trial.feed(b"\xff" * 1000)


def test_text_at_the_first_rate_stays() -> None:
    trial = BaudTrial(9600)
    assert not trial.feed(b"HX711 not ready\n" * 4)
    assert trial.is_settled
    assert trial.baud == 9600


def test_text_without_a_line_feed_is_tried_at_other_rates() -> None:
    trial = BaudTrial()
    assert not trial.feed(b"7" * 399)
    assert trial.feed(b"7")
    assert trial.baud == USUAL_BAUDS[1]


@posix
async def test_a_port_is_set_to_the_rate_of_its_board() -> None:
    """A board at 9600 on a pseudo-terminal: our end reads what the other end is set to."""
    end = open_pty()
    stopping = threading.Event()

    def board() -> None:
        """Send text as it arrives at the rate that the port is set to."""
        while not stopping.is_set():
            if select.select([], [end.ours], [], 0.05)[1]:
                end.write(read_at(TEXT[:100], 9600, end.baud()))
            stopping.wait(0.01)

    link, queue = open_link(f"serial:{end.path}"), StreamQueue()
    thread = threading.Thread(target=board)
    await link.open(queue)
    thread.start()
    try:
        data, bauds = b"", []
        while b"Reading: 84213 raw\r\n" not in data:
            for record in await queue.take(timeout_s=5.0) or []:
                if isinstance(record, Chunk):
                    data += record.data
                else:
                    assert isinstance(record, Event)
                    bauds.append(record.detail["baud"])
        assert bauds == [9600]
    finally:
        stopping.set()
        thread.join()
        await link.close()
        end.pull()
