"""Run the window of squad board and athlete pages; imports Qt only when it is opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.screens.app import WindowOptions, open_qt
from strikebridge.screens.progress_view import ProgressView, Source

if TYPE_CHECKING:
    from pathlib import Path


def run_progress(source: Source, options: WindowOptions) -> None:
    """Show the squad board until the coach leaves it.

    Args:
        source: where everything comes from.
        options: how the window opens.

    Raises:
        ScreenError: no window can be opened here, and why.
        StrikebridgeError: nothing can be read.
    """
    app = open_qt()
    from strikebridge.screens.progress_window import (  # noqa: PLC0415 - the terminal needs no Qt
        ProgressWindow,
    )

    window = ProgressWindow(ProgressView(source, options.unit), scheme=options.scheme)
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    window.deleteLater()
    app.processEvents()


def picture(view: ProgressView, path: Path, size: tuple[int, int], scheme: str) -> bool:
    """Draw what a view shows into a file.

    Args:
        view: where the coach is.
        path: a file whose ending names its format.
        size: width and height [px].
        scheme: key of the colours.

    Returns:
        True once it is written.
    """
    from strikebridge.screens.progress_window import (  # noqa: PLC0415 - as above
        ProgressWindow,
    )

    window = ProgressWindow(view, scheme=scheme)
    window.resize(*size)
    window.page.resize(*size)
    window.show_view()
    is_written = window.page.grab().save(str(path))
    window.deleteLater()
    return is_written
