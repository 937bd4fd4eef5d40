"""Results typed in a spreadsheet: all of them or none, once, marked as typed."""

from __future__ import annotations

import contextlib
import json
from typing import TYPE_CHECKING

import pytest

from strikebridge.cli import run
from strikebridge.club.exercise import Way
from strikebridge.club.selection import Selection
from strikebridge.samples import Effort, Status
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.records import Records
from strikebridge.units import ForceUnit, to_newtons

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.club.training import RepRecord

HEADER = "athlete,day,exercise,peak,unit"
TABLE = f"""{HEADER},hold_s,effort,set,cue,pad_height_m,pad,held
ines halloran,2025-11-03,rear straight,82.5,kg,3,,1,,1.4,ball,
Ines Halloran,2025-11-03,rear-straight,82.5,kg,3,,1,hip first,1.4,ball,
Ines Halloran,2025-11-03,rear-straight,82.5,kg,3,,1,hip first,1.4,ball,
Tobias Merrow,2025-11-05,lead-hook,,lb,5,submaximal,2,,,,210
"""


def roster_in(folder: Path) -> Path:
    for name, stance in (("Ines Halloran", "orthodox"), ("Tobias Merrow", "southpaw")):
        words = ["--stance", stance, "--age-group", "adult", "--data", str(folder)]
        assert run(["athletes", "add", name, *words]) == 0
    return folder


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return roster_in(tmp_path / "data")


