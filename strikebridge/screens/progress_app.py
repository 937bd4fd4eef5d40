"""Run the window of squad board and athlete pages; imports Qt only when it is opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.screens.app import WindowOptions, open_qt
from strikebridge.screens.progress_view import ProgressView
from strikebridge.screens.report_desk import ReportDesk

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.screens.progress_source import Source
    from strikebridge.screens.report_desk import Wanted, Written


def run_progress(
    source: Source, write: Callable[[Wanted], Written], options: WindowOptions
) -> None:
    """Show the squad board until the coach leaves it.

    Args:
        source: where everything comes from.
        write: writes a report of what is shown, on a thread.
        options: how the window opens.

    Raises:
        ScreenError: no window can be opened here, and why.
        StrikebridgeError: nothing can be read.
    """
    app = open_qt()
    from strikebridge.screens.progress_window import (  # noqa: PLC0415 - the terminal needs no Qt
        ProgressWindow,
    )
    from strikebridge.screens.viewer import open_in_viewer  # noqa: PLC0415 - with it

    view = ProgressView(source, options.unit_now)
    window = ProgressWindow(
        view, scheme=options.scheme_now, reports=ReportDesk(write, open_in_viewer)
    )
    window.showFullScreen() if options.is_full_screen else window.show()
    app.exec()
    options.keep(window.page.scheme.key, view.unit)
    window.deleteLater()
    app.processEvents()
