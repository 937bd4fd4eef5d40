"""Run the window of a rig; like `app`, it imports Qt only when a window is opened."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from strikebridge.errors import StrikebridgeError
from strikebridge.screens.app import WindowOptions, open_qt

if TYPE_CHECKING:
    from strikebridge.screens.rig_stage import Pages, RigStage

Key = TypeVar("Key")
View = TypeVar("View")


def run_rig(
    station: RigStage[Key, View],
    pages: Pages[Key, View],
    options: WindowOptions | None = None,
) -> int:
    """Show the pages of a rig until the window is closed; starts and stops the station.

    Args:
        station: not yet started; it is left alone where no window can be opened.
        pages: decide what is shown.
        options: how the window opens.

    Returns:
        0 once it is closed, 1 if the program failed behind it.

    Raises:
        ScreenError: no window can be opened here, and why.
        StrikebridgeError: what ended the station early, once the window is closed.
    """
    app = open_qt()
    from strikebridge.screens.rig_window import (  # noqa: PLC0415 - the terminal needs no Qt
        RigWindow,
    )

    options = options or WindowOptions()
    window = RigWindow(station, pages, scheme=options.scheme_now)
    if options.is_full_screen:
        window.showFullScreen()
    else:
        window.show()
    station.start()
    try:
        app.exec()
    finally:
        # the thread that rings goes first, then what it rings at
        station.stop()
        options.keep(window.page.scheme.key)
        window.close()
        window.deleteLater()
        app.processEvents()
    if isinstance(station.error, StrikebridgeError):
        raise station.error
    return 0 if station.error is None else 1
