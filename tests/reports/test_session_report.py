"""The report of a session: what stood out, what to mend, and every rep with its numbers."""

from dataclasses import replace
from itertools import chain

from strikebridge.club.training import ClosedTurn, Closing
from strikebridge.reports.language import LANGUAGES, language
from strikebridge.reports.session_report import Told, session_report
from strikebridge.reports.sheet import Beside, Pictures, Sheet, Table, Words
from strikebridge.reports.sheet_html import html
from strikebridge.reports.wording import NOTHING, Wording
from strikebridge.samples import Effort, Prescription
from strikebridge.verdict.words import ATHLETE
from tests.reports.scenes import TODAY, invented_club, invented_session

CLUB = invented_club()
TOLD = invented_session(CLUB)
ENGLISH = Wording(language("en"))


def report(told: Told = TOLD) -> Sheet:
    return session_report(told, CLUB, ENGLISH, TODAY)


def column(sheet: Sheet, number: int) -> list[str]:
    (block,) = sheet.parts[0].blocks
    assert isinstance(block, Beside)
    return [f"{item.lead} {item.text}" for item in block.columns[number].items]


def of(sheet: Sheet, kind: type) -> list[list[object]]:
    return [[block for block in part.blocks if isinstance(block, kind)] for part in sheet.parts]


def test_the_head_says_what_it_was() -> None:
    sheet = report()
    assert sheet.title == "Session taper-day"
    # one of the attempts was taken back
    assert "4 athletes · 26 of 40 reps done" in sheet.subtitle
    assert "Saltmarsh Quay" in sheet.subtitle
    assert [part.heading for part in sheet.parts] == [
        "",
        "Ines Halloran",
        "Tobias Merrow",
        "Ayla Sandfort",
    ]


def test_pain_and_new_bests_stand_out_and_no_more_than_the_kit_can_tell() -> None:
    real = column(report(), 0)
    assert real[0] == "Tobias Merrow, rear hook: stopped for pain."
    assert sum("stopped for pain" in words for words in real) == 1
    assert sum("Ines Halloran, lead hook, left: new best, +" in words for words in real) == 1
    level = column(report(), 1)
    assert any(
        "Tobias Merrow" in words and "level with the best before" in words for words in level
    )


def test_a_hold_below_its_best_is_no_new_best_and_a_submaximal_one_none_at_all() -> None:
    easy = Prescription(Effort.SUBMAXIMAL, 5.0, (300.0, 350.0))
    told = replace(TOLD, reps=tuple(replace(rep, prescription=easy) for rep in TOLD.reps))
    assert not any("new best" in words for words in column(report(told), 0))
    weak = {punch: replace(value, value=5000.0) for punch, value in TOLD.before.items()}
    lost = report(replace(TOLD, before=weak, closed=()))
    assert column(lost, 0) == [" No new best that is certain."]
    assert column(lost, 1) == [" Nothing to set beside earlier days."]


def test_each_athlete_has_one_thing_to_mend_the_one_seen_most_often() -> None:
    mend = column(report(), 2)
    assert len(mend) == 3
    assert mend[0].startswith("Ines Halloran: ")
    assert "of 8 reps" in mend[0]
    calm = replace(TOLD, reps=tuple(replace(rep, faults=()) for rep in TOLD.reps))
    assert column(report(calm), 2) == [" No fault came twice."]


def test_every_rep_that_counts_has_its_row_and_no_other() -> None:
    tables = [table for (table,) in of(report(), Table)[1:]]
    rows = list(chain.from_iterable(table.rows for table in tables if isinstance(table, Table)))
    assert len(rows) == 25
    assert all("±" in str(row[2]) for row in rows)


def test_the_cue_has_a_column_only_where_one_was_given() -> None:
    first, second, _ = (table for (table,) in of(report(), Table)[1:])
    assert isinstance(first, Table)
    assert isinstance(second, Table)
    assert first.columns[-1].title == "Cue before"
    assert "snap" in {row[-1] for row in first.rows}
    assert second.columns[-1].title == "Hold"


