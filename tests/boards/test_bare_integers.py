import numpy as np
import pytest

from strikebridge.boards.bare_integers import BareIntegersDecoder
from strikebridge.samples import Chunk, Flag, Quantity


@pytest.fixture
def decoder() -> BareIntegersDecoder:
    return BareIntegersDecoder()


def test_first_line_is_thrown_away(decoder: BareIntegersDecoder) -> None:
    (block,) = decoder.feed([Chunk("x", 7, b"213\n84213\r\n84220\n-5\n+6\n")])
    assert block.counts.tolist() == [[84213.0], [84220.0], [-5.0], [6.0]]
    assert block.number.tolist() == [0, 1, 2, 3]
    assert block.arrived_us.tolist() == [7] * 4
    assert block.ticks_us is None
    assert decoder.unreadable == 0
    (block,) = decoder.feed([Chunk("x", 9, b"1\n")])
    assert block.number.tolist() == [4]


NO_READINGS = """HX711 not ready|12a|a12|1 2|1,2|1e5|0x12|--1|.|-|nan|inf|1.2.3"""


@pytest.mark.parametrize(
    "line",
    [*NO_READINGS.encode().split(b"|"), b"1" * 16, b"\xff12", b"1" + b" " * 300 + b"1"],
)
def test_digits_are_not_picked_out_of_words(decoder: BareIntegersDecoder, line: bytes) -> None:
    blocks = decoder.feed([Chunk("x", 0, b"first\n" + line + b"\n")])
    assert blocks == []
    assert decoder.unreadable == 1
    assert decoder.channels == 0


def test_comments_and_empty_lines_do_not_count(decoder: BareIntegersDecoder) -> None:
    (block,) = decoder.feed([Chunk("x", 0, b"first\n# boot 12\n\n \r\n\0 12\t\n")])
    assert block.counts.tolist() == [[12.0]]
    assert decoder.unreadable == 0


def test_decimals_are_of_unknown_quantity(decoder: BareIntegersDecoder) -> None:
    assert BareIntegersDecoder().quantity is Quantity.COUNT
    (block,) = decoder.feed([Chunk("x", 0, b"0\n12.25\n-0.5\n3.\n")])
    assert block.counts.tolist() == [[12.25], [-0.5], [3.0]]
    assert decoder.quantity is Quantity.UNKNOWN


def test_ends_of_the_converter_are_flagged(decoder: BareIntegersDecoder) -> None:
    (block,) = decoder.feed([Chunk("x", 0, b"0\n8388607\n-8388608\n8388606\n")])
    assert block.flags.tolist() == [Flag.SATURATED, Flag.SATURATED, 0]


def test_after_a_loss_the_first_line_may_be_torn_again(decoder: BareIntegersDecoder) -> None:
    decoder.feed([Chunk("x", 0, b"0\n1\n84")])
    assert decoder.finish() == []
    (block,) = decoder.feed([Chunk("x", 0, b"213\n84214\n")])
    assert block.counts.tolist() == [[84214.0]]
    assert block.number.tolist() == [1]


def test_large_numbers_keep_every_digit(decoder: BareIntegersDecoder) -> None:
    (block,) = decoder.feed([Chunk("x", 0, b"0\n999999999999999\n")])
    assert np.int64(block.counts[0, 0]) == 999_999_999_999_999


@pytest.mark.parametrize(
    "counts",
    [
        [53921, 36433, 17607, 143, -17376, -34436, -52272, -67811],
        [-93800, -93790, -67440, -841, 102774, 236147, 365503],
        [-262873, -260369, 0, -637846, -656561, -661622],
        [-120, 88, 45, -97, 131, 60, 412737, 415218, 418123, 413999],
    ],
    ids=["through zero", "nearly at zero", "after a glitch", "from a tared zero"],
)
def test_a_steep_rise_loses_no_reading(decoder: BareIntegersDecoder, counts: list[int]) -> None:
    """Readings many times the last one are no two numbers run together."""
    text = "".join(f"{count}\n" for count in [0, *counts])
    (block,) = decoder.feed([Chunk("x", 0, text.encode())])
    assert block.counts[:, 0].tolist() == counts
    assert decoder.unreadable == 0


def test_two_numbers_run_together_are_no_reading(decoder: BareIntegersDecoder) -> None:
    (block,) = decoder.feed([Chunk("x", 0, b"0\n84213\n84198\n8420384211\n84207\n")])
    assert block.counts[:, 0].tolist() == [84213.0, 84198.0, 84207.0]
    assert decoder.unreadable == 1
