"""A whole session in a real window, led by real key events as a coach would press them."""

from __future__ import annotations

import contextlib
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli.session_window import lead_in_window
from strikebridge.club.rig_setup import RigSetup
from strikebridge.opening import begin_session, plan_of
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.wall_scene import scene_of
from strikebridge.screens.window import Window
from strikebridge.station import StationSetup
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from tests.running import WITHIN_S
from tests.screens.in_step import in_step

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from strikebridge.calibration.apply import Calibration
    from strikebridge.club.athlete import Athlete
    from strikebridge.glance import Glance

LOOK_MS = 15
CLICKER = Qt.Key.Key_PageDown


@dataclass
class Driver:
    """Look at the window again and again, and press what the script says.

    Attributes:
        script: (what the window has to show, what is then done), in order.
        within_s: longest wait for one step of it.
        seen: every scene that was shown, in order, each once in a row.
        looks: how often it has looked.
        failure: what the script waited for in vain.
    """

    script: Sequence[tuple[Callable[[Window, Glance], bool], Callable[[Window], object]]]
    within_s: float = WITHIN_S
    seen: list[str] = field(default_factory=list)
    failure: str = ""
    on_scene: Callable[[Window, str], None] | None = None
    step: int = 0
    looks: int = 0
    window: Window | None = None
    _since_s: float = 0.0

    def start(self) -> QTimer:
        timer = QTimer()
        timer.setInterval(LOOK_MS)
        timer.timeout.connect(self.look)
        timer.start()
        self._since_s = time.monotonic()
        return timer

    def look(self) -> None:
        self._look()
        self.looks += 1

    def _look(self) -> None:
        found = [one for one in QApplication.topLevelWidgets() if isinstance(one, Window)]
        found = [one for one in found if one.isVisible()]
        if not found:
            return
        self.window = window = found[0]
        if window.wall.painted is None:
            return
        glance = window.wall._glance  # shown last, also where nothing had to be painted for it
        scene = scene_of(glance, is_asked=window.wall.model.question is not None).value
        if [scene] != self.seen[-1:]:
            self.seen.append(scene)
            if self.on_scene is not None:
                self.on_scene(window, scene)
        if self.step >= len(self.script):
            return
        is_there, do = self.script[self.step]
        if is_there(window, glance):
            self.step += 1
            self._since_s = time.monotonic()
            do(window)
        elif time.monotonic() - self._since_s > self.within_s:
            self.failure = f"step {self.step} never came; seen: {self.seen}"
            window.close()


def key(
    which: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier
) -> Callable[[Window], object]:
    return lambda window: QTest.keyClick(window, which, modifier)


def at(stage: str, athlete: str = "") -> Callable[[Window, Glance], bool]:
    """Wait for a stage, as it is painted, and whose turn it is."""
    return lambda _, glance: glance.stage == stage and athlete in glance.athlete


def lead(
    data: Path,
    people: Sequence[Athlete],
    plan_text: str,
    driver: Driver,
    *,
    board: str = "simulated:?athlete=listens&speed=max&seed=2",
    by_hand: Calibration | None = None,
) -> tuple[int, str]:
    """Lead a session with what the driver presses; what the window said, and its id."""
    (data / "plan.toml").write_text(plan_text)
    with contextlib.closing(open_store(data)) as store:
        for one in people:
            Roster(store).add(one)
        opened = begin_session(store, plan_of("", store, data / "plan.toml"), None, RigSetup())
        setup = StationSetup(
            board, recording=data / "session.jsonl", is_patient=True, by_hand=by_hand
        )
        timer = driver.start()
        is_simulated = board.startswith("simulated:")
        step = in_step(lambda: driver.looks) if is_simulated else contextlib.nullcontext()
        try:
            with step:
                code = lead_in_window(opened, store, setup, WindowOptions(), ("snap", "stiff"))
        finally:
            timer.stop()
        return code, opened.record.id
