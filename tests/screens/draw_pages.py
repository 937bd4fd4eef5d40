"""Draw the pages of the club into a folder: python -m tests.screens.draw_pages FOLDER.

Both sizes, the longest name there is, a faulty plan and a faulty table.
"""

from __future__ import annotations

import contextlib
import functools
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from strikebridge.pages.caution import FIRST_RUN, MAXIMAL, CautionPage
from strikebridge.pages.plan import PlanPage
from strikebridge.pages.roster import RosterPage
from strikebridge.screens.app import open_qt
from strikebridge.screens.sheet_window import SheetWindow
from strikebridge.screens.start import StartWindow
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from tests.pages.made import FAULTY_PLAN, FAULTY_TABLE, PLAN, people
from tests.screens.starts import STARTS

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

SIZES = ((1366, 768), (1920, 1080))
Key = Qt.Key


def grab(window: QWidget, folder: Path, name: str) -> None:
    for width, height in SIZES:
        window.resize(width, height)
        QTest.qWait(30)
        window.grab().save(str(folder / f"{name}-{width}.png"))


def press(window: QWidget, *keys: Qt.Key) -> None:
    for key in keys:
        QTest.keyClick(window, key)


def keep(window: SheetWindow, **fields: str) -> None:
    for key, text in fields.items():
        editor = window.form.editors[key]
        QTest.keyClicks(editor, text)
    QTest.keyClick(window.form.editors[next(iter(fields))], Key.Key_Return)


def draw_starts(folder: Path) -> None:
    for name, rows in STARTS.items():
        window = StartWindow(functools.partial(tuple, rows))
        window.show()
        grab(window, folder, f"start-{name.replace(' ', '-')}")
        window.close()


def draw_roster(folder: Path, data: Path) -> None:
    with contextlib.closing(open_store(data)) as store:
        window = SheetWindow(RosterPage(Roster(store)))
        window.show()
        grab(window, folder, "athletes-empty")
        press(window, Key.Key_I)
        grab(window, folder, "import")
        keep(window, file=str(data / "faulty.csv"))
        grab(window, folder, "import-faults")
        press(window, Key.Key_Escape, Key.Key_N)
        grab(window, folder, "athlete-form")
        keep(window, name="Zebulon Quillfeather", born_year="2012", mass_kg="one")
        grab(window, folder, "athlete-faults")
        press(window.form, Key.Key_Escape, Key.Key_Escape)
        Roster(store).add_all(people(30))
        press(window, Key.Key_Down)
        for _ in range(7):
            press(window, Key.Key_Down)
        grab(window, folder, "athletes-many")
        press(window, Key.Key_G)
        grab(window, folder, "groups")
        press(window, Key.Key_Escape, Key.Key_D)
        grab(window, folder, "athletes-light")
        press(window, Key.Key_Space)
        grab(window, folder, "athlete-form-light")
        window.close()


def draw_plan(folder: Path, data: Path) -> None:
    with contextlib.closing(open_store(data)) as store:
        window = SheetWindow(PlanPage(store, data))
        window.show()
        for number in range(7):
            grab(window, folder, f"plan-{number}")
            press(window, Key.Key_P)
        press(window, Key.Key_A)
        grab(window, folder, "who")
        press(window, Key.Key_K, Key.Key_E)
        grab(window, folder, "exercises")
        press(window, Key.Key_N)
        grab(window, folder, "exercise-form")
        press(window.form, Key.Key_Escape)
        press(window, Key.Key_Escape)
        press(window, Key.Key_R)
        grab(window, folder, "set-up-form")
        press(window.form, Key.Key_Escape)
        for _ in range(3):
            press(window, Key.Key_P)
        press(window, Key.Key_S, Key.Key_S, Key.Key_S)
        grab(window, folder, "plan-beyond-dose")
        window.close()
        for caution in (FIRST_RUN, MAXIMAL):
            window = SheetWindow(CautionPage(caution, data))
            window.show()
            grab(window, folder, caution.key.replace(" ", "-"))
            window.close()


if __name__ == "__main__":
    application = open_qt()
    pictures = Path(sys.argv[1])
    pictures.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as named:
        where = Path(named)
        (where / "plans").mkdir()
        (where / "plans" / "tuesday.toml").write_text(PLAN)
        (where / "plans" / "wednesday.toml").write_text(FAULTY_PLAN)
        (where / "faulty.csv").write_text(FAULTY_TABLE)
        draw_starts(pictures)
        draw_roster(pictures, where)
        draw_plan(pictures, where)
