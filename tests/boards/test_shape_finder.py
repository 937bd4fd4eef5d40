"""What the finder holds back, when it decides, and that nothing held is lost."""

import pytest

from strikebridge.boards.shape_finder import MOST_HELD, ShapeFinder
from strikebridge.boards.strikebridge_lines import close_line
from strikebridge.samples import Chunk, CountBlock, Quantity

OWN = close_line(b"S,1,100,5")
RAW = [84213, 84160, 84250, 84190, 84301, 84222, 84180, 84260, 84199, 84240, 84150, 84277]


@pytest.fixture
def finder() -> ShapeFinder:
    return ShapeFinder()


def counts(blocks: list[CountBlock]) -> list[float]:
    return [row[0] for block in blocks for row in block.counts.tolist()]


def lines(numbers: list[int]) -> bytes:
    return b"".join(b"%d\n" % number for number in numbers)


def test_knows_nothing_before_the_first_lines(finder: ShapeFinder) -> None:
    assert finder.feed([Chunk("x", 0, b"12")]) == []
    assert finder.finish() == []
    assert (finder.shape, finder.channels, finder.identity) == ("unknown", 0, None)
    assert finder.quantity is Quantity.UNKNOWN
    assert finder.unreadable == 0
    assert finder.remarks == ()


def test_one_checksum_is_enough(finder: ShapeFinder) -> None:
    assert counts(finder.feed([Chunk("x", 0, b"1\n2\n" + OWN)])) == [5.0]
    assert finder.shape == "strikebridge-lines"


def test_twelve_lines_that_leave_no_doubt_are_enough(finder: ShapeFinder) -> None:
    assert finder.feed([Chunk("x", 0, lines(RAW[:11]))]) == []
    assert finder.shape == "unknown"
    assert counts(finder.feed([Chunk("x", 0, lines(RAW[11:]))])) == RAW[1:]
    assert finder.shape == "bare-integers"
    assert finder.quantity is Quantity.COUNT
    assert finder.unreadable == 0
    finder.feed([Chunk("x", 0, b"bad\n")])
    assert finder.unreadable == 1


def test_three_lines_of_a_slow_board_are_enough_at_the_end(finder: ShapeFinder) -> None:
    assert finder.feed([Chunk("x", 0, lines(RAW[:4]))]) == []
    assert counts(finder.finish()) == RAW[1:4]


def test_a_slow_scale_is_read_after_two_and_a_half_seconds(finder: ShapeFinder) -> None:
    texts = [b"Weight: 12.%d kg\n" % n for n in range(9)]
    found = [
        (n, counts(blocks))
        for n, text in enumerate(texts)
        if (blocks := finder.feed([Chunk("x", n * 800_000, text)]))
    ]
    assert found[0] == (4, [12.1, 12.2, 12.3, 12.4])
    assert [values for _, values in found[1:]] == [[12.5], [12.6], [12.7], [12.8]]


@pytest.mark.parametrize("between", [b"\n", b"# note\n", b"\r\n"])
def test_empty_lines_and_comments_between_do_not_matter(
    finder: ShapeFinder, between: bytes
) -> None:
    text = between.join([b"boot\n", *[b"%d\n" % number for number in RAW]])
    assert counts(finder.feed([Chunk("x", 0, text)]) + finder.finish()) == RAW
    assert finder.unreadable == 0


def test_keeps_the_arrival_of_what_it_held_back(finder: ShapeFinder) -> None:
    blocks = [b for i, n in enumerate(RAW) for b in finder.feed([Chunk("x", i, b"%d\n" % n)])]
    assert [us for block in blocks for us in block.arrived_us.tolist()] == [*range(1, 12)]


def test_words_without_end_hold_back_little(finder: ShapeFinder) -> None:
    for i in range(1000):
        finder.feed([Chunk("x", i, b"word\n")])
        assert finder.unreadable == i
    assert len(finder._held) <= MOST_HELD
    assert finder.finish() == []
    assert finder.unreadable == 999


def test_chatter_before_the_readings_does_not_hide_them(finder: ShapeFinder) -> None:
    finder.feed([Chunk("x", 0, b"still starting\n" * 300)])
    found = finder.feed([Chunk("x", 0, lines(RAW * 30))]) + finder.finish()
    assert counts(found)[-300:] == (RAW * 30)[-300:]
    assert finder.shape == "bare-integers"


def test_a_loss_before_the_choice_begins_again(finder: ShapeFinder) -> None:
    finder.feed([Chunk("x", 0, b"84213\n84160\n8")])
    assert finder.finish() == []
    assert counts(finder.feed([Chunk("x", 0, b"4\n" + lines(RAW))])) == RAW


def test_a_loss_after_the_choice_is_passed_on(finder: ShapeFinder) -> None:
    finder.feed([Chunk("x", 0, lines(RAW) + b"842")])
    assert finder.finish() == []
    assert counts(finder.feed([Chunk("x", 0, b"4\n84215\n")])) == [84215.0]


def test_lines_of_ours_that_are_all_damaged_are_no_columns(finder: ShapeFinder) -> None:
    damaged = [b"S,%d,%d,%d*%04X\n" % (n, 12_500 * n, 84_213 + n, n) for n in range(60)]
    assert finder.feed([Chunk("x", n, line) for n, line in enumerate(damaged)]) == []
    assert finder.finish() == []
    assert counts(finder.feed([Chunk("x", 99, b"x\n" + OWN)])) == [5.0]
