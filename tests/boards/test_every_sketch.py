"""Every way to print readings is understood, or asked about; none is understood wrongly."""

from __future__ import annotations

import numpy as np
import pytest

from strikebridge.boards.address import make_decoder
from strikebridge.boards.described_lines import DescribedLinesDecoder
from strikebridge.boards.line_shape import parse_shape
from strikebridge.boards.shape_finder import ShapeFinder
from strikebridge.samples import Chunk, CountBlock
from tests.boards.sketches import CONFUSABLE, NO_READINGS, SKETCHES, Sketch, readings, sent


def rows(blocks: list[CountBlock]) -> list[list[float]]:
    return [row for block in blocks for row in block.counts.tolist()]


def decode(
    decoder: ShapeFinder | DescribedLinesDecoder, chunks: list[Chunk]
) -> list[list[float]]:
    found = [block for chunk in chunks for block in decoder.feed([chunk])]
    return rows(found + decoder.finish())


def chunks_of(lines: list[tuple[int, bytes]]) -> list[Chunk]:
    return [Chunk("serial:x", at_us, data) for at_us, data in lines]


def expected(sketch: Sketch, rate_hz: float, seconds: float = 3.0) -> list[list[float]]:
    r = readings(rate_hz, seconds)
    return [sketch.values(r, i) for i in range(len(r.raw))]


sketch_table = pytest.mark.parametrize("sketch", SKETCHES, ids=lambda sketch: sketch.name)


@sketch_table
@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
def test_is_understood_within_three_seconds(sketch: Sketch, rate_hz: float) -> None:
    finder = ShapeFinder()
    blocks: list[CountBlock] = []
    known_us = None
    for chunk in chunks_of(sent(sketch, readings(rate_hz))):
        blocks += finder.feed([chunk])
        if finder.found is not None and known_us is None:
            known_us = chunk.arrived_us
    assert known_us is not None
    assert known_us < 3_000_000
    assert isinstance(finder.found, DescribedLinesDecoder)
    assert str(finder.found.line_shape) == sketch.shape
    assert finder.quantity == sketch.quantity
    assert bool(finder.finding.questions) == sketch.asks
    assert finder.channels == len(sketch.values(readings(rate_hz), 0))
    # the very first line may be torn: without one before it, the first reading does not count
    first = 0 if sketch.before else 1
    assert rows(blocks) == expected(sketch, rate_hz)[first:]
    if not sketch.before:  # the rest of a reading whose first line did not count
        assert finder.unreadable == len(sketch.line(readings(rate_hz), 0)) - 1


@sketch_table
@pytest.mark.parametrize("seed", range(2, 6))
@pytest.mark.parametrize("rate_hz", [10.0, 80.0, 320.0])
def test_other_readings_are_understood_in_the_same_way(
    sketch: Sketch, seed: int, rate_hz: float
) -> None:
    r = readings(rate_hz, 3.0, seed)
    finder = ShapeFinder()
    found = decode(finder, chunks_of(sent(sketch, r)))
    assert isinstance(finder.found, DescribedLinesDecoder)
    assert str(finder.found.line_shape) == sketch.shape
    first = 0 if sketch.before else 1
    assert found == [sketch.values(r, i) for i in range(first, len(r.raw))]


@sketch_table
@pytest.mark.timeout(240)
def test_cut_at_every_byte(sketch: Sketch) -> None:
    """At every byte once the shape is known; while it is found out at every fifth.

    Finding out takes ten times as long; each sketch begins with another byte of the five.
    """
    first = SKETCHES.index(sketch) % 5
    text = b"".join(data for _, data in sent(sketch, readings(10.0, 2.0)))
    whole = decode(ShapeFinder(), [Chunk("x", 5, text)])
    assert len(whole) >= 19
    found = ShapeFinder()
    decode(found, [Chunk("x", 5, text)])
    assert isinstance(found.found, DescribedLinesDecoder)
    known = found.found.line_shape
    for place in range(1, len(text)):
        halves = [Chunk("x", 5, text[:place]), Chunk("x", 5, text[place:])]
        assert decode(DescribedLinesDecoder(known), halves) == whole
        if place % 5 == first:
            assert decode(ShapeFinder(), halves) == whole


@sketch_table
def test_the_shape_survives_being_written_down(sketch: Sketch) -> None:
    known = parse_shape(sketch.shape)
    assert str(known) == sketch.shape
    decoder = make_decoder(sketch.shape)
    assert isinstance(decoder, DescribedLinesDecoder)
    assert (
        decode(decoder, chunks_of(sent(sketch, readings())))[-1] == expected(sketch, 10.0)[-1]
    )
    assert known.in_words()


