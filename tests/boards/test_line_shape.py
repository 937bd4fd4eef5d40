"""The text of a shape: what it means, and what is wrong with it."""

import pytest

from strikebridge.boards.address import make_decoder
from strikebridge.boards.described_lines import DescribedLinesDecoder
from strikebridge.boards.line_shape import LineShape, Role, parse_shape
from strikebridge.errors import FormatError
from strikebridge.samples import Chunk, Flag, Quantity


def read(shape: str, *lines: bytes) -> list[list[float]]:
    decoder = DescribedLinesDecoder(parse_shape(shape))
    blocks = decoder.feed([Chunk("x", 0, b"".join(line + b"\n" for line in (b"torn", *lines)))])
    return [row for block in blocks for row in block.counts.tolist()]


@pytest.mark.parametrize(
    ("shape", "line", "values"),
    [
        ("<count>", b"-84213", [-84213.0]),
        ("<count>", b"  + 84213 ", [84213.0]),
        ("<kg,>", b"-0,5", [-0.5]),
        ("<kg>", b".5", [0.5]),
        ("W <kg> kg", b"W \t 12.5kg", [12.5]),
        ("W: <kg> kg", b"W:12.5 kg", [12.5]),
        ("<kg> <kg>", b"1 \t-2", [1.0, -2.0]),
        ("<x3C><count>>", b"<12>", [12.0]),
        ("t<xB0> <count>", b"t\xb0 12", [12.0]),
        ("<word> <kg>", b"ST 12.5", [12.5]),
        ("<kg> a", b"12.5 a", [12.5]),
    ],
)
def test_reads(shape: str, line: bytes, values: list[float]) -> None:
    assert read(shape, line) == [values]


@pytest.mark.parametrize(
    ("shape", "line"),
    [
        ("<count>", b"12.5.3"),
        ("<kg>", b"1e5"),
        ("<kg>", b"0x12"),
        ("W <kg>", b"W12"),
        ("<kg> <kg>", b"12"),
        ("<word> <kg>", b"OL 12.5"),
        ("<word> <kg>", b"over 12.5"[:0] + b"OVER 12.5"),
        ("<kg>", b"12,5"),
        ("<kg>", b"12 kg"),
    ],
)
def test_does_not_read(shape: str, line: bytes) -> None:
    assert read(shape, line) == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "one to 4 readings"),
        ("<ms>", "one to 4 readings"),
        ("<kg>,<count>", "one to 4 readings"),
        ("<kg>,<kg>,<kg>,<kg>,<kg>", "one to 4 readings"),
        ("<weight>", "There is no <weight>"),
        ("<count", "cannot stand"),
        ("<count>é", "cannot stand"),
        ("<ms>,<us>,<count>", "two of"),
        ("<number>,<number>,<count>", "two of"),
        ("HX<count>", "glued"),
        ("<ms><count>", "glued"),
        ("A<eol><eol><count>", "empty lines"),
        ("<count><eol><count>", "told apart"),
        ("a" * 300 + "<count>", "too long"),
    ],
)
def test_what_is_no_shape_is_said(text: str, words: str) -> None:
    with pytest.raises(FormatError, match=words):
        parse_shape(text)


def test_says_what_it_is() -> None:
    shape = parse_shape("<ms>,<count>,<count>")
    assert shape.in_words() == "a line with board time in ms, then raw counts, then raw counts"
    assert (shape.channels, shape.quantity, shape.is_plain) == (2, Quantity.COUNT, False)
    assert parse_shape("<value>").is_plain
    assert parse_shape("A: <kg><eol>B: <kg>").in_words().startswith("2 lines with")
    assert str(parse_shape("<ms>;<value,>").with_value(Role.KG)) == "<ms>;<kg,>"
    assert isinstance(shape, LineShape)


def test_ends_of_the_converter_are_flagged_as_the_counts_begin() -> None:
    text = b"torn\n0\n8388607\n16777215\n8388608\n"
    signed = DescribedLinesDecoder(parse_shape("<count>"))
    (block,) = signed.feed([Chunk("x", 0, text)])
    assert [bool(flag & Flag.SATURATED) for flag in block.flags] == [False, True, True, True]
    offset = DescribedLinesDecoder(parse_shape("<offset>"))
    (block,) = offset.feed([Chunk("x", 0, text)])
    assert [bool(flag & Flag.SATURATED) for flag in block.flags] == [True, False, True, False]


def test_a_decoder_is_made_of_a_description() -> None:
    decoder = make_decoder("<ms>,<kg>")
    assert decoder.shape == "described-lines"
    assert decoder.quantity is Quantity.KG
    with pytest.raises(FormatError, match="There is no <stone>"):
        make_decoder("<stone>")


def test_of_a_reading_in_several_lines_none_may_be_missing() -> None:
    decoder = DescribedLinesDecoder(parse_shape("A: <count><eol>B: <count>"))
    text = b"torn\nA: 1\nB: 2\nB: 3\nA: 4\nA: 5\n\n# note\nB: 6\nA: 7\n"
    blocks = decoder.feed([Chunk("x", 0, text)])
    assert [row for block in blocks for row in block.counts.tolist()] == [
        [1.0, 2.0],
        [5.0, 6.0],
    ]
    assert decoder.unreadable == 2
    decoder.finish()
    assert decoder.unreadable == 3
    assert decoder.feed([Chunk("x", 0, b"B: 8\nB: 9\n")]) == []


def test_counts_may_be_averages_but_have_no_comma() -> None:
    # a comma once passed here, and stopped the decoder
    assert read("<s>;<count>", b"1.5;42759,0", b"1.6;42759.5") == [[42759.5]]
