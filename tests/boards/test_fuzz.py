"""A tenth of the campaign `python -m tests.boards.fuzz`."""

import pytest

from strikebridge.boards import BOARDS
from tests.boards.fuzz import bitwise_crc, captured, damage_sketches, fuzz, oracle_of
from tests.boards.radio_devices import (
    NEWTON_TENTHS,
    NUMBER,
    STREAM_BLOCK,
    block,
    kilograms,
    line,
    packet,
)

N = 1_000_000


@pytest.mark.slow
@pytest.mark.timeout(180)
@pytest.mark.parametrize("shape", BOARDS)
def test_a_decoder_bears_a_million_damaged_bytes(shape: str) -> None:
    row = fuzz(shape, shape, captured(shape), N, 2)
    assert row.faults == []
    assert row.fed >= N
    assert row.out > 1000


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_every_sketch_bears_it_as_well() -> None:
    rows = damage_sketches(N, 2)
    assert [(row.name, row.faults) for row in rows if row.faults] == []
    assert [row.name for row in rows if not row.out] == []


def test_the_oracle_sees_an_invented_reading() -> None:
    ours = oracle_of("strikebridge-lines")
    ours.feed(b"S,1,1025000,84198*611F\nS,2,1037500,84199*0000\n")
    assert ours.allows([84198.0])
    assert not ours.allows([84199.0])
    others = oracle_of("<count>")
    others.feed(b"HX711 12,5 - 3\n" * 5)
    assert all(others.allows([value]) for value in (12.5, 12.0, 5.0, 3.0))
    assert not others.allows([711.0])


def test_the_oracle_knows_order_and_lines() -> None:
    one = oracle_of("<ms>,<count>")
    one.feed(b"10,7\n20,8\n30,9\n4")
    assert one.allows([7.0])
    assert one.allows([9.0])
    assert not one.allows([8.0])  # too late
    one.feed(b"0,10\n")
    assert one.allows([10.0])
    assert not one.allows([10.0])  # a second time
    cells = oracle_of("<count>,<count>")
    cells.feed(b"7,8\n9,10\n")
    assert not cells.allows([7.0, 10.0])  # from two lines
    spread = oracle_of("A: <count><eol>B: <count>")
    spread.feed(b"A: 7\nB: 8\nA: 9\n")
    assert spread.allows([7.0, 8.0])
    spread.feed(b"\r\n# 3\nB: 10\n")
    assert spread.allows([9.0, 10.0])
    spread.feed(b"A: 11\nB: 12\nA: 13\nB: 14\n")
    assert not spread.allows([11.0, 14.0])


@pytest.mark.parametrize(
    ("shape", "text", "said"),
    [
        ("weight-scale", line("n", "2A9D", kilograms(40.785)), [[40.785]]),
        ("weight-scale", line("r", "2A9D", kilograms(40.785)), []),
        ("bthome", line("a", "FCD2", packet(7, 48.05, battery=90)), [[48.05]]),
        ("presentation-format", line("n", NUMBER, b"\x87\x03", NEWTON_TENTHS), [[90.3]]),
        (
            "strikebridge-stream",
            line("n", STREAM_BLOCK, block(9, 5000, [[84_000, -3], [84_001, -4]])),
            [[84_000.0, -3.0], [84_001.0, -4.0]],
        ),
    ],
)
def test_the_oracle_reads_radios_by_itself(
    shape: str, text: bytes, said: list[list[float]]
) -> None:
    oracle = oracle_of(shape)
    oracle.feed(text)
    assert all(oracle.allows(row) for row in said)
    assert not oracle.allows(said[-1] if said else [40.785])
    torn = oracle_of(shape)
    torn.feed(text[:9] + b"0" + text[10:])
    assert not said or text[9:10] == b"0" or not torn.allows(said[0])


def test_a_pound_among_kilograms_is_converted() -> None:
    oracle = oracle_of("weight-scale")
    oracle.feed(line("n", "2A9D", kilograms(40.0)) + line("n", "2A9D", b"\x01\x10\x27"))
    assert oracle.allows([40.0])
    assert oracle.allows([100.0 * 0.45359237])  # 10 000 hundredths of a pound
    assert bitwise_crc(b"123456789") == 0x29B1  # the check value of this CRC, from memory
