"""The way into Qt: says in a sentence why no window can be opened, else runs one.

Qt ends the process where there is no screen or a system library of its platform is missing, so
all that is looked at before it is asked. This module itself imports no Qt: the terminal must
work without it.
"""

from __future__ import annotations

import ctypes
import os
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from strikebridge.errors import ScreenError, StrikebridgeError
from strikebridge.screens.late_stage import LateStage
from strikebridge.screens.turned import Turned
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from PySide6.QtWidgets import QApplication

    from strikebridge.screens.stage import Runner, Stage
    from strikebridge.screens.window import Window
    from strikebridge.sound.speaker import Speaker

FIRST_PAINT_S = 1.0  # the station begins by then at the latest
_drawing: QApplication | None = None
CHECK = 3
"""What `run_window` returns where the coach wants the rig checked before going on."""
REVIEW = 4
"""The same where the coach wants to look at the session that has ended."""
OTHER_WAY = "The commands demo, session and replay work in the terminal, too: add --headless."
LIBRARIES = (
    "On Debian: apt-get install libgl1 libegl1 libxkbcommon0 libfontconfig1 libdbus-1-3 "
    "libglib2.0-0 libxcb-cursor0 libxkbcommon-x11-0 libxcb-icccm4 libxcb-keysyms1 "
    "libxcb-shape0."
)


@dataclass(frozen=True, slots=True)
class WindowOptions:
    """How the window opens.

    Attributes:
        scheme: `dark` or `light`, in the first window.
        unit: unit of the force, in the first window.
        is_full_screen: True to fill the screen.
        pictures: folder that gets one PNG of each phase shown, None for none.
        can_check: True where a key may end the wall in order to check the rig.
        speaker: what the tones come from, None where there are none.
        is_session: True for a session of a group; the coach's page then gets a screen of its
            own where there are two.
        turned: shared by all windows of a run, and kept for the next one.
    """

    scheme: str = "dark"
    unit: ForceUnit = ForceUnit.KG
    is_full_screen: bool = False
    pictures: Path | None = None
    can_check: bool = False
    speaker: Speaker | None = None
    is_session: bool = False
    turned: Turned = field(default_factory=Turned, compare=False)

    @property
    def scheme_now(self) -> str:
        """Colours that the next window opens with."""
        return self.turned.scheme or self.scheme

    @property
    def unit_now(self) -> ForceUnit:
        """Unit that the next window opens with."""
        return self.turned.unit or self.unit

    def keep(self, scheme: str, unit: ForceUnit | None = None) -> None:
        """Keep what a window was left with.

        Args:
            scheme: its colours.
            unit: its unit, None where it shows none or it was not turned.
        """
        is_unit_new = unit is not None and unit is not self.unit_now
        self.turned.turn(
            None if scheme == self.scheme_now else scheme, unit if is_unit_new else None
        )


def run_window(
    make: Callable[[], Runner],
    *,
    seconds: float | None = None,
    options: WindowOptions | None = None,
) -> int:
    """Show the wall until its window is closed; makes, starts and stops the station.

    Args:
        make: makes the station, on a thread, once the window is there; not called where no
            window can be opened.
        seconds: the window closes by itself after so long [s], None to stay.
        options: how the window opens.

    Returns:
        0 once it is closed, 1 if the program failed behind it, `CHECK` where the coach wants
        the rig checked, `REVIEW` where the session is over and is to be looked at.

    Raises:
        ScreenError: no window can be opened here, and why.
        StrikebridgeError: what ended the station early, once the window is closed.
    """
    app = open_qt()
    options = options or WindowOptions()
    station = LateStage(make, options.unit_now)
    window = open_window(station, options)
    from strikebridge.screens.tidying import Tidying  # noqa: PLC0415 - the terminal needs no Qt

    if seconds is not None:
        close_after(window, seconds)
    tidying = Tidying(window)
    window.after_paint = tidying.after_paint
    window.wall.after_first_paint = station.start
    _later(window, FIRST_PAINT_S, station.start)  # a window that opens hidden is never painted
    try:
        app.exec()
    finally:
        # the thread that rings goes first, then what it rings at
        station.stop()
        tidying.end()
        options.keep(window.wall.scheme.key, window.unit)
        window.close()
        window.deleteLater()
        app.processEvents()
    if isinstance(station.error, StrikebridgeError):
        raise station.error
    if window.wants_check:
        return CHECK
    if window.wants_review and station.error is None:
        return REVIEW
    return 0 if station.error is None else 1


def open_qt() -> QApplication:
    """Make the application, or say why there can be none.

    Returns:
        The one application of this process.

    Raises:
        ScreenError: no screen, or a library is missing.
    """
    check_screen(os.environ, sys.platform)
    try:
        # Qt first: whoever else imports it hides which library is missing
        from PySide6.QtWidgets import QApplication  # noqa: PLC0415 - the terminal needs no Qt
    except ImportError as error:
        raise ScreenError(
            f"The window toolkit could not be loaded ({error}). {LIBRARIES} {OTHER_WAY}"
        ) from error
    running = QApplication.instance()
    if isinstance(running, QApplication):
        return running
    if not is_x11(os.environ, sys.platform):
        return QApplication(["strikebridge"])
    let_go = check_x11()
    application = QApplication(["strikebridge"])
    # not before Qt has its own: a server whose last client leaves starts anew, deaf meanwhile
    let_go()
    return application


