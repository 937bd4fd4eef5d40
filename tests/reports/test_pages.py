"""The pages of athlete and squad: what they say, and that nothing gets out of them."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import chain, product

import pytest
from typing_extensions import override

from strikebridge.club.athlete import Athlete
from strikebridge.progress.readiness import Readiness
from strikebridge.reports.athlete_page import athlete_page
from strikebridge.reports.drawing import Drawing
from strikebridge.reports.findings import findings
from strikebridge.reports.language import LANGUAGES, language
from strikebridge.reports.sheet import Align, Beside, Column, Pictures, Sheet, Table, Words
from strikebridge.reports.sheet_html import html
from strikebridge.reports.squad_page import squad_page
from strikebridge.reports.standing import AthleteStory, Club
from strikebridge.reports.wording import NOTHING, Wording
from strikebridge.units import ForceUnit
from tests.reports.draw import sheets
from tests.reports.scenes import (
    LONG_NAME,
    LOW_WALL,
    TODAY,
    Camp,
    camp_reps,
    invented_camp,
    invented_club,
    large_squad,
    told_of,
)

CLUB = invented_club()
STORIES = told_of(invented_camp(CLUB), CLUB)
ENGLISH = Wording(language("en"))
SHEETS = dict(sheets())
INES, TOBIAS = (
    next(a for a in CLUB.athletes.values() if a.name == n)
    for n in ("Ines Halloran", "Tobias Merrow")
)


def story_of(*camps: Camp, athlete: Athlete = INES) -> AthleteStory:
    reps = list(chain.from_iterable(camp_reps(athlete, camp, 5) for camp in camps))
    club = Club({athlete.id: athlete})
    return told_of(reps, club)[0]


def words_of(sheet: Sheet) -> list[str]:
    found = []
    for block in chain.from_iterable(part.blocks for part in sheet.parts):
        for words in block.columns if isinstance(block, Beside) else [block]:
            if isinstance(words, Words):
                found += [f"{item.lead} {item.text}".strip() for item in words.items]
    return found


def tables_of(sheet: Sheet) -> list[Table]:
    blocks = chain.from_iterable(part.blocks for part in sheet.parts)
    return [block for block in blocks if isinstance(block, Table)]


class Outside(HTMLParser):
    """Finds whatever a page would load or run, and all of its text."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.text: list[str] = []

    @override
    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in {"script", "link", "iframe", "object", "embed", "img", "base", "form"}:
            self.found.append(tag)
        for name, value in attrs:
            if name.startswith("on") or name in {"src", "href", "srcset", "xlink:href"}:
                self.found.append(f"{tag} {name}={value}")

    @override
    def handle_data(self, data: str) -> None:
        self.text.append(data)


@pytest.mark.parametrize("name", SHEETS)
def test_a_page_needs_nothing_from_outside(name: str) -> None:
    page = html(SHEETS[name])
    reader = Outside()
    reader.feed(page)
    assert reader.found == []
    assert "url(" not in page
    assert "@import" not in page
    links = set(re.findall(r"https?://[^\"' <]+", page))
    assert links <= {"http://www.w3.org/2000/svg"}


def test_a_name_is_text_and_never_markup() -> None:
    bad = '<script>alert("1")</script>&'
    athlete = replace(INES, name=bad, groups=("<b>",))
    club = Club({athlete.id: athlete}, {"towel-hold": "<i>towel"})
    reps = camp_reps(athlete, Camp("rear-straight", 400.0, 90.0), 1)
    reps += camp_reps(athlete, Camp("towel-hold", 400.0, 90.0, cue="<u>"), 1)
    told = told_of(reps, club)
    for sheet in (
        athlete_page(told[0], club, ENGLISH, TODAY),
        squad_page(bad, told, club, ENGLISH, TODAY),
    ):
        page = html(sheet)
        assert "<script" not in page
        assert "<i>" not in page
        assert "<u>" not in page
        reader = Outside()
        reader.feed(page)
        assert bad in "".join(reader.text)


