"""A first run from the empty start page, by the keys of a clicker in real windows.

Board (simulated), plate walk, check, athletes, plan, a set of six, the review: whatever the
start page says is next. `python -m tests.screens.first_run DIR` does it at natural speed on the
screen there is, keeps a picture of each page and phase in DIR, and says how long it took.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMainWindow

from strikebridge.cli import run
from strikebridge.screens.items import Words
from strikebridge.screens.rig_window import RigWindow
from strikebridge.screens.session_review import SessionReviewWindow
from strikebridge.screens.sheet_window import SheetWindow
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_model import Lead
from strikebridge.screens.wall_scene import scene_of
from strikebridge.screens.window import Window
from strikebridge.session.plan_file import BUILT_IN

if TYPE_CHECKING:
    from collections.abc import Callable

LOOK_MS = 30
MOST_S = 600.0  # a first run takes under ten minutes
DOWN, UP = Qt.Key.Key_PageDown, Qt.Key.Key_PageUp
FINISHED = ("Calibration finished", "the gain is unchecked", "Good: nothing has moved")
PLAN = """\
name = "one-each"
about = "One straight each, to see how it goes."
order = "rotation"
mode = "coach"
change_s = 1
result_s = 3
[[block]]
name = "Straights"
exercises = ["rear-straight"]
seconds = 2
"""


class FirstRun:
    """Look at whatever window is there and press what a coach would.

    Attributes:
        seen: pages and scenes, in the order in which they came.
        leads: what the start page said is next, each time it was followed.
        calls: whom the wall called.
        looks: how often it has looked.
    """

    def __init__(self, keep: Callable[[QMainWindow, str], None] | None = None) -> None:
        self.seen: list[str] = []
        self.leads: list[str] = []
        self.calls: list[str] = []
        self.looks = 0
        self._keep = keep
        self._keys: list[Qt.Key] = []  # still to be pressed on this page
        self._page = ""
        self._scene = ""
        self._is_over = False
        self._began_s = time.monotonic()
        self._timer = QTimer()
        self._timer.timeout.connect(self._look)
        self._timer.start(LOOK_MS)

    def stop(self) -> float:
        """Press nothing more; how long it took [s]."""
        self._timer.stop()
        return time.monotonic() - self._began_s

    def _look(self) -> None:
        for window in QApplication.topLevelWidgets():
            if isinstance(window, QMainWindow) and window.isVisible():
                if time.monotonic() - self._began_s > MOST_S:
                    window.close()  # who looks on fails by what was not seen
                else:
                    self._press(window)
                break
        self.looks += 1

    def _press(self, window: QMainWindow) -> None:
        if isinstance(window, StartWindow):
            self._at_start(window)
        elif isinstance(window, SheetWindow):
            self._on_page(window)
        elif isinstance(window, RigWindow):
            self._at_rig(window)
        elif isinstance(window, SessionReviewWindow):
            self._note(window, f"review {window.review.at}")
            if not window.review.is_fetching:
                QTest.keyClick(window, DOWN)
        elif isinstance(window, Window):
            self._at_wall(window)

    def _note(self, window: QMainWindow, name: str) -> None:
        if [name] != self.seen[-1:]:
            self.seen.append(name)
            if self._keep is not None:
                self._keep(window, f"{len(self.seen):02d}-{name}")

    def _at_start(self, window: StartWindow) -> None:
        lead = window.rows[window.chosen].lead
        if any(row.words == "Being looked up." for row in window.rows):
            return
        self._note(window, f"start {lead}")
        self._page = ""
        if self._is_over:
            QTest.keyClick(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
            return
        if lead is Lead.ATHLETES and Lead.CALIBRATE.value not in self.leads:
            self.leads.append(Lead.CALIBRATE.value)  # the simulated board brings its own
            QTest.keyClick(window, Qt.Key.Key_C)
            return
        self.leads.append(str(lead))
        QTest.keyClick(window, DOWN)

    def _on_page(self, window: SheetWindow) -> None:
        title = window.sheet.title
        if title != self._page:
            self._page = title
            self._note(window, title)
            choose = [DOWN] * len(BUILT_IN)  # past the plans that come with the program
            self._keys = {
                "Athletes": [UP, UP, DOWN, DOWN],  # take over the club, and go back
                "Plan of the next session": choose,  # then up to the row that keeps it
            }.get(title, [DOWN])
        elif self._keys:
            key = self._keys.pop(0)
            if not self._keys:
                self._note(window, f"{title}, done")
            QTest.keyClick(window, key)
        elif title == "Plan of the next session":
            row = window.sheet.rows[window.sheet.chosen]
            QTest.keyClick(window, DOWN if row.key == "keep" else UP)

    def _at_rig(self, window: RigWindow[Any, Any]) -> None:
        text = " ".join(one.text for one in window.page.items if isinstance(one, Words))
        step = text.split(" of ", maxsplit=1)[0][-6:].strip()
        self._note(window, f"rig {step}" if "step" in step else "rig")
        if any(words in text for words in FINISHED):
            self._note(window, "rig finished")
            QTest.keyClick(window, Qt.Key.Key_Space)

    def _at_wall(self, window: Window) -> None:
        if window.wall.painted is None:
            return
        glance = window.wall._glance
        scene = scene_of(glance)
        self._note(window, f"wall {scene}")
        moment = f"{glance.stage} {glance.turn}"
        if glance.stage == "ready" and moment != self._scene:
            self.calls.append(glance.athlete)
            QTest.keyClick(window, DOWN)
        elif glance.stage == "over" and not self._is_over:
            self._is_over = True
            QTest.keyClick(window, DOWN)
        self._scene = moment


def write_plan(data: Path) -> None:
    """Put the coach's own plan where the page of the plan finds it."""
    folder = data / "plans"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "one-each.toml").write_text(PLAN)


def main(folder: Path) -> int:
    folder.mkdir(parents=True, exist_ok=True)
    write_plan(folder / "data")
    application = QApplication.instance() or QApplication(["first run"])

    def keep(window: QMainWindow, name: str) -> None:
        if not window.grab().save(str(folder / f"{name.replace(' ', '-')}.png")):
            raise OSError(f"no picture of {name} could be written")

    first = FirstRun(keep)
    code = run(["--data", str(folder / "data")])
    took_s = first.stop()
    sys.stdout.write(f"led to: {', '.join(first.leads)}\n")
    sys.stdout.write(f"called: {', '.join(first.calls)}\n")
    sys.stdout.write(f"{len(first.seen)} pages and scenes, {took_s:.0f} s, code {code}\n")
    del application
    is_whole = first.seen[-1].startswith("start") and "review 0" in first.seen
    return 0 if code == 0 and is_whole and took_s < MOST_S else 1


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where to: python -m tests.screens.first_run DIR")
    sys.exit(main(Path(sys.argv[1])))
