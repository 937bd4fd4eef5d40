"""Tables in: plain CSV (RFC 4180) as readings, stamped as if they had just arrived.

A header names the columns: `time_s` and either `count_1` ... `count_n`, or `force_N`, or
`mass_kg`. Others are left out, with a remark. UTF-8 with or without a byte order mark, CRLF, LF
or CR, quoted cells, and blank lines are all right; so are decimals and exponents, for counts
as well.

`time_s` is taken as a host's stamps: bunched, late, rounded, repeated, from any start (zero, a
clock time, below zero). They become the arrivals, to the microsecond, so the results stand on
the file's own axis. Small steps back are levelled; one of more than 0.5 s is an error.

A row whose time stands and whose values are all empty is a sample that was not read: it stays
as a missing one (flag `BAD_WORD`, NaN). Any other empty or unreadable cell is an error that
names line and column: a table is read in full or not at all.

The fast path reads a table of plain numbers (`plain_numbers`). The next one is NumPy's reader,
which knows quotes and more. Only where that stumbles are the rows gone through one by one, to
name the place.
"""

from __future__ import annotations

import csv
import math
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from strikebridge.boards.plain_numbers import read_rows
from strikebridge.errors import FormatError
from strikebridge.samples import CountBlock, Flag, Flags, Floats, Quantity

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable, Iterator
    from pathlib import Path

TIME = "time_s"
FORCE = "force_N"
MASS = "mass_kg"
COUNT_PREFIX = "count_"
STEP_BACK_S = 0.5  # host clocks are set back by less; more is another recording or a mix-up
LATEST_S = 1e11  # about the year 5100 as a clock time: whatever lies beyond is not seconds
BLOCK_ROWS = 7_000  # at least, but for the last block: what fits a processor's cache is quick
READ_BYTES = 2**17  # looked at together on the fast path, for the same reason
# end codes of a 24-bit two's complement converter, such as the HX711 (its data sheet)
LOWEST_COUNT, HIGHEST_COUNT = -8_388_608.0, 8_388_607.0


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """A table as a stream of readings.

    Attributes:
        quantity: what the values are: counts, newtons or kilograms.
        channels: values a row.
        blocks: the readings in order, without ticks, to be gone through once. They are read as
            they are asked for, so any of them may raise FormatError.
        remarks: what a reader should know of it, in whole sentences.
    """

    quantity: Quantity
    channels: int
    blocks: Iterator[CountBlock]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Header:
    """What the first row says.

    Attributes:
        quantity: what the values are.
        names: the time column, then those of the values.
        places: where they are, from 0, in the same order.
        unused: names of the other columns.
        lines: physical lines up to and including the header.
    """

    quantity: Quantity
    names: tuple[str, ...]
    places: tuple[int, ...]
    unused: tuple[str, ...]
    lines: int


def read_table(path: Path) -> Table:
    """Read a CSV of readings.

    Args:
        path: the file.

    Returns:
        Its readings, with `time_s` as arrivals.

    Raises:
        FormatError: it cannot be read as such a table; the message names line and column. What
            is wrong further down is said by the blocks.
    """
    with _said_clearly(path):
        header = _read_header(path)
    remarks: tuple[str, ...] = ()
    if header.unused:
        remarks = (f"Not used in {path.name}: {', '.join(header.unused)}.",)
    return Table(header.quantity, len(header.names) - 1, _blocks(path, header), remarks)


@contextmanager
def _said_clearly(path: Path) -> Iterator[None]:
    """Turn what may go wrong in reading a file into a sentence."""
    try:
        yield
    except OSError as error:
        raise FormatError(f"{path} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise FormatError(
            f"{path} is not text in UTF-8: save the table as CSV in UTF-8 and try again."
        ) from error
    except csv.Error as error:
        raise FormatError(f"{path} is not a CSV table: {error}.") from error


def _read_header(path: Path) -> _Header:
    """Find the columns."""
    with path.open("rb") as file:
        if b"\0" in file.read(4096):
            raise FormatError(f"{path} is not text: a table must be CSV in UTF-8.")
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.reader(file, strict=True)
        row = next((row for row in reader if any(cell.strip() for cell in row)), None)
        if row is None:
            raise FormatError(f"{path} is empty: it needs a header and rows.", line=1)
        line = reader.line_num
        if not any(any(cell.strip() for cell in later) for later in reader):
            _columns(path, row, line)
            raise FormatError(f"{path} has a header but no rows.", line=line)
    return _columns(path, row, line)


