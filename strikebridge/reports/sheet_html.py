"""A sheet as one HTML page that needs nothing from outside: no script, no font, no link."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from strikebridge.errors import FormatError
from strikebridge.private_files import open_private
from strikebridge.reports import drawing
from strikebridge.reports.sheet import Beside, Pictures, Table, Words

if TYPE_CHECKING:
    from pathlib import Path

    from jinja2 import Template

    from strikebridge.reports.sheet import Sheet

KINDS = {Words: "words", Beside: "beside", Table: "table", Pictures: "pictures"}
"""Kind of a block -> name of the macro that writes it."""


def html(sheet: Sheet) -> str:
    """Write a sheet as HTML.

    Args:
        sheet: the report.

    Returns:
        The whole document.
    """
    return _template().render(
        sheet=sheet,
        ink=drawing.INK,
        quiet=drawing.QUIET,
        grid=drawing.GRID,
        paper=drawing.PAPER,
    )


def write_html(sheet: Sheet, file: Path) -> None:
    """Write a sheet as an HTML file for the user alone.

    Args:
        sheet: the report.
        file: where; one that is there is replaced when the new one is whole.

    Raises:
        FormatError: the file cannot be written.
    """
    part = file.with_name(f"{file.name}.part")
    try:
        with open_private(part, "w") as out:
            out.write(html(sheet))
        part.replace(file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise FormatError(f"{file} cannot be written: {error.strerror}.") from error


@functools.cache
def _template() -> Template:
    """Read the template; jinja2 is not loaded before a page is written."""
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415 - see above
    from markupsafe import Markup  # noqa: PLC0415 - likewise

    environment = Environment(
        loader=PackageLoader("strikebridge.reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["kind_of"] = lambda block: KINDS[type(block)]
    environment.globals["is_words"] = lambda cell: isinstance(cell, str)
    # a drawing escapes its own words
    environment.filters["svg"] = lambda one: Markup(one.svg)
    return environment.get_template("sheet.html")