LIMITS = ("or more would be called real", "hieße sicher", "is assumed", "angenommen")
"""Sentences whose number is a limit or an assumption, which has no doubt of its own."""
NUMBER = r"[+\u2212]?\d+(?:[.,]\d+)?"
WHOLE = re.compile(
    rf"{NUMBER}\u00a0±\u00a0{NUMBER}\u00a0(?:kg|N|lb|%|s)|{NUMBER} (?:to|bis) {NUMBER} %|\d+"
)


@pytest.mark.parametrize("name", SHEETS)
def test_every_number_of_a_table_has_unit_and_doubt(name: str) -> None:
    for table in tables_of(SHEETS[name]):
        for row in table.rows:
            for column, cell in zip(table.columns, row, strict=True):
                if column.align is Align.LEFT or isinstance(cell, Drawing):
                    continue
                assert cell == NOTHING or WHOLE.fullmatch(cell), cell


@pytest.mark.parametrize("name", SHEETS)
def test_every_force_of_a_sentence_has_its_doubt(name: str) -> None:
    for words in words_of(SHEETS[name]):
        if any(limit in words for limit in LIMITS):
            continue
        for number in re.findall(r"[^ ]*\d\u00a0(?:kg|N|lb|%)", words):
            assert "±" in number, words


def test_the_cautions_of_the_comparison_stand_in_the_foot() -> None:
    camps = (
        Camp("rear-straight", 400.0, 50.0, 6, 5),
        Camp("rear-hook", 300.0, 0.0, 4, 1),
        Camp("lead-hook", 300.0, 0.0, 4, 2, certificates=("c1", "c2")),
        Camp("lead-straight", 400.0, 0.0, 6, certificates=("c1", "c2", "c3")),
    )
    reps = list(chain.from_iterable(camp_reps(INES, camp, 5) for camp in camps))
    reps += [
        replace(rep, session="short", at=rep.at.replace(month=5))
        for rep in camp_reps(INES, Camp("rear-straight", 400.0, 0.0, 1, 2), 1)
    ]
    story = told_of(reps, Club({INES.id: INES}))[0]
    stored = {caution for one in story.standings for caution in one.cautions}
    assert len(stored) >= 5
    for key in LANGUAGES:
        words = Wording(language(key))
        foot = " ".join(item.text for item in athlete_page(story, CLUB, words, TODAY).foot)
        said = {words.language.reason(one) for one in stored}
        assert (said == stored) == (key == "en")
        assert sum(one in foot for one in said) >= 3
        assert said.isdisjoint(stored) or key == "en"


def test_real_and_not_real_stand_apart() -> None:
    story = story_of(
        Camp("rear-straight", 400.0, 200.0, 10),
        Camp("lead-straight", 500.0, 0.0, 10),
        Camp("rear-hook", 600.0, -250.0, 9),
    )
    found = findings(story, CLUB, ENGLISH, TODAY)
    real = [f"{one.lead} {one.text}" for one in found.real]
    assert any(w.startswith("Rear straight, right: up by") for w in real)
    assert any(w.startswith("Rear hook, right: down by") for w in real)
    unsure = [f"{one.lead} {one.text}" for one in found.unsure]
    assert any("no more than chance" in words for words in unsure)
    assert not any(words.startswith("Lead straight, left: up") for words in real)


@pytest.mark.parametrize("name", SHEETS)
def test_the_word_beside_a_change_agrees_with_its_digits(name: str) -> None:
    for table in tables_of(SHEETS[name]):
        words = [
            i for i, one in enumerate(table.columns) if one.title in {"Is it real?", "Sicher?"}
        ]
        for row, at in product(table.rows, words):
            change = str(row[at - 2])
            if "±" not in change:
                continue
            plain = re.sub(r"[^\d.±]", "", change.replace(",", "."))
            value, _, doubt = plain.partition("±")
            assert (float(value) > float(doubt)) == (row[at] in {"real", "sicher"}), row