def _columns(path: Path, row: list[str], line: int) -> _Header:
    """Pick the columns by their names."""
    names = [cell.strip() for cell in row]
    for name in (TIME, FORCE, MASS, *(n for n in names if n.startswith(COUNT_PREFIX))):
        if names.count(name) > 1:
            raise FormatError(
                f"{path}, line {line}: there are two columns {name}; keep one.",
                line=line,
                column=name,
            )
    if TIME not in names:
        raise FormatError(f"{path}, line {line}: {_why_no_time(names)}", line=line, column=TIME)
    counts = [name for name in names if name.startswith(COUNT_PREFIX)]
    if counts:
        wanted = [f"{COUNT_PREFIX}{i}" for i in range(1, len(counts) + 1)]
        if sorted(counts) != sorted(wanted):
            missing = next(name for name in wanted if name not in counts)
            raise FormatError(
                f"{path}, line {line}: there is no column {missing}; channels are numbered "
                "from count_1 without a hole.",
                line=line,
                column=missing,
            )
        quantity, values = Quantity.COUNT, wanted
    elif FORCE in names:
        quantity, values = Quantity.N, [FORCE]
    elif MASS in names:
        quantity, values = Quantity.KG, [MASS]
    else:
        raise FormatError(
            f"{path}, line {line}: no column holds readings; name one count_1, {FORCE} or "
            f"{MASS}.",
            line=line,
        )
    used = (TIME, *values)
    unused = tuple(name or "a column without a name" for name in names if name not in used)
    return _Header(quantity, used, tuple(names.index(name) for name in used), unused, line)


def _why_no_time(names: list[str]) -> str:
    """Say what to do about a header without the time."""
    if len(names) == 1 and any(mark in names[0] for mark in ";\t"):
        return "the columns must be separated by commas; save the table as CSV with commas."
    if all(_is_number(name) for name in names):
        return (
            f"there is no header; put the names of the columns first, such as {TIME},count_1."
        )
    return f"there is no column {TIME}; name the column that holds the seconds {TIME}."


def _is_number(cell: str) -> bool:
    return _to_number(cell) is not None


def _to_number(cell: str) -> float | None:
    """Read a decimal as it is written in tables; None where it is none."""
    try:
        # Python alone would also read 1_000
        return None if "_" in cell else float(cell)
    except ValueError:
        return None


def _parts(path: Path, header: _Header) -> Iterator[Floats]:
    """Read all rows, shape (n, 1 + channels) each; NaN only in values of a missing sample."""
    taken = yield from _plain_parts(path, header)
    if taken is None:
        return
    rest = _read_slowly(path, header)[taken:]
    yield from (rest[i : i + BLOCK_ROWS] for i in range(0, len(rest), BLOCK_ROWS))


def _plain_parts(path: Path, header: _Header) -> Generator[Floats, None, int | None]:
    """Read plain numbers for as long as there is nothing else.

    Returns:
        How many rows there were of them; None where they were all.
    """
    columns = len(header.places) + len(header.unused)
    is_all = header.places == tuple(range(columns))
    with path.open("rb") as file:
        head = b"".join(file.readline() for _ in range(header.lines))
        if b"\r" in head.replace(b"\r\n", b"\n"):
            return 0  # these lines may not be the same as the csv module's
        taken, before_s = 0, -math.inf
        while block := file.read(READ_BYTES):
            lines = block + file.readline()
            if b"\r" in lines:
                lines = lines.replace(b"\r\n", b"\n")
            numbers = read_rows(lines if lines.endswith(b"\n") else lines + b"\n", columns)
            if numbers is None or not _is_in_order(numbers[:, header.places[0]], before_s):
                return taken
            part = numbers if is_all else numbers[:, header.places]
            taken, before_s = taken + len(part), float(part[-1, 0])
            yield part
    return None


def _read_slowly(path: Path, header: _Header) -> Floats:
    """Read all rows of any table, shape (n, 1 + channels)."""
    try:
        values = np.loadtxt(
            path,
            delimiter=",",
            comments=None,
            quotechar='"',
            skiprows=header.lines,
            usecols=header.places,
            encoding="utf-8-sig",
            ndmin=2,
        )
    except ValueError:  # also text that is not UTF-8; the rows will say so again
        return _check_rows(path, header)
    return values if _is_sound(values) else _check_rows(path, header)


def _is_sound(values: Floats) -> bool:
    """Say whether there is nothing in the numbers that has to be looked at row by row."""
    return bool(np.isfinite(values).all()) and _is_in_order(values[:, 0])


def _is_in_order(time_s: Floats, before_s: float = -math.inf) -> bool:
    """Say whether all are times, and none steps back too far, also from the one before."""
    if not -LATEST_S <= time_s.min() <= time_s.max() <= LATEST_S:
        return False
    steps_s = time_s[1:] - time_s[:-1]
    return float(time_s[0] - before_s) >= -STEP_BACK_S and (
        not len(steps_s) or float(steps_s.min()) >= -STEP_BACK_S
    )


