"""The page of an athlete: what is real, what cannot be told, what next; then the numbers."""

from __future__ import annotations

from statistics import fmean, median
from typing import TYPE_CHECKING

from strikebridge.progress.estimate import Word, spread_interval
from strikebridge.progress.score import measured
from strikebridge.progress.trend import WEEK_DAYS
from strikebridge.progress.worthwhile import per_body_mass
from strikebridge.reports.findings import beside, findings
from strikebridge.reports.method import cautions, footer_line, progress_foot
from strikebridge.reports.naming import capital, setup_words, standing_words
from strikebridge.reports.pictures import Course, Point, change_bar, trend
from strikebridge.reports.sheet import Align, Column, Part, Pictures, Sheet, Table
from strikebridge.reports.wording import NOTHING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from strikebridge.reports.sheet import Block, Cell
    from strikebridge.reports.standing import AthleteStory, Club, Standing
    from strikebridge.reports.wording import Wording

MOST_PICTURES = 4
MOST_ROWS = 10
PICTURE_PT = (252.0, 96.0)
SPAN_SHARE = 1.15  # of the largest change with its interval, for the bars beside it


def athlete_page(story: AthleteStory, club: Club, wording: Wording, today: date) -> Sheet:
    """Make the page of an athlete.

    Args:
        story: what is known.
        club: names of exercises.
        wording: language and unit.
        today: day it is made.

    Returns:
        One page.
    """
    blocks: list[Block] = [beside(findings(story, club, wording, today), wording)]
    shown = story.standings[:MOST_ROWS]
    measures = {standing.overview.best.value.name for standing in shown}
    if shown:
        blocks += [_pictures(shown, club, wording), _table(story, club, wording)]
    return Sheet(
        language=wording.language.key,
        title=story.athlete.name,
        subtitle=_subtitle(story, wording),
        parts=(Part("", tuple(blocks)),),
        foot=(
            *progress_foot(wording, measures or {"peak_force"}),
            *cautions(shown, club, wording),
        ),
        footer_line=footer_line(wording, wording.language.say("athlete.kind"), today),
    )


def course_of(standing: Standing, title: str) -> Course:
    """Make the trend picture's values of one exercise.

    Args:
        standing: the exercise.
        title: its name.

    Returns:
        Tests, the robust line through them (their mean where there are two), and the band.
    """
    run, slope = standing.overview.run, standing.overview.trend
    values = [score.value for score in run.scores]
    ends = None
    if slope is not None:
        a_day = slope.value / WEEK_DAYS
        start = median(v - a_day * day for v, day in zip(values, run.days, strict=True))
        ends = (start, start + a_day * run.days[-1])
    elif len(values) > 1:
        ends = (fmean(values), fmean(values))
    points = tuple(
        Point(score.at, score.value, measured(score).u95, score.session in standing.bouts)
        for score in run.scores
    )
    return Course(title, points, ends, standing.overview.error.share * fmean(values))


def varies_words(standing: Standing, wording: Wording) -> str:
    """Say between what shares of the level the typical error lies (95 %).

    Args:
        standing: one exercise.
        wording: language.

    Returns:
        Such as `3 to 7 %`.
    """
    error = standing.overview.error
    low, high = (100.0 * one for one in spread_interval(error.share, error.dof))
    decimals = 1 if high < 3.0 else 0
    return wording.language.say(
        "table.from_to", low=wording.tick(low, decimals), high=wording.tick(high, decimals)
    )


def change_cells(standing: Standing, span: float, wording: Wording) -> tuple[Cell, Cell, Cell]:
    """Write a change: number, picture, word; dashes where there is nothing to compare.

    Args:
        standing: one exercise.
        span: change that the ends of the picture stand for, in the unit of the scores.
        wording: language and unit.
    """
    change = standing.overview.change
    if change is None:
        return NOTHING, NOTHING, wording.language.say("word.one_test")
    words = wording.estimate(change.estimate)
    bar = change_bar(
        change.estimate.value,
        change.estimate.u95,
        span,
        words,
        is_real=change.word is Word.REAL,
    )
    return words, bar, wording.language.named("word", standing.overview.heading.value)


