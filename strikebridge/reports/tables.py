"""Tables for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def lined_up(rows: Sequence[Sequence[str]]) -> list[str]:
    """Line up columns.

    Args:
        rows: header and rows, equally long, at least one.

    Returns:
        One line a row.
    """
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
