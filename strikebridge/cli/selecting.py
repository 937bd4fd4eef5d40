"""Options that say which reps on record are meant."""

from __future__ import annotations

import difflib
import functools
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

import click

from strikebridge.club.athlete import Hand
from strikebridge.club.rig_setup import RigSetup
from strikebridge.club.selection import Selection
from strikebridge.opening import known_exercises

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.store.database import Store

R = TypeVar("R")

NOT_NOTED = "none"  # as a coach types it, for reps without a noted set-up


def _day(context: click.Context, option: click.Parameter, word: str | None) -> date | None:
    """Read a day as 2026-03-01."""
    try:
        return None if word is None else date.fromisoformat(word)
    except ValueError as error:
        said = f"{word} is no day; write it as 2026-03-01."
        raise click.BadParameter(said, context, option) from error


@dataclass(frozen=True, slots=True)
class Asked:
    """What the options said; None where nothing.

    Attributes:
        exercise: key of the exercise.
        hand: `left` or `right`.
        setup: key of the set-up, or `none`.
        since: first day.
        until: last day.
    """

    exercise: str | None = None
    hand: str | None = None
    setup: str | None = None
    since: date | None = None
    until: date | None = None


def selection_options(command: Callable[..., R]) -> Callable[..., R]:
    """Add `--exercise`, `--hand`, `--setup`, `--since` and `--until`; they come as `asked`.

    Args:
        command: takes `asked`, an `Asked`, and its other parameters.

    Returns:
        The command with the options.
    """

    @functools.wraps(command)
    def with_asked(
        *,
        exercise: str | None,
        hand: str | None,
        setup: str | None,
        since: date | None,
        until: date | None,
        **others: object,
    ) -> R:
        return command(asked=Asked(exercise, hand, setup, since, until), **others)

    for option in (
        click.option("--until", callback=_day, help="Last day, as 2026-03-01."),
        click.option("--since", callback=_day, help="First day, as 2026-03-01."),
        click.option(
            "--setup", help=f"Only this set-up, by its key; {NOT_NOTED} where none was noted."
        ),
        click.option(
            "--hand", type=click.Choice([hand.value for hand in Hand]), help="Only this hand."
        ),
        click.option("--exercise", help="Only this exercise, such as rear-straight."),
    ):
        with_asked = option(with_asked)
    return with_asked


def selection_of(asked: Asked, store: Store) -> Selection:
    """Make the selection of what was asked for; days are those of this computer's zone.

    Args:
        asked: what the options said.
        store: the database, which has the coach's own exercises.

    Raises:
        click.UsageError: the last day comes before the first, or there is no such exercise.
        StoreError: the database cannot be read.
    """
    known = known_exercises(store)
    if asked.exercise is not None and asked.exercise not in known:
        near = difflib.get_close_matches(asked.exercise, known, n=3)
        advice = f" Did you mean {', '.join(near)}?" if near else ""
        raise click.UsageError(f"There is no exercise {asked.exercise!r}.{advice}")
    if asked.since is not None and asked.until is not None and asked.until < asked.since:
        raise click.UsageError("--until comes before --since.")
    return Selection(
        exercise=asked.exercise,
        hand=None if asked.hand is None else Hand(asked.hand),
        setup=RigSetup().key if asked.setup == NOT_NOTED else asked.setup,
        since=None if asked.since is None else _begin_of(asked.since),
        until=None if asked.until is None else _begin_of(asked.until + timedelta(days=1)),
    )


def _begin_of(day: date) -> datetime:
    return datetime(day.year, day.month, day.day).astimezone()
