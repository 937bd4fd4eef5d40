"""A session with two screens, as a process of its own: Qt learns of its screens only once.

It leads one athlete through two holds by keys pressed in the coach's own window, trades the
screens in between, and writes as JSON what stood where.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from strikebridge.screens.window import Window

LAPTOP, TV = ("laptop", 0, 1366, 768), ("tv", 1366, 1920, 1080)
PLAN = """\
name = "two-screens"
mode = "coach"
result_s = 1
[[block]]
name = "Straights"
exercises = ["rear-straight"]
seconds = 1
reps_per_side = 2
rest_s = 1
"""


def config(folder: Path) -> str:
    screens = [
        {
            "name": name,
            "x": x,
            "y": 0,
            "width": width,
            "height": height,
            "logicalDpi": 96,
            "logicalBaseDpi": 96,
            "dpr": 1,
        }
        for name, x, width, height in (LAPTOP, TV)
    ]
    path = folder / "screens.json"
    path.write_text(json.dumps({"screens": screens}))
    return f"offscreen:configfile={path}"


def main(folder: Path) -> int:
    os.environ["QT_QPA_PLATFORM"] = config(folder)
    from PySide6.QtCore import Qt  # noqa: PLC0415 - the screens are chosen first
    from PySide6.QtTest import QTest  # noqa: PLC0415 - likewise

    from strikebridge.club.saltmarsh_quay import saltmarsh_quay  # noqa: PLC0415 - likewise
    from strikebridge.screens.app import open_qt  # noqa: PLC0415 - likewise
    from strikebridge.screens.items import Words  # noqa: PLC0415 - likewise
    from tests.screens.session_drive import CLICKER, Driver, at, lead  # noqa: PLC0415 - likewise

    application = open_qt()
    told: dict[str, object] = {}

    def where(name: str, window: Window) -> None:
        beside = window.beside
        assert beside is not None
        told[name] = {
            "wall": [window.screen().name(), window.width(), window.height()],
            "coach": [beside.screen().name(), beside.width(), beside.height()],
            "notes on the wall": window.wall.model.has_notes,
        }

    def begin(window: Window) -> None:
        where("first", window)
        assert window.beside is not None
        QTest.keyClick(window.beside, Qt.Key.Key_C)
        where("traded", window)
        QTest.keyClick(window.beside, Qt.Key.Key_X)
        items = window.beside.page.items
        told["asked"] = next(one.text for one in items if isinstance(one, Words))
        told["asked on the wall"] = window.wall.model.question is not None
        QTest.keyClick(window.beside, CLICKER)

    def go(window: Window) -> None:
        assert window.beside is not None
        QTest.keyClick(window.beside, CLICKER)

    driver = Driver(
        [
            (at("ready"), begin),
            (at("ready"), go),
            (at("result"), go),
            (at("hold"), lambda _: None),
            (at("over"), lambda window: window.beside and window.beside.close()),
        ]
    )
    code, _ = lead(folder, saltmarsh_quay()[:1], PLAN, driver)
    told |= {"code": code, "failure": driver.failure, "steps": driver.step}
    application.processEvents()
    sys.stdout.write(json.dumps(told) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
