"""The window round the wall: it fetches the newest Glance when woken, and hears the keys.

Whoever has something new to show rings at most once until it is heard; the window paints at
once, no sooner than 8 ms after the last paint. A paint is never waited for by anybody: Glances
that came meanwhile are skipped.
"""

from __future__ import annotations

import contextlib
import math
import socket
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSize, QSocketNotifier, Qt, QTimer
from PySide6.QtWidgets import QMainWindow, QStackedWidget

from strikebridge.screens.controls import Controls
from strikebridge.screens.key_names import key_name
from strikebridge.screens.keys import (
    ACTIONS,
    ON_THE_WALL,
    SESSION_ACTIONS,
    TYPING_ACTIONS,
    Own,
    footer,
    session_footer,
)
from strikebridge.screens.look import DARK, LIGHT, SCHEMES
from strikebridge.screens.overriding import override
from strikebridge.screens.wall import Wall
from strikebridge.session.conductor import Key
from strikebridge.session.group_table import Input
from strikebridge.session.group_table import Stage as At
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QCloseEvent, QKeyEvent, QScreen

    from strikebridge.glance import Glance
    from strikebridge.screens.coach import CoachPage
    from strikebridge.screens.coach_window import CoachWindow
    from strikebridge.screens.stage import Stage
    from strikebridge.sound.speaker import Speaker

PAINT_GAP_S = 0.008
IDLE_MS = 250  # the screen looks for itself when nobody wakes it, to call old data stale
CUE_KEYS = frozenset("123456789")
NOTICE_S = 2.0  # how long a word about the sound stands in place of the keys
SOUND = {Own.MUTE: 0, Own.LOUDER: +1, Own.QUIETER: -1}
FIRST_SIZE_PX = (1280, 720)


class Doorbell(QObject):
    """Carry a wake-up from another thread into the Qt thread.

    A byte through a pair of sockets: while it is sent the other thread may begin already, and
    it costs a tenth of an event of Qt's.

    Attributes:
        is_open: False once nobody listens any more.
    """

    def __init__(self, parent: QObject, heard: Callable[[], None]) -> None:
        super().__init__(parent)
        self._heard = heard
        self.is_open = True
        self._here, self._there = socket.socketpair()
        self._here.settimeout(0.0)
        self._there.settimeout(0.0)
        with contextlib.suppress(OSError):  # the pair is TCP on Windows alone
            # else a byte waits until the one before is acknowledged, there some 40 ms later
            self._there.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._notifier = QSocketNotifier(self._here.fileno(), QSocketNotifier.Type.Read, self)
        self._notifier.activated.connect(self._ring_heard)

    def ring(self) -> None:
        """Send the wake-up; any thread."""
        if self.is_open:
            with contextlib.suppress(OSError):  # full, so that it will be heard, or closed
                self._there.send(b"!")

    def close(self) -> None:
        """Stop listening."""
        self.is_open = False
        self._notifier.setEnabled(False)
        self._here.close()
        self._there.close()

    def _ring_heard(self) -> None:
        if self.is_open:
            with contextlib.suppress(OSError):
                self._here.recv(4096)
            self._heard()