def test_one_test_asks_for_another() -> None:
    found = findings(story_of(Camp("rear-straight", 400.0, 0.0, 1)), CLUB, ENGLISH, TODAY)
    assert found.real == ()
    assert "nothing to compare it with" in found.unsure[0].text
    assert any("Test again at the same set-up" in one.text for one in found.following)


def test_an_old_day_says_nothing_of_today() -> None:
    story = next(one for one in STORIES if one.athlete == INES)
    form = story.standings[0].overview.today
    assert form is not None
    assert form.word is not Readiness.CANNOT_TELL
    newest = story.standings[0].newest.at.date()

    def said(day: int) -> bool:
        today = newest.fromordinal(newest.toordinal() + day)
        real = findings(story, CLUB, ENGLISH, today).real
        return any("last four weeks" in one.text for one in real)

    assert said(7)
    assert not said(8)


def test_two_set_ups_are_two_lines_with_a_letter_each() -> None:
    story = story_of(
        Camp("rear-straight", 400.0, 50.0, 5),
        Camp("rear-straight", 300.0, 0.0, 2, setup=LOW_WALL),
    )
    sheet = athlete_page(story, CLUB, ENGLISH, TODAY)
    (table,) = tables_of(sheet)
    assert [row[0] for row in table.rows] == [
        "Rear straight, right, set-up A",
        "Rear straight, right, set-up B",
    ]
    assert any("pad 1.42 m high, 0.55 m away, ball, wrap" in note for note in table.notes)
    assert any("keep to one" in words for words in words_of(sheet))


def test_the_day_of_a_bout_has_its_mark_and_its_words() -> None:
    def drawn(tests: int) -> tuple[int, str]:
        sheet = athlete_page(
            story_of(Camp("rear-straight", 400.0, 0.0, tests)), CLUB, ENGLISH, TODAY
        )
        (pictures,) = (one for one in sheet.parts[0].blocks if isinstance(one, Pictures))
        marks = sum(part.startswith("<polygon") for part in pictures.drawings[0].parts)
        return marks, pictures.caption

    before, without = drawn(5)
    after, caption = drawn(6)  # the sixth test is on the day of a bout
    assert after == before + 1
    assert "Triangle" in caption
    assert "Triangle" not in without


def test_nothing_measured_says_what_to_do_first() -> None:
    story = AthleteStory(TOBIAS, (), ())
    sheet = athlete_page(story, CLUB, ENGLISH, TODAY)
    assert tables_of(sheet) == []
    assert "3 reps of a punch" in " ".join(words_of(sheet))
    assert "Nothing was measured" in " ".join(words_of(sheet))
    assert "Tobias Merrow" in " ".join(words_of(squad_page("", [story], CLUB, ENGLISH, TODAY)))


def test_the_squad_keeps_the_largest_changes_and_says_how_many_are_left_out() -> None:
    club, reps = large_squad(40)
    told = told_of(reps, club)
    (table,) = tables_of(squad_page("", told, club, ENGLISH, TODAY))
    exercise = told[0].standings[0].like.exercise
    changes = sorted(
        (
            one.overview.change.percent
            for story in told
            for one in story.standings
            if one.like.exercise == exercise and one.overview.change is not None
        ),
        key=abs,
    )
    assert len(table.rows) < 40
    assert f"{40 - len(table.rows)} athletes" in table.notes[0]
    losers = sum(change < 0.0 for change in changes[-len(table.rows) :])
    assert losers > 0
    signs = [str(row[4])[0] for row in table.rows]
    assert signs.count("\u2212") == losers


