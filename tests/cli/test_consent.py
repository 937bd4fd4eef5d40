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
