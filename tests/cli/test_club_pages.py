"""From the empty start page to a session that is ready, by real keys in real windows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from strikebridge.cli import run
from strikebridge.plan_shelf import kept_choice
from strikebridge.screens.sheet_window import SheetWindow
from strikebridge.screens.start import StartWindow
from strikebridge.screens.start_model import Lead, Standing
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from tests.pages.made import FAULTY_TABLE, GOOD_TABLE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

pytestmark = [pytest.mark.screen, pytest.mark.slow, pytest.mark.timeout(180)]
MOST_MS = 120_000
CONTROL = Qt.KeyboardModifier.ControlModifier
Key = Qt.Key
Shown = StartWindow | SheetWindow


class Coach:
    """Presses keys at whatever window is there, each act as soon as its window is."""

    def __init__(self, acts: Sequence[Callable[[Any], bool]]) -> None:
        self.acts = list(acts)
        self._clock = QElapsedTimer()
        self._clock.start()
        self._timer = QTimer()
        self._timer.timeout.connect(self._look)
        self._timer.start(20)

    def stop(self) -> None:
        self._timer.stop()

    def _look(self) -> None:
        for window in QApplication.topLevelWidgets():
            if isinstance(window, Shown) and window.isVisible():
                if not self.acts or self._clock.elapsed() > MOST_MS:
                    QTest.keyClick(window, Key.Key_Q, CONTROL)  # what was not seen fails
                elif self.acts[0](window):
                    self.acts.pop(0)
                return


def at_start(key: Qt.Key, lead: Lead) -> Callable[[Any], bool]:
    """Press a key on the start page once it leads there next."""

    def act(window: Any) -> bool:
        if not isinstance(window, StartWindow) or window.rows[window.chosen].lead is not lead:
            return False
        QTest.keyClick(window, key)
        return True

    return act


def on_page(title: str, *keys: Qt.Key) -> Callable[[Any], bool]:
    """Press keys on a page of the club once it is there."""

    def act(window: Any) -> bool:
        if not isinstance(window, SheetWindow) or window.is_asking:
            return False
        if window.sheet.title != title:
            return False
        for key in keys:
            QTest.keyClick(window, key)
        return True

    return act


def in_form(title: str, keys: Sequence[Qt.Key], **fields: str) -> Callable[[Any], bool]:
    """Type into the fields of a form in their order, then press keys."""

    def act(window: Any) -> bool:
        if not isinstance(window, SheetWindow) or not window.is_asking:
            return False
        form = window.form
        if form.form is None or form.form.title != title:
            return False
        editor = None
        for name, text in fields.items():
            editor = form.editors[name]
            editor.setFocus()
            QTest.keyClicks(editor, text)
        for key in keys:
            QTest.keyClick(editor or form, key)
        return True

    return act


def seen(where: list[str], what: Callable[[SheetWindow], str]) -> Callable[[Any], bool]:
    def act(window: Any) -> bool:
        if not isinstance(window, SheetWindow):
            return False
        where.append(what(window))
        return True

    return act


FIRST = on_page("Take care", Key.Key_PageDown)
SIMULATED = at_start(Key.Key_PageDown, Lead.SIMULATED)


def test_the_club_is_taken_over_and_taper_day_chosen_by_the_clicker(
    tmp_path: Path, qapp: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """PageDown does, PageUp chooses; no other key but the last."""
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    ends: list[str] = []
    down, up = Key.Key_PageDown, Key.Key_PageUp

    def look(window: Any) -> bool:
        if not isinstance(window, StartWindow):
            return False
        if window.rows[window.chosen].lead is not Lead.SESSION:
            return False
        ends.extend(row.words for row in window.rows if row.name in ("Athletes", "Session"))
        return True

    coach = Coach(
        [
            FIRST,
            SIMULATED,
            at_start(down, Lead.ATHLETES),
            on_page("Athletes", up, up, down),  # take over the club
            on_page("Athletes", down),  # in its place stands the way back
            at_start(down, Lead.PLAN),
            on_page("Plan of the next session", down, down),  # warm-up, speed-day, taper-day
            on_page("Plan of the next session", up, down),
            on_page("Before maximal holds", down),
            look,
        ]
    )
    assert run(["--data", str(tmp_path)]) == 0
    coach.stop()
    assert not coach.acts
    assert ends[0] == "6 athletes, 1 under 18 with consent, 1 group."
    much = "108 measured holds, 18 timed drills, about 39 minutes"
    assert ends[1] == f"taper-day, 6 athletes, {much}: ready."
    chosen = kept_choice(tmp_path)
    assert chosen is not None
    assert (chosen.plan, len(chosen.athletes)) == ("taper-day", 6)


def test_an_athlete_is_typed_and_a_table_imported_once_it_is_mended(
    tmp_path: Path, qapp: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    table = tmp_path / "club.csv"
    table.write_text(FAULTY_TABLE)
    data = tmp_path / "data"
    told: list[str] = []

    def mend(window: Any) -> bool:
        with_nobody = [one.name for one in Roster(open_store(data)).all()]
        told.append(", ".join(with_nobody))
        table.write_text(GOOD_TABLE)
        QTest.keyClick(window, Key.Key_R)
        return True

    enter = Key.Key_Return
    coach = Coach(
        [
            FIRST,
            SIMULATED,
            at_start(Key.Key_A, Lead.ATHLETES),
            on_page("Athletes", Key.Key_N),
            in_form("Add an athlete", [enter], name="Bruno Vell", mass_kg="71"),
            seen(told, lambda window: window.form.remarks["stance"].text()),
            in_form("Add an athlete", [enter], stance="s", age_group="a"),
            on_page("Athletes", Key.Key_I),
            in_form("Import a table", [enter], file=str(table)),
            seen(told, lambda window: f"{window.sheet.title} {len(window.sheet.rows) - 2}"),
            mend,
            on_page("Athletes", Key.Key_Escape),
            at_start(Key.Key_Q, Lead.PLAN),
        ]
    )
    assert run(["--data", str(data)]) == 0
    coach.stop()
    assert not coach.acts
    assert told[0] == "An empty field will not do; write orthodox or southpaw."
    assert told[1:] == ["club.csv 9", "Bruno Vell"]  # he is there already, the ninth mistake
    people = {one.name: one for one in Roster(open_store(data)).all()}
    assert list(people) == ["Bruno Vell", "Ida Marrow", "Zebulon Quillfeather"]
    assert people["Bruno Vell"].mass_kg == 71.0
    assert people["Zebulon Quillfeather"].consent is not None


def test_what_is_typed_of_an_under_age_athlete_is_on_no_disk_before_consent(
    tmp_path: Path, qapp: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    told: list[str] = []

    def is_on_disk() -> bool:
        files = [path for path in tmp_path.rglob("*") if path.is_file()]
        assert files
        return any(b"Quillfeather" in path.read_bytes() for path in files)

    enter = Key.Key_Return
    typed = {"name": "Zebulon Quillfeather", "stance": "o", "born_year": "2014"}
    coach = Coach(
        [
            FIRST,
            SIMULATED,
            at_start(Key.Key_A, Lead.ATHLETES),
            on_page("Athletes", Key.Key_N),
            in_form("Add an athlete", [enter], **typed),
            seen(told, lambda window: window.form.remarks["consent_on"].text()),
            seen(told, lambda window: str(is_on_disk())),
            in_form("Add an athlete", [Key.Key_Escape, Key.Key_Escape]),
            seen(told, lambda window: str(is_on_disk())),
            on_page("Athletes", Key.Key_N),
            in_form(
                "Add an athlete", [enter], **typed, consent_on="2026-01-10", consent_by="mother"
            ),
            seen(told, lambda window: window.sheet.said),
            on_page("Athletes", Key.Key_Escape),
        ]
    )
    assert run(["--data", str(tmp_path)]) == 0
    coach.stop()
    assert not coach.acts
    assert told[0].startswith("Under 18, and no consent is recorded. Ask a parent or guardian")
    assert "Consent given on and Consent given by" in told[0]
    assert told[1:3] == ["False", "False"]
    assert told[3] == "Zebulon Quillfeather is added."
    assert is_on_disk()


def test_a_start_page_without_the_next_step_says_so(
    tmp_path: Path, qapp: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan that has gone, and a database that is none, are said on the start page."""
    monkeypatch.setattr("strikebridge.boards.serial_link.list_ports", list)
    (tmp_path / "strikebridge.sqlite").write_bytes(b"no database, but long enough" * 40)
    rows: list[tuple[Standing, str]] = []

    def look(window: Any) -> bool:
        if not isinstance(window, StartWindow):
            return False
        found = {row.name: row for row in window.rows}
        if found["Athletes"].standing is Standing.LATER:
            return False
        rows.extend((found[name].standing, found[name].words) for name in ("Athletes", "Plan"))
        return True

    coach = Coach([FIRST, look])
    assert run(["--data", str(tmp_path)]) == 0
    coach.stop()
    assert rows[0][0] is Standing.MIND
    assert "damaged" in rows[0][1]
    assert rows[1] == (Standing.LATER, "It needs the roster.")
