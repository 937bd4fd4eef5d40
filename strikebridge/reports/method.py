"""The foot of a page: how its numbers came about, and what to be careful with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.progress.score import BEST
from strikebridge.reports.naming import capital, standing_words
from strikebridge.reports.sheet import Item

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from strikebridge.reports.standing import Club, Standing
    from strikebridge.reports.wording import Wording

MOST_CAUTIONS = 4


def progress_foot(wording: Wording, measures: set[str]) -> tuple[Item, ...]:
    """Say how scores, changes and words came about.

    Args:
        wording: language.
        measures: names of the measures that are compared on the page.
    """
    say = wording.language.say
    what = wording.listed([say(f"measure.{name}") for name in sorted(measures)])
    return (
        Item(
            say("foot.method"),
            " ".join(
                (
                    say("foot.score", what=what, best=BEST),
                    say("foot.words"),
                    say("foot.error"),
                )
            ),
        ),
        *care(wording),
    )


def care(wording: Wording) -> tuple[Item, ...]:
    """Say what the numbers are not, and what the page is not."""
    say = wording.language.say
    return (Item(say("foot.care"), " ".join((say("foot.no_blow"), say("foot.informs")))),)


def cautions(standings: Sequence[Standing], club: Club, wording: Wording) -> tuple[Item, ...]:
    """Gather the cautions of a page, each once, with what it is about.

    Args:
        standings: what the page shows.
        club: names of exercises.
        wording: language.
    """
    about: dict[str, list[str]] = {}
    for standing in standings:
        for words in map(wording.language.reason, standing.cautions):
            names = about.setdefault(words, [])
            name = standing_words(standing, club, wording)
            if name not in names:
                names.append(name)
    everything = len({standing_words(one, club, wording) for one in standings})
    items = [
        Item("" if len(names) == everything else f"{capital(wording.listed(names))}:", words)
        for words, names in about.items()
    ]
    if len(items) > MOST_CAUTIONS:
        more = len(items) - MOST_CAUTIONS + 1
        words = wording.language.count("caution.more", more)
        items = [*items[: MOST_CAUTIONS - 1], Item("", words)]
    if items:
        items[0] = Item(
            f"{wording.language.say('foot.cautions')} {items[0].lead}".strip(), items[0].text
        )
    return tuple(items)


def footer_line(wording: Wording, kind: str, today: date) -> str:
    """Write the line at the bottom of every page.

    Args:
        wording: language.
        kind: what page it is.
        today: day it is made.
    """
    return wording.language.say("foot.line", kind=kind, day=wording.day(today))
