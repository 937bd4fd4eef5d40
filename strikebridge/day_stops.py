"""A stop for pain holds for the day: what it closes in the sessions after it, and what is said.

The next day the exercise is free again; a note at the athlete's turn says what was stopped. One
that was pressed by a slip can be taken back later that day; it stays on record, marked.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from strikebridge.club.training import ClosedTurn, Closing
from strikebridge.session.chase import day_words
from strikebridge.session.exercises import with_own
from strikebridge.store.exercises import OwnExercises
from strikebridge.store.past import History
from strikebridge.store.stops import Stops
from strikebridge.store.training import Training

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date, datetime

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.exercise import Exercise
    from strikebridge.session.turns import Turn
    from strikebridge.store.database import Store
    from strikebridge.store.stops import Lifted

SEE_SOMEONE = "See someone qualified before it is tried again."
NOTED_DAYS = 14  # how long a stop is brought to mind; our own convention


@dataclass(frozen=True, slots=True)
class DayStops:
    """What stops for pain mean for a session.

    Attributes:
        today: a sentence for each athlete and exercise that stays closed today.
        notes: id of an athlete -> what to be reminded of at each turn.
    """

    today: tuple[str, ...] = ()
    notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Stopped:
    """An exercise that is closed for an athlete today.

    Attributes:
        exercise: key of the exercise.
        name: its name.
        at: when it was stopped, with its zone.
    """

    exercise: str
    name: str
    at: datetime


def stopped_today(store: Store, athlete: str, now: datetime) -> tuple[Stopped, ...]:
    """Say what is closed for an athlete for the rest of the day.

    Args:
        store: the database.
        athlete: id of the athlete.
        now: this moment, with its zone; it says which day it is.

    Returns:
        Each exercise once, as it was stopped first, in the order of the stops.

    Raises:
        StoreError: the database cannot be read.
    """
    names = with_own(OwnExercises(store).all())
    found: dict[str, Stopped] = {}
    for one in History(store).stops_for_pain(_begin_of(now)):
        if one.athlete == athlete and one.exercise not in found:
            named = names.get(one.exercise)
            name = one.exercise.replace("-", " ") if named is None else named.name
            at = one.closed_at.astimezone(now.tzinfo)
            found[one.exercise] = Stopped(one.exercise, name, at)
    return tuple(found.values())


def newest_stop(store: Store, athlete: str, now: datetime) -> Stopped | None:
    """Say what was closed last of what is closed for an athlete today.

    Args:
        store: the database.
        athlete: id of the athlete.
        now: this moment, with its zone; it says which day it is.

    Raises:
        StoreError: the database cannot be read.
    """
    return max(stopped_today(store, athlete, now), key=lambda one: one.at, default=None)


def take_back_stop(store: Store, athlete: str, exercise: str, now: datetime) -> bool:
    """Take back a stop for pain of today, whichever session it was pressed in.

    Args:
        store: the database.
        athlete: id of the athlete.
        exercise: key of the exercise.
        now: this moment, with its zone; it says which day it is.

    Returns:
        False where there was none.

    Raises:
        StoreError: the database cannot be written.
    """
    return Stops(store).lift(athlete, exercise, _begin_of(now), now) > 0


def taken_back_today(store: Store, athlete: str, now: datetime) -> tuple[Lifted, ...]:
    """List the stops of an athlete that were taken back today.

    Args:
        store: the database.
        athlete: id of the athlete.
        now: this moment, with its zone; it says which day it is.

    Raises:
        StoreError: the database cannot be read.
    """
    return Stops(store).lifted(athlete, _begin_of(now))


def _begin_of(now: datetime) -> datetime:
    return now.replace(hour=0, minute=0, second=0, microsecond=0)


def keep_stops(
    store: Store,
    session: str,
    turns: Sequence[Turn],
    people: Mapping[str, Athlete],
    now: datetime,
) -> DayStops:
    """Close the turns of a session whose exercise was stopped for pain earlier this day.

    Args:
        store: the database.
        session: id of the session, which stands there.
        turns: every turn of it.
        people: id -> athlete, everybody of the session.
        now: this moment, with its zone; it says which day it is.

    Returns:
        What is to be said of it.

    Raises:
        StoreError: the database cannot be used.
    """
    training = Training(store)
    newest: dict[tuple[str, str], date] = {}
    for one in History(store).stops_for_pain(now - timedelta(days=NOTED_DAYS)):
        day = one.closed_at.astimezone(now.tzinfo).date()
        newest[one.athlete, one.exercise] = day
    point = training.resume_point(session)
    over = point.done | set(point.closed)
    held: dict[tuple[str, str], Exercise] = {}
    for turn in turns:
        key = turn.task
        if newest.get(key) != now.date():
            continue
        held[key] = turn.exercise
        if turn.number not in over:
            training.close_turn(ClosedTurn(session, turn.number, *key, Closing.PAIN, now))
    names = {turn.exercise.key: turn.exercise.name for turn in turns}
    notes: dict[str, tuple[str, ...]] = {}
    for (athlete, exercise), day in newest.items():
        said = _note(names.get(exercise, exercise.replace("-", " ")), day, now.date())
        notes[athlete] = (*notes.get(athlete, ()), said)
    today = tuple(
        f"{people[athlete].name}, {exercise.name}: stopped for pain today, and left out."
        for (athlete, _), exercise in held.items()
    )
    return DayStops(today, notes)


def _note(exercise: str, day: date, today: date) -> str:
    """Say when what was stopped, such as `Stopped for pain at rear straight today.`."""
    when = "today" if day == today else f"on {day_words(day, today)}"
    return f"Stopped for pain at {exercise} {when}."