def test_a_squad_shows_every_exercise_that_fits_and_names_the_rest() -> None:
    sheet = squad_page("Saltmarsh Quay", STORIES, CLUB, ENGLISH, TODAY)
    names = [table.heading for table in tables_of(sheet)]
    assert names[:2] == ["Lead straight", "Rear straight"]
    rows = tables_of(sheet)[1].rows
    assert rows[0][0] == "Ines Halloran"  # the largest gain
    assert rows[-1][0] == "Kwame Oduya-Brandt"
    assert "Juno Pettigrew" in " ".join(words_of(sheet))  # never tested


@pytest.mark.parametrize("key", LANGUAGES)
@pytest.mark.parametrize(("tests", "is_open"), [(6, True), (12, False)])
def test_a_form_that_cannot_be_told_is_said_to_be_open(
    key: str, tests: int, *, is_open: bool
) -> None:
    words, story = language(key), story_of(Camp("rear-straight", 400.0, -150.0, tests))
    sheet = squad_page("", [story], CLUB, Wording(words), TODAY)
    (table,) = tables_of(sheet)
    assert (table.rows[0][-1] == words.say("form_word.cannot tell")) is is_open
    said = f"{words.say('squad.form_open')} {story.athlete.name}."
    assert (said in words_of(sheet)) is is_open


def test_long_lists_of_names_are_cut_and_counted() -> None:
    club, _ = large_squad(30)
    sheet = squad_page("", told_of([], club), club, ENGLISH, TODAY)
    (never,) = (words for words in words_of(sheet) if words.startswith("Never tested"))
    shown = never.count(LONG_NAME)
    assert f"and {30 - shown} more." in never


def test_strength_per_body_mass_only_near_a_weighing() -> None:
    def notes(days_apart: float) -> str:
        story = story_of(Camp("rear-straight", 400.0, 0.0, 3, days_apart=days_apart))
        (table,) = tables_of(athlete_page(story, CLUB, ENGLISH, TODAY))
        return " ".join(table.notes)

    assert "body weight" in notes(7.0)
    assert "body weight" not in notes(30.0)


def test_more_exercises_than_rows_are_counted() -> None:
    punches = ("straight", "hook", "uppercut", "straight-bent-arm", "hook-straight-arm", "own")
    camps = [Camp(f"{s}-{p}", 300.0, 0.0, 2) for s in ("lead", "rear") for p in punches]
    (table,) = tables_of(athlete_page(story_of(*camps), CLUB, ENGLISH, TODAY))
    assert len(table.rows) == 10
    assert any("2 more exercises" in note for note in table.notes)


@pytest.mark.parametrize("key", LANGUAGES)
@pytest.mark.parametrize("unit", ForceUnit)
def test_every_language_and_unit_gives_the_same_page(key: str, unit: ForceUnit) -> None:
    wording = Wording(language(key), unit)
    sheet = athlete_page(STORIES[1], CLUB, wording, TODAY)
    (table,) = tables_of(sheet)
    assert table.rows[0][1] == "10"
    assert str(table.rows[0][2]).endswith(unit.value)
    assert f'<html lang="{key}">' in html(sheet)


def test_a_row_that_does_not_fit_its_columns_is_refused() -> None:
    with pytest.raises(ValueError, match="one cell for each column"):
        Table("", (Column("a", 1.0),), (("1", "2"),))


@pytest.mark.parametrize(("reps", "sessions"), [(1, 1), (3, 1), (3, 2)])
def test_no_hand_is_called_the_stronger_after_one_session(reps: int, sessions: int) -> None:
    camps = (
        Camp("rear-straight", 900.0, 0.0, sessions, reps),
        Camp("lead-straight", 500.0, 0.0, sessions, reps),
    )
    found = findings(story_of(*camps), Club({INES.id: INES}), ENGLISH, TODAY)
    real, unsure = (
        [one.text for one in kind if "against" in one.lead]
        for kind in (found.real, found.unsure)
    )
    if sessions == 1:
        assert not real
        assert [text.partition(" in ")[2] for text in unsure] == [
            "one session; it takes two to call a hand the stronger."
        ]
    else:
        assert not unsure
        assert "the rear hand is stronger by" in real[0]
