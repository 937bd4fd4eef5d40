"""Reports out of a window: written by a key, named where they lie, opened by another."""

from __future__ import annotations

import contextlib
import threading
from typing import TYPE_CHECKING

import pypdfium2
import pytest
from PySide6.QtCore import QObject, Qt, QUrl, Slot
from PySide6.QtGui import QDesktopServices
from PySide6.QtTest import QTest

from strikebridge.cli.kept_reports import file_name, keeper_of
from strikebridge.cli.looking import source_of
from strikebridge.errors import FormatError
from strikebridge.looking_back import last_session, look_back
from strikebridge.safekeeping.erasing import erase, find_for_erasure
from strikebridge.safekeeping.outside import FILE as OUTSIDE
from strikebridge.screens.errand import BROKEN, Errand
from strikebridge.screens.progress_pages import progress_page
from strikebridge.screens.progress_view import ProgressView
from strikebridge.screens.progress_window import ProgressWindow
from strikebridge.screens.report_desk import (
    NO_VIEWER,
    NONE_YET,
    NOTHING,
    WRITING,
    ReportDesk,
    ReportOf,
    Wanted,
    Written,
)
from strikebridge.screens.session_review import SessionReviewWindow
from strikebridge.screens.session_review_model import FOOTER, SessionReview
from strikebridge.screens.viewer import open_in_viewer
from strikebridge.store.database import open_store
from strikebridge.units import ForceUnit
from tests.running import WITHIN_S
from tests.screens.draw_session import REPORTED
from tests.screens.sessions_done import DONE
from tests.screens.test_progress import check
from tests.screens.test_rig_pages import SIZES
from tests.screens.test_session_review import texts_of
from tests.store.made_club import make_club

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from tests.store.made_club import Made

pytestmark = [pytest.mark.screen, pytest.mark.timeout(180)]
Key = Qt.Key
SESSION = Wanted(ReportOf.SESSION, ForceUnit.KG, "s")


class Viewer(QObject):
    """What the system opens files with, here."""

    def __init__(self) -> None:
        super().__init__()
        self.opened: list[str] = []

    @Slot(QUrl)
    def open(self, url: QUrl) -> None:
        self.opened.append(url.toLocalFile())


@pytest.fixture
def viewer(qapp: object) -> Iterator[Viewer]:
    seen = Viewer()
    QDesktopServices.setUrlHandler(
        "file",
        seen,
        "open",  # type: ignore[arg-type]  # the stub asks for bytes, which Qt refuses
    )
    yield seen
    QDesktopServices.unsetUrlHandler("file")


@pytest.fixture
def club(tmp_path: Path) -> tuple[Path, Made]:
    data = tmp_path / "data"
    return data, make_club(data, athletes=3, weeks=4)


@pytest.fixture
def written(qtbot: QtBot) -> Callable[[ReportDesk], str]:
    def wait(desk: ReportDesk) -> str:
        qtbot.waitUntil(lambda: not desk.is_writing)
        return desk.said

    return wait


def text_of(pdf: Path) -> str:
    with pypdfium2.PdfDocument(pdf) as document:
        return "".join(page.get_textpage().get_text_bounded() for page in document)


def test_the_review_writes_the_report_of_its_session_and_opens_it(
    qtbot: QtBot,
    viewer: Viewer,
    club: tuple[Path, Made],
    written: Callable[[ReportDesk], str],
) -> None:
    data, made = club
    with contextlib.closing(open_store(data)) as store:
        record = last_session(store)
        assert record is not None
        done = look_back(store, record.id)
    desk = ReportDesk(keeper_of(data), open_in_viewer)
    window = SessionReviewWindow(SessionReview(done, ForceUnit.LB), reports=desk)
    qtbot.addWidget(window)
    window.show()
    QTest.keyClick(window, Key.Key_V)
    assert NONE_YET in texts_of(window.page.items)
    QTest.keyClick(window, Key.Key_R)
    assert window.isVisible()
    said = written(desk)
    (pdf,) = (data / "reports").glob("session-*.pdf")
    assert pdf.stem == f"session-{record.started_at:%Y-%m-%d-%H%M%S}-{record.plan}"
    assert said == f"Session report: {pdf}, and as HTML. V opens it."
    assert said in texts_of(window.page.items)
    assert record.plan in text_of(pdf)
    assert "lb" in text_of(pdf)
    page = pdf.with_suffix(".html").read_text(encoding="utf-8")
    assert any(person.name in page for person in made.athletes)
    QTest.keyClick(window, Key.Key_V)
    assert viewer.opened == [str(pdf)]
    QTest.keyClick(window, Key.Key_N)
    assert FOOTER.replace("      ", " ") in [
        " ".join(text.split()) for text in texts_of(window.page.items)
    ]


