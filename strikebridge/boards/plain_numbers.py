"""Many numbers at once out of text that holds nothing else; whatever is odd is for others.

Reading number by number costs most of the time that a long file takes. Here a block of text is
first seen to be plain, by what is left of it without its digits, and then read in one go:
integers by NumPy; rows as a product of matrices for as long as they are laid out alike
(`row_layout`), then by arithmetic on eight digits at a time, else as what they nearly are, the
inside of a JSON array.

**Eight digits at a time.** Where every row has its points, commas and ends alike, each group of
digits is the end of the eight bytes before its mark. Those are one 64-bit word; its bytes are
added up in pairs, the pairs in pairs, and so once more: three multiplications for a number,
whatever its length (Lamport, "Multiple byte processing with full-word instructions",
Communications of the ACM 18 (1975), for the principle). A decimal of up to 15 digits is then
one division of two whole numbers that a double holds exactly, which IEEE 754 rounds correctly:
the very double that Python reads (Clinger, "How to read floating point numbers accurately",
PLDI 1990).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from strikebridge.boards.row_layout import STRETCH_LEAST, layout_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from strikebridge.samples import Floats, Ints

    Bytes = NDArray[np.uint8]

INTEGER_BYTES = b"0123456789,-"
NUMBER_BYTES = b"0123456789.-+eE"
LEADING_ZERO = re.compile(rb",0\d")
COMMA, MINUS, POINT, LINE_FEED = b",-.\n"
GROUP_MOST = 8  # digits in a word of eight bytes
DECIMALS_MOST = 7  # with eight digits before the point below 2**53, so exact in a double
TENS = 10.0 ** np.arange(DECIMALS_MOST + 1)
BEFORE = b"\n".rjust(GROUP_MOST, b"0")  # so that eight bytes stand before every mark
# digits, then pairs, fours and eights of them: what to keep of each, and the step to the next
SUMS = (
    (0x0F0F_0F0F_0F0F_0F0F, 1 + (10 << 8), 8),
    (0x00FF_00FF_00FF_00FF, 1 + (100 << 16), 16),
    (0x0000_FFFF_0000_FFFF, 1 + (10_000 << 32), 32),
)
SUMMING = tuple(tuple(np.uint64(number) for number in step) for step in SUMS)

_decode_numbers = msgspec.json.Decoder(list[float]).decode


def are_integers(fields: bytes) -> bool:
    """Say whether text is integers between commas, each with digits and nothing but a sign.

    NumPy would also make something of nothing, and of a sign alone.

    Args:
        fields: the text.
    """
    if fields.translate(None, INTEGER_BYTES):
        return False
    closed = b",%s," % fields
    signs = closed.count(b"-")
    return b",," not in closed and (
        not signs or (closed.count(b",-") == signs and b"-," not in closed)
    )


def have_leading_zeros(fields: bytes) -> bool:
    """Say whether one of the integers between commas is written like 007 or -0."""
    closed = b",%s," % fields
    return LEADING_ZERO.search(closed) is not None or b",-0" in closed


def read_integers(fields: bytes, rows: int) -> Ints:
    """Read what `are_integers` has approved.

    Args:
        fields: integers between commas, each below 2**63.
        rows: how many rows they make.

    Returns:
        The integers, shape (rows, columns).
    """
    return np.fromstring(fields, np.int64, sep=",").reshape(rows, -1)


def read_rows(lines: bytes, columns: int) -> Floats | None:
    """Read whole lines of plain numbers.

    Args:
        lines: rows of cells, commas between them and a line feed after each row.
        columns: cells a row.

    Returns:
        The numbers, shape (n, columns); None where there is anything else among them.
    """
    parts: list[Floats] = []
    at, layout = 0, layout_of(lines, 0, columns)
    while layout is not None:
        part = layout.read(lines, at)
        parts.append(part.T)
        at += len(part.T) * len(layout.form)
        goes_on = at < len(lines) and len(part.T) >= STRETCH_LEAST
        layout = layout_of(lines, at, columns) if goes_on else None
    if at < len(lines):
        rest = _read_others(lines[at:], columns)
        if rest is None:
            return None
        parts.append(rest)
    return parts[0] if len(parts) == 1 else np.concatenate(parts)


def _read_others(lines: bytes, columns: int) -> Floats | None:
    """Read rows that are not laid out alike for long, as `read_rows` does."""
    found = _read_alike(lines, columns)
    if found is not None:
        return found
    # what is left without the numbers has to be so many commas a line, and nothing else
    marks = lines.translate(None, NUMBER_BYTES)
    if marks != (b"," * (columns - 1) + b"\n") * (len(marks) // columns):
        return None
    try:
        numbers = _decode_numbers(b"[%s]" % lines[:-1].replace(b"\n", b","))
    except msgspec.DecodeError:  # such as .5 and +5, which JSON does not know
        return None
    return np.fromiter(numbers, np.float64, len(numbers)).reshape(-1, columns)


def _read_alike(lines: bytes, columns: int) -> Floats | None:
    """Read rows whose marks stand alike, none of their numbers very long.

    Args:
        lines: as `read_rows` takes them.
        columns: cells a row.

    Returns:
        The numbers, shape (n, columns), each column in one piece; None where they are not so.
    """
    text = np.frombuffer(BEFORE + lines, np.uint8)
    at = np.flatnonzero(text < ord("0"))
    minus = None
    if b"-" in lines:
        is_minus = text[at] == MINUS
        minus, at = at[is_minus], at[~is_minus]
    marks = text[at[1:]].tobytes()
    row = marks[: marks.find(b"\n") + 1]
    groups = len(row)
    rows = len(marks) // groups if groups else 0
    if text.max() > ord("9") or not _is_row(row, columns) or marks != row * rows:
        return None
    digits = at[1:] - at[:-1]
    digits -= 1
    negative = np.empty(0, np.int64)
    if minus is not None:
        negative = np.searchsorted(at, minus) - 1
        # a sign stands right after a comma or the end of a line, and a digit after it
        if (at[negative] != minus - 1).any() or (text[minus - 1] == POINT).any():
            return None
        digits[negative] -= 1
    if digits.min() < 1 or digits.max() > GROUP_MOST:
        return None
    whole = _sum_up(text, at[1:], digits).reshape(rows, groups)
    return _put_together(whole, digits.reshape(rows, groups), row, negative)


def _is_row(row: bytes, columns: int) -> bool:
    """Say whether these are the marks of a row of plain numbers, at most one point in each."""
    cells = row[:-1].split(b",")
    return len(cells) == columns and all(cell in (b"", b".") for cell in cells)


def _sum_up(text: Bytes, ends: Ints, digits: Ints) -> Ints:
    """Read groups of digits.

    Args:
        text: the text, `BEFORE` before it.
        ends: where the mark after each group is, shape (n,).
        digits: how many each has, 1 to 8, shape (n,).

    Returns:
        What they are worth, shape (n,).
    """
    words = np.ndarray((len(text) - 7,), "<u8", text, 0, (1,))[ends - GROUP_MOST]
    # what stands before the digits is in the low bytes
    other = (8 * (GROUP_MOST - digits)).view(np.uint64)
    words >>= other
    words <<= other
    for keep, times, step in SUMMING:
        words &= keep
        words *= times
        words >>= step
    return words.view(np.int64)


def _put_together(whole: Ints, digits: Ints, row: bytes, negative: Ints) -> Floats | None:
    """Make numbers of their groups of digits.

    Args:
        whole: what the groups are worth, shape (n, groups).
        digits: how many each has, same shape.
        row: the marks after the groups of a row.
        negative: which groups have a minus before them, counted through all rows.

    Returns:
        The numbers, shape (n, columns); None where one has too many decimals.
    """
    numbers = np.empty((len(row) - row.count(b"."), len(whole)))
    column = 0
    for group, mark in enumerate(row):
        if mark == POINT:
            continue
        number = numbers[column]
        column += 1
        number[:] = whole[:, group]
        if group and row[group - 1] == POINT:
            decimals = digits[:, group]
            most = int(decimals.max())
            if most > DECIMALS_MOST:
                return None
            is_one = most == int(decimals.min())
            scale = TENS[most] if is_one else TENS[decimals]
            number += whole[:, group - 1] * scale
            number /= scale
    if len(negative):
        first = [group for group in range(len(row)) if not group or row[group - 1] != POINT]
        at, group_of = np.divmod(negative, len(row))
        numbers[np.searchsorted(first, group_of), at] *= -1.0
    return numbers.T
