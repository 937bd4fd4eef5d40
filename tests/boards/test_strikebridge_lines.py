import re
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikebridge.boards.address import make_decoder
from strikebridge.boards.strikebridge_lines import (
    StrikebridgeLinesDecoder,
    checksum,
    close_line,
)
from strikebridge.samples import Chunk, CountBlock, Flag, Identity, Quantity

PAGE = Path(__file__).parents[2] / "firmware_notes" / "strikebridge-lines.md"


def sample(sequence: Any, micros: Any, *counts: int) -> bytes:
    return close_line(b"S,%d,%d,%s" % (sequence, micros, b",".join(b"%d" % c for c in counts)))


def feed(decoder: StrikebridgeLinesDecoder, *lines: bytes, at_us: Any = 0) -> list[CountBlock]:
    """Feed all in one go, and in a second decoder one by one: the same must come out."""
    twin = StrikebridgeLinesDecoder()
    blocks = decoder.feed([Chunk("x", at_us, b"".join(lines))])
    singles = [b for line in lines for b in twin.feed([Chunk("x", at_us, line)])]
    for name in ("number", "counts", "ticks_us", "flags", "arrived_us"):
        found = [getattr(block, name).tolist() for block in blocks]
        alone = [getattr(block, name).tolist() for block in singles]
        assert list(chain(*found)) == list(chain(*alone))
    assert twin.unreadable == decoder.unreadable
    return blocks


@pytest.fixture
def decoder() -> StrikebridgeLinesDecoder:
    return StrikebridgeLinesDecoder()


def test_examples_of_the_page_are_read(decoder: StrikebridgeLinesDecoder) -> None:
    text = PAGE.read_text("utf-8")
    rows = re.findall(r"^\| `([^`]+)`.*\| `([0-9A-F]{4})` \|$", text, re.MULTILINE)
    assert len(rows) == 7
    for payload, told in rows:
        assert f"{checksum(payload.encode()):04X}" == told
    example = text.split("```")[1].lstrip().encode()
    (block,) = feed(decoder, example)
    assert block.counts.tolist() == [[84213.0], [84198.0]]
    assert block.ticks_us is not None
    assert np.diff(block.ticks_us).tolist() == [12500]
    assert decoder.identity == Identity("wall", "1.0", "hx711", 80.0, 0.05)
    assert decoder.quantity is Quantity.COUNT
    assert decoder.unreadable == 0


def test_page_example_of_wrapped_counters(decoder: StrikebridgeLinesDecoder) -> None:
    (block,) = feed(
        decoder, b"S,65535,4294967290,84213,-5120*90D6\n", b"S,0,12494,84220,-5118*0C49\n"
    )
    assert block.number.tolist() == [0, 1]
    assert block.ticks_us is not None
    assert block.ticks_us.tolist() == [4294967290, 4294967290 + 12500]
    assert block.counts.tolist() == [[84213, -5120], [84220, -5118]]
    assert block.flags.tolist() == [0, 0]
    assert decoder.channels == 2


def test_joining_inside_a_line_costs_only_that_line(decoder: StrikebridgeLinesDecoder) -> None:
    (block,) = feed(decoder, sample(7, 100, 5)[4:], sample(8, 200, 6), sample(9, 300, 7))
    assert block.counts.ravel().tolist() == [6.0, 7.0]
    assert decoder.unreadable == 0


def test_torn_first_line_that_looks_whole_is_not_counted(
    decoder: StrikebridgeLinesDecoder,
) -> None:
    assert feed(decoder, b"S,1,2,3*0000\n") == []
    assert decoder.unreadable == 0