def open_for_pictures(otherwise: str = "Leave out --plot to do without the picture.") -> None:
    """Make an application that only draws into files; it needs no screen.

    Args:
        otherwise: a sentence that says how to do without.

    Raises:
        ScreenError: a library is missing, or there is no font.
    """
    try:
        from PySide6.QtGui import QFontDatabase  # noqa: PLC0415 - the terminal needs no Qt
        from PySide6.QtWidgets import QApplication  # noqa: PLC0415 - likewise
    except ImportError as error:
        raise ScreenError(
            f"The toolkit that draws could not be loaded ({error}). {LIBRARIES} {otherwise}"
        ) from error
    if QApplication.instance() is None:
        # not where a window is open: what opens the picture later would inherit it, unseen
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        global _drawing  # noqa: PLW0603 - Qt wants its application kept until the process ends
        _drawing = QApplication(["strikebridge"])
    if not QFontDatabase.families():
        raise ScreenError(
            "There is no font here to write with, so no picture was drawn. On Debian: "
            f"apt-get install fonts-dejavu-core. {otherwise}"
        )


def open_window(stage: Stage, options: WindowOptions) -> Window:
    """Make and show the window.

    Args:
        stage: where Glances come from and keys go to.
        options: how it opens.
    """
    from strikebridge.screens.window import Window  # noqa: PLC0415 - the terminal needs no Qt

    window = Window(
        stage,
        scheme=options.scheme_now,
        can_check=options.can_check,
        speaker=options.speaker,
        is_session=options.is_session,
    )
    if options.pictures is not None:
        _keep_pictures(window, options.pictures)
    if options.is_session:
        _use_screens(window, options)
    if options.is_full_screen:
        window.showFullScreen()
    else:
        window.show()
    return window


def _use_screens(window: Window, options: WindowOptions) -> None:
    """Give the coach's page a screen of its own where there are two."""
    from PySide6.QtGui import QGuiApplication  # noqa: PLC0415 - the terminal needs no Qt

    from strikebridge.screens.coach_window import (  # noqa: PLC0415 - likewise
        place,
        screens_for,
    )

    found = screens_for(QGuiApplication.screens())
    if found is not None:
        place(window, found[0])
        window.put_coach_beside(found[1], is_full_screen=options.is_full_screen)


def close_after(window: Window, seconds: float) -> None:
    """Let the window close by itself.

    Args:
        window: to be closed.
        seconds: from now [s].
    """
    _later(window, seconds, window.close)


def _later(window: Window, seconds: float, do: Callable[[], object]) -> None:
    from PySide6.QtCore import QTimer  # noqa: PLC0415 - the terminal needs no Qt

    timer = QTimer(window)
    timer.setSingleShot(True)
    timer.timeout.connect(do)
    timer.start(round(seconds * 1000.0))


def _keep_pictures(window: Window, folder: Path) -> None:
    """Save what the wall shows once a phase, half a second into it where it lasts so long."""
    from PySide6.QtCore import QTimer  # noqa: PLC0415 - the terminal needs no Qt

    folder.mkdir(parents=True, exist_ok=True)
    timer = QTimer(window)

    def save() -> None:
        glance = window.wall.painted
        if glance is not None:
            window.wall.grab().save(str(folder / f"{glance.phase.value}.png"))

    timer.timeout.connect(save)
    timer.start(500)


def is_x11(environ: Mapping[str, str], platform: str) -> bool:
    """Say whether Qt is going to talk to an X server.

    Args:
        environ: environment of the process.
        platform: as `sys.platform` has it.
    """
    if not platform.startswith("linux") or "WAYLAND_DISPLAY" in environ:
        return False
    return environ.get("QT_QPA_PLATFORM", "xcb").startswith("xcb")


def check_screen(environ: Mapping[str, str], platform: str) -> None:
    """Refuse where there is no screen at all.

    Args:
        environ: environment of the process.
        platform: as `sys.platform` has it.

    Raises:
        ScreenError: neither X nor Wayland is there.
    """
    if not is_x11(environ, platform) or environ.get("DISPLAY"):
        return
    raise ScreenError(
        f"There is no screen here: neither DISPLAY nor WAYLAND_DISPLAY is set. {OTHER_WAY}"
    )


def check_x11() -> Callable[[], None]:
    """Load Qt's way to X and knock at the server, since Qt itself would end the process.

    Returns:
        What closes the connection that was tried.

    Raises:
        ScreenError: a system library is missing, or the server does not answer.
    """
    import PySide6  # noqa: PLC0415 - only asked where it lies

    plugin = Path(PySide6.__file__).parent / "Qt" / "plugins" / "platforms" / "libqxcb.so"
    try:
        if plugin.exists():  # a distribution's own Qt keeps it elsewhere, with its libraries
            ctypes.CDLL(str(plugin))
        xcb = ctypes.CDLL("libxcb.so.1")
    except OSError as error:
        raise ScreenError(
            f"A system library of the window toolkit is missing ({error}). {LIBRARIES} "
            f"{OTHER_WAY}"
        ) from error
    xcb.xcb_connect.restype = ctypes.c_void_p
    connection = ctypes.c_void_p(xcb.xcb_connect(None, None))
    if xcb.xcb_connection_has_error(connection):
        xcb.xcb_disconnect(connection)
        raise ScreenError(
            f"The screen {os.environ.get('DISPLAY', '')} does not answer. {OTHER_WAY}"
        )

    def let_go() -> None:
        xcb.xcb_disconnect(connection)

    return let_go
