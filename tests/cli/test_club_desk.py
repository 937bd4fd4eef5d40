"""What the start page says of athletes, plan and session, without a window."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli.club_desk import ClubDesk
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.plan_shelf import FOLDER, keep_choice
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.start_model import Lead, Row, Standing
from strikebridge.session.choice import Choice, Volume
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from tests.pages.made import FAULTY_PLAN, people

if TYPE_CHECKING:
    from pathlib import Path

CLUB = saltmarsh_quay()
IDS = tuple(one.id for one in CLUB)


def looked(data: Path) -> tuple[ClubDesk, Row, Row]:
    desk = ClubDesk(data, WindowOptions())
    desk.rows()
    return desk, *desk.rows()


@pytest.fixture
def club(tmp_path: Path) -> Path:
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add_all(CLUB)
    return tmp_path


def test_looking_at_a_new_folder_makes_nothing_there(tmp_path: Path) -> None:
    data = tmp_path / "data"
    desk, athletes, plan = looked(data)
    assert (athletes.standing, athletes.lead) == (Standing.MISSING, Lead.ATHLETES)
    assert (plan.standing, plan.lead) == (Standing.LATER, Lead.PLAN)
    assert desk.session_row("simulated:").lead is None
    assert not data.exists()


def test_the_page_is_there_before_the_roster_is_looked_up(club: Path) -> None:
    desk = ClubDesk(club, WindowOptions())
    assert [row.words for row in desk.rows()] == ["Being looked up."] * 2
    assert desk.rows()[0].words == "6 athletes, 1 under 18 with consent, 1 group."
    assert desk.rows()[1].standing is Standing.MISSING


def test_without_groups_none_are_counted(tmp_path: Path) -> None:
    with contextlib.closing(open_store(tmp_path)) as store:
        Roster(store).add_all(people(9)[-1:])
    assert looked(tmp_path)[1].words == "1 athlete."


def test_a_session_is_ready_with_board_athletes_and_plan(club: Path) -> None:
    keep_choice(Choice("taper-day", IDS), club)
    desk, _, plan = looked(club)
    words = "taper-day, 6 athletes, 108 measured holds, 18 timed drills, about 39 minutes"
    assert (plan.standing, plan.words) == (Standing.READY, f"{words}.")
    session = desk.session_row("simulated:")
    assert (session.lead, session.words) == (Lead.SESSION, f"{words}: ready.")
    assert desk.session_row(None).lead is None
    assert desk.choice == Choice("taper-day", IDS)


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        (Choice("gone.toml", IDS), "gone.toml has mistakes, or is gone."),
        (Choice("wednesday.toml", IDS), "wednesday.toml has mistakes, or is gone."),
        (Choice("taper-day", ("0" * 32,)), "taper-day cannot begin as it was chosen."),
        (
            Choice("fight-day", IDS, volume=Volume(sets=3)),
            "fight-day cannot begin as it was chosen.",
        ),
    ],
)
def test_a_choice_that_cannot_begin_leads_to_the_plan(
    club: Path, choice: Choice, words: str
) -> None:
    (club / FOLDER).mkdir()
    (club / FOLDER / "wednesday.toml").write_text(FAULTY_PLAN)
    keep_choice(choice, club)
    desk, _, plan = looked(club)
    assert (plan.standing, plan.words, plan.lead) == (Standing.MIND, words, Lead.PLAN)
    assert desk.choice is None
    assert desk.session_row("simulated:").standing is Standing.LATER


def test_it_is_looked_up_anew_when_told(club: Path) -> None:
    desk = looked(club)[0]
    with contextlib.closing(open_store(club)) as store:
        Roster(store).remove(CLUB[0].id)
    assert desk.rows()[0].words.startswith("6 athletes")
    desk.look_again()
    assert desk.rows()[0].words.startswith("5 athletes")
