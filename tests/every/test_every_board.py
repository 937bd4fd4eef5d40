"""What every row of the table BOARDS has to bear; nobody edits this file to add one."""

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.boards import BOARDS
from strikebridge.boards.address import make_decoder
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk

ROOT = Path(__file__).parents[2]


def capture(shape):
    records = RecordingReader(ROOT / "recordings" / shape / "capture.jsonl")
    return [record for record in records if isinstance(record, Chunk)]


def expected(shape):
    text = (ROOT / "recordings" / shape / "expected.json").read_text(encoding="utf-8")
    return json.loads(text)


def decode(decoder, feeds):
    """Feed groups of chunks and put the readings together."""
    blocks = [block for feed in feeds for block in decoder.feed(feed)]
    blocks += decoder.finish()
    fields = ("number", "counts", "arrived_us", "ticks_us", "flags")
    parts = {name: [getattr(block, name) for block in blocks] for name in fields}
    return {
        name: np.concatenate(part).tolist() if part and part[0] is not None else None
        for name, part in parts.items()
    }


def cut(chunks, place):
    """Cut the byte string of all chunks at one place more; no chunk changes its arrival."""
    out = []
    done = 0
    for chunk in chunks:
        at = place - done
        if 0 < at < len(chunk.data):
            out.append(Chunk(chunk.board, chunk.arrived_us, chunk.data[:at]))
            out.append(Chunk(chunk.board, chunk.arrived_us, chunk.data[at:]))
        else:
            out.append(chunk)
        done += len(chunk.data)
    return out


@pytest.fixture(params=BOARDS)
def shape(request):
    return request.param


@pytest.fixture(params=["itself", "auto"])
def fresh(request, shape):
    return lambda: make_decoder(shape if request.param == "itself" else "auto")


def test_has_a_page_and_a_place_in_the_index(shape):
    page = ROOT / "firmware_notes" / f"{shape}.md"
    assert shape in page.read_text(encoding="utf-8").splitlines()[0]
    assert f"({shape}.md)" in (ROOT / "firmware_notes" / "README.md").read_text("utf-8")


def test_capture_gives_what_was_sent(shape, fresh):
    decoder = fresh()
    found = decode(decoder, [capture(shape)])
    told = expected(shape)
    assert [row[0] for row in found["counts"]] == told["counts"]
    assert found["number"] == told["number"]
    assert decoder.unreadable == told["unreadable"]
    assert decoder.shape == told["shape"] == shape
    assert decoder.channels == 1


def test_cut_at_every_byte(shape, fresh):
    chunks = capture(shape)
    whole = decode(fresh(), [chunks])
    for place in range(1, sum(len(chunk.data) for chunk in chunks)):
        pieces = cut(chunks, place)
        middle = next(i for i, _ in enumerate(pieces) if sum_to(pieces, i + 1) >= place)
        assert decode(fresh(), [pieces[: middle + 1], pieces[middle + 1 :]]) == whole


def sum_to(pieces, i):
    return sum(len(piece.data) for piece in pieces[:i])


@pytest.mark.parametrize("size", [1, 7, 10_000])
def test_pieces_of_equal_size(shape, fresh, size):
    chunks = capture(shape)
    text = b"".join(chunk.data for chunk in chunks)
    pieces = [Chunk("x", 5, text[i : i + size]) for i in range(0, len(text), size)]
    one_by_one = decode(fresh(), [[piece] for piece in pieces])
    at_once = decode(fresh(), [pieces])
    assert one_by_one == at_once
    assert [row[0] for row in at_once["counts"]] == expected(shape)["counts"]


def test_finds_its_way_back_after_garbage(shape, fresh):
    chunks = capture(shape)
    garbage = [Chunk("x", chunks[-1].arrived_us, bytes(range(256)) * 3 + b"\n")]
    later = [Chunk(c.board, c.arrived_us + 2 * 10**7, c.data) for c in chunks[5:]]
    decoder = fresh()
    found = decode(decoder, [chunks, garbage, later])
    before = decode(fresh(), [chunks])
    n = len(before["number"])
    assert found["counts"][:n] == before["counts"]
    assert found["counts"][n:] == decode(make_decoder(shape), [garbage, later])["counts"]
    assert found["number"] == sorted(set(found["number"]))
    assert decoder.unreadable >= expected(shape)["unreadable"] + 2


@given(
    pieces=st.lists(
        st.one_of(
            st.binary(max_size=40),
            st.sampled_from(
                [b"\n", b"S,", b"*", b"S,1,2,3*", b"12\n", b"#", b"\r\n", b"I,1,a,b,c,,*"]
            ),
        ),
        max_size=40,
    ),
    groups=st.integers(1, 9),
)
@settings(max_examples=60, deadline=None)
@pytest.mark.parametrize("name", [*BOARDS, "auto"])
def test_bears_anything(name, pieces, groups):
    chunks = [Chunk("x", 1000 * i, piece) for i, piece in enumerate(pieces)]
    at_once, one_by_one = make_decoder(name), make_decoder(name)
    grouped = [chunks[i : i + groups] for i in range(0, len(chunks), groups)]
    assert decode(at_once, [chunks] if chunks else []) == decode(one_by_one, grouped)
    assert at_once.unreadable == one_by_one.unreadable
    assert at_once.channels == one_by_one.channels


@pytest.mark.parametrize("name", [*BOARDS, "auto"])
def test_memory_is_bounded_without_a_line_feed(name):
    decoder = make_decoder(name)
    for i in range(100):
        decoder.feed([Chunk("x", i, b"7" * 1000)])
    held = decoder._cutter._tail
    assert len(held) <= 257
    assert decoder.channels == 0
