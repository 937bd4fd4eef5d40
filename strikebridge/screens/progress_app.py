"""Run the window of squad board and athlete pages; imports Qt only when it is opened."""

from __future__ import annotations

from strikebridge.screens.app import WindowOptions, open_qt
from strikebridge.screens.progress_view import ProgressView, Source


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

    view = ProgressView(source, options.unit_now)
    window = ProgressWindow(view, scheme=options.scheme_now)
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    options.keep(window.page.scheme.key, view.unit)
    window.deleteLater()
    app.processEvents()