def test_a_typed_rep_shows_the_force_of_the_hold_and_says_why_the_rest_is_missing() -> None:
    (table,) = of(report(), Table)[3]
    assert isinstance(table, Table)
    typed = next(row for row in table.rows if str(row[0]).startswith("Rear uppercut"))
    assert "±" in str(typed[2])
    assert typed[4] == NOTHING
    assert any("only the hold force was typed" in note for note in table.notes)


def test_what_was_timed_taken_back_and_left_out_is_counted() -> None:
    said = [
        item.text
        for blocks in of(report(), Words)
        for block in blocks
        if isinstance(block, Words)
        for item in block.items
    ]
    assert "Shadow boxing against a band: 1 time, timed and not measured." in said
    assert "1 rep was taken back and does not count." in said
    assert "2 reps were left out for pain." in said
    assert "1 rep was skipped." in said
    assert "1 time no hold was seen." in said
    assert "1 rep was undone." in said


def test_a_rep_that_was_undone_is_said_to_be_so_once() -> None:
    back = next(rep for rep in TOLD.reps if not rep.is_kept)
    undone = ClosedTurn(
        back.session, back.turn, back.athlete, back.exercise, Closing.UNDONE, back.ended_at
    )
    told = replace(TOLD, closed=(undone,), reps=tuple(r for r in TOLD.reps if r is back))
    said = [
        item.text
        for blocks in of(report(told), Words)
        for block in blocks
        if isinstance(block, Words)
        for item in block.items
    ]
    assert said == ["1 rep was taken back and does not count."]


def test_curves_stand_beside_the_bars_where_there_are_any() -> None:
    (first,), (second,), (third,) = of(report(), Pictures)[1:]
    assert isinstance(first, Pictures)
    assert isinstance(second, Pictures)
    assert isinstance(third, Pictures)
    assert len(first.drawings) == len(second.drawings) == 4
    assert len(third.drawings) == 5  # the typed rep has no curve
    assert first.caption


def test_reps_without_any_force_have_no_picture() -> None:
    bare = tuple(replace(rep, measures={}) for rep in TOLD.reps)
    told = replace(TOLD, reps=bare)
    assert of(report(told), Pictures)[1:] == [[], [], []]


def test_reps_that_were_held_back_stand_apart_from_those_that_were_not() -> None:
    """As on the progress pages: another effort is another test."""
    easy = Prescription(Effort.SUBMAXIMAL, 5.0, (300.0, 350.0))
    first = TOLD.reps[0].athlete
    mine = [rep.turn for rep in TOLD.reps if rep.athlete == first and rep.is_kept][::3]
    reps = tuple(
        replace(rep, prescription=easy) if rep.turn in mine else rep for rep in TOLD.reps
    )
    sheet = report(replace(TOLD, reps=reps, curves={}))
    (table,), (pictures,) = of(sheet, Table)[1], of(sheet, Pictures)[1]
    assert isinstance(table, Table)
    assert isinstance(pictures, Pictures)
    named = [str(row[0]) for row in table.rows]
    held_back = [name for name in named if name.endswith(", submaximal")]
    assert 0 < len(held_back) < len(named)
    # each punch once with all and once held back, one after the other
    runs = [name for at, name in enumerate(named) if at == 0 or named[at - 1] != name]
    assert len(runs) == len(set(runs)) == len(pictures.drawings)
    assert {name.removesuffix(", submaximal") for name in held_back} <= set(runs)


def test_nothing_at_all_is_a_page_too() -> None:
    sheet = report(Told(replace(TOLD.session, athletes=()), ()))
    assert len(sheet.parts) == 1
    assert "0 of 40 reps done" in html(sheet)


def test_every_fault_and_every_closing_has_its_words() -> None:
    for key in LANGUAGES:
        words = language(key)
        assert all(words.knows(f"mend.{fault}") for fault in ATHLETE)
        for closing in Closing:
            assert words.count(f"session.closed.{closing.value.replace(' ', '_')}", 2)
