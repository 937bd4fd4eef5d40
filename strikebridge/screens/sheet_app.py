"""Run the club's pages; like `app`, it imports Qt only when a window is opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.screens.app import open_qt

if TYPE_CHECKING:
    from strikebridge.pages.sheet import ClubPage
    from strikebridge.screens.app import WindowOptions


def run_pages(first: ClubPage, options: WindowOptions) -> None:
    """Show a page, and what it leads to, until it is left.

    Args:
        first: the page.
        options: how the window opens.

    Raises:
        ScreenError: no window can be opened here, and why.
    """
    app = open_qt()
    from strikebridge.screens.sheet_window import (  # noqa: PLC0415 - the terminal needs no Qt
        SheetWindow,
    )

    window = SheetWindow(first, scheme=options.scheme_now)
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    options.keep(window.page.scheme.key)
    window.deleteLater()
    app.processEvents()
