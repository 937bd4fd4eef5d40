"""The page of a squad: who is up, down, flat or cannot be told; then a row for each athlete."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.progress.readiness import Readiness
from strikebridge.progress.score import measured
from strikebridge.reports.athlete_page import change_cells, change_span
from strikebridge.reports.findings import FORM_IS_OLD, KINDS, UNTESTED, Findings, beside
from strikebridge.reports.method import cautions, footer_line, progress_foot
from strikebridge.reports.naming import capital, punch_words
from strikebridge.reports.pictures import spark
from strikebridge.reports.sheet import Align, Column, Item, Part, Sheet, Table, Words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from strikebridge.reports.sheet import Block, Cell
    from strikebridge.reports.standing import AthleteStory, Club, Standing
    from strikebridge.reports.wording import Wording

MOST_PT = 470.0  # height of all tables together; then a page of A4 is full
HEAD_PT = 40.0  # of a table
LINE_PT = 10.6
ROW_PT = 4.0  # beside its lines
NAME_LETTERS = 24  # of a name in one line of the table
LISTED_LETTERS = 130  # of the names in one sentence


@dataclass(frozen=True, slots=True)
class _Row:
    """One athlete in one exercise."""

    name: str
    standing: Standing


def squad_page(
    squad: str,
    stories: Sequence[AthleteStory],
    club: Club,
    wording: Wording,
    today: date,
) -> Sheet:
    """Make the page of a squad.

    Args:
        squad: its name, empty for everybody.
        stories: of its athletes.
        club: names of exercises.
        wording: language and unit.
        today: day it is made.

    Returns:
        One page.
    """
    say = wording.language.say
    tables, left_out = _chosen(stories)
    rows = [row for _, some in tables for row in some]
    shown = [row.standing for row in rows]
    blocks: list[Block] = [
        beside(_findings(stories, rows, club, wording, today), wording),
        *(_table(exercise, some, club, wording) for exercise, some in tables),
    ]
    if left_out:
        names = wording.listed([wording.exercise(key, club.names.get(key)) for key in left_out])
        blocks.append(Words("", (Item("", say("squad.left_out", exercises=names)),)))
    measures = {one.overview.best.value.name for one in shown}
    tested = sum(bool(story.standings) for story in stories)
    return Sheet(
        language=wording.language.key,
        title=squad or say("squad.everybody"),
        subtitle=wording.language.count("squad.subtitle", len(stories), tested=tested),
        parts=(Part("", tuple(blocks)),),
        foot=(
            *progress_foot(wording, measures or {"peak_force"}),
            *cautions(shown, club, wording),
        ),
        footer_line=footer_line(wording, say("squad.kind"), today),
    )


def _chosen(
    stories: Sequence[AthleteStory],
) -> tuple[list[tuple[str, list[_Row]]], list[str]]:
    """Choose the exercises that most athletes were tested in, as many as the page holds.

    Of an athlete's hands and set-ups in one exercise the one with most tests stands for it.
    """
    by_exercise: dict[str, list[_Row]] = {}
    for story in stories:
        seen: set[str] = set()
        for standing in story.standings:  # most tests first
            if standing.like.exercise not in seen:
                seen.add(standing.like.exercise)
                row = _Row(story.athlete.name, standing)
                by_exercise.setdefault(standing.like.exercise, []).append(row)
    ordered = sorted(by_exercise.items(), key=lambda one: (-len(one[1]), one[0]))
    chosen: list[tuple[str, list[_Row]]] = []
    left_out: list[str] = []
    room = MOST_PT
    for exercise, rows in ordered:
        height_pt = HEAD_PT + sum(map(_height_pt, rows))
        if chosen and height_pt > room:
            left_out.append(exercise)
            continue
        chosen.append((exercise, sorted(rows, key=_rank)))
        room -= height_pt
    return chosen, left_out


def _height_pt(row: _Row) -> float:
    """Estimate how much room a row takes [pt]; a long name is broken."""
    return ROW_PT + LINE_PT * math.ceil(len(row.name) / NAME_LETTERS)


def _rank(row: _Row) -> tuple[bool, float]:
    """Order by the share of the change, the largest gain first, those without one last."""
    change = row.standing.overview.change
    return (True, 0.0) if change is None else (False, -change.percent)


def _table(exercise: str, rows: Sequence[_Row], club: Club, wording: Wording) -> Table:
    say = wording.language.say
    columns = (
        Column(say("table.athlete"), 3.4, Align.LEFT),
        Column(say("table.tests"), 0.9),
        Column(say("table.tests_drawn"), 1.4, Align.LEFT),
        Column(say("table.newest"), 1.8),
        Column(say("table.change"), 1.8),
        Column("", 1.5, Align.LEFT),
        Column(say("table.word"), 1.5, Align.LEFT),
        Column(say("table.form"), 1.5, Align.LEFT),
    )
    shown = _fitting(rows)
    span = change_span([row.standing for row in shown])
    cells = tuple(_cells(row, span, wording) for row in shown)
    heading = capital(punch_words(exercise, "", club, wording))
    notes = []
    if len(rows) > len(shown):
        notes.append(wording.language.count("squad.more_rows", len(rows) - len(shown)))
    return Table(heading, columns, cells, tuple(notes))


def _fitting(rows: Sequence[_Row]) -> list[_Row]:
    """Keep the rows that the page holds; those with the largest changes go first."""
    room, kept = MOST_PT - HEAD_PT, set()
    for row in sorted(rows, key=_size):
        room -= _height_pt(row)
        if room < 0.0:
            break
        kept.add(row.standing.like)
    return [row for row in rows if row.standing.like in kept]


def _size(row: _Row) -> tuple[bool, float]:
    """Order by how large the change is, whichever way, those without one last."""
    change = row.standing.overview.change
    return (True, 0.0) if change is None else (False, -abs(change.percent))


def _cells(row: _Row, span: float, wording: Wording) -> tuple[Cell, ...]:
    standing, say = row.standing, wording.language.say
    values = [score.value for score in standing.overview.run.scores]
    form = standing.overview.today
    return (
        row.name,
        str(len(values)),
        spark(values, say("squad.spark", name=row.name)),
        wording.estimate(measured(standing.newest), is_signed=False),
        *change_cells(standing, span, wording),
        wording.language.named("form_word", form.word.value),
    )


def _findings(
    stories: Sequence[AthleteStory],
    rows: Sequence[_Row],
    club: Club,
    wording: Wording,
    today: date,
) -> Findings:
    """Say by name who changed for real, who cannot be told, and whom to look at next."""
    say = wording.language.say
    groups: dict[str, list[str]] = {}
    several = len({row.standing.like.exercise for row in rows}) > 1
    for row in rows:
        like = row.standing.like
        name = row.name
        if several:
            exercise = punch_words(like.exercise, "", club, wording)
            name = say("squad.name_and_exercise", name=name, exercise=exercise)
        groups.setdefault(KINDS[row.standing.overview.heading], []).append(name)
        form, age = row.standing.overview.today, today - row.standing.newest.at.date()
        if form.word is Readiness.FLAT and age <= FORM_IS_OLD:
            groups.setdefault("flat", []).append(name)
        if form.word is Readiness.CANNOT_TELL:
            groups.setdefault("form_open", []).append(name)
    for story in stories:
        if not story.standings:
            groups.setdefault("never", []).append(story.athlete.name)
        elif today - max(s.newest.at.date() for s in story.standings) > UNTESTED:
            groups.setdefault("untested", []).append(story.athlete.name)

    def items(*kinds: str) -> tuple[Item, ...]:
        return tuple(
            Item(say(f"squad.{kind}"), _names(dict.fromkeys(groups[kind]), wording))
            for kind in kinds
            if kind in groups
        )

    return Findings(
        items("up", "down", "flat", "no_change"),
        items("likely_up", "likely_down", "cannot_tell", "form_open"),
        items("one_test", "never", "untested"),
    )


def _names(names: Iterable[str], wording: Wording) -> str:
    """List names, the first ones by name and the rest by number."""
    found = list(names)
    letters = [sum(map(len, found[: i + 1])) for i in range(len(found))]
    fitting = max(1, sum(one <= LISTED_LETTERS for one in letters))
    if fitting == len(found):
        return wording.listed(found) + "."
    listed = ", ".join(found[:fitting])
    return wording.language.count("squad.and_more", len(found) - fitting, names=listed)
