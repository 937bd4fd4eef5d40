"""Squad board and athlete pages as a coach goes through them: filters, order, choice; no Qt.

Forward (Space, PageDown) goes into the chosen athlete and on through the exercises; back
(PageUp) goes down the board, and from an athlete back to it. So a presenter clicker is enough.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from strikebridge.club.athlete import Hand
from strikebridge.screens.progress_source import WEEKS, Filters, Source
from strikebridge.screens.report_desk import ReportOf, Wanted
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from strikebridge.club.athlete import Athlete
    from strikebridge.records import Camp, Standing

T = TypeVar("T")


class Order(StrEnum):
    """What the board is sorted by."""

    NAME = "name"
    NOW = "force now"
    CHANGE = "change"
    SESSIONS = "sessions"


class ProgressView:
    """Where the coach is, and what is to be shown there.

    Attributes:
        filters: what is looked at.
        order: what the board is sorted by.
        unit: unit that is shown.
        found: what there is.
        chosen: index of the chosen row.
        camp: all exercises of one athlete, None on the board.
        place: which of them is shown.
        is_over: True once the coach has left.
    """

    def __init__(self, source: Source, unit: ForceUnit = ForceUnit.KG) -> None:
        """Begin on the board.

        Args:
            source: where everything comes from.
            unit: unit that is shown at first.
        """
        self._source = source
        self.filters = Filters()
        self.order = Order.NAME
        self.unit = unit
        self.found = source.board(self.filters)
        self.chosen = 0
        self.camp: Camp | None = None
        self.place = 0
        self.is_over = False

    @property
    def rows(self) -> list[Standing]:
        """The rows of the board in their order."""
        names = self.found.athletes
        standings = sorted(
            self.found.board.standings,
            key=lambda one: names[one.like.athlete].name.casefold(),
        )
        if self.order is Order.NOW:
            standings.sort(key=lambda one: -one.overview.best_three.value)
        elif self.order is Order.CHANGE:
            standings.sort(key=_change_rank)
        elif self.order is Order.SESSIONS:
            standings.sort(key=lambda one: -one.overview.sessions)
        return standings

    @property
    def shown(self) -> Standing | None:
        """What the athlete page shows, None on the board or without any rep."""
        if self.camp is None or not self.camp.standings:
            return None
        return self.camp.standings[self.place % len(self.camp.standings)]

    @property
    def athlete(self) -> Athlete | None:
        """Whose page is shown, None on the board."""
        shown = self.shown
        return None if shown is None else self.found.athletes[shown.like.athlete]

    @property
    def wanted(self) -> Wanted | None:
        """What a report would be of: the athlete shown, or the squad; None without any rep."""
        if self.camp is None:
            is_any = bool(self.found.board.standings)
            return Wanted(ReportOf.SQUAD, self.unit, "", self.filters) if is_any else None
        athlete = self.athlete
        if athlete is None:
            return None
        return Wanted(ReportOf.ATHLETE, self.unit, athlete.id, self.filters)

    def press(self, key: str) -> bool:
        """Hear a key.

        Args:
            key: its name.

        Returns:
            True if it means something here.
        """
        does = self._everywhere(key) or (
            self._on_board(key) if self.camp is None else self._on_page(key)
        )
        if does is not None:
            does()
        return does is not None

    def _everywhere(self, key: str) -> Callable[[], None] | None:
        return {"U": self._next_unit, "T": self._next_weeks}.get(key)

    def _on_board(self, key: str) -> Callable[[], None] | None:
        return {
            "Space": self._enter,
            "PgDown": self._enter,
            "Return": self._enter,
            "Enter": self._enter,
            "PgUp": lambda: self._choose(+1),
            "Down": lambda: self._choose(+1),
            "Up": lambda: self._choose(-1),
            "E": self._next_exercise,
            "H": self._next_hand,
            "S": self._next_setup,
            "O": self._next_order,
            "Esc": self._leave,
            "B": self._leave,
            ".": self._leave,
        }.get(key)

    def _on_page(self, key: str) -> Callable[[], None] | None:
        return {
            "Space": lambda: self._turn(+1),
            "PgDown": lambda: self._turn(+1),
            "Right": lambda: self._turn(+1),
            "Down": lambda: self._turn(+1),
            "Left": lambda: self._turn(-1),
            "Up": lambda: self._turn(-1),
            "PgUp": self._to_board,
            "Esc": self._to_board,
            "B": self._to_board,
            ".": self._to_board,
        }.get(key)

    def _choose(self, step: int) -> None:
        count = len(self.found.board.standings)
        self.chosen = (self.chosen + step) % count if count else 0

    def _enter(self) -> None:
        rows = self.rows
        if rows:
            like = rows[self.chosen].like
            self.camp = self._source.athlete(like.athlete, self.filters)
            likes = [one.like for one in self.camp.standings]
            self.place = likes.index(like) if like in likes else 0

    def _turn(self, step: int) -> None:
        if self.camp is not None and self.camp.standings:
            self.place = (self.place + step) % len(self.camp.standings)

    def _to_board(self) -> None:
        self.camp = None

    def _leave(self) -> None:
        self.is_over = True

    def _next_unit(self) -> None:
        self.unit = _after(tuple(ForceUnit), self.unit)

    def _next_order(self) -> None:
        self.order, self.chosen = _after(tuple(Order), self.order), 0

    def _next_exercise(self) -> None:
        keys = tuple(self.found.exercises)
        if keys:
            now = self._exercise
            exercise = _after(keys, now) if now in keys else keys[0]
            self._look(replace(self.filters, exercise=exercise, setup=None))

    @property
    def _exercise(self) -> str | None:
        standings = self.found.board.standings
        return standings[0].like.exercise if standings else self.filters.exercise

    def _next_hand(self) -> None:
        hand = _after((None, *Hand), self.filters.hand)
        self._look(replace(self.filters, exercise=self._exercise, hand=hand))

    def _next_setup(self) -> None:
        setup = _after((None, *self.found.setups), self.filters.setup)
        self._look(replace(self.filters, exercise=self._exercise, setup=setup))

    def _next_weeks(self) -> None:
        filters = replace(self.filters, weeks=_after(WEEKS, self.filters.weeks))
        athlete = self.athlete
        shown = self.shown
        self._look(replace(filters, exercise=self._exercise))
        if athlete is not None:
            self.camp = self._source.athlete(athlete.id, self.filters)
            likes = [one.like for one in self.camp.standings]
            is_there = shown is not None and shown.like in likes
            self.place = likes.index(shown.like) if shown is not None and is_there else 0

    def _look(self, filters: Filters) -> None:
        self.filters, self.chosen = filters, 0
        self.found = self._source.board(filters)


def _change_rank(standing: Standing) -> tuple[bool, float]:
    """Put the largest gain first, and those without a change last."""
    change = standing.overview.change
    return change is None, 0.0 if change is None else -change.percent


def _after(all_of: Sequence[T], now: T) -> T:
    """Give what comes after, round the end; the first where it is not among them."""
    if now not in all_of:
        return all_of[0]
    return all_of[(list(all_of).index(now) + 1) % len(all_of)]