@pytest.fixture(scope="module")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A club in which nothing is ever stored."""
    return roster_in(tmp_path_factory.mktemp("data"))


def take_in(data: Path, text: str) -> int:
    file = data / "past.csv"
    file.write_text(text, encoding="utf-8")
    return run(["import", str(file), "--json", "--data", str(data)])


def on_record(data: Path) -> tuple[RepRecord, ...]:
    with contextlib.closing(open_store(data)) as store:
        return Records(store).reps(Selection(effort=None))


def test_each_row_becomes_a_typed_rep(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert take_in(data, TABLE) == 0
    done = json.loads(capsys.readouterr().out)
    assert done == {"imported": 4, "already_there": 0, "days": 2}
    first, second, third, hook = on_record(data)
    for rep in (first, second, third):
        assert (rep.exercise, rep.hand, rep.way) == ("rear-straight", "right", Way.TYPED)
        [peak] = rep.measures.values()
        assert peak.name == "peak_force"
        assert peak.value == pytest.approx(to_newtons(82.5, ForceUnit.KG))
        assert peak.status is Status.COARSE
        assert "typed" in peak.reason
        # a rectangle of 2 % either way, as for a number typed at the wall
        assert peak.u_common == pytest.approx(0.02 * to_newtons(82.5, ForceUnit.KG) / 3**0.5)
        assert peak.u_own == pytest.approx(to_newtons(0.1, ForceUnit.KG) / 12**0.5)
        assert rep.setup is not None
        assert (rep.setup.pad_height_m, rep.setup.pad) == (1.4, "ball")
    assert [rep.cue for rep in (first, second, third)] == ["", "hip first", "hip first"]
    assert (hook.hand, hook.set_number, hook.prescription.effort) == (
        "right",
        2,
        Effort.SUBMAXIMAL,
    )
    assert hook.prescription.hold_s == 5.0
    assert hook.measures["hold_mean"].value == pytest.approx(to_newtons(210, ForceUnit.LB))
    with contextlib.closing(open_store(data)) as store:
        sessions = History(store).sessions()
    assert [len(one.athletes) for one in sessions] == [1, 1]
    assert all(one.ended_at is not None for one in sessions)


def test_peak_and_held_are_two_measures_of_one_rep(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = f"{HEADER},held\nInes Halloran,2025-11-03,rear-straight,82.5,kg,80\n"
    capsys.readouterr()
    for there in (0, 1):
        assert take_in(data, table) == 0
        assert json.loads(capsys.readouterr().out)["already_there"] == there
    [rep] = on_record(data)
    assert {name: one.value for name, one in rep.measures.items()} == {
        "peak_force": pytest.approx(to_newtons(82.5, ForceUnit.KG)),
        "hold_mean": pytest.approx(to_newtons(80, ForceUnit.KG)),
    }
    steps = [to_newtons(step, ForceUnit.KG) / 12**0.5 for step in (0.1, 1.0)]
    assert [one.u_own for one in rep.measures.values()] == pytest.approx(steps)


def test_a_file_that_has_grown_is_taken_in_again(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert take_in(data, TABLE) == 0
    more = "Tobias Merrow,2025-11-03,rear-straight,91,kg,3,,1,,,,\n"
    again = "Ines Halloran,2025-11-03,rear-straight,82.5,kg,3,,1,,1.4,ball,\n"
    capsys.readouterr()
    assert take_in(data, TABLE + more + again) == 0
    done = json.loads(capsys.readouterr().out)
    assert done == {"imported": 2, "already_there": 4, "days": 2}
    reps = on_record(data)
    assert len(reps) == 6
    assert len({(rep.session, rep.turn) for rep in reps}) == 6
    assert len({rep.session for rep in reps}) == 2
    assert take_in(data, TABLE + more + again) == 0
    assert on_record(data) == reps


def test_words_say_what_was_done(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = data / "past.csv"
    file.write_text(f"{HEADER}\nInes Halloran,2025-11-03,rear-straight,82,kg\n")
    for said in ("1 results of 1 day added", "0 results of 1 day added"):
        assert run(["import", str(file), "--data", str(data)]) == 0
        assert said in capsys.readouterr().out
    assert run(["progress", "Ines Halloran", "--data", str(data)]) == 0
    assert "1 of 1 reps were typed, not measured" in capsys.readouterr().out


def test_semicolons_bring_decimal_commas(data: Path) -> None:
    header = "athlete;day;exercise;held;unit;pad_height_m"
    row = "Ines Halloran;2025-11-03;rear-straight;82,5;kg;1,4"
    assert take_in(data, f"{header}\n{row}\n") == 0
    [rep] = on_record(data)
    assert rep.measures["hold_mean"].value == pytest.approx(to_newtons(82.5, ForceUnit.KG))
    assert rep.setup is not None
    assert rep.setup.pad_height_m == 1.4


GOOD = "Ines Halloran,2025-11-03,rear-straight,82,kg"


@pytest.mark.parametrize(
    ("header", "row", "said"),
    [
        (HEADER, "Nobody,2025-11-03,rear-straight,82,kg", "'Nobody' is not in the roster: l"),
        (HEADER, ",2025-11-03,rear-straight,82,kg", "column athlete: nobody is named"),
        (
            HEADER,
            "Ines Halloran,3.11.25,rear-straight,82,kg",
            "'3.11.25' is no day",
        ),
        (HEADER, "Ines Halloran,2999-01-01,rear-straight,82,kg", "still to come"),
        (HEADER, "Ines Halloran,2025-11-03,squat-hold,82,kg", "is no measured exercise"),
        (HEADER, "Ines Halloran,2025-11-03,rear-strait,82,kg", "is no measured exercise"),
        (HEADER, "Ines Halloran,2025-11-03,rear-straight,8_2,kg", "'8_2' is no number"),
        (HEADER, "Ines Halloran,2025-11-03,rear-straight,nan,kg", "do; 1 to 500 kg is"),
        (HEADER, "Ines Halloran,2025-11-03,rear-straight,0,kg", "do; 1 to 500 kg is"),
        (HEADER, "Ines Halloran,2025-11-03,rear-straight,820,kg", "do; 1 to 500 kg is"),
        (HEADER, "Ines Halloran,2025-11-03,rear-straight,82,stone", "those are: kg, N, lb"),
        (HEADER, "Ines Halloran,2025-11-03,rear-straight,82,", "the unit is missing"),
        (
            HEADER,
            "Ines Halloran,2025-11-03,rear-straight,,kg",
            "write a peak, or what was held",
        ),
        (HEADER, f"{GOOD},7", "more cells than the header"),
        (f"{HEADER},held", f"{GOOD},83", "83 kg held is above the peak of 82 kg"),
        (f"{HEADER},hold_s", f"{GOOD},0.1", "0.5 to 60 s is possible"),
        (f"{HEADER},set", f"{GOOD},99", "99 will not do; 1 to 50 is possible"),
        (f"{HEADER},elbow_deg", f"{GOOD},9", "30 to 180 degrees is possible"),
        (f"{HEADER},effort", f"{GOOD},half", "those are: maximal, submaximal"),
        (f"{HEADER},pad", f"{GOOD},wall", "those are: ball, cushion"),
        (f"{HEADER},cue", f"{GOOD},{'x' * 61}", "60 plain letters at most"),
        (f"{HEADER},colour", f"{GOOD},red", "column colour: there is no such column"),
        ("athlete,day,exercise,peak", GOOD, "column unit: this column is missing"),
    ],
)
def test_one_mistake_and_nothing_is_stored(
    header: str, row: str, said: str, untouched: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filler = "," * (header.count(",") - GOOD.count(","))
    assert take_in(untouched, f"{header}\n{GOOD}{filler}\n{row}\n") == 1
    err = capsys.readouterr().err
    assert said in err
    assert "Traceback" not in err
    assert on_record(untouched) == ()


def test_every_mistake_is_named_with_its_line(
    untouched: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [GOOD, "Nobody,never,rear-straight,82,kg", GOOD, "Ines Halloran,2025-11-03,x,y,kg"]
    assert take_in(untouched, "\n".join([HEADER, *rows])) == 1
    err = capsys.readouterr().err
    for place in (
        "'Nobody' is not in the roster: line 3.",
        "line 3, column day",
        "line 5, column exercise",
        "line 5, column peak",
    ):
        assert place in err
    assert on_record(untouched) == ()


def test_a_name_that_is_missing_is_said_once(
    untouched: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mo, jo = (f"{name},2025-11-03,rear-straight,82,kg" for name in ("Mo", "Jo"))
    rows = [GOOD, mo, jo, mo, mo.upper(), jo, *[mo] * 4, GOOD.replace("82", "y")]
    capsys.readouterr()
    assert take_in(untouched, "\n".join([HEADER, *rows])) == 1
    first, second, third = capsys.readouterr().err.splitlines()
    assert "'Mo' is not in the roster: lines 3, 5, 6 and 4 more. Add" in first
    assert "'Jo' is not in the roster: lines 4 and 7. Add" in second
    assert "line 12, column peak" in third
    assert on_record(untouched) == ()


def test_a_missing_file_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["import", str(tmp_path / "none.csv"), "--data", str(tmp_path)]
    assert run(words) == 1
    assert "cannot be read" in capsys.readouterr().err


def test_what_was_held_is_told_where_nobody_has_a_peak(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    days = ("2025-11-03", "2025-11-05", "2025-11-07")
    held = [
        f"Ines Halloran,{day},lead straight,,kg,3,maximal,1,,,,{60 + number + rep}"
        for number, day in enumerate(days)
        for rep in range(3)
    ]
    # beside peaks of the same kind a held force is another test
    mixed = "Tobias Merrow,2025-11-05,lead straight,90,kg,3,maximal,1,,,,"
    beside = "Tobias Merrow,2025-11-05,lead straight,,kg,3,maximal,2,,,,70"
    head = TABLE.partition("\n")[0]
    assert take_in(data, "\n".join([head, *held, mixed, beside, ""])) == 0
    capsys.readouterr()
    for words in ([], ["Ines Halloran"]):
        assert run(["progress", *words, "--json", "--data", str(data)]) == 0
        standings = json.loads(capsys.readouterr().out)["standings"]
        mine = [one for one in standings if one["athlete"] == "Ines Halloran"]
        assert len(mine) == 1
        assert mine[0]["reps"] == 9
        assert "No peak is on record" in " ".join(mine[0]["cautions"])
        assert [one["reps"] for one in standings if one["athlete"] == "Tobias Merrow"] in (
            [1],
            [],
        )
    assert run(["progress", "Ines Halloran", "--data", str(data)]) == 0
    assert "held" in capsys.readouterr().out
