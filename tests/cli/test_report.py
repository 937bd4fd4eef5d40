"""`report` over a made club: pages in files, and mistakes said in a sentence."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pypdfium2
import pytest

from strikebridge.cli import run
from strikebridge.club.exercise import Way
from strikebridge.safekeeping.outside import Kind, mark_of, outside_files
from strikebridge.samples import MeasureValue
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from strikebridge.store.training import Training
from tests.running import WITHIN_S
from tests.store.made import INES, JUNO, rep, session
from tests.store.made_club import Made, make_club

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.timeout(180)


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Made]:
    data = tmp_path_factory.mktemp("club")
    return data, make_club(data, athletes=6, weeks=15)


def report(club: tuple[Path, Made], file: Path, *words: str) -> int:
    return run(["report", *words, "--output", str(file), "--data", str(club[0])])


def test_an_athlete_by_name_with_and_without_the_word(
    club: tuple[Path, Made], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    person = club[1].athletes[0]
    pages = []
    for words in (("athlete", person.name.upper()), (person.name,)):
        file = tmp_path / "page.html"
        assert report(club, file, *words) == 0
        assert capsys.readouterr().out == f"Athlete page written to {file}.\n"
        pages.append(file.read_text(encoding="utf-8"))
    assert pages[0] == pages[1]
    assert f"<h1>{person.name}</h1>" in pages[0]
    assert "12 sessions" in pages[0] or "sessions," in pages[0]


def test_a_squad_as_pdf_in_german_pounds(
    club: tuple[Path, Made], tmp_path: Path, capsys: pytest.CaptureFixture[str], qapp: object
) -> None:
    assert qapp is not None
    file = tmp_path / "squad.pdf"
    words = ("squad", "--language", "de", "--unit", "lb", "--json")
    assert report(club, file, *words) == 0
    assert json.loads(capsys.readouterr().out) == {"report": str(file), "pages": 1}
    with pypdfium2.PdfDocument(file) as document:
        text = document[0].get_textpage().get_text_bounded()
    assert "Was sicher ist" in text
    assert all(person.name in text for person in club[1].athletes)
    assert "lb" in text


def test_the_terminal_says_in_english_what_is_written_in_german(
    club: tuple[Path, Made], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "squad.html"
    assert report(club, file, "squad", "--language", "de") == 0
    assert capsys.readouterr().out == f"Squad page written to {file}.\n"
    assert "Gruppenseite" in file.read_text(encoding="utf-8")


def test_the_flag_means_the_word(club: tuple[Path, Made], tmp_path: Path) -> None:
    one, other = tmp_path / "one.html", tmp_path / "other.html"
    assert report(club, one, "squad") == 0
    assert report(club, other, "--squad") == 0
    assert one.read_bytes() == other.read_bytes()


def test_a_filter_narrows_the_page(club: tuple[Path, Made], tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    assert report(club, file, "squad", "--exercise", "rear-straight") == 0
    page = file.read_text(encoding="utf-8")
    assert "<h2>Rear straight</h2>" in page
    assert "<h2>Lead straight</h2>" not in page
    assert report(club, file, "squad", "--until", "1990-01-01") == 0
    assert "Never tested" in file.read_text(encoding="utf-8")


def test_the_last_session_and_one_by_its_id(
    club: tuple[Path, Made], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "session.html"
    assert report(club, file, "session") == 0
    last = file.read_text(encoding="utf-8")
    assert report(club, file, "session", "last") == 0
    assert file.read_text(encoding="utf-8") == last
    capsys.readouterr()
    assert report(club, file, "session", "zzz") == 1
    assert "No session begins with 'zzz'" in capsys.readouterr().err


def test_a_report_is_remembered_wherever_it_was_written(
    club: tuple[Path, Made], tmp_path: Path
) -> None:
    data, made = club
    person = made.athletes[1]
    outside, inside = tmp_path / "mine.html", data / "mine.html"
    for file in (outside, inside):
        assert report(club, file, "athlete", person.name) == 0
    known = {one.path: one for one in outside_files(data)}
    for file in (outside, inside):
        assert known[str(file)].kind is Kind.REPORT
        assert known[str(file)].mark == mark_of(person.id)
        assert known[str(file)].is_same


def test_a_club_with_a_plain_scale_has_its_page_as_well(tmp_path: Path) -> None:
    data, file = tmp_path / "data", tmp_path / "page.html"
    with contextlib.closing(open_store(data)) as store:
        Roster(store).add_all([INES, JUNO])
        training = Training(store)
        for day in range(3):
            one = session(number=day + 1)
            training.begin(one)
            for turn in (1, 2, 3):
                held = MeasureValue("hold_mean", 500.0 + 60.0 * day + turn, "N", 4.0, 3.0)
                typed = replace(
                    rep(turn), session=one.id, way=Way.TYPED, measures={"hold_mean": held}
                )
                training.save(replace(typed, ended_at=typed.ended_at + timedelta(days=7 * day)))
    words = ["report", "Ines Halloran", "--output", str(file), "--data", str(data)]
    assert run(words) == 0
    page = file.read_text(encoding="utf-8")
    assert "mean force of the hold" in page
    assert "these are the forces that were held, typed in." in page
    assert run([*words, "--language", "de"]) == 0
    page = file.read_text(encoding="utf-8")
    assert "das sind gehaltene Kräfte, eingetippt." in page
    assert "No peak is on record" not in page


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "Say what to report of"),
        (("athlete",), "Say what to report of"),
        (("Ines", "Halloran"), "in quotation marks"),
        (("squad", "--squad"), "--squad stands alone"),
        (("session", "last", "--since", "2026-01-01"), "reported whole"),
        (("session", "last", "--group", "x"), "reported whole"),
        (("athlete", "x", "--group", "x"), "--group goes with squad"),
    ],
)
def test_wrong_words_are_said(
    words: tuple[str, ...],
    said: str,
    club: tuple[Path, Made],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert report(club, tmp_path / "page.html", *words) == 2
    assert said in " ".join(capsys.readouterr().err.split())


def test_other_mistakes_are_one_sentence(
    club: tuple[Path, Made], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert report(club, tmp_path / "page.docx", "squad") == 2
    assert ".html or .pdf" in capsys.readouterr().err
    assert report(club, tmp_path / "page.html", "athlete", "Nobody") == 1
    assert "Nobody" in capsys.readouterr().err
    assert report(club, tmp_path / "none" / "page.html", "squad") == 1
    assert "cannot be written" in capsys.readouterr().err
    assert report((tmp_path / "empty", club[1]), tmp_path / "page.html", "session") == 1
    assert "No session yet" in capsys.readouterr().err


def test_nothing_slow_is_loaded_before_it_is_asked_for() -> None:
    """The start of the program stays as quick as it was."""
    code = (
        "import sys, strikebridge.cli, strikebridge.cli.session\n"
        "slow = ('jinja2', 'PySide6', 'scipy')\n"
        "print([one for one in sys.modules if one.split('.')[0] in slow "
        "or one.endswith(('.paper', '.sheet_html'))])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        check=True,
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
    )
    assert done.stdout == "[]\n"