@pytest.mark.parametrize(
    "bad",
    [
        b"S,2,300,7*0000\n",
        b"S,2,300\n",
        b"hello\n",
        close_line(b"S,2,300,7,8"),  # another number of channels
        close_line(b"S,70000,300,7"),
        close_line(b"S,2,4294967296,7"),
        close_line(b"S,2,300,7.5"),
        close_line(b"S,2,300,"),
        close_line(b"I,2,a,b,c,80,50"),
        close_line(b"I,1,a,b,c,fast,50"),
        close_line(b"I,1,a b,b,c,80,50"),
        b"I,1,a,b,c,80,50*0000\n",
        b"\xff\xfe\x00S,\n",
        b"S" * 300 + b"\n",
    ],
)
def test_anything_else_is_unreadable_and_counted(
    decoder: StrikebridgeLinesDecoder, bad: bytes
) -> None:
    (block,) = feed(decoder, sample(1, 100, 5), bad, sample(3, 300, 6))
    assert block.counts.ravel().tolist() == [5.0, 6.0]
    assert block.number.tolist() == [0, 2]
    assert block.flags.tolist() == [0, Flag.GAP_BEFORE]
    assert decoder.unreadable == 1
    assert decoder.identity is None


def test_only_bad_lines_bring_no_block(decoder: StrikebridgeLinesDecoder) -> None:
    assert feed(decoder, sample(1, 100, 5)) != []
    assert decoder.feed([Chunk("x", 0, b"S,2,300,7*0000\nS,3,300,7*0000\n")]) == []
    assert decoder.unreadable == 2


def test_lines_that_ran_together_are_told_apart(decoder: StrikebridgeLinesDecoder) -> None:
    lines = [sample(1, 100, 5), sample(2, 200, 6)[:9] + sample(3, 300, 7)]
    lines += [
        sample(4, 400, 8).rstrip() + sample(5, 500, 9),
        sample(6, 600, 1)[:-1] + b"S,7,\n",
    ]
    (block,) = feed(decoder, *lines)
    assert block.counts.ravel().tolist() == [5, 7, 8, 9, 1]
    assert block.number.tolist() == [0, 2, 3, 4, 5]
    assert decoder.unreadable == 3


def test_edges_of_a_line_do_not_matter(decoder: StrikebridgeLinesDecoder) -> None:
    line = sample(1, 100, 5)
    (block,) = feed(decoder, b"\0\0" + line[:-1] + b"\r\n", b"\r\n", b"# \xc3\xa9 S,1\n")
    assert block.counts.ravel().tolist() == [5.0]
    assert decoder.unreadable == 0


def test_lower_case_checksum_is_read(decoder: StrikebridgeLinesDecoder) -> None:
    line = sample(3, 300, 7)
    (block,) = feed(decoder, line.lower().replace(b"s,", b"S,"))
    assert block.counts.ravel().tolist() == [7.0]


def test_ends_of_the_converter_are_flagged(decoder: StrikebridgeLinesDecoder) -> None:
    counts = (2**23 - 1, -(2**23), 2**23 - 2, 1 - 2**23)
    (block,) = feed(decoder, *[sample(i, i + 1, c) for i, c in enumerate(counts)])
    assert block.flags.tolist() == [Flag.SATURATED, Flag.SATURATED, 0, 0]
    assert block.counts.ravel().tolist() == list(counts)


def test_a_repeated_line_is_one_sample(decoder: StrikebridgeLinesDecoder) -> None:
    (block,) = feed(decoder, sample(1, 100, 5), sample(1, 100, 5), sample(2, 200, 6))
    assert block.number.tolist() == [0, 1]
    assert decoder.feed([Chunk("x", 1, sample(2, 200, 6))]) == []
    assert decoder.feed([Chunk("x", 1, sample(2, 200, 6) * 2)]) == []


def test_identity_may_leave_numbers_empty(decoder: StrikebridgeLinesDecoder) -> None:
    decoder.feed([Chunk("x", 0, close_line(b"I,1,wall,1.0,hx711,,"))])
    assert decoder.identity == Identity("wall", "1.0", "hx711", None, None)


def test_after_a_loss_the_half_line_is_gone(decoder: StrikebridgeLinesDecoder) -> None:
    decoder.feed([Chunk("x", 0, sample(1, 100, 5) + sample(2, 200, 6)[:8])])
    assert decoder.finish() == []
    (block,) = decoder.feed([Chunk("x", 9, b"torn\n" + sample(3, 300, 7))])
    assert block.number.tolist() == [2]
    assert decoder.unreadable == 0


