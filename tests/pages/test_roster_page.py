"""The page of the athletes: what it lists, adds, changes, leaves out and imports."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from strikebridge.club.athlete import Care
from strikebridge.pages.roster import RosterPage
from strikebridge.pages.sheet import FieldKind, Mark
from strikebridge.store.training import Training
from tests.pages.keys import cells, choose, keep, press
from tests.pages.made import FAULTY_TABLE, GOOD_TABLE, LONG_NAME, people
from tests.store.made import session

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.store.database import Store
    from strikebridge.store.roster import Roster


@pytest.fixture
def page(roster: Roster) -> RosterPage:
    return RosterPage(roster)


def test_an_empty_roster_offers_what_can_be_done(page: RosterPage, roster: Roster) -> None:
    sheet = page.sheet()
    assert [row.letter for row in sheet.rows] == ["N", "I", "T", ""]
    assert sheet.tell.startswith("Nobody yet")
    assert any("under 18 is stored before consent" in one.words for one in sheet.side)
    assert press(page, "T").form is None
    assert len(roster.all()) == 6
    assert page.sheet().right == "6 athletes, 1 under 18"
    assert "T" not in [row.letter for row in page.sheet().rows]
    press(page, "T")  # now a key without a meaning
    assert len(roster.all()) == 6


def test_a_row_says_all_that_counts(page: RosterPage, roster: Roster) -> None:
    roster.add_all(people(8))
    assert cells(page, "Juno") == (
        "Juno Pettigrew",
        "orthodox",
        "under 18",
        "54.3 kg, 12 Jan 2026",
        "mother, on paper, 10 Jan 2026",
        "-",
    )
    assert cells(page, LONG_NAME)[3:] == (
        "105.5 kg, 5 May 2026",
        "not needed",
        "blood pressure, shoulder, wrist",
    )
    assert choose(page, LONG_NAME).mark is Mark.MIND
    said = " ".join(one.words for one in page.sheet().side)
    assert "Groups: Seniors, Tuesday evening" in said
    assert "Earlier: 102.5 kg, 5 Feb 2026; 103.5 kg, 5 Mar 2026; 104.5 kg, 5 Apr 2026" in said
    assert "warm up the left shoulder" in said


def test_an_athlete_is_added_with_every_fault_at_its_field(
    page: RosterPage, roster: Roster
) -> None:
    form = press(page, "N").form
    answer = keep(page, form, name="", mass_kg="sixty", consent_by="mother")
    assert {fault.field for fault in answer.faults} == {
        "name",
        "stance",
        "age_group",
        "mass_kg",
        "consent_on",
    }
    assert not answer.is_done
    good = {"name": "Bruno Vell", "stance": "southpaw", "age_group": "adult", "wrist": "yes"}
    assert keep(page, form, **good, mass_kg="71", weighed_on="2026-01-05").is_done
    (bruno,) = roster.all()
    assert bruno.cares == {Care.WRIST}
    assert page.sheet().said == "Bruno Vell is added."
    assert page.sheet().tell == "Space: change Bruno Vell."
    again = keep(page, form, **good)
    assert not again.is_done
    assert "There is an athlete Bruno Vell already" in again.refused


def test_consent_is_asked_for_in_the_words_of_the_form(
    page: RosterPage, roster: Roster
) -> None:
    form = press(page, "N").form
    typed = {"name": "Zebulon Quillfeather", "stance": "orthodox", "age_group": "under 18"}
    (fault,) = keep(page, form, **typed).faults
    assert fault.field == "consent_on"
    assert "Consent given on and Consent given by" in fault.words
    assert not roster.all()
    assert keep(page, form, **typed, consent_on="2026-01-10", consent_by="mother").is_done


def test_a_change_keeps_weighings_and_what_is_not_touched(
    page: RosterPage, roster: Roster
) -> None:
    roster.add_all(people(8))
    choose(page, LONG_NAME)
    form = press(page, "Space").form
    assert form is not None
    by_key = {field.key: field for field in form.fields}
    assert by_key["mass_kg"].value == ""
    assert "newest 105.5 kg, 5 May 2026" in by_key["mass_kg"].hint
    assert by_key["groups"].hint.startswith(
        "separated by |; there are: Saltmarsh Quay | Seniors"
    )
    assert by_key["wrist"].kind is FieldKind.YES
    assert keep(page, form, name="Mina Oyelaran", mass_kg="99", weighed_on="2026-06-01").is_done
    changed = roster.find("Mina Oyelaran")
    assert len(changed.masses) == 6
    assert changed.masses[-1].weighed_on == date(2026, 6, 1)
    assert changed.groups[0] == "Seniors"
    assert page.sheet().said == "Mina Oyelaran is changed."


def test_leaving_out_asks_once(page: RosterPage, roster: Roster) -> None:
    roster.add_all(people(8))
    choose(page, "Ines")
    press(page, "X")
    assert page.sheet().said.startswith("X again takes Ines Halloran out")
    press(page, "Down", "Up", "X")  # the first one is forgotten
    assert len(roster.all()) == 8
    press(page, "X")
    assert page.sheet().said == "Ines Halloran is out of the roster."
    assert "Ines Halloran" not in [one.name for one in roster.all()]
    choose(page, "Add")
    assert not press(page, "X").leaves  # it is nobody's row
    assert len(roster.all()) == 7


def test_whoever_has_trained_stays(page: RosterPage, roster: Roster, store: Store) -> None:
    roster.add_all(people(8))
    Training(store).begin(replace(session(), athletes=(roster.find("Ines Halloran").id,)))
    choose(page, "Ines")
    press(page, "X", "X")
    assert "has taken part in a session and is not removed" in page.sheet().said
    assert "strikebridge erase NAME" in page.sheet().said
    assert len(roster.all()) == 8


def test_a_table_is_taken_whole_or_not_at_all(
    page: RosterPage, roster: Roster, tmp_path: Path
) -> None:
    table = tmp_path / "club.csv"
    form = press(page, "I").form
    (missing,) = keep(page, form, file=str(table)).faults
    assert "cannot be read" in missing.words
    table.write_text(FAULTY_TABLE)
    answer = keep(page, form, file=f" {table} ")
    assert answer.is_done
    faults = answer.then
    assert faults is not None
    sheet = faults.sheet()
    assert sheet.tell == "8 mistakes. Nobody was added."
    assert [row.cells[0].split(":")[0] for row in sheet.rows[2:]] == [
        "club.csv, line 3, column consent_on",
        "club.csv, line 4, column stance",
        "club.csv, line 4, column mass_kg",
        "club.csv, line 4, column name",
        "club.csv, line 5, column consent_by",
        "club.csv, line 5, column consent_on",
        "club.csv, line 5, column weighed_on",
        "club.csv, line 6, column name",
    ]
    assert not press(faults, "R").leaves
    assert faults.sheet().said.startswith("Read again.")
    assert not roster.all()
    choose(faults, "Back")
    assert press(faults, "PgDown").leaves
    assert press(faults, "Esc").leaves
    choose(faults, "club.csv, line 3")
    assert not press(faults, "Space").leaves  # a mistake is only read
    table.unlink()
    assert not press(faults, "R").leaves
    assert "cannot be read" in faults.sheet().rows[2].cells[0]
    table.write_text(GOOD_TABLE)
    assert press(faults, "R").leaves
    assert page.sheet().said == "2 added from club.csv."
    assert len(roster.all()) == 2


def test_a_good_table_is_taken_at_once(
    page: RosterPage, roster: Roster, tmp_path: Path
) -> None:
    (tmp_path / "club.csv").write_text(GOOD_TABLE)
    assert keep(page, press(page, "I").form, file=str(tmp_path / "club.csv")).is_done
    assert [one.name for one in roster.all()] == ["Ida Marrow", "Zebulon Quillfeather"]


def test_ten_thousand_mistakes_are_listed_and_none_is_taken(
    page: RosterPage, roster: Roster, tmp_path: Path
) -> None:
    lines = [f"Person {number},sideways,adult" for number in range(10_000)]
    (tmp_path / "club.csv").write_text("\n".join(["name,stance,age_group", *lines]))
    answer = keep(page, press(page, "I").form, file=str(tmp_path / "club.csv"))
    assert answer.then is not None
    assert len(answer.then.sheet().rows) == 10_002
    assert not roster.all()


def test_groups_are_put_in_taken_out_and_made(page: RosterPage, roster: Roster) -> None:
    roster.add_all(people(8))
    choose(page, "Ines")
    groups_of = roster.find("Ines Halloran").id
    groups = press(page, "G").page
    assert groups is not None
    assert groups.sheet().title == "Groups of Ines Halloran"
    assert cells(groups, "Seniors") == ("Seniors", "not in")
    choose(groups, "Seniors")
    press(groups, "Space")
    assert groups.sheet().said == "In Seniors."
    assert roster.find("Ines Halloran").groups == ("Saltmarsh Quay", "Seniors")
    press(groups, "Space")
    assert groups.sheet().said == "Not in Seniors any more."
    form = press(groups, "N").form
    (fault,) = keep(groups, form, group=" ").faults
    assert fault.field == "group"
    assert keep(groups, form, group="Juniors").is_done
    assert "Juniors" in roster.find("Ines Halloran").groups
    roster.remove("Ines Halloran")
    assert "There is no athlete" in keep(groups, form, group="Seniors").refused
    roster.add_all([replace(people(8)[0], id=groups_of)])
    choose(groups, "Back")
    assert press(groups, "PgDown").leaves
    assert press(groups, "Esc").leaves


@pytest.mark.parametrize("key", ["Esc", "B", "."])
def test_the_page_is_left(key: str, page: RosterPage) -> None:
    assert press(page, key).leaves
    assert not press(page, "7").leaves
    choose(page, "Back")
    assert press(page, "PgDown").leaves