def test_board_and_athlete_page_write_what_they_show(
    qtbot: QtBot, club: tuple[Path, Made], written: Callable[[ReportDesk], str]
) -> None:
    data, made = club
    with contextlib.closing(open_store(data)) as store:
        view = ProgressView(source_of(store))
        desk = ReportDesk(keeper_of(data), open_in_viewer)
        window = ProgressWindow(view, reports=desk)
        qtbot.addWidget(window)
        window.show()
        QTest.keyClick(window, Key.Key_R)
        assert written(desk).startswith("Squad page: ")
        (squad,) = (data / "reports").glob("squad-*.pdf")
        assert all(person.name in text_of(squad) for person in made.athletes)
        QTest.keyClick(window, Key.Key_Space)
        assert not desk.said
        athlete = view.athlete
        assert athlete is not None
        QTest.keyClick(window, Key.Key_R)
        assert written(desk).startswith("Athlete page: ")
        (page,) = (data / "reports").glob("athlete-*.pdf")
        assert file_name(athlete.name) in page.name
        assert athlete.name in text_of(page)
        assert not any(
            other.name in text_of(page) for other in made.athletes if other.id != athlete.id
        )
        window.close()
    (data / "reports" / "other.html").write_text("<p>nobody</p>", encoding="utf-8")
    athlete, held = find_for_erasure(data, athlete.id)
    assert erase(data, athlete, held).elsewhere == ()
    assert not list((data / "reports").glob("*.pdf"))
    assert file_name(athlete.name) not in (data / OUTSIDE).read_text(encoding="utf-8")


def test_one_report_at_a_time_and_keys_are_heard_meanwhile(qtbot: QtBot) -> None:
    may_end = threading.Event()
    begun: list[Wanted] = []

    def write(wanted: Wanted) -> Written:
        begun.append(wanted)
        assert may_end.wait(WITHIN_S)
        raise FormatError("The disk is full.")

    review = SessionReview(DONE["six"], ForceUnit.KG)
    desk = ReportDesk(write, lambda _: False)
    window = SessionReviewWindow(review, reports=desk)
    qtbot.addWidget(window)
    window.show()
    try:
        QTest.keyClick(window, Key.Key_R)
        QTest.keyClick(window, Key.Key_R)
        QTest.keyClick(window, Key.Key_V)
        QTest.keyClick(window, Key.Key_PageDown)
        assert review.at == 1
        assert review.said == WRITING
    finally:
        may_end.set()
    qtbot.waitUntil(lambda: review.said == "The disk is full.")
    assert len(begun) == 1
    QTest.keyClick(window, Key.Key_PageDown)
    assert review.said == ""


def test_without_a_viewer_the_place_is_named(tmp_path: Path, qtbot: QtBot) -> None:
    pdf = tmp_path / "page.pdf"
    desk = ReportDesk(lambda _: Written("Squad page", pdf), lambda _: False)
    assert desk.press("R", None)
    assert desk.said == NOTHING
    assert not desk.look()
    desk.press("R", SESSION)
    qtbot.waitUntil(desk.look)
    assert desk.press("V", None)
    assert desk.said == NO_VIEWER.format(path=pdf)
    assert not desk.press("U", None)
    assert desk.said == ""


def test_nothing_on_record_has_no_report(tmp_path: Path) -> None:
    with contextlib.closing(open_store(tmp_path)) as store:
        view = ProgressView(source_of(store))
        assert view.wanted is None
        view.camp = view.found.board
        assert view.wanted is None


def test_what_breaks_inside_is_said_and_logged(caplog: pytest.LogCaptureFixture) -> None:
    def broken() -> None:
        raise RuntimeError("no")

    errand = Errand(broken)
    errand.wait()
    assert errand.is_over
    assert errand.trouble == BROKEN
    assert "an errand of a window failed" in caplog.text


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("athlete Zoë O'Hara/../x 2026-11-25", "athlete-Zoë-O-Hara-x-2026-11-25"),
        ("squad 2026-11-25", "squad-2026-11-25"),
        ('session 2026 C:\\"con"?', "session-2026-C-con"),
    ],
)
def test_names_of_files_are_those_that_every_system_takes(words: str, name: str) -> None:
    assert file_name(words) == name


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_where_it_lies_can_be_read(qtbot: QtBot, size: tuple[int, int], tmp_path: Path) -> None:
    review = SessionReview(DONE["six"], ForceUnit.KG)
    review.said = REPORTED
    assert REPORTED in texts_of(review.page(size))
    with contextlib.closing(open_store(tmp_path)) as store:
        check(progress_page(ProgressView(source_of(store)), size, REPORTED), size)