def test_arrival_is_that_of_the_line_feed(decoder: StrikebridgeLinesDecoder) -> None:
    line = sample(1, 100, 5)
    chunks = [Chunk("x", 10, line[:5]), Chunk("x", 20, line[5:-1]), Chunk("x", 30, b"\n")]
    late = [Chunk("x", 25, sample(2, 200, 6)), Chunk("x", 40, sample(3, 300, 6) * 2)]
    (block,) = decoder.feed([*chunks, *late])
    assert block.arrived_us.tolist() == [30, 30, 40]  # a stamp that steps back is not believed
    (block,) = decoder.feed([Chunk("x", 35, sample(4, 400, 6))])
    assert block.arrived_us.tolist() == [40]


def test_recognises_its_own_lines() -> None:
    is_reading = StrikebridgeLinesDecoder.is_reading
    assert is_reading(sample(1, 2, 3).strip())
    assert is_reading(close_line(b"I,1,a,b,c,,").strip())
    assert not is_reading(b"S,1,2,3*0000")
    assert not is_reading(b"12")


def test_is_a_row_of_the_table() -> None:
    assert isinstance(make_decoder("strikebridge-lines"), StrikebridgeLinesDecoder)


ODD_PAYLOADS = [
    b"S,007,112500,84211",
    b"S,9,0112500,84211",
    b"S,9,112500,0084211",
    b"S,9,112500,-0",
    b"S,9,112500,0",
    b"S,0,112500,84211",
    b"S,-9,112500,84211",
    b"S,9,-0,84211",
    b"S,9,112500,",
    b"S,9,112500,-",
    b"S,9,112500,8-4",
    b"S,9,112500,--84",
    b"S,9,,84211",
    b"S,,112500,84211",
    b"S,9,112500,1E5",
    b"S,9,112500,84211,5",
    b"S,9,112500",
    b"S9,112500,,84211",
    b"9S,112500,84211,",
    b"S,65536,112500,84211",
    b"S,9,4294967296,84211",
    b"S,9,112500,12345678901",
    b"S,9,112500,99999999999999999999",
    b"I,1,wall,1.0,hx711,80,50",
    b"# remark",
    b"",
]


@pytest.mark.parametrize("ending", [b"", b"\r"])
@pytest.mark.parametrize("payload", ODD_PAYLOADS)
def test_one_odd_line_among_many_reads_as_it_does_alone(payload: bytes, ending: bytes) -> None:
    lines = [
        sample(n, 12_500 * n, 84_000 - n).replace(b"\n", ending + b"\n") for n in range(12)
    ]
    lines[9] = close_line(payload).replace(b"\n", ending + b"\n")
    feed(StrikebridgeLinesDecoder(), *lines)


@pytest.mark.parametrize("tail", [b"*12345", b"*123", b"*-123", b"*12G4", b"*", b"**1234"])
def test_a_checksum_of_another_form_is_none(tail: bytes) -> None:
    lines = [sample(n, 12_500 * n, 84_000 - n) for n in range(12)]
    lines[9] = b"S,9,112500,84211" + tail + b"\n"
    decoder = StrikebridgeLinesDecoder()
    feed(decoder, *lines)
    assert decoder.unreadable == 1


@given(
    counts=st.lists(st.integers(-(10**10) + 1, 10**10 - 1), min_size=8, max_size=12),
    at=st.integers(0, 7),
    hurt=st.integers(0, 20),
    byte=st.integers(0, 255),
)
def test_a_changed_byte_among_many_lines_reads_as_it_does_alone(
    counts: list[int], at: int, hurt: int, byte: int
) -> None:
    lines = [sample(n, 12_500 * n, count) for n, count in enumerate(counts)]
    line = bytearray(lines[at])
    line[hurt % len(line)] = byte
    lines[at] = bytes(line)
    whole, alone = StrikebridgeLinesDecoder(), StrikebridgeLinesDecoder()
    found = whole.feed([Chunk("x", 0, b"".join(lines))])
    cut = b"".join(lines).splitlines(keepends=True) if byte == 10 else lines
    singles = [b for line in cut for b in alone.feed([Chunk("x", 0, line)])]
    for name in ("number", "counts", "ticks_us", "flags"):
        together = [x for block in found for x in getattr(block, name).tolist()]
        assert together == [x for block in singles for x in getattr(block, name).tolist()]
    assert whole.unreadable == alone.unreadable