@pytest.mark.parametrize(
    ("sketch", "joined_at"),
    # later than this the header is torn or gone, which makes another sketch
    [(s, at) for s in SKETCHES for at in range(1, 40, 6) if at <= 4 or not s.before],
    ids=lambda value: value.name if isinstance(value, Sketch) else str(value),
)
def test_begun_in_the_middle_of_a_line(sketch: Sketch, joined_at: int) -> None:
    """Whatever is left of the first line, it never counts, and no reading is wrong."""
    text = b"".join(data for _, data in sent(sketch, readings(10.0, 3.0)))[joined_at:]
    told = expected(sketch, 10.0)
    found = decode(ShapeFinder(), [Chunk("x", 5, text)])
    assert found == told[-len(found) :]
    assert len(found) >= len(told) - 2 - joined_at // 4  # a line has four bytes at least


@sketch_table
def test_what_goes_wrong_on_a_cable(sketch: Sketch) -> None:
    """CR LF, chatter, comments, empty lines, bytes that are no text, lines run together."""
    r = readings(80.0)
    told = expected(sketch, 80.0)
    size = len(sketch.line(r, 0))
    before = len(sketch.before)
    lines = sent(sketch, r, end="\r\n")
    gone: set[int] = set()
    out: list[tuple[int, bytes]] = []
    for place, (at_us, data) in enumerate(lines):
        reading = (place - before) // size
        is_last_of = (place - before) % size == size - 1
        if place >= before and reading == 100:  # its line feed is lost
            out.append((at_us, data.strip()))
            gone |= {100, 101}
        elif place >= before and reading == 130:
            out.append((at_us, b"\xff\xfe" + data))
            gone.add(130)
        else:
            out.append((at_us, data))
        if is_last_of and reading in (20, 60, 110):
            out += [(at_us, b"\r\n"), (at_us, b"# note 12\r\n")]
        if is_last_of and reading == 140:
            out.append((at_us, b"HX711 not ready\r\n"))
    finder = ShapeFinder()
    found = decode(finder, chunks_of(out))
    first = 0 if before else 1
    kept = [told[i] for i in range(first, len(told)) if i not in gone]
    assert found == kept
    assert finder.unreadable >= 3


@sketch_table
def test_lost_lines_are_seen_where_the_board_tells(sketch: Sketch) -> None:
    r = readings(80.0)
    size, before = len(sketch.line(r, 0)), len(sketch.before)
    lines = sent(sketch, r)
    lost = lines[: before + 150 * size] + lines[before + 153 * size :]
    finder = ShapeFinder()
    blocks = [b for chunk in chunks_of(lost) for b in finder.feed([chunk])]
    number = np.concatenate([b.number for b in blocks])
    tells = any(role in sketch.shape for role in ("<ms>", "<us>", "<s>", "<number>"))
    assert int(number[-1] - number[0]) + 1 - len(number) == (3 if tells else 0)


@pytest.mark.parametrize("name", CONFUSABLE)
@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
def test_confusable_lines_are_asked_about(name: str, rate_hz: float) -> None:
    line, words = CONFUSABLE[name]
    r = readings(rate_hz)
    sketch = Sketch(name, line, lambda r, i: [], "", "")
    finder = ShapeFinder()
    assert decode(finder, chunks_of(sent(sketch, r))) == []
    assert finder.found is None
    assert any(words in question for question in finder.finding.questions)


@pytest.mark.parametrize("texts", NO_READINGS, ids=lambda texts: texts[0])
def test_lines_without_a_reading_give_none(texts: list[str]) -> None:
    data = [(1000 * i, texts[i % len(texts)].encode() + b"\n") for i in range(400)]
    finder = ShapeFinder()
    assert decode(finder, chunks_of(data)) == []
    assert finder.found is None


def test_whole_numbers_that_could_be_grams_are_asked_about() -> None:
    numbers = [0, 0, 1, 0, 0, -1, 0, 0, 0, 1] * 4
    data = [(100_000 * i, b"%d\n" % n) for i, n in enumerate(numbers)]
    finder = ShapeFinder()
    assert decode(finder, chunks_of(data)) == [[float(n)] for n in numbers[1:]]
    assert finder.quantity == "unknown"
    assert "What unit" in finder.finding.questions[0]