def change_span(standings: Sequence[Standing]) -> float:
    """Find what the ends of the pictures of changes stand for, in the unit of the scores."""
    reach = [
        abs(one.overview.change.estimate.value) + one.overview.change.estimate.u95
        for one in standings
        if one.overview.change is not None
    ]
    return SPAN_SHARE * max(reach, default=1.0)


def _subtitle(story: AthleteStory, wording: Wording) -> str:
    say, athlete = wording.language.say, story.athlete
    parts = [say(f"stance.{athlete.stance.value}"), *athlete.groups]
    days = [score.at for one in story.standings for score in one.overview.run.scores]
    if days:
        sessions = len({s.session for one in story.standings for s in one.overview.run.scores})
        counted = wording.language.count("athlete.sessions", sessions)
        first, last = wording.day(min(days)), wording.day(max(days))
        key = "athlete.period" if first != last else "athlete.one_day"
        parts.append(say(key, sessions=counted, first=first, last=last))
    return " · ".join(parts)


def _pictures(shown: Sequence[Standing], club: Club, wording: Wording) -> Pictures:
    """Draw those tested most; one alone takes the whole width."""
    chosen = shown[:MOST_PICTURES]
    width_pt, height_pt = PICTURE_PT
    if len(chosen) == 1:
        width_pt = 2.0 * width_pt + 10.0
    days = [score.at for one in chosen for score in one.overview.run.scores]
    drawings = tuple(
        trend(
            course_of(one, capital(standing_words(one, club, wording))),
            wording,
            (min(days), max(days)),
            (width_pt, height_pt),
        )
        for one in chosen
    )
    say = wording.language.say
    caption = say("athlete.caption")
    if any(one.bouts for one in chosen):
        caption = f"{caption} {say('athlete.bouts')}"
    return Pictures(say("athlete.pictures"), drawings, caption)


def _table(story: AthleteStory, club: Club, wording: Wording) -> Table:
    say, shown = wording.language.say, story.standings[:MOST_ROWS]
    columns = (
        Column(say("table.exercise"), 2.8, Align.LEFT),
        Column(say("table.tests"), 1.0),
        Column(say("table.best"), 2.0),
        Column(say("table.newest"), 2.0),
        Column(say("table.change"), 1.9),
        Column("", 1.5, Align.LEFT),
        Column(say("table.word"), 1.4, Align.LEFT),
        Column(say("table.a_week"), 2.3),
        Column(say("table.varies"), 1.6),
    )
    span = change_span(shown)
    rows = []
    for one in shown:
        slope = one.overview.trend
        rows.append(
            (
                capital(standing_words(one, club, wording)),
                str(len(one.overview.run.scores)),
                wording.measure(one.overview.best.value),
                wording.estimate(measured(one.newest), is_signed=False),
                *change_cells(one, span, wording),
                NOTHING
                if slope is None
                else wording.force(slope.value, slope.u95, is_signed=True),
                varies_words(one, wording),
            )
        )
    return Table(say("athlete.table"), columns, tuple(rows), _notes(story, club, wording))


def _notes(story: AthleteStory, club: Club, wording: Wording) -> tuple[str, ...]:
    """Say what is below the table: what was left out, and strength per body mass."""
    notes = []
    more = len(story.standings) - MOST_ROWS
    if more > 0:
        notes.append(wording.language.count("athlete.left_out", more))
    notes += [
        wording.language.say(
            "athlete.setup",
            exercise=capital(standing_words(one, club, wording)),
            setup=setup_words(one.setup, wording),
        )
        for one in story.standings[:MOST_ROWS]
        if one.letter
    ]
    main = story.standings[0]
    weighings = [(one.weighed_on, one.mass_kg) for one in story.athlete.masses]
    times = per_body_mass(measured(main.newest), main.newest.at.date(), weighings)
    if times is not None:
        notes.append(
            wording.language.say(
                "athlete.body_mass",
                exercise=standing_words(main, club, wording),
                times=wording.body_weights(times),
            )
        )
    return tuple(notes)
