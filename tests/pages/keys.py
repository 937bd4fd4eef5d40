"""Keys pressed on a page as its window does it, without a window."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.pages.sheet import Answer, ClubPage, Form, SheetRow, Step


def press(page: ClubPage, *keys: str) -> Step:
    """Press keys one after the other and give what the last one led to."""
    assert keys
    page.sheet()
    return [page.press(key) for key in keys][-1]


def choose(page: ClubPage, words: str) -> SheetRow:
    """Step down until the row that begins with these words is chosen."""
    for _ in page.sheet().rows:
        row = page.sheet().rows[page.sheet().chosen]
        if row.cells[0].startswith(words):
            return row
        page.press("Down")
    raise AssertionError(f"There is no row {words}.")


def keep(page: ClubPage, form: Form | None, **fields: str) -> Answer:
    """Fill a form and give it back."""
    assert form is not None
    first = {field.key: field.value for field in form.fields}
    return page.answer(form, {**first, **fields})


def cells(page: ClubPage, words: str) -> tuple[str, ...]:
    """Give the cells of the row that begins with these words."""
    (row,) = (row for row in page.sheet().rows if row.cells[0].startswith(words))
    return row.cells
