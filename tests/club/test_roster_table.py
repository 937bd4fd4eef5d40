"""A roster as CSV: all mistakes by line and column, or all athletes."""

import csv
import io
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikebridge.club.athlete import Athlete, Care, Stance, name_fault, name_key, tidy_name
from strikebridge.club.entry import FIELDS, fields_of
from strikebridge.club.roster_table import read_roster
from strikebridge.club.saltmarsh_quay import saltmarsh_quay
from strikebridge.errors import FaultyFileError

TODAY = date(2026, 3, 1)
HEAD = "name,stance,age_group,mass_kg\n"


def read(text: str, taken: tuple[str, ...] = ()) -> tuple[Athlete, ...]:
    return read_roster(text, "club.csv", taken, TODAY)


def faults(text: str, taken: tuple[str, ...] = ()) -> list[tuple[int | None, str | None]]:
    with pytest.raises(FaultyFileError) as caught:
        read(text, taken)
    lines = str(caught.value).splitlines()
    assert len(lines) == len(caught.value.errors)
    assert all(line.startswith("club.csv, line ") for line in lines)
    return [(one.line, one.column) for one in caught.value.errors]


def test_the_invented_club_goes_through_a_table() -> None:
    club = saltmarsh_quay()
    table = io.StringIO()
    writer = csv.DictWriter(table, FIELDS)
    writer.writeheader()
    writer.writerows(fields_of(one) for one in club)
    found = read(table.getvalue())
    assert [fields_of(one) for one in found] == [fields_of(one) for one in club]
    assert {one.id for one in found}.isdisjoint({one.id for one in club})
    assert Care.SHOULDER in found[1].cares


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings_and_a_byte_order_mark_do_not_matter(mark: str, ending: str) -> None:
    text = mark + (HEAD + "\n" + "Ines Halloran,orthodox,adult,63.2\n").replace("\n", ending)
    assert [one.mass_kg for one in read(text)] == [63.2]


def test_semicolons_and_a_decimal_comma_are_right_together() -> None:
    found = read("Name;Stance;Born_Year;Mass_kg\r\nTobias Merrow;Southpaw;1999;81,4\r\n")
    assert [(one.stance, one.mass_kg) for one in found] == [(Stance.SOUTHPAW, 81.4)]


def test_every_mistake_has_its_line_and_its_column() -> None:
    text = HEAD + (
        "Ines Halloran,orthodox,adult,63.2\n"
        "\n"
        'Tobias Merrow,sideways,adult,"-3"\n'
        "ines  halloran,orthodox,adult,63.2\n"
        '"Ayla\nSandfort",orthodox,,57\n'
        "Mirko Tallis,orthodox,adult,70,70\n"
        "Juno Pettigrew,orthodox,under 18\n"
    )
    assert faults(text, taken=("MIRKO TALLIS",)) == [
        (4, "stance"),
        (4, "mass_kg"),
        (5, "name"),
        (6, "age_group"),
        (8, None),
        (8, "name"),
        (9, "consent_on"),
    ]


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("", [(1, None)]),
        ("\n \n", [(1, None)]),
        (HEAD, [(1, None)]),
        ("\nname,stance\n", [(2, "age_group")]),
        ("name,born_year\n", [(1, "stance")]),
        ("name,stance,born_year,weight\n", [(1, "weight")]),
        ("name,stance,born_year,\n", [(1, None)]),
        ("name,stance,born_year,name\n", [(1, "name")]),
        (HEAD + 'Ines Halloran,orthodox,adult,63\n"Tobias', [(3, None)]),
        (HEAD + ",orthodox,adult,63\n", [(2, "name")]),
        ("stance,age_group,name\north\n", [(2, "name"), (2, "stance"), (2, "age_group")]),
    ],
)
def test_a_table_that_cannot_be_one_says_why(
    text: str, places: list[tuple[int | None, str | None]]
) -> None:
    assert sorted(faults(text), key=str) == sorted(places, key=str)


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_ten_thousand_lines_are_read_and_all_their_mistakes_listed() -> None:
    rows = [f"Athlete {i},orthodox,adult,{60 + i % 30}\n" for i in range(10_000)]
    assert len(read(HEAD + "".join(rows))) == 10_000
    for i in range(0, 10_000, 2):
        rows[i] = f"Athlete {i},orthodox,adult,heavy\n"
    assert faults(HEAD + "".join(rows)) == [(i + 2, "mass_kg") for i in range(0, 10_000, 2)]


athlete_names = st.text(min_size=1, max_size=20).map(tidy_name)


@settings(max_examples=40, deadline=None)
@given(st.lists(athlete_names.filter(lambda one: not name_fault(one)), min_size=1, max_size=5))
def test_any_names_come_through_or_are_twice_there(names: list[str]) -> None:
    table = io.StringIO()
    csv.writer(table).writerows(
        [("name", "stance", "age_group"), *((name, "orthodox", "adult") for name in names)]
    )
    if len({name_key(name) for name in names}) == len(names):
        assert [one.name for one in read(table.getvalue())] == names
    else:
        assert {column for _, column in faults(table.getvalue())} == {"name"}