def _check_rows(path: Path, header: _Header) -> Floats:
    """Read row by row and name the first place that is wrong."""
    rows: list[list[float]] = []
    before_s = -math.inf
    for line, cells in _rows(path, header):
        values = _row_values(path, header, line, cells)
        if not abs(values[0]) <= LATEST_S:
            raise FormatError(
                f"{path}, line {line}, column {TIME}: {cells[header.places[0]].strip()} is no "
                "time in seconds.",
                line=line,
                column=TIME,
            )
        if values[0] < before_s - STEP_BACK_S:
            raise FormatError(
                f"{path}, line {line}, column {TIME}: the time goes back by "
                f"{before_s - values[0]:.3f} s; split the table there, or sort its rows.",
                line=line,
                column=TIME,
            )
        before_s = values[0]
        rows.append(values)
    return np.array(rows)


def _rows(path: Path, header: _Header) -> Iterator[tuple[int, list[str]]]:
    """Give the rows below the header that are not blank, with the line each begins at."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.reader(file, strict=True)
        before = 0
        for row in reader:
            line, before = before + 1, reader.line_num
            if reader.line_num > header.lines and any(cell.strip() for cell in row):
                yield line, row


def _row_values(path: Path, header: _Header, line: int, cells: list[str]) -> list[float]:
    """Read the cells of one row."""
    found = [cells[i].strip() if i < len(cells) else None for i in header.places]
    if not any(found[1:]) and None not in found:
        found[1:] = ["nan"] * (len(found) - 1)  # the sample was not read
        is_missing = True
    else:
        is_missing = False
    values: list[float] = []
    for name, cell in zip(header.names, found, strict=True):
        value = None if cell is None else _to_number(cell)
        if value is None or not (math.isfinite(value) or (is_missing and name != TIME)):
            raise FormatError(
                f"{path}, line {line}, column {name}: {_what_is_wrong(cell)}",
                line=line,
                column=name,
            )
        values.append(value)
    return values


def _what_is_wrong(cell: str | None) -> str:
    if cell is None:
        return "the row ends before this column; every row needs all the cells of the header."
    if not cell:
        return "the cell is empty; write a number, or leave out the row."
    return f"{cell[:40]!r} is not a number; write digits with a decimal point."


def _blocks(path: Path, header: _Header) -> Iterator[CountBlock]:
    """Put the rows into blocks as a decoder would give them."""
    number, latest_us = 0, np.iinfo(np.int64).min
    with _said_clearly(path):
        for rows in _joined(_parts(path, header)):
            time_s, readings = rows[:, 0], rows[:, 1:]
            # to whole microseconds; NumPy's rint rounds halves to even: neither side favoured
            arrived_us = np.rint(time_s * 1e6).astype(np.int64)
            arrived_us[0] = max(int(arrived_us[0]), latest_us)
            arrived_us = np.maximum.accumulate(arrived_us)
            latest_us = int(arrived_us[-1])
            numbers = np.arange(number, number + len(time_s))
            number += len(time_s)
            flags = _flags(readings, header)
            counts = np.ascontiguousarray(readings)
            yield CountBlock(numbers, counts, arrived_us, None, flags)


def _joined(parts: Iterable[Floats]) -> Iterator[Floats]:
    """Put short parts together until there are rows enough for a block."""
    some: list[Floats] = []
    for part in parts:
        some.append(part)
        if sum(map(len, some)) >= BLOCK_ROWS:
            yield some[0] if len(some) == 1 else np.concatenate(some)
            some = []
    if some:
        yield np.concatenate(some)


def _flags(readings: Floats, header: _Header) -> Flags:
    """Flag what was not read, and what lies at an end of the converter; shape (n,)."""
    flags = np.zeros(len(readings), dtype=np.uint16)
    lowest, highest = float(readings.min()), float(readings.max())
    if math.isnan(lowest):
        is_missing = np.isnan(readings)
        flags[is_missing.any(axis=1)] |= np.uint16(Flag.BAD_WORD)
        lowest, highest = LOWEST_COUNT, HIGHEST_COUNT  # to be looked at one by one
    is_beyond = lowest <= LOWEST_COUNT or highest >= HIGHEST_COUNT
    if header.quantity is Quantity.COUNT and is_beyond:
        is_at_end = (readings == LOWEST_COUNT) | (readings == HIGHEST_COUNT)
        flags[is_at_end.any(axis=1)] |= np.uint16(Flag.SATURATED)
    return flags
