"""Rows of digits laid out alike, read as one product of matrices.

As long as no number of a table gets longer or shorter, all its lines are of one length, with
their marks below each other. Seen as a matrix of bytes, such lines less their first one, its
digits taken for noughts, leave the digits alone: 0 to 9 where a digit stands, 0 where a mark
does, and anything else wherever a line is not like that. Each number is then its digits times
their powers of ten, so all of them are one product of two matrices.

With 15 digits at most every sum on the way is a whole number below 2**53, which a double holds
exactly, in whatever order it is added up. A decimal is such a number divided by a power of ten
that is exact as well; IEEE 754 rounds that correctly, so it is the very double that Python
reads (Clinger, "How to read floating point numbers accurately", PLDI 1990).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats

STRETCH_LEAST = 64  # rows laid out alike that are worth a product of their own
DIGITS_MOST = 15  # of a number: below 10**15, so exact in a double
NOUGHTS = bytes.maketrans(b"123456789", b"000000000")
ROW = re.compile(rb"-?0+(?:\.0+)?(?:,-?0+(?:\.0+)?)*\n")  # of noughts, with its marks
NOUGHT = ord("0")


@dataclass(frozen=True, slots=True, eq=False)
class RowLayout:
    """Where the digits of a row stand, and what each is worth.

    Attributes:
        form: the row, line feed included, with noughts for its digits.
        most: largest difference from it, byte by byte: 9 for a digit, 0 for a mark.
        worth: worth of the digits, shape (columns, bytes).
        scale: what to divide the numbers by, shape (columns, 1).
        negative: columns with a minus.
    """

    form: bytes
    most: bytes
    worth: Floats
    scale: Floats
    negative: tuple[int, ...]

    def read(self, lines: bytes, at: int) -> Floats:
        """Read rows for as long as they are laid out like this.

        Args:
            lines: whole lines.
            at: where the first of these rows begins.

        Returns:
            The numbers, shape (columns, n), n maybe 0.
        """
        width = len(self.form)
        rows = (len(lines) - at) // width
        text = np.frombuffer(lines, np.uint8, rows * width, at)
        digits = text - np.frombuffer(self.form * rows, np.uint8)
        is_other = digits > np.frombuffer(self.most * rows, np.uint8)
        if is_other.any():
            rows = int(is_other.argmax()) // width
            digits = digits[: rows * width]
        numbers: Floats = self.worth @ digits.astype(np.float64).reshape(rows, width).T
        numbers /= self.scale
        for column in self.negative:
            numbers[column] *= -1.0
        return numbers


def layout_of(lines: bytes, at: int, columns: int) -> RowLayout | None:
    """See how a row is laid out.

    Args:
        lines: whole lines.
        at: where the row begins.
        columns: cells it should have.

    Returns:
        The layout; None where it is not of so many plain numbers, none of them very long, or
        the next few rows already are of another length.
    """
    end = lines.find(b"\n", at) + 1
    ends = lines[end - 1 : at + STRETCH_LEAST * (end - at) : end - at]
    if ends != b"\n" * STRETCH_LEAST:
        return None
    return _layout(lines[at:end].translate(NOUGHTS), columns)


@lru_cache(maxsize=64)
def _layout(form: bytes, columns: int) -> RowLayout | None:
    cells = form[:-1].split(b",")
    digits = [cell.count(b"0") for cell in cells]
    if not ROW.fullmatch(form) or len(cells) != columns or max(digits) > DIGITS_MOST:
        return None
    place = np.frombuffer(form, np.uint8) == NOUGHT
    worth = np.zeros((columns, len(form)))
    scale = np.ones((columns, 1))
    before = 0
    for column, (cell, count) in enumerate(zip(cells, digits, strict=True)):
        mine = place.copy()
        mine[:before] = mine[before + len(cell) :] = False
        worth[column, mine] = 10.0 ** np.arange(count - 1, -1, -1)
        scale[column] = 10.0 ** len(cell.partition(b".")[2])
        before += len(cell) + 1
    negative = tuple(k for k, cell in enumerate(cells) if cell.startswith(b"-"))
    return RowLayout(form, bytes(9 * place.astype(np.uint8)), worth, scale, negative)
