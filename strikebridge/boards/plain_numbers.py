"""Many numbers at once out of text that holds nothing else; whatever is odd is for others.

Reading number by number costs most of the time that a long file takes. Here a block of text is
first seen to be plain, by what is left of it without its digits, and then read in one go:
integers by NumPy, decimals as what rows of them nearly are, the inside of a JSON array.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import msgspec
import numpy as np

if TYPE_CHECKING:
    from strikebridge.samples import Floats, Ints

INTEGER_BYTES = b"0123456789,-"
NUMBER_BYTES = b"0123456789.-+eE"
LEADING_ZERO = re.compile(rb",0\d")

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
    # what is left without the numbers has to be so many commas a line, and nothing else
    marks = lines.translate(None, NUMBER_BYTES)
    if marks != (b"," * (columns - 1) + b"\n") * (len(marks) // columns):
        return None
    try:
        numbers = _decode_numbers(b"[%s]" % lines[:-1].replace(b"\n", b","))
    except msgspec.DecodeError:  # such as .5 and +5, which JSON does not know
        return None
    return np.fromiter(numbers, np.float64, len(numbers)).reshape(-1, columns)
