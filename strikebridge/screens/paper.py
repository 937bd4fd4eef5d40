"""A report as a PDF: a sheet laid out on A4, text as text and pictures as lines.

Every block is cut into strips that stay whole. A sheet that is meant for one side is set in the
largest type that fits, and only where the smallest does not fit either does it go on to a
second side: nothing is ever clipped or left out. How a strip is set stands in `strips`.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from PySide6.QtCore import QMarginsF
from PySide6.QtGui import QFontMetricsF, QPageLayout, QPageSize, QPainter, QPdfWriter

from strikebridge.errors import FormatError
from strikebridge.private_files import open_private
from strikebridge.reports.drawing import GRID, INK, QUIET, Drawing
from strikebridge.reports.sheet import Align, Beside, Pictures, Table, Words
from strikebridge.screens.strips import (
    DOTS_PER_PT,
    RESOLUTION,
    Strip,
    Typesetter,
    air,
    bound,
    stack,
    units,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from strikebridge.reports.sheet import Block, Item, Part, Sheet

MARGIN_PT = 38.0  # all round; printers cannot reach the edge
SIZES_PT = (9.4, 9.0, 8.6, 8.2, 7.8, 7.4, 7.0, 6.6, 6.2)
"""Type of the text, largest first. The smallest is that of a small footnote; below it nobody
reads, and a second side is better."""
TABLE_SHARE = 0.93  # of the size of the text
COLUMN_GAP_PT = 14.0
CELL_GAP_PT = 6.0
ROW_AIR_PT = 1.6
PICTURE_GAP_PT = 10.0


def write_pdf(sheet: Sheet, file: Path) -> int:
    """Write a sheet as PDF.

    Args:
        sheet: the report.
        file: where; one that is there is replaced when the new one is whole.

    Returns:
        How many pages it has.

    Raises:
        FormatError: the file cannot be written.
    """
    part = file.with_name(f"{file.name}.part")
    try:
        open_private(part, "wb").close()
    except OSError as error:
        raise FormatError(f"{file} cannot be written: {error.strerror}.") from error
    writer = QPdfWriter(str(part))
    writer.setResolution(RESOLUTION)
    writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    writer.setPageMargins(QMarginsF(0.0, 0.0, 0.0, 0.0), QPageLayout.Unit.Point)
    writer.setTitle(sheet.title)
    writer.setCreator("strikebridge")
    painter = QPainter()
    if not painter.begin(writer):
        part.unlink()
        raise FormatError(f"{file} cannot be written: there is no room, or no right to.")
    pages = Press(writer, painter).run(sheet)
    painter.end()
    part.replace(file)
    return pages


class Press:
    """Lays a sheet out on a writer's pages and paints it."""

    def __init__(self, writer: QPdfWriter, painter: QPainter) -> None:
        """Take the measures of a page.

        Args:
            writer: whose pages are painted.
            painter: active on the writer.
        """
        self._writer, self._painter = writer, painter
        self._left = self._top = MARGIN_PT * DOTS_PER_PT
        self._width = writer.width() - 2.0 * self._left
        self._height = writer.height() - 2.0 * self._top
        self._set = Typesetter(writer, SIZES_PT[0])

    def run(self, sheet: Sheet) -> int:
        """Paint a sheet.

        Args:
            sheet: the report.

        Returns:
            How many pages it took.
        """
        pages = self._laid_out(sheet, SIZES_PT[0])
        if sheet.is_one_page:
            smaller = iter(SIZES_PT[1:])
            while len(pages) > 1 and (size_pt := next(smaller, None)) is not None:
                pages = self._laid_out(sheet, size_pt)
        for number, page in enumerate(pages):
            if number:
                self._writer.newPage()
            self._paint(page, sheet, number + 1, len(pages))
        return len(pages)

    def _laid_out(self, sheet: Sheet, size_pt: float) -> list[list[Strip]]:
        """Deal a sheet out to pages in one size of type."""
        self._set = Typesetter(self._writer, size_pt)
        strips = [*self._head(sheet), *self._body(sheet)]
        return self._paged(strips, self._foot(sheet), sheet)

    def _paged(
        self, strips: Sequence[Strip], foot: Sequence[Strip], sheet: Sheet
    ) -> list[list[Strip]]:
        """Deal strips out to pages; the foot goes where it fits after the last one."""
        room = self._height - self._footer(sheet, 1, 1).height
        pages: list[list[Strip]] = [[]]
        used = 0.0
        for unit in [*units(strips), list(foot)]:
            height = sum(strip.height for strip in unit)
            if pages[-1] and used + height > room:
                pages.append([])
                used = 0.0
            pages[-1] += unit
            used += height
        return pages

    def _paint(self, page: Sequence[Strip], sheet: Sheet, number: int, pages: int) -> None:
        y = self._top
        for strip in page:
            strip.paint(self._painter, self._left, y)
            y += strip.height
        footer = self._footer(sheet, number, pages)
        footer.paint(self._painter, self._left, self._top + self._height - footer.height)

    def _footer(self, sheet: Sheet, number: int, pages: int) -> Strip:
        words = sheet.footer_line if pages == 1 else f"{sheet.footer_line} · {number}/{pages}"
        return self._set.text(escape(words), self._width, share=0.86, colour=QUIET)

    def _head(self, sheet: Sheet) -> list[Strip]:
        title = self._set.text(f"<b>{escape(sheet.title)}</b>", self._width, share=2.1)
        subtitle = self._set.text(escape(sheet.subtitle), self._width, colour=QUIET)
        return [bound(title), bound(subtitle), air(4.0)]

    def _body(self, sheet: Sheet) -> list[Strip]:
        return [strip for part in sheet.parts for strip in self._part(part)]

    def _part(self, part: Part) -> Iterator[Strip]:
        if part.heading:
            yield air(8.0, is_bound=True)
            yield bound(
                self._set.text(f"<b>{escape(part.heading)}</b>", self._width, share=1.45)
            )
        for block in part.blocks:
            yield from self._block(block)

    def _block(self, block: Block) -> Iterator[Strip]:
        if isinstance(block, Beside):
            yield self._beside(block)
        elif isinstance(block, Words):
            yield from self._words(block, self._width)
        elif isinstance(block, Table):
            yield from self._table(block)
        else:
            yield from self._pictures(block)
        yield air(5.0)

    def _foot(self, sheet: Sheet) -> list[Strip]:
        rule = self._set.rule(self._width, QUIET, 0.6)
        items = [
            self._set.text(_item(one), self._width, share=0.86, colour=QUIET)
            for one in sheet.foot
        ]
        return [rule, air(1.5), *items, air(3.0)]

    def _words(self, block: Words, width: float) -> list[Strip]:
        strips = self._heading(block.heading, width)
        for one in block.items:
            strips += [self._set.text(_item(one), width), air(1.8)]
        return strips

    def _beside(self, block: Beside) -> Strip:
        gap = COLUMN_GAP_PT * DOTS_PER_PT
        n = len(block.columns)
        width = (self._width - gap * (n - 1)) / n
        columns = [self._words(one, width) for one in block.columns]

        def paint(painter: QPainter, x: float, y: float) -> None:
            for i, strips in enumerate(columns):
                stack(painter, strips, x + i * (width + gap), y)

        return Strip(max(sum(s.height for s in strips) for strips in columns), paint)

    def _heading(self, heading: str, width: float) -> list[Strip]:
        if not heading:
            return []
        words = self._set.text(f"<b>{escape(heading)}</b>", width, share=1.18)
        return [bound(words), self._set.rule(width, INK, 1.1, is_bound=True), air(2.0)]

    def _table(self, block: Table) -> Iterator[Strip]:
        yield from map(bound, self._heading(block.heading, self._width))
        gap = CELL_GAP_PT * DOTS_PER_PT
        widths = self._widths(block, gap)
        aligns = [column.align for column in block.columns]
        titles = [f"<b>{escape(column.title)}</b>" for column in block.columns]
        head = [
            self._set.text(title, width - gap, share=TABLE_SHARE, align=align)
            for title, width, align in zip(titles, widths, aligns, strict=True)
        ]
        yield bound(self._row(head, widths, INK))
        for row in block.rows:
            cells = [
                self._set.drawing(cell, width - gap, is_stretched=True)
                if isinstance(cell, Drawing)
                else self._set.text(escape(cell), width - gap, share=TABLE_SHARE, align=align)
                for cell, width, align in zip(row, widths, aligns, strict=True)
            ]
            yield self._row(cells, widths, GRID)
        for note in block.notes:
            yield air(1.5)
            yield self._set.text(escape(note), self._width, share=0.86, colour=QUIET)

    def _widths(self, block: Table, gap: float) -> list[float]:
        """Share the width out by weight; numbers and the words of heads stay whole."""
        weights = sum(column.weight for column in block.columns)
        widths = [self._width * column.weight / weights for column in block.columns]
        font = self._set.font(TABLE_SHARE)
        metrics = QFontMetricsF(font, self._writer)
        font.setBold(True)
        bold = QFontMetricsF(font, self._writer)
        needs = []
        for i, column in enumerate(block.columns):
            whole = [bold.horizontalAdvance(word) for word in column.title.split()]
            if column.align is Align.RIGHT:
                whole += [metrics.horizontalAdvance(str(row[i])) for row in block.rows]
            needs.append(max(whole, default=0.0) + 1.1 * gap)
        wanted = [max(width, need) for width, need in zip(widths, needs, strict=True)]
        excess = sum(wanted) - self._width
        spare = [width - need for width, need in zip(wanted, needs, strict=True)]
        return [
            width - excess * free / sum(spare)
            for width, free in zip(wanted, spare, strict=True)
        ]

    def _row(self, cells: Sequence[Strip], widths: Sequence[float], colour: str) -> Strip:
        air = ROW_AIR_PT * DOTS_PER_PT
        tallest = max(cell.height for cell in cells)
        line = self._set.rule(self._width, colour, 0.6)

        def paint(painter: QPainter, x: float, y: float) -> None:
            at = x
            for cell, width in zip(cells, widths, strict=True):
                cell.paint(painter, at, y + air + (tallest - cell.height) / 2.0)
                at += width
            line.paint(painter, x, y + 2.0 * air + tallest)

        return Strip(tallest + 2.0 * air + line.height, paint)

    def _pictures(self, block: Pictures) -> Iterator[Strip]:
        yield from map(bound, self._heading(block.heading, self._width))
        gap = PICTURE_GAP_PT * DOTS_PER_PT
        row: list[Drawing] = []
        for drawing in block.drawings:
            used = sum(one.width_pt * DOTS_PER_PT + gap for one in row)
            if row and used + drawing.width_pt * DOTS_PER_PT > self._width * 1.001:
                yield self._picture_row(row)
                row = []
            row.append(drawing)
        yield self._picture_row(row)
        if block.caption:
            yield self._set.text(escape(block.caption), self._width, share=0.86, colour=QUIET)

    def _picture_row(self, row: Sequence[Drawing]) -> Strip:
        strips = [
            self._set.drawing(one, min(one.width_pt * DOTS_PER_PT, self._width)) for one in row
        ]
        gap = PICTURE_GAP_PT * DOTS_PER_PT

        def paint(painter: QPainter, x: float, y: float) -> None:
            at = x
            for strip, drawing in zip(strips, row, strict=True):
                strip.paint(painter, at, y)
                at += drawing.width_pt * DOTS_PER_PT + gap

        return Strip(max(strip.height for strip in strips), paint)


def _item(one: Item) -> str:
    """Write an item as the little HTML that text is set from."""
    lead = f"<b>{escape(one.lead)}</b> " if one.lead else ""
    return f"{lead}{escape(one.text)}"
