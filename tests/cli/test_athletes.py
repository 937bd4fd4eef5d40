"""The roster from the command line: what it prints, what it refuses, what it leaves."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from strikebridge.cli import run
from tests.store.made import files_with

if TYPE_CHECKING:
    from pathlib import Path

ADULT = ("--stance", "orthodox", "--age-group", "adult")


class Desk:
    """Runs `strikebridge athletes` on one data folder."""

    def __init__(self, data: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.data = data
        self._capsys = capsys

    def __call__(self, *words: str) -> tuple[int, str, str]:
        code = run(["athletes", *words, "--data", str(self.data)])
        out, err = self._capsys.readouterr()
        assert "Traceback" not in err
        return code, out, err

    def json(self, *words: str) -> Any:
        code, out, err = self(*words, "--json")
        assert (code, err) == (0, "")
        return json.loads(out)

    def names(self) -> list[str]:
        return [one["name"] for one in self.json("list")["athletes"]]


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    return Desk(tmp_path / "data", capsys)


def test_an_empty_roster_says_what_to_do(desk: Desk) -> None:
    assert desk("list") == (
        0,
        "Nobody yet. Add somebody: strikebridge athletes add NAME --stance orthodox\n",
        "",
    )
    assert desk("groups", "list")[1].startswith("No group yet.")
    assert desk.json("list") == {"athletes": []}
    assert desk.json("groups", "list") == {"groups": []}


def test_an_athlete_is_added_seen_changed_and_removed(desk: Desk) -> None:
    added = desk.json(
        "add", "Ines Halloran", *ADULT, "--mass-kg", "63.2", "--weighed-on", "2026-01-05",
        "--care", "wrist", "--care", "blood pressure", "--note", "Slowly.", "--group", "Camp",
    )  # fmt: skip
    assert {name: value for name, value in added.items() if name != "id"} == {
        "name": "Ines Halloran",
        "stance": "orthodox",
        "under_age": False,
        "born_year": None,
        "consent": None,
        "masses": [{"on": "2026-01-05", "mass_kg": 63.2}],
        "cares": ["blood pressure", "wrist"],
        "note": "Slowly.",
        "groups": ["Camp"],
    }
    assert desk("list")[1] == (
        "name           stance    age    mass     mind                   groups\n"
        "Ines Halloran  orthodox  adult  63.2 kg  blood pressure, wrist  Camp\n"
    )
    changed = desk.json(
        "edit", "ines halloran", "--mass-kg", "62.5", "--weighed-on", "2026-02-05",
        "--name", "Ines H.", "--stance", "southpaw", "--care", "shoulder",
    )  # fmt: skip
    assert changed == added | {
        "name": "Ines H.",
        "stance": "southpaw",
        "cares": ["shoulder"],
        "masses": [
            {"on": "2026-01-05", "mass_kg": 63.2},
            {"on": "2026-02-05", "mass_kg": 62.5},
        ],
    }
    assert desk("edit", "Ines H.", "--no-care")[:2] == (0, "Ines H. changed.\n")
    assert desk.json("list")["athletes"] == [changed | {"cares": []}]
    assert desk("remove", "ines h.")[:2] == (0, "Ines H. removed.\n")
    assert desk.names() == []


def test_an_age_is_changed_as_a_year_or_as_a_group(desk: Desk) -> None:
    desk.json("add", "Ines Halloran", *ADULT)
    assert desk.json("edit", "Ines Halloran", "--born-year", "1999")["born_year"] == 1999
    as_group = desk.json("edit", "Ines Halloran", "--age-group", "adult")
    assert as_group["born_year"] is None
    code, _, err = desk("edit", "Ines Halloran", "--age-group", "under 18")
    assert code == 1
    assert "Nothing was stored" in err
    assert not desk.json("list")["athletes"][0]["under_age"]


def test_groups_are_made_and_left(desk: Desk) -> None:
    for name in ("Ines Halloran", "Tobias Merrow"):
        desk.json("add", name, *ADULT)
    code, out, _ = desk("groups", "add", "Camp", "ines halloran", "tobias merrow")
    assert (code, out) == (0, "In Camp: Ines Halloran, Tobias Merrow.\n")
    assert desk("groups", "list")[1] == "Camp: 2\n"
    code, out, _ = desk("groups", "remove", "camp", "tobias merrow")
    assert (code, out) == (0, "Not in camp any more: Tobias Merrow.\n")
    assert desk("list", "--group", "Camp")[1].count("\n") == 2
    assert desk.json("groups", "list") == {"groups": [{"name": "Camp", "athletes": 1}]}


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("list", "--group", "Camp"), 1, "There is no group Camp."),
        (("remove", "Nobody"), 1, "There is no athlete Nobody."),
        (("edit", "Nobody", "--note", "x"), 1, "There is no athlete Nobody."),
        (("edit", "Nobody"), 2, "Say what to change"),
        (("edit", "Nobody", "--care", "wrist", "--no-care"), 2, "not both"),
        (("add", "Ines", "--stance", "orthodox"), 2, "--age-group: no age is given"),
        (("add", "Ines", "--age-group", "adult"), 2, "--stance"),
        (("add", " ", *ADULT), 2, "NAME: there is no name"),
        (("add", "Ines", *ADULT, "--mass-kg", "-63"), 2, "--mass-kg: -63 kg"),
        (("add", "Ines", *ADULT, "--consent-by", "her"), 2, "--consent-on: the day is missing"),
        (("import", "no-such-file.csv"), 1, "cannot be read"),
        (("groups", "add", "Camp", "Nobody"), 1, "There is no athlete Nobody."),
        (("groups", "add", "Camp"), 2, "NAMES"),
    ],
)
def test_a_mistake_is_one_sentence_and_changes_nothing(
    desk: Desk, words: tuple[str, ...], code: int, said: str
) -> None:
    found, out, err = desk(*words)
    assert (found, out) == (code, "")
    assert said in err
    assert desk.names() == []


def test_nothing_of_an_under_age_athlete_is_left_without_consent(
    desk: Desk, tmp_path: Path
) -> None:
    desk.json("add", "Ines Halloran", *ADULT)
    young = ("Zebulon Quillfeather", "--stance", "southpaw", "--born-year", "2015")
    code, out, err = desk("add", *young, "--note", "Quillfeather", "--group", "Quillfeather")
    assert (code, out) == (1, "")
    assert "Nothing was stored" in err
    assert "parent or guardian" in err
    table = tmp_path / "club.csv"
    table.write_text(
        "name,stance,age_group\nTobias Merrow,southpaw,adult\n"
        "Zebulon Quillfeather,southpaw,under 18\n"
    )
    code, _, err = desk("import", str(table))
    assert code == 1
    assert "line 3, column consent_on" in err
    assert (
        desk("edit", "Ines Halloran", "--name", "Quillfeather", "--born-year", "2015")[0] == 1
    )
    assert files_with(desk.data, b"Halloran") != []
    assert files_with(desk.data, b"Quillfeather") == []
    added = desk.json("add", *young, "--consent-by", "mother", "--consent-on", "2026-01-02")
    assert added["under_age"]
    assert added["consent"] == {"on": "2026-01-02", "by": "mother"}


def test_a_table_is_taken_whole(desk: Desk, tmp_path: Path) -> None:
    table = tmp_path / "club.csv"
    table.write_text(
        "name;stance;born_year;mass_kg;groups;shoulder\n"
        "Ines Halloran;orthodox;1999;63,2;Camp|Seniors;\n"
        '"=HYPERLINK(""x"")";southpaw;1998;;Camp;yes\n',
        encoding="utf-8-sig",
    )
    assert desk.json("import", str(table)) == {"imported": 2}
    assert desk.names() == ['=HYPERLINK("x")', "Ines Halloran"]
    assert desk.json("groups", "list")["groups"][0] == {"name": "Camp", "athletes": 2}
    code, _, err = desk("import", str(table))  # once more: everybody is there
    assert code == 1
    first, second = err.splitlines()
    assert first.startswith("strikebridge: club.csv, line 2, column name: Ines Halloran is in")
    assert second.startswith('club.csv, line 3, column name: =HYPERLINK("x") is in the roster')


def test_a_table_of_one_says_so(desk: Desk, tmp_path: Path) -> None:
    table = tmp_path / "club.csv"
    table.write_text("name,stance,age_group\nInes Halloran,orthodox,adult\n")
    assert desk("import", str(table))[1] == "1 added from club.csv.\n"


def test_a_table_in_another_alphabet_is_said_and_nothing_taken(
    desk: Desk, tmp_path: Path
) -> None:
    table = tmp_path / "club.csv"
    table.write_bytes("name,stance,age_group\nÅsa,orthodox,adult\n".encode("cp1252"))
    code, _, err = desk("import", str(table))
    assert code == 1
    assert "not text in UTF-8" in err
    assert desk.names() == []


def test_a_damaged_database_is_one_sentence(desk: Desk) -> None:
    desk.data.mkdir(mode=0o700)  # one open to others is said first
    (desk.data / "strikebridge.sqlite").write_bytes(b"scratched" * 1000)
    code, out, err = desk("list")
    assert (code, out) == (1, "")
    assert err.startswith("strikebridge: The database cannot be used")
    assert "Recordings are files of their own and are safe" in err
