"""Many numbers at once: the same as one by one, or left to others."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.boards.plain_numbers import are_integers, have_leading_zeros, read_rows

if TYPE_CHECKING:
    from collections.abc import Sequence

FIXED = st.integers(0, 9).flatmap(
    lambda decimals: st.lists(
        st.floats(-1e5, 1e5).map(lambda value: f"{value:.{decimals}f}"), min_size=3, max_size=3
    )
)
LOOSE = st.text("0123456789.-+eE ", max_size=6)


def lines_of(rows: Sequence[tuple[str, ...]]) -> bytes:
    return b"".join(",".join(row).encode() + b"\n" for row in rows)


@settings(deadline=None)
@given(FIXED, FIXED)
def test_decimals_are_read_to_the_last_bit(a: list[str], b: list[str]) -> None:
    rows = list(zip(a, b, strict=True))
    numbers = read_rows(lines_of(rows), 2)
    assert numbers is not None
    assert numbers.tolist() == [[float(cell) for cell in row] for row in rows]


@settings(deadline=None)
@given(st.lists(st.tuples(LOOSE, LOOSE), min_size=1, max_size=4))
def test_whatever_is_read_is_what_python_reads(rows: list[tuple[str, ...]]) -> None:
    numbers = read_rows(lines_of(rows), 2)
    if numbers is not None:
        assert numbers.tolist() == [[float(cell) for cell in row] for row in rows]


@pytest.mark.parametrize(
    ("lines", "numbers"),
    [
        (b"0.001,-5\n1.250,7\n", [[0.001, -5.0], [1.25, 7.0]]),
        (b"0.001,5\n1.25,7\n", [[0.001, 5.0], [1.25, 7.0]]),
        (b"0.01,5\n1.001,7\n", [[0.01, 5.0], [1.001, 7.0]]),
        (b"1.5,5\n7,1.5\n", [[1.5, 5.0], [7.0, 1.5]]),
        (b"0.001,5.25\n0.002,5\n", [[0.001, 5.25], [0.002, 5.0]]),
        (b"12345678901234567890123,1\n", [[12345678901234567890123.0, 1.0]]),
        (b"1e3,1\n", [[1000.0, 1.0]]),
        (b"7,-0\n", [[7.0, 0.0]]),
        (b"1,007\n", [[1.0, 7.0]]),
        (b"12345678.1234567,-99999999\n", [[12345678.1234567, -99999999.0]]),
        (b"-1.5,123456789\n", [[-1.5, 123456789.0]]),
        (b"0.12345678,-0.5\n", [[0.12345678, -0.5]]),
        (b"-0.5,-2.25\n-10.75,3.125\n", [[-0.5, -2.25], [-10.75, 3.125]]),
    ],
)
def test_reads(lines: bytes, numbers: list[list[float]]) -> None:
    found = read_rows(lines, 2)
    assert found is not None
    assert found.tolist() == numbers


@pytest.mark.parametrize(
    "lines",
    [
        b"1,2,3\n",
        b"1\n2,3,4\n",
        b"1,\n",
        b"1,-\n",
        b"1,--2\n",
        b"1,2-3\n",
        b"1,x\n",
        b"1,.5\n",
        b"1,1.2.3\n",
        b"0.125,5\n0..25,5\n",
        b"1,2\n\n",
        b"1,1e999\n",
        b"1,.\n",
        b"1,1 2\n",
        b"1.\n,2.\n",
    ],
)
def test_leaves_to_others(lines: bytes) -> None:
    assert read_rows(lines, 2) is None


@pytest.mark.parametrize("fields", [b"", b",1", b"1,", b"1,,2", b"-", b"1-", b"--1", b"1.0"])
def test_what_is_no_row_of_integers(fields: bytes) -> None:
    assert not are_integers(fields)


@pytest.mark.parametrize(
    ("fields", "have"),
    [(b"0,10,-1", False), (b"00", True), (b"1,07", True), (b"1,-07", True), (b"-0", True)],
)
def test_leading_zeros_are_seen(fields: bytes, have: bool) -> None:
    assert are_integers(fields)
    assert have_leading_zeros(fields) is have


LAID_OUT = st.tuples(
    st.integers(0, 7), st.sampled_from(["", "-"]), st.integers(64, 90), st.integers(0, 12)
)


@settings(deadline=None)
@given(st.lists(LAID_OUT, min_size=1, max_size=3), st.integers(0, 2**32))
def test_stretches_laid_out_alike_are_read_as_python_reads(
    stretches: list[tuple[int, str, int, int]], seed: int
) -> None:
    draw = random.Random(seed)
    rows = [
        (f"{draw.randrange(10**6, 10**7) / 10**decimals:.{decimals}f}", f"{sign}{number}")
        for decimals, sign, count, width in stretches
        for number in (draw.randrange(10**width) for _ in range(count))
    ]
    numbers = read_rows(lines_of(rows), 2)
    assert numbers is not None
    assert numbers.tolist() == [[float(cell) for cell in row] for row in rows]


@pytest.mark.parametrize("odd", [b"1.001,12x\n", b"1.0010,12\n", b"1.001;12\n", b"1.001,-1\n"])
@pytest.mark.parametrize("at", [0, 1, 63, 64, 65, 99, 127, 128])
def test_an_odd_row_among_many_alike_is_seen(odd: bytes, at: int) -> None:
    rows = [b"%.3f,%d\n" % (1.0 + k / 1000, 10 + k % 90) for k in range(128)]
    rows.insert(at, odd)
    numbers = read_rows(b"".join(rows), 2)
    if b"x" in odd or b";" in odd:
        assert numbers is None
        return
    assert numbers is not None
    assert numbers.tolist() == [[float(cell) for cell in row.split(b",")] for row in rows]


def test_long_numbers_are_read_to_the_last_bit() -> None:
    rows = [(f"0.{k:016d}", f"{10**14 + k}") for k in range(200)]
    rows += [(f"{k}.{k:014d}", f"-{10**14 + k}") for k in range(1, 10)] * 20
    numbers = read_rows(lines_of(rows), 2)
    assert numbers is not None
    assert numbers.tolist() == [[float(cell) for cell in row] for row in rows]
