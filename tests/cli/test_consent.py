"""Nothing of an under-age athlete without consent reaches the disk, a whole session long."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text

from strikebridge.cli import run
from strikebridge.store.database import FILE, open_store
from strikebridge.store.past import History
from strikebridge.store.roster import Roster
from tests.session_kills import kill, start
from tests.store.made import files_with

if TYPE_CHECKING:
    from pathlib import Path

PLAN = """\
name = "short"
mode = "rounds"

[[block]]
name = "Rear"
exercises = ["rear-straight"]
seconds = 3
rest_s = 5
"""
BOARD = ("--board", "simulated:?seed=4", "--speed", "max", "--headless")

WITHIN_S = 60.0
SOME_BYTES = 20_000  # of the recording, when the session is killed


def found(data: Path, words: str) -> set[str]:
    """Name the files that hold these words; a database and its log count as one."""
    return {name.removesuffix("-wal") for name in files_with(data, words.encode())}


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_a_session_writes_names_nowhere_but_in_the_database_and_the_refused_nowhere(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, plan = tmp_path / "data", tmp_path / "short.toml"
    plan.write_text(PLAN)
    own = ("--data", str(data))
    young = ("athletes", "add", "Zebulon Quillfeather", "--stance", "southpaw")
    minor = (*young, "--age-group", "under 18")
    consent = ("--consent-by", "mother", "--consent-on", "2026-01-02")
    assert run(["athletes", "add", "Ines Halloran", "--stance", "orthodox",
                "--born-year", "1999", *own]) == 0  # fmt: skip
    assert run([*minor, *own]) == 1
    assert run(["session", str(plan), *BOARD, *own]) == 0
    with contextlib.closing(open_store(data)) as store:
        (ines,) = Roster(store).all()
        assert len(History(store).sessions(ines.id)) == 1
    assert found(data, "Halloran") == {FILE}
    assert len(found(data, ines.id)) == 2  # the search finds ids in database and recording
    assert found(data, "Quillfeather") == set()

    assert run([*minor, *consent, *own]) == 0
    with contextlib.closing(open_store(data)) as store:
        zebulon = Roster(store).find("Zebulon Quillfeather")
        with store.writing() as at:  # the consent is taken away behind the program's back
            at.execute(text("UPDATE athlete SET consent_on = NULL"))
    capsys.readouterr()
    assert run(["session", str(plan), *BOARD, *own]) == 1
    assert "no consent is recorded, so nothing was stored" in capsys.readouterr().err
    assert found(data, zebulon.id) == {FILE}  # in the roster, and in no recording
    with contextlib.closing(open_store(data)) as store:
        assert len(History(store).sessions()) == 1


ROSTER = """\
name,stance,age_group,consent_on,consent_by
Ines Halloran,orthodox,adult,,
Zebulon Quillfeather,southpaw,under 18,{consent}
"""


def crash(data: Path, plan: Path) -> None:
    """Kill a session in its midst."""
    process = start(data, str(plan), "--speed", "4")  # slow enough to be killed in its midst
    kill(process, data / "recordings", WITHIN_S, SOME_BYTES)
    process.communicate()


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_a_refused_name_is_nowhere_after_an_import_a_session_and_a_crash(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, plan, club = tmp_path / "data", tmp_path / "short.toml", tmp_path / "club.csv"
    own = ("--data", str(data))
    plan.write_text(PLAN)
    club.write_text(ROSTER.format(consent=","))
    assert run(["athletes", "import", str(club), *own]) == 1
    assert "line 3, column consent_on" in capsys.readouterr().err
    assert found(data, "Quillfeather") == set()
    assert found(data, "Halloran") == set()  # all of the table or none
    club.write_text("\n".join(ROSTER.format(consent=",").splitlines()[:2]))
    assert run(["athletes", "import", str(club), *own]) == 0
    crash(data, plan)
    assert run(["session", str(plan), *BOARD, *own, "--resume"]) == 0
    assert found(data, "Halloran") == {FILE}
    assert found(data, "Quillfeather") == set()

    # with consent the same table is taken, and the search finds the name in one place
    club.write_text(ROSTER.format(consent="2026-01-02,mother").replace("Ines", "Ida"))
    assert run(["athletes", "import", str(club), *own]) == 0
    crash(data, plan)
    assert found(data, "Quillfeather") == {FILE}


@pytest.mark.slow
@pytest.mark.timeout(180)
def test_ten_thousand_bad_lines_are_all_named_and_nobody_is_imported(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, club = tmp_path / "data", tmp_path / "club.csv"
    rows = [f"Athlete {i},orthodox,adult,," for i in range(10_000)]
    rows[1::2] = ["Athlete 0,sideways,adult,2026-13-01,mother"] * 5000
    club.write_text("\n".join([ROSTER.splitlines()[0], *rows]))
    assert run(["athletes", "import", str(club), "--data", str(data)]) == 1
    said = capsys.readouterr().err
    for number in (3, 9_999, 10_001):
        for column in ("name", "stance", "consent_on"):
            assert f"club.csv, line {number}, column {column}: " in said
    assert said.count("column stance: ") == said.count("column name: ") == 5000
    with contextlib.closing(open_store(data)) as store:
        assert Roster(store).all() == ()
