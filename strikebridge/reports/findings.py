"""What a page says first: what is real, what cannot be told, what comes next.

Every sentence about a number carries it with its ±. What comes next is about testing and
looking, never a prescription of training: that is the coach's.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from strikebridge.progress.cue import FEWEST_PAIRS
from strikebridge.progress.estimate import Word
from strikebridge.progress.heading import Heading
from strikebridge.progress.readiness import FEWEST_TESTS, Readiness
from strikebridge.progress.score import BEST, measured
from strikebridge.progress.sides import SESSIONS_TO_TELL
from strikebridge.progress.typical_error import DEFAULT_SHARE, ErrorSource
from strikebridge.reports.naming import capital, punch_words, standing_words
from strikebridge.reports.sheet import Beside, Item, Words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from strikebridge.progress.change import Change
    from strikebridge.progress.cue import CueEffect
    from strikebridge.reports.standing import AthleteStory, Club, Sides, Standing
    from strikebridge.reports.wording import Wording

MOST_ITEMS = 5  # of each kind; more is not read, and the table has them all
FORM_IS_OLD = timedelta(days=7)  # our own convention: then it says nothing of today
UNTESTED = timedelta(days=21)
KINDS = {
    Heading.UP: "up",
    Heading.FADING: "down",
    Heading.FLAT: "no_change",
    Heading.LIKELY_UP: "likely_up",
    Heading.LIKELY_FADING: "likely_down",
    Heading.CANNOT_TELL: "cannot_tell",
    Heading.TOO_FEW: "one_test",
}
"""Where an athlete is heading -> key of what is said of it."""
SHOWN = (Heading.UP, Heading.FADING, Heading.FLAT)
"""What the numbers show; everything else is open."""


@dataclass(frozen=True, slots=True)
class Findings:
    """Sentences of the three kinds, the weightiest first.

    Attributes:
        real: what can be relied on.
        unsure: what cannot be told.
        following: what to do next about it.
    """

    real: tuple[Item, ...]
    unsure: tuple[Item, ...]
    following: tuple[Item, ...]


def findings(story: AthleteStory, club: Club, wording: Wording, today: date) -> Findings:
    """Sort what is known of an athlete into the three kinds.

    Args:
        story: what is known.
        club: names of exercises.
        wording: language and unit.
        today: day of the page.
    """
    real: list[Item] = []
    unsure: list[Item] = []
    if not story.standings:
        unsure.append(Item("", wording.language.say("findings.nothing")))
    for standing in story.standings:
        item, is_real = _of_change(standing, club, wording)
        (real if is_real else unsure).append(item)
    for standing in story.standings:
        form = _of_form(standing, club, wording, today)
        if form is not None:
            real.append(form)
    for sides in story.sides:
        (real if sides.is_real else unsure).append(_of_sides(sides, club, wording))
    for standing in story.standings:
        for cue in standing.overview.cues:
            if cue.effect is not None:
                is_real = cue.word is Word.REAL
                (real if is_real else unsure).append(_of_cue(cue, wording))
    following = list(dict.fromkeys(_next(story, club, wording, today)))
    return Findings(tuple(real), tuple(unsure), tuple(following))


def beside(found: Findings, wording: Wording, family: str = "findings") -> Beside:
    """Set the three kinds beside each other, each cut to what is read.

    Args:
        found: the sentences.
        wording: language.
        family: where the headings of the three stand.
    """
    say = wording.language.say
    columns = (
        (f"{family}.real", found.real),
        (f"{family}.unsure", found.unsure),
        (f"{family}.next", found.following),
    )
    return Beside(
        tuple(
            Words(
                say(f"{key}.heading"), _cut(items, wording) or (Item("", say(f"{key}.none")),)
            )
            for key, items in columns
        )
    )


def _cut(items: Sequence[Item], wording: Wording) -> tuple[Item, ...]:
    """Keep the first ones and say how many more there are."""
    if len(items) <= MOST_ITEMS:
        return tuple(items)
    more = len(items) - MOST_ITEMS + 1
    return (*items[: MOST_ITEMS - 1], Item("", wording.language.count("findings.more", more)))


def _of_change(standing: Standing, club: Club, wording: Wording) -> tuple[Item, bool]:
    """Say what became of one exercise, and whether that is real."""
    say, lead = wording.language.say, _lead(standing, club, wording)
    scores, change = standing.overview.run.scores, standing.overview.change
    if change is None:
        now = wording.estimate(measured(standing.newest), is_signed=False)
        return Item(lead, say("change.one_test", now=now)), False
    heading = standing.overview.heading
    words = say(
        f"change.{KINDS[heading]}",
        change=_change_words(change, wording),
        since=wording.day(scores[0].at),
    )
    return Item(lead, words), heading in SHOWN


def _change_words(change: Change, wording: Wording) -> str:
    """Write a change; where a word says its way, without a sign."""
    estimate = change.estimate
    if change.word is Word.REAL:
        return wording.force(abs(estimate.value), estimate.u95)
    return wording.estimate(estimate)


def _of_form(standing: Standing, club: Club, wording: Wording, today: date) -> Item | None:
    """Say that an athlete is ready or flat, where that is known and not old."""
    form, day = standing.overview.today, standing.newest.at.date()
    if form.change is None or form.word is Readiness.CANNOT_TELL:
        return None
    if today - day > FORM_IS_OLD:
        return None
    key = "form.flat" if form.word is Readiness.FLAT else "form.ready"
    words = wording.language.say(
        key, day=wording.day(day), change=wording.estimate(form.change)
    )
    return Item(_lead(standing, club, wording), words)


def _of_sides(sides: Sides, club: Club, wording: Wording) -> Item:
    lead = wording.exercise(sides.lead, club.names.get(sides.lead))
    rear = wording.exercise(sides.rear, club.names.get(sides.rear))
    say = wording.language.say
    if sides.is_real:
        key = "sides.lead" if sides.percent > 0.0 else "sides.rear"
    else:
        key = "sides.unsure" if sides.sessions >= SESSIONS_TO_TELL else "sides.once"
    percent = wording.number(
        abs(sides.percent) if sides.is_real else sides.percent,
        sides.u95_percent,
        "%",
        is_signed=not sides.is_real,
    )
    sessions = wording.language.count("sides.sessions", sides.sessions)
    heading = say("sides.between", lead=lead, rear=rear)
    return Item(f"{capital(heading)}:", say(key, percent=percent, sessions=sessions))


def _of_cue(cue: CueEffect, wording: Wording) -> Item:
    effect = cue.effect
    if effect is None:
        raise ValueError("This cue has no verdict.")
    kind = {Word.REAL: "real", Word.LIKELY: "likely", Word.CANNOT_TELL: "chance"}[cue.word]
    say = wording.language.say
    return Item(
        say("cue.lead", cue=cue.cue), say(f"cue.{kind}", effect=wording.estimate(effect))
    )


def _next(story: AthleteStory, club: Club, wording: Wording, today: date) -> Iterator[Item]:
    """Say what to test, note or try next."""
    say = wording.language.say
    if not story.standings:
        yield Item("", say("next.first_test", reps=BEST))
        return
    newest = max(standing.newest.at.date() for standing in story.standings)
    if today - newest > UNTESTED:
        yield Item("", say("next.untested", day=wording.day(newest)))
    for standing in story.standings:
        yield from _next_tests(standing, _lead(standing, club, wording), wording)
    yield from _next_setups(story, club, wording)
    for standing in story.standings:
        yield from _next_cues(standing, wording)
    sources = {standing.overview.error.source for standing in story.standings}
    if sources & {ErrorSource.ASSUMED, ErrorSource.OWN_AND_ASSUMED}:
        share = wording.tick(100.0 * DEFAULT_SHARE)
        yield Item("", say("next.assumed_error", share=share))
    main = story.standings[0]
    if main.overview.change is not None:
        least = wording.force(main.overview.change.least_real)
        yield Item(_lead(main, club, wording), say("next.keep_on", least=least))


def _next_tests(standing: Standing, lead: str, wording: Wording) -> Iterator[Item]:
    """Ask for the tests that are missing for a comparison, or for a word on the day."""
    say, one = wording.language.say, standing.overview
    if one.change is None:
        yield Item(lead, say("next.again"))
    elif one.today.change is None:
        missing = FEWEST_TESTS - one.today.tests
        words = wording.language.count("next.more_for_form", missing, have=one.today.tests)
        yield Item(lead, words)
    elif one.today.word is Readiness.FLAT:
        yield Item(lead, say("next.flat"))
    if one.run.tries < BEST:
        yield Item(lead, say("next.more_reps", reps=BEST))


def _next_cues(standing: Standing, wording: Wording) -> Iterator[Item]:
    """Ask for cues that were given too seldom to tell their effect."""
    for cue in standing.overview.cues:
        if cue.effect is None and cue.cued < FEWEST_PAIRS:
            lead = wording.language.say("cue.lead", cue=cue.cue)
            yield Item(lead, wording.language.count("next.cue", FEWEST_PAIRS - cue.cued))


def _lead(standing: Standing, club: Club, wording: Wording) -> str:
    """Say what a sentence is about."""
    return f"{capital(standing_words(standing, club, wording))}:"


def _next_setups(story: AthleteStory, club: Club, wording: Wording) -> Iterator[Item]:
    """Ask for one set-up where the same punch was tested at several."""
    setups: dict[tuple[str, str], set[str | None]] = {}
    for standing in story.standings:
        like = standing.like
        setups.setdefault((like.exercise, like.hand), set()).add(like.setup)
    for (exercise, hand), keys in setups.items():
        if len(keys) > 1:
            lead = f"{capital(punch_words(exercise, hand, club, wording))}:"
            yield Item(lead, wording.language.say("next.one_setup", n=len(keys)))
