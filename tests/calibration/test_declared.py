from __future__ import annotations

import pytest

from strikebridge.calibration.certificate import PlateRecord
from strikebridge.calibration.declared import assumed_words, parse_plate, parse_plates
from strikebridge.calibration.lifts import check_plates, plan_walk, what_to_do
from strikebridge.errors import CalibrationError, FormatError

A, B = PlateRecord("A", 20.0, 0.4), PlateRecord("B", 10.0, 0.2, "iron")


@pytest.mark.parametrize(
    ("word", "wanted"),
    [
        ("A=20±0.4", A),
        ("A=20+-0.4", A),
        (" A = 20+/-2% ", None),
        ("A=20±2%", A),
        ("green 10=1e1±0", PlateRecord("green 10", 10.0, 0.0)),
        ("A=20", PlateRecord("A", 20.0, 0.03 * 20.0, "club")),
    ],
)
def test_a_plate_is_a_word(word: str, wanted: PlateRecord | None) -> None:
    if wanted is None:
        with pytest.raises(FormatError, match="is no plate"):
            parse_plate(word)
    else:
        assert parse_plate(word) == wanted


@pytest.mark.parametrize(
    "word", ["", "A", "A=", "=20", "A=heavy", "A=20±", "A=1.2.3", "A=20lb"]
)
def test_what_is_no_plate_is_said_in_one_sentence(word: str) -> None:
    with pytest.raises(FormatError, match="Write name, kilograms"):
        parse_plate(word)


def test_plates_stand_in_a_table() -> None:
    text = "name, mass_kg, tolerance_kg, make\nA,20,0.4,\nB,10,0.2,iron\nC,5,,\n"
    assert parse_plates(text) == (A, B, PlateRecord("C", 5.0, 0.15, "club"))
    assert parse_plates("mass_kg,name\n20,A\n")[0].mass_kg == 20.0


@pytest.mark.parametrize(
    ("text", "line", "column", "said"),
    [
        ("", 1, "name", "names none"),
        ("name,kg\nA,20\n", 1, "kg", "each once"),
        ("name,mass_kg,name\nA,20,B\n", 1, "name", "each once"),
        ("name,mass_kg\n", 2, "name", "names no plates"),
        ("name,mass_kg\nA,heavy\n", 2, "mass_kg", "'heavy' is no number"),
        ("name,mass_kg\nA,\n", 2, "mass_kg", "an empty field is no number"),
        ("name,mass_kg\nA\n", 2, "mass_kg", "an empty field is no number"),
        ("name,mass_kg,tolerance_kg\nA,20,much\n", 2, "tolerance_kg", "'much'"),
        ("name,mass_kg\nA,20,5\n", 2, None, "more fields"),
        ('name,mass_kg\n"A,20\n', 2, None, "quotation"),
    ],
)
def test_a_bad_table_of_plates_names_line_and_column(
    text: str, line: int, column: str | None, said: str
) -> None:
    with pytest.raises(FormatError, match=said) as error:
        parse_plates(text)
    assert (error.value.line, error.value.column) == (line, column)


def test_what_was_assumed_is_said() -> None:
    assert assumed_words((A, B)) == ""
    said = assumed_words((A, parse_plate("C=5"), parse_plate("D=2.5")))
    assert "how far C, D may be off: taken as ±3%" in said


@pytest.mark.parametrize(
    ("plates", "rating_kg", "said"),
    [
        ((), None, "No plates were named"),
        (tuple(PlateRecord(f"P{i}", 5.0, 0.1) for i in range(13)), None, "13 plates are more"),
        ((A, A), None, "Two plates are called A"),
        ((PlateRecord("A+B", 5.0, 0.1),), None, "will not do as the name"),
        ((PlateRecord("", 5.0, 0.1),), None, "will not do as the name"),
        ((PlateRecord("A", 5.0, 0.1, "a/b"),), None, "will not do as the name"),
        ((PlateRecord("A", 0.0, 0.0),), None, "cannot weigh 0 kg"),
        ((PlateRecord("A", 5000.0, 0.0),), None, "cannot weigh 5000 kg"),
        ((PlateRecord("A", 5.0, 3.0),), None, "cannot be off by 3 kg"),
        ((PlateRecord("A", 5.0, -1.0),), None, "cannot be off by -1 kg"),
        ((A, B), 29.0, "the cell is rated for 29 kg"),
    ],
)
def test_plates_no_walk_can_be_made_with(
    plates: tuple[PlateRecord, ...], rating_kg: float | None, said: str
) -> None:
    with pytest.raises(CalibrationError, match=said):
        check_plates(plates, rating_kg)


def test_good_plates_pass() -> None:
    check_plates((A, B), 30.0)


def test_the_plan_goes_up_and_down_and_back_to_front() -> None:
    lifts = plan_walk((A, B), runs=2, exercises=1)
    assert [lift.plates for lift in lifts] == [
        *[(), ("A", "B"), ()],
        *[(), ("A",), ("A", "B"), ("A",), ()],
        *[(), ("B",), ("B", "A"), ("B",), ()],
    ]
    assert [lift.direction for lift in lifts] == [0, 1, -1, 1, 1, 1, -1, -1, 1, 1, 1, -1, -1]
    assert [lift.is_point for lift in lifts[:4]] == [False, False, False, True]


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("", "A", "Put plate A on."),
        ("A", "ABC", "Put plates B and C on."),
        ("AB", "A", "Take plate B off."),
        ("ABC", "C", "Take plates A and B off."),
        ("AB", "", "Take everything off the cell."),
        ("A", "", "Take plate A off."),
        ("AB", "CD", "Take off plates A and B, put on plates C and D."),
        ("", "", "Leave the cell empty."),
        ("AB", "BA", "Leave the cell as it is."),
    ],
)
def test_one_sentence_leads_from_step_to_step(before: str, after: str, said: str) -> None:
    assert what_to_do(before, after) == said
