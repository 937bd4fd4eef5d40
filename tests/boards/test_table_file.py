"""Tables in: what is read, and what is refused in one sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.boards.table_file import BLOCK_ROWS, read_table
from strikebridge.errors import FormatError
from strikebridge.samples import Flag, Quantity

if TYPE_CHECKING:
    from pathlib import Path


def write(tmp_path: Path, content: str | bytes) -> Path:
    path = tmp_path / "table.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


@pytest.mark.parametrize(
    ("content", "quantity", "values"),
    [
        ("time_s,count_1\n0,1\n0.1,-2\n", Quantity.COUNT, [[1.0], [-2.0]]),
        ("time_s,force_N\r\n0,1.5\r\n0.1,2e3\r\n", Quantity.N, [[1.5], [2000.0]]),
        ("\ufefftime_s,mass_kg\n0,1\n0.1,+.5E1\n", Quantity.KG, [[1.0], [5.0]]),
        ('"time_s","count_1"\n"0","1"\n"0.1","2"\n', Quantity.COUNT, [[1.0], [2.0]]),
        ("count_2,time_s,count_1\n7,0,1\n8,.1,2\n", Quantity.COUNT, [[1.0, 7.0], [2.0, 8.0]]),
        ("\n time_s , count_1 \n\n0,1\n\n0.1,2\n\n\n", Quantity.COUNT, [[1.0], [2.0]]),
        ("time_s,count_1\r0,1\r0.1,2\r", Quantity.COUNT, [[1.0], [2.0]]),
        ("time_s,count_1\n0,1\n0.1,2", Quantity.COUNT, [[1.0], [2.0]]),
        ("time_s,count_1\n0,1.25\n0.1,2\n  ,  \n", Quantity.COUNT, [[1.25], [2.0]]),
        ('time_s,count_1,note\n0,1,"a, b"\n0.1,2,"c\nd"\n', Quantity.COUNT, [[1.0], [2.0]]),
        ("time_s,count_1,force_N\n0,1,9\n0.1,2,9\n", Quantity.COUNT, [[1.0], [2.0]]),
    ],
)
def test_reads(
    tmp_path: Path, content: str, quantity: Quantity, values: list[list[float]]
) -> None:
    table = read_table(write(tmp_path, content))
    (block,) = table.blocks
    assert table.quantity is quantity
    assert table.channels == len(values[0])
    np.testing.assert_array_equal(block.counts, values)
    assert block.number.tolist() == [0, 1]
    assert block.arrived_us.tolist() == [0, 100_000]
    assert block.ticks_us is None
    assert block.flags.tolist() == [0, 0]


def test_names_unused_columns(tmp_path: Path) -> None:
    table = read_table(write(tmp_path, "time_s,note,count_1,\n0,a,1,\n"))
    assert table.remarks == ("Not used in table.csv: note, a column without a name.",)
    assert read_table(write(tmp_path, "time_s,count_1\n0,1\n")).remarks == ()


@pytest.mark.parametrize("start_s", [0.0, -3.5, 1.7e9])
def test_keeps_the_axis_of_the_file(tmp_path: Path, start_s: float) -> None:
    rows = "".join(f"{start_s + i * 0.0125:.4f},{i}\n" for i in range(50))
    (block,) = read_table(write(tmp_path, "time_s,count_1\n" + rows)).blocks
    expected = round(start_s * 1e6) + 12_500 * np.arange(50)
    np.testing.assert_array_equal(block.arrived_us, expected)


def test_levels_small_steps_back(tmp_path: Path) -> None:
    (block,) = read_table(write(tmp_path, "time_s,count_1\n0,1\n1,2\n0.6,3\n1.1,4\n")).blocks
    assert block.arrived_us.tolist() == [0, 1_000_000, 1_000_000, 1_100_000]


def test_flags_the_ends_of_the_converter(tmp_path: Path) -> None:
    text = "time_s,count_1,count_2\n0,8388607,0\n1,0,-8388608\n2,8388606,-8388607\n"
    (block,) = read_table(write(tmp_path, text)).blocks
    assert block.flags.tolist() == [Flag.SATURATED, Flag.SATURATED, 0]
    (block,) = read_table(write(tmp_path, "time_s,force_N\n0,8388607\n")).blocks
    assert block.flags.tolist() == [0]


def test_takes_a_row_without_values_as_a_missing_sample(tmp_path: Path) -> None:
    text = "time_s,count_1,count_2\n0,1,2\n0.1,,\n0.2,3,4\n"
    (block,) = read_table(write(tmp_path, text)).blocks
    assert block.flags.tolist() == [0, Flag.BAD_WORD, 0]
    assert np.isnan(block.counts[1]).all()
    assert block.arrived_us.tolist() == [0, 100_000, 200_000]


@pytest.mark.parametrize("odd", ["", " "])  # a space is left to NumPy's reader
@pytest.mark.parametrize("more", ["", ",a,b,c,d", ","])
def test_cuts_long_tables_into_blocks(tmp_path: Path, odd: str, more: str) -> None:
    rows = 2 * BLOCK_ROWS + 3
    unused = ",100000" * more.count(",")
    text = f"time_s,count_1{more}\n{odd}"
    text += "".join(f"{i / 1000},{i}{unused}\n" for i in range(rows))
    blocks = list(read_table(write(tmp_path, text)).blocks)
    assert len(blocks) > 1
    assert all(BLOCK_ROWS <= len(block) < 2 * BLOCK_ROWS for block in blocks[:-1])
    number = np.concatenate([block.number for block in blocks])
    np.testing.assert_array_equal(number, np.arange(rows))
    np.testing.assert_array_equal(
        np.concatenate([block.counts[:, 0] for block in blocks]), number
    )
    np.testing.assert_array_equal(
        np.concatenate([block.arrived_us for block in blocks]), 1000 * number
    )


@pytest.mark.parametrize("odd", ['1.0,"7"', " 1.0, 7 ", "1.0,7", "1.0,"])
def test_goes_on_as_it_began_where_a_long_table_turns_odd(tmp_path: Path, odd: str) -> None:
    rows = [f"{i / 1000:.3f},{i}" for i in range(3 * BLOCK_ROWS)]
    at = 2 * BLOCK_ROWS + 500
    rows[at] = odd.replace("1.0", f"{at / 1000:.3f}")
    blocks = list(read_table(write(tmp_path, "time_s,count_1\n" + "\n".join(rows))).blocks)
    expected = np.arange(float(len(rows)))
    expected[at] = 7.0 if "7" in odd else np.nan
    np.testing.assert_array_equal(
        np.concatenate([block.counts[:, 0] for block in blocks]), expected
    )
    number = np.concatenate([block.number for block in blocks])
    np.testing.assert_array_equal(number, np.arange(len(rows)))
    np.testing.assert_array_equal(
        np.concatenate([block.arrived_us for block in blocks]), 1000 * number
    )


def test_names_the_line_far_down_in_a_long_table(tmp_path: Path) -> None:
    rows = [f"{i / 1000:.3f},{i}" for i in range(3 * BLOCK_ROWS)]
    rows[20_000] = "20.000,2OO00"
    blocks = read_table(write(tmp_path, "time_s,count_1\n" + "\n".join(rows))).blocks
    assert len(next(blocks)) >= BLOCK_ROWS
    with pytest.raises(FormatError, match="line 20002, column count_1: '2OO00'"):
        list(blocks)


def test_levels_steps_back_and_refuses_large_ones_between_blocks(tmp_path: Path) -> None:
    rows = [f"{i / 1000:.3f},{i}\n" for i in range(3 * BLOCK_ROWS)]
    first = len(next(read_table(write(tmp_path, "time_s,count_1\n" + "".join(rows))).blocks))
    back_s = (first - 400) / 1000
    rows[first] = f"{back_s:.3f},{first}\n"
    blocks = list(read_table(write(tmp_path, "time_s,count_1\n" + "".join(rows))).blocks)
    assert len(blocks[0]) == first
    assert blocks[1].arrived_us[:2].tolist() == [1000 * (first - 1), 1000 * (first + 1)]
    rows[first] = f"{back_s - 1.0:.3f},{first}\n"
    with pytest.raises(FormatError, match="goes back by"):
        list(read_table(write(tmp_path, "time_s,count_1\n" + "".join(rows))).blocks)


@pytest.mark.parametrize(
    ("content", "line", "column", "words"),
    [
        (b"", 1, None, "is empty"),
        (b"\n \n", 1, None, "is empty"),
        (b"time_s,count_1\n", 1, None, "no rows"),
        (b"time_s,count_1\n\n \n", 1, None, "no rows"),
        (b"0,1\n0.1,2\n", 1, "time_s", "no header"),
        (b"t,count_1\n0,1\n", 1, "time_s", "no column time_s"),
        (b"time_s;count_1\n0;1\n", 1, "time_s", "commas"),
        (b"time_s,reading\n0,1\n", 1, None, "no column holds readings"),
        (b"time_s,count_1,count_3\n0,1,2\n", 1, "count_2", "no column count_2"),
        (b"time_s,count_1,time_s\n0,1,2\n", 1, "time_s", "two columns time_s"),
        (b"time_s,count_1\n0,1\n0.1,abc\n", 3, "count_1", "'abc' is not a number"),
        (b"time_s,count_1\n0,1\n0.1,1_0\n", 3, "count_1", "not a number"),
        (b"time_s,count_1\n0,1\n0.1,nan\n", 3, "count_1", "not a number"),
        (b"time_s,count_1\n0,1\n0.1,inf\n", 3, "count_1", "not a number"),
        (b"time_s,count_1\n0,1\nnan,2\n", 3, "time_s", "not a number"),
        (b"time_s,count_1\n0,1\n,2\n", 3, "time_s", "empty"),
        (b"time_s,count_1,count_2\n0,1,2\n0.1,2,\n", 3, "count_2", "empty"),
        (b"time_s,count_1\n0,1\n0.1\n", 3, "count_1", "ends before"),
        (b'time_s,count_1,n\n0,1,"a\nb"\n0.1,x,\n', 4, "count_1", "not a number"),
        (b"time_s,count_1\n0,1\n5,2\n\n4.49,3\n", 5, "time_s", "goes back by 0.510 s"),
        (b"time_s,count_1\n0,1\n.4,2\n.1,2\n-.5,3\n", 5, "time_s", "goes back by 0.600 s"),
        (b"time_s,count_1\n0,1\n1e12,2\n", 3, "time_s", "no time in seconds"),
        (b"\0\1\2time_s", None, None, "not text"),
        (b"time_s,count_1\n0,1\n0.1,\xff\n", None, None, "UTF-8"),
        (b"\xfft\n0,1\n", None, None, "UTF-8"),
        (b'time_s,count_1\n0,"1"x\n', None, None, "not a CSV table"),
    ],
)
def test_refuses_in_one_sentence(
    tmp_path: Path, content: bytes, line: int | None, column: str | None, words: str
) -> None:
    with pytest.raises(FormatError, match=words) as caught:
        list(read_table(write(tmp_path, content)).blocks)
    assert (caught.value.line, caught.value.column) == (line, column)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)


def test_refuses_what_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match="cannot be read"):
        read_table(tmp_path / "missing.csv")
    with pytest.raises(FormatError, match="cannot be read"):
        read_table(tmp_path)


CELLS = st.one_of(
    st.integers(-(10**20), 10**20).map(str),
    st.floats(-1e300, 1e300).map(repr),
    st.floats(-1e6, 1e6).map("{:.3f}".format),
    st.sampled_from(["+1", ".5", "5.", "007", "-0", "1E3", "1e-400", "-0.0", " 7 ", "1e-3"]),
    st.from_regex(r"-?\d{1,25}\.\d{1,25}(e-?\d{1,2})?", fullmatch=True),
)


@settings(deadline=None)
@given(
    rows=st.lists(st.tuples(CELLS, CELLS), min_size=1, max_size=20),
    ending=st.sampled_from(["\n", "\r\n"]),
    last=st.sampled_from(["", "end", "blank"]),
)
def test_numbers_are_those_that_python_reads(
    tmp_path_factory: pytest.TempPathFactory,
    rows: list[tuple[str, str]],
    ending: str,
    last: str,
) -> None:
    lines = ["time_s,count_1,other", *(f"{n},{a},{b}" for n, (a, b) in enumerate(rows))]
    text = ending.join(lines) + {"": "", "end": ending, "blank": 2 * ending}[last]
    table = read_table(write(tmp_path_factory.mktemp("table"), text))
    found = [row for block in table.blocks for row in block.counts.tolist()]
    assert found == [[float(a)] for a, _ in rows]


@pytest.mark.parametrize(
    "content",
    [
        "time_s,count_1\n0,1\n0.1\n",
        "time_s,count_1\n0,1\n0.1,2,3\n0.2\n",
        "time_s,count_1\n0,1\n0.1,2 3\n",
        "time_s,count_1\n0,1\n0.1,1-2\n",
        "time_s,count_1\n0,1\n0.1,-\n",
        "time_s,count_1\n0,1\n0.1,1e999\n",
    ],
)
def test_a_cell_that_is_no_number_is_refused(tmp_path: Path, content: str) -> None:
    with pytest.raises(FormatError, match="line"):
        list(read_table(write(tmp_path, content)).blocks)


def test_a_header_that_ends_as_old_macs_wrote_is_not_cut_short(tmp_path: Path) -> None:
    table = read_table(write(tmp_path, "time_s,count_1\r0,1\n0.1,2\n"))
    assert [block.counts.tolist() for block in table.blocks] == [[[1.0], [2.0]]]
