"""On the page of the athletes: a stop for pain of today that was a slip, taken back.

It is asked once, by the names of athlete and exercise. What it takes back stays on record.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from strikebridge.day_stops import newest_stop, stopped_today, take_back_stop, taken_back_today
from strikebridge.pages.sheet import SideWords

if TYPE_CHECKING:
    from strikebridge.club.athlete import Athlete
    from strikebridge.store.database import Store

SLIP_KEY = "P"
NONE_TODAY = "Nothing of {name} was stopped for pain today."
ASKED = (
    "{key} again: the stop for pain of {name} at {exercise} ({time}) was a slip, and it may go "
    "on today. Any other key: no."
)
TAKEN_BACK = (
    "The stop for pain of {name} at {exercise} is taken back, and stays on record as that. It "
    "comes again in the next session, or in one that is taken up again."
)


class PainSlips:
    """Ask for a stop for pain that was a slip, and take it back."""

    def __init__(self, store: Store) -> None:
        """Ask nothing yet.

        Args:
            store: the database.
        """
        self._store = store
        self._asked: tuple[str, str] | None = None  # athlete and exercise

    def has_stop(self, who: Athlete) -> bool:
        """Say whether anything was stopped for pain today.

        Args:
            who: the athlete.
        """
        return bool(stopped_today(self._store, who.id, _now()))

    def side(self, who: Athlete) -> tuple[SideWords, ...]:
        """Say what was stopped today, and what of it was taken back.

        Args:
            who: the athlete.
        """
        now = _now()
        said = [
            f"Stopped for pain today at {one.at:%H:%M}: {one.name}."
            for one in stopped_today(self._store, who.id, now)
        ]
        said += [
            f"A stop for pain at {one.exercise.replace('-', ' ')} "
            f"({one.stopped_at.astimezone():%H:%M}) was taken back at "
            f"{one.lifted_at.astimezone():%H:%M}."
            for one in taken_back_today(self._store, who.id, now)
        ]
        return tuple(SideWords(words) for words in said)

    def press(self, who: Athlete) -> str:
        """Ask for the newest stop of today, or take back the one that was asked for.

        Args:
            who: the chosen athlete.

        Returns:
            What to say of it.

        Raises:
            StoreError: the database cannot be used.
        """
        now, asked = _now(), self._asked
        self._asked = None
        newest = newest_stop(self._store, who.id, now)
        if newest is None:
            return NONE_TODAY.format(name=who.name)
        if asked != (who.id, newest.exercise):
            self._asked = (who.id, newest.exercise)
            return ASKED.format(
                key=SLIP_KEY, name=who.name, exercise=newest.name, time=f"{newest.at:%H:%M}"
            )
        take_back_stop(self._store, who.id, newest.exercise, now)
        return TAKEN_BACK.format(name=who.name, exercise=newest.name)

    def forget(self) -> None:
        """Take any other key as no."""
        self._asked = None


def _now() -> datetime:
    return datetime.now().astimezone()
