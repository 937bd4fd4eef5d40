import pytest

from strikebridge.boards.shape_finder import ShapeFinder
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.samples import Chunk, CountBlock, Quantity

OWN = close_line(b"S,1,100,5")


@pytest.fixture
def finder() -> ShapeFinder:
    return ShapeFinder()


def counts(blocks: list[CountBlock]) -> list[float]:
    return [row[0] for block in blocks for row in block.counts.tolist()]


def test_knows_nothing_before_the_first_lines(finder: ShapeFinder) -> None:
    assert finder.feed([Chunk("x", 0, b"12")]) == []
    assert finder.finish() == []
    assert (finder.shape, finder.channels, finder.identity) == ("unknown", 0, None)
    assert finder.quantity is Quantity.UNKNOWN
    assert finder.unreadable == 0


def test_one_checksum_is_enough(finder: ShapeFinder) -> None:
    assert counts(finder.feed([Chunk("x", 0, b"1\n2\n" + OWN)])) == [5.0]
    assert finder.shape == "strikebridge-lines"


def test_three_numbers_in_a_row_are_enough(finder: ShapeFinder) -> None:
    assert finder.feed([Chunk("x", 0, b"1\n2\nboot\n3\n4\n")]) == []
    assert finder.shape == "unknown"
    assert counts(finder.feed([Chunk("x", 0, b"5\n6\n")])) == [3.0, 4.0, 5.0, 6.0]
    assert finder.shape == "bare-integers"
    assert finder.quantity is Quantity.COUNT
    assert finder.unreadable == 1
    finder.feed([Chunk("x", 0, b"bad\n")])
    assert finder.unreadable == 2


def test_first_line_of_all_is_dropped(finder: ShapeFinder) -> None:
    assert counts(finder.feed([Chunk("x", 0, b"1\n2\n3\n4\n")])) == [2.0, 3.0, 4.0]


@pytest.mark.parametrize("between", [b"\n", b"# note\n", b"\r\n"])
def test_empty_lines_and_comments_between_do_not_matter(
    finder: ShapeFinder, between: bytes
) -> None:
    text = between.join([b"boot\n", b"1\n", b"2\n", b"3\n"])
    assert counts(finder.feed([Chunk("x", 0, text)])) == [1.0, 2.0, 3.0]
    assert finder.unreadable == 0


def test_keeps_the_arrival_of_what_it_held_back(finder: ShapeFinder) -> None:
    blocks = [b for i in range(5) for b in finder.feed([Chunk("x", i, b"%d\n" % i)])]
    assert [us for block in blocks for us in block.arrived_us.tolist()] == [1, 2, 3, 4]


def test_words_without_end_hold_back_little(finder: ShapeFinder) -> None:
    for i in range(1000):
        finder.feed([Chunk("x", i, b"word\n")])
    assert finder.unreadable == 999
    assert len(finder._held) <= 4


def test_a_loss_before_the_choice_begins_again(finder: ShapeFinder) -> None:
    finder.feed([Chunk("x", 0, b"1\n2\n8")])
    assert finder.finish() == []
    assert counts(finder.feed([Chunk("x", 0, b"4\n5\n6\n")])) == [5.0, 6.0]


def test_a_loss_after_the_choice_is_passed_on(finder: ShapeFinder) -> None:
    finder.feed([Chunk("x", 0, b"1\n2\n3\n8")])
    assert finder.finish() == []
    assert counts(finder.feed([Chunk("x", 0, b"4\n5\n")])) == [5.0]
