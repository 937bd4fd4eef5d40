"""Corners of recognising that no sketch of the table comes to."""

from collections.abc import Callable

import pytest

from strikebridge.boards.recognising.decimal_comma import Comma, judge_commas
from strikebridge.boards.recognising.recognise import recognise
from strikebridge.boards.recognising.tokens import Kind, take_apart

RAW = [84_213 + 37 * n % 191 for n in range(40)]


def shape_of(line: Callable[[int], str], span_s: float = 0.0, n: int = 40) -> str:
    found = recognise([line(k).encode("latin-1") for k in range(n)], span_s)
    return str(found.shape)


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("HX711 not ready", []),
        ("HX711-2 not ready", []),
        ("0x12 1e5 1.2.3 12a", []),
        ("ww00012.3kg", []),
        ("ST,GS,-   0.34kg", ["-   0.34"]),
        ("GS-00012.3kg", ["-00012.3"]),
        ("Weight - 12.3", ["12.3"]),
        ("12:34:56.789 -> 84213", ["84213"]),
        ("12-34", ["12", "34"]),
        ("t=12ms", ["12"]),
    ],
)
def test_digits_glued_to_letters_are_no_number(text: str, numbers: list[str]) -> None:
    tokens = take_apart(text.encode())
    assert [token.text for token in tokens if token.kind is Kind.NUMBER] == numbers


@pytest.mark.parametrize(
    ("texts", "verdict"),
    [
        (["12 34", "12 35"], Comma.NONE),
        (["1,2,3", "4,5,6"], Comma.COLUMNS),
        (["12,-3", "12,4"], Comma.COLUMNS),
        (["12,3", "12,44", "9,7"], Comma.COLUMNS),
        (["12,05", "12,40"], Comma.DECIMAL),
        (["12,05", "12,4"], Comma.ASK),
        (["12,40", "12,41"], Comma.ASK),
        (["12,40;5,1", "12,41;6,2"], Comma.DECIMAL),
        (["84,213", "84,190"], Comma.ASK),
        (["84,213 kg", "84,190 kg"], Comma.DECIMAL),
        (["12,05 3,44", "12,40 3,5"], Comma.COLUMNS),
        (["12,05 84,213", "12,40 84,190"], Comma.ASK),
        (["12,05", "12 5"], Comma.COLUMNS),
    ],
)
def test_what_a_comma_is(texts: list[str], verdict: Comma) -> None:
    assert judge_commas([take_apart(text.encode()) for text in texts]) is verdict


def test_the_rate_of_arrival_tells_the_unit_of_a_clock() -> None:
    def slow(n: int) -> str:
        return f"{700 * n} {RAW[n]}"

    assert shape_of(slow) == "None"  # 1.4 readings a second, or 1400: nobody can tell
    assert "In which unit" in recognise([slow(n).encode() for n in range(40)]).questions[0]
    assert shape_of(slow, 40 * 0.7) == "<ms> <count>"
    assert shape_of(slow, 1.4e-3 * 40 + 0.6) == "None"  # neither: the question stays


def test_a_millisecond_a_line_is_a_clock_and_no_running_number() -> None:
    assert shape_of(lambda n: f"{n} {RAW[n % 40]}", 0.7, n=700) == "<ms> <count>"
    assert shape_of(lambda n: f"{n} {RAW[n % 40]}", 7.0, n=700) == "<number> <count>"


def test_of_two_running_numbers_one_is_left_out() -> None:
    assert shape_of(lambda n: f"{n} {n + 7} {RAW[n]}") == "<number> <skip> <count>"
    assert shape_of(lambda n: f"{12500 * n} {13 * n} {RAW[n]}") == "<us> <skip> <count>"


def test_labels_in_no_order_are_not_taken_for_one() -> None:
    """Two cells in turn, of which too little has come: never the readings of one."""
    lines = ["A: 1", "B: 2", "A: 3", "B: 4", "A: 5"]
    for n in range(6):
        assert recognise([line.encode() for line in lines[:n]]).shape is None
    assert shape_of(lambda n: f"{'AAB'[n % 3]}: {RAW[n]}") == "None"
    assert shape_of(lambda n: f"{'AB'[n * n % 7 % 2]}: {RAW[n]}") == "None"


def test_a_line_that_is_longer_than_a_shape_is_not_understood() -> None:
    assert shape_of(lambda n: f"{'k' * 245}: {RAW[n]}") == "None"


def test_too_few_lines_say_nothing() -> None:
    assert recognise([b"1", b"2"]).shape is None
    assert recognise([]).shape is None


def test_a_blank_that_comes_and_goes_is_no_matter() -> None:
    assert shape_of(lambda n: f"W:{' ' * (n % 3 == 0)}{RAW[n]}") == "W:<count>"


def test_a_small_number_in_no_order_is_no_label() -> None:
    assert shape_of(lambda n: f"{n * n % 7 % 3} {RAW[n]}") == "<skip> <count>"


def test_what_goes_like_a_clock_at_an_impossible_rate_is_left_out() -> None:
    assert shape_of(lambda n: f"{n * 90_000_000} {RAW[n]}") == "<skip> <count>"