class Window(QMainWindow):
    """The wall, full size, or the coach's page, with their keys.

    Attributes:
        wall: the widget that paints.
        paints: how often it was painted because something came.
        after_paint: called after each of these, before anything else is waited for.
        wants_check: True once it was closed in order to check the rig.
        wants_review: True once it was closed at the end of a session, in order to look at it.
        controls: hears the keys of a session of a group, None for free reps.
    """

    def __init__(
        self,
        stage: Stage,
        *,
        scheme: str = DARK.key,
        can_check: bool = False,
        speaker: Speaker | None = None,
        is_session: bool = False,
    ) -> None:
        """Make the window; it shows what there is as soon as it is shown itself.

        Args:
            stage: where Glances come from and keys go to.
            scheme: key of the colours.
            can_check: True where there is a rig that can be checked.
            speaker: what the tones come from, None where there are none.
            is_session: True for a session of a group.
        """
        super().__init__()
        self.wants_check = self.wants_review = False
        self.controls = Controls(stage) if is_session else None
        self._can_check = can_check
        self.setWindowTitle("strikebridge")
        self._speaker = speaker
        self._notice_ends_s = -math.inf
        without = set() if can_check else {Own.CHECK}
        without |= set() if speaker else {Own.MUTE}
        write = session_footer if is_session else footer
        self._all_keys = write(without)
        self.wall = Wall(self, keys=write(without | ON_THE_WALL if is_session else without))
        self.wall.set_scheme(SCHEMES[scheme])
        self._coach: CoachPage | None = None
        self._beside: CoachWindow | None = None
        self._pages = QStackedWidget(self)
        self._pages.addWidget(self.wall)
        self.setCentralWidget(self._pages)
        room = self.screen().availableSize()
        self.resize(QSize(*FIRST_SIZE_PX).boundedTo(room))
        self.paints = 0
        self.after_paint: Callable[[], None] | None = None
        self._stage = stage
        self.unit: ForceUnit | None = None
        self._painted_s = -PAINT_GAP_S
        self._gap = QTimer(self)
        self._gap.setSingleShot(True)
        self._gap.setTimerType(Qt.TimerType.PreciseTimer)
        self._gap.timeout.connect(self.paint_now)
        self._idle = QTimer(self)
        self._idle.setInterval(IDLE_MS)
        self._idle.timeout.connect(self._look)
        self._idle.start()
        self._bell = Doorbell(self, self._woken)
        self._look()
        stage.listen(self._bell.ring)

    @property
    def is_coach(self) -> bool:
        """Say whether the coach's page is shown in place of the wall."""
        return self._coach is not None and self._pages.currentWidget() is self._coach

    @property
    def coach(self) -> CoachPage:
        """The coach's page, made when it is first asked for."""
        if self._coach is None:
            # the wall is there first: this page brings the measures and the review with it
            from strikebridge.screens.coach import CoachPage  # noqa: PLC0415 - as said

            self._coach = CoachPage(self)
            self._coach.set_scheme(self.wall.scheme)
            self._pages.addWidget(self._coach)
        return self._coach

    def put_coach_beside(self, screen: QScreen, *, is_full_screen: bool) -> None:
        """Show the coach's page in a window of its own, on another screen.

        Args:
            screen: which.
            is_full_screen: True to fill it.
        """
        from strikebridge.screens.coach_window import (  # noqa: PLC0415 - with the page
            CoachWindow,
        )

        page = self.coach
        self._pages.removeWidget(page)
        self._beside = CoachWindow(page, self.hear, self.close)
        self._beside.open_on(screen, is_full_screen=is_full_screen)
        self.wall.model.has_notes = False  # the coach reads them there
        self._look()

    @property
    def beside(self) -> CoachWindow | None:
        """The coach's own window, None where there is one screen."""
        return self._beside

    def _woken(self) -> None:
        """Paint at once, or as soon as the gap since the last paint is over."""
        wait_s = self._painted_s + PAINT_GAP_S - time.monotonic()
        if wait_s <= 0.0:
            self.paint_now()
        elif not self._gap.isActive():
            self._gap.start(max(1, round(wait_s * 1000.0)))

    def paint_now(self) -> None:
        """Fetch the newest Glance and paint it before returning."""
        self._painted_s = time.monotonic()
        self.paints += 1
        if self.is_coach:
            self._look()
        else:
            self.wall.show_glance(self._newest(), at_once=True)
            if self._beside is not None:
                self._show_coach()
        if self.after_paint is not None:
            self.after_paint()

    def _look(self) -> None:
        if time.monotonic() >= self._notice_ends_s:
            self.wall.model.notice = ""
        if self.is_coach:
            self._show_coach()
            return
        controls = None if self._beside is not None else self.controls
        self.wall.model.question = None if controls is None else controls.question
        self.wall.show_glance(self._newest())
        if self._beside is not None:
            self._show_coach()

    def _show_coach(self, *, at_once: bool = False) -> None:
        keys = self.wall.model.notice or self._all_keys
        self.coach.question = None if self.controls is None else self.controls.question
        self.coach.show_now(self._newest(), self._stage.desk(), keys, at_once=at_once)

    def _turn_page(self) -> None:
        if self._beside is not None:
            self._beside.trade_places(self)
            return
        self._pages.setCurrentWidget(self.wall if self.is_coach else self.coach)
        if self.is_coach:
            self._show_coach(at_once=True)
        else:
            self._look()

    def _change_scheme(self) -> None:
        self.wall.set_scheme(LIGHT if self.wall.scheme is DARK else DARK)
        if self._coach is not None:
            self._coach.set_scheme(self.wall.scheme)
        self._look()

    def _newest(self) -> Glance:
        glance = self._stage.glance()
        if self.unit is not None and glance.unit is not self.unit:
            return replace(glance, unit=self.unit)
        return glance

    def do(self, action: Key | Own | Input) -> None:
        """Do what a key stands for.

        Args:
            action: for the conductor, or for the window.
        """
        if isinstance(action, Key):
            self._press(action)
        elif isinstance(action, Input):
            self._command(action)
        elif action is Own.SCHEME:
            self._change_scheme()
        elif action is Own.UNIT:
            units = list(ForceUnit)
            shown = self._newest().unit
            self.unit = units[(units.index(shown) + 1) % len(units)]
            self._look()
        elif action is Own.FULL_SCREEN:
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        elif action is Own.WINDOW:
            self.showNormal()
        elif action is Own.COACH:
            self._turn_page()
        elif action is Own.CHECK:
            self._check()
        elif action in SOUND:
            self._turn_sound(action)
        else:
            self.close()

    def _press(self, key: Key) -> None:
        """Hand a key on; at the end of a session go leads to what was done."""
        if key is Key.GO and self._stage.glance().stage == At.OVER.value:
            self.wants_review = True
            self.close()
            return
        self._stage.press(key)

    def _command(self, command: Input) -> None:
        if self.controls is None:
            return
        said = self.controls.press(command, self._newest(), self._stage.desk())
        if said:
            self._notify(said)
        self._show_at_once()

    def _show_at_once(self) -> None:
        """Show a question, or that it is answered, without waiting for the next Glance."""
        self._look()
        if self.is_coach or self._beside is not None:
            self._show_coach(at_once=True)

    def _turn_sound(self, action: Own) -> None:
        """Change the loudness and say how it is now, in place of the keys for a while."""
        speaker = self._speaker
        if speaker is None:
            return
        steps = SOUND[action]
        self._notify(speaker.turn(steps) if steps else speaker.mute())

    def _notify(self, sentence: str) -> None:
        self.wall.model.notice = sentence
        self._notice_ends_s = time.monotonic() + NOTICE_S
        self._look()

    def _check(self) -> None:
        """Make room for the check: the board can be open only once."""
        if self._can_check:
            self.wants_check = True
            self.close()

    def _typed(self, name: str) -> Key | None:
        """Say whether a key belongs to the number that the coach types."""
        glance = self._stage.glance()
        is_slip = glance.is_typed and name == "Backspace"
        return TYPING_ACTIONS.get(name) if glance.entry is not None or is_slip else None

    @override
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hear a key; one held down counts once."""
        if event.isAutoRepeat() or not self.hear(key_name(event)):
            super().keyPressEvent(event)

    def hear(self, name: str) -> bool:
        """Hear a key, of this window or of the coach's own.

        Args:
            name: as Qt writes it.

        Returns:
            True where it means something.
        """
        controls = self.controls
        if controls is not None and controls.question is not None:
            is_all = controls.answer(name)
            self._show_at_once()
            if is_all:
                return True
        action = self._typed(name) or ACTIONS.get(name)
        if controls is not None:
            action = SESSION_ACTIONS.get(name, action)
        if action is not None:
            self.do(action)
        elif name in CUE_KEYS and (self.is_coach or controls is not None):
            self._note_cue(int(name))
        else:
            return False
        return True

    def _note_cue(self, number: int) -> None:
        self._stage.cue(number)
        cues = self._stage.desk().cues
        if self.controls is not None and number <= len(cues):
            self._notify(f"Cue noted for {self._newest().athlete}: {cues[number - 1]}.")

    @override
    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop listening before the window goes."""
        self._bell.close()
        self._gap.stop()
        self._idle.stop()
        if self._beside is not None:
            self._beside.let_go()
        super().closeEvent(event)
