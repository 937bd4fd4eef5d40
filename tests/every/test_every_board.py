"""What every row of the table BOARDS has to bear; nobody edits this file to add one."""

import json
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.boards import BOARDS
from strikebridge.boards.address import make_decoder
from strikebridge.boards.shape_finder import ShapeFinder
from strikebridge.recording import RecordingReader
from strikebridge.samples import Chunk

ROOT = Path(__file__).parents[2]


def capture(shape: str) -> list[Chunk]:
    records = RecordingReader(ROOT / "recordings" / shape / "capture.jsonl")
    return [record for record in records if isinstance(record, Chunk)]


def expected(shape: str) -> dict[str, Any]:
    text = (ROOT / "recordings" / shape / "expected.json").read_text(encoding="utf-8")
    told: dict[str, Any] = json.loads(text)
    return told


def decode(decoder: Any, feeds: Any) -> dict[str, Any]:
    """Feed groups of chunks and put the readings together."""
    blocks = [block for feed in feeds for block in decoder.feed(feed)]
    blocks += decoder.finish()
    fields = ("number", "counts", "arrived_us", "ticks_us", "flags")
    parts = {name: [getattr(block, name) for block in blocks] for name in fields}
    return {
        name: np.concatenate(part).tolist() if part and part[0] is not None else None
        for name, part in parts.items()
    }


@pytest.fixture(params=BOARDS)
def shape(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(params=["itself", "auto"])
def fresh(request: pytest.FixtureRequest, shape: str) -> Callable[[], Any]:
    return lambda: make_decoder(shape if request.param == "itself" else "auto")


def test_has_a_page_and_a_place_in_the_index(shape: str) -> None:
    page = ROOT / "firmware_notes" / f"{shape}.md"
    assert shape in page.read_text(encoding="utf-8").splitlines()[0]
    assert f"({shape}.md)" in (ROOT / "firmware_notes" / "README.md").read_text("utf-8")


def test_capture_gives_what_was_sent(shape: str, fresh: Callable[[], Any]) -> None:
    decoder = fresh()
    found = decode(decoder, [capture(shape)])
    told = expected(shape)
    assert [row[0] for row in found["counts"]] == told["counts"]
    assert found["number"] == told["number"]
    assert decoder.unreadable == told["unreadable"]
    assert decoder.shape == told["shape"] == shape
    assert decoder.channels == 1


@pytest.mark.timeout(240)
def test_cut_at_every_byte(shape: str, fresh: Callable[[], Any]) -> None:
    text = b"".join(chunk.data for chunk in capture(shape))
    whole = decode(fresh(), [[Chunk("x", 5, text)]])
    assert len(whole["number"]) > 100
    # once it has chosen, the finder only hands whole lines on to the decoder
    last = 300 if isinstance(fresh(), ShapeFinder) else len(text)
    for place in range(1, last):
        halves = Chunk("x", 5, text[:place]), Chunk("x", 5, text[place:])
        assert decode(fresh(), [[half] for half in halves]) == whole


def test_arrivals_do_not_depend_on_how_chunks_are_grouped(
    shape: str, fresh: Callable[[], Any]
) -> None:
    chunks = capture(shape)
    whole = decode(fresh(), [chunks])
    for place in range(1, len(chunks)):
        assert decode(fresh(), [chunks[:place], chunks[place:]]) == whole


@pytest.mark.parametrize("size", [1, 7, 10_000])
def test_pieces_of_equal_size(shape: str, fresh: Callable[[], Any], size: int) -> None:
    chunks = capture(shape)
    text = b"".join(chunk.data for chunk in chunks)
    pieces = [Chunk("x", 5, text[i : i + size]) for i in range(0, len(text), size)]
    one_by_one = decode(fresh(), [[piece] for piece in pieces])
    at_once = decode(fresh(), [pieces])
    assert one_by_one == at_once
    assert [row[0] for row in at_once["counts"]] == expected(shape)["counts"]


def test_finds_its_way_back_after_garbage(shape: str, fresh: Callable[[], Any]) -> None:
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
def test_bears_anything(name: str, pieces: list[bytes], groups: int) -> None:
    chunks = [Chunk("x", 1000 * i, piece) for i, piece in enumerate(pieces)]
    at_once, one_by_one = make_decoder(name), make_decoder(name)
    grouped = [chunks[i : i + groups] for i in range(0, len(chunks), groups)]
    assert decode(at_once, [chunks] if chunks else []) == decode(one_by_one, grouped)
    assert at_once.unreadable == one_by_one.unreadable
    assert at_once.channels == one_by_one.channels


@pytest.mark.parametrize("name", [*BOARDS, "auto"])
def test_memory_is_bounded_without_a_line_feed(name: str) -> None:
    decoder = make_decoder(name)
    for i in range(100):
        decoder.feed([Chunk("x", i, b"7" * 1000)])
    assert len(pickle.dumps(decoder)) < 20_000
    assert decoder.channels == 0
