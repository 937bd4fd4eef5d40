"""What the start page says of athletes, plan and session, and the pages these rows lead to.

The database and its library are opened late: the start page is painted first, and says until
then that the roster is being looked up.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from strikebridge.cli.options import data_folder
from strikebridge.errors import PlanError, StrikebridgeError
from strikebridge.screens.sheet_app import run_pages
from strikebridge.screens.start_model import Lead, Row, Standing
from strikebridge.store.place import FILE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from strikebridge.club.athlete import Athlete
    from strikebridge.pages.caution import Caution
    from strikebridge.pages.sheet import ClubPage
    from strikebridge.screens.app import WindowOptions
    from strikebridge.session.choice import Choice
    from strikebridge.store.database import Store

LOOKING = "Being looked up."


@dataclass(frozen=True, slots=True)
class _Standing:
    """Athletes and plan as they were when last looked at.

    Attributes:
        athletes: words of the row of the athletes, empty where there are none.
        plan: words of the row of the plan, empty where none is chosen.
        fault: why the chosen plan cannot begin, empty where it can.
        trouble: why nothing can be looked up, empty where it can.
        choice: what is chosen, None where it cannot begin.
        broken_off: words of a session of today that goes on, empty where none does.
    """

    athletes: str = ""
    plan: str = ""
    fault: str = ""
    trouble: str = ""
    choice: Choice | None = None
    broken_off: str = ""


class ClubDesk:
    """The roster and the plan of one data folder, for the start page."""

    def __init__(self, data: Path | None, options: WindowOptions) -> None:
        """Open nothing yet.

        Args:
            data: data folder, None for the user's.
            options: how windows open.
        """
        self._data = data_folder(data)
        self._options = options
        self._standing: _Standing | None = None
        self._has_waited = False

    @property
    def choice(self) -> Choice | None:
        """What the next session is, None where it cannot begin."""
        return None if self._standing is None else self._standing.choice

    @property
    def is_broken_off(self) -> bool:
        """Say whether a session of today is to be taken up again rather than another begun."""
        return self._standing is not None and bool(self._standing.broken_off)

    def rows(self) -> tuple[Row, Row]:
        """Say how athletes and plan stand; the first call leaves the looking for the next."""
        if self._standing is None and not self._is_new() and not self._has_waited:
            self._has_waited = True
            return (
                Row("Athletes", Standing.LATER, LOOKING, Lead.ATHLETES),
                Row("Plan", Standing.LATER, LOOKING, Lead.PLAN),
            )
        if self._standing is None:
            self._standing = self._look()
        return _athletes_row(self._standing), _plan_row(self._standing)

    def session_row(self, address: str | None) -> Row:
        """Say whether the session can begin.

        Args:
            address: of the board, None where there is none.
        """
        standing = self._standing
        if standing is not None and standing.broken_off and address is not None:
            return Row("Session", Standing.MIND, standing.broken_off, Lead.SESSION)
        if standing is None or standing.choice is None or address is None:
            words = "A group led through a plan. It needs a board, athletes and a plan."
            return Row("Session", Standing.LATER, words)
        return Row("Session", Standing.READY, f"{standing.plan}: ready.", Lead.SESSION)

    def progress_row(self) -> Row:
        """Say whether there is anybody whose progress could be looked at."""
        standing = self._standing
        if standing is None or not standing.athletes:
            return Row(
                "Progress", Standing.LATER, "Who is up, flat or fading. It needs athletes."
            )
        words = "Who is up, flat or fading over twelve weeks, and whether it is real."
        return Row("Progress", Standing.READY, words, Lead.PROGRESS)

    def progress(self) -> None:
        """Show the squad board until it is left."""
        from strikebridge.cli.kept_reports import keeper_of  # noqa: PLC0415 - as above
        from strikebridge.cli.looking import source_of  # noqa: PLC0415 - the page is there first
        from strikebridge.screens.progress_app import run_progress  # noqa: PLC0415 - as above

        with contextlib.closing(self._open()) as store:
            run_progress(source_of(store), keeper_of(self._data), self._options)

    def athletes(self) -> None:
        """Show the page of the athletes until it is left."""
        from strikebridge.pages.pain_slips import PainSlips  # noqa: PLC0415 - as below
        from strikebridge.pages.roster import RosterPage  # noqa: PLC0415 - the page is there first
        from strikebridge.store.roster import Roster  # noqa: PLC0415 - as above

        self._show(lambda store: RosterPage(Roster(store), PainSlips(store)))

    def plan(self) -> None:
        """Show the page of the plan until it is left."""
        from strikebridge.pages.plan import PlanPage  # noqa: PLC0415 - as above

        self._show(lambda store: PlanPage(store, self._data))

    def caution(self, caution: Caution) -> None:
        """Show a caution, unless it has been read here.

        Args:
            caution: what is to be read.
        """
        from strikebridge.pages.caution import CautionPage, is_read  # noqa: PLC0415 - as above

        if not is_read(self._data, caution):
            run_pages(CautionPage(caution, self._data), self._options)

    def look_again(self) -> None:
        """Look anew at the next occasion, since something may have changed."""
        self._standing = None

    def _show(self, page: Callable[[Store], ClubPage]) -> None:
        with contextlib.closing(self._open()) as store:
            run_pages(page(store), self._options)
        self.look_again()

    def _open(self) -> Store:
        from strikebridge.store.database import open_store  # noqa: PLC0415 - as above

        return open_store(self._data)

    def _is_new(self) -> bool:
        """Say whether there is no database yet; looking makes none."""
        from strikebridge.plan_shelf import CHOICE_FILE  # noqa: PLC0415 - as above

        return not any((self._data / name).exists() for name in (FILE, CHOICE_FILE))

    def _look(self) -> _Standing:
        try:
            return _Standing() if self._is_new() else self._look_into_it()
        except StrikebridgeError as error:
            return _Standing(trouble=str(error))

    def _look_into_it(self) -> _Standing:
        from strikebridge.store.roster import Roster  # noqa: PLC0415 - as above

        with contextlib.closing(self._open()) as store:
            people = Roster(store).all()
            if not people:
                return _Standing()
            broken_off = self._broken_off(store)
            return replace(self._plan_standing(store, people), broken_off=broken_off)

    def _broken_off(self, store: Store) -> str:
        """Say where a session of today broke off, unless another plan was kept since then."""
        from strikebridge.plan_shelf import CHOICE_FILE  # noqa: PLC0415 - as above
        from strikebridge.store.training import Training  # noqa: PLC0415 - as above

        training = Training(store)
        found = next(iter(training.unfinished()), None)
        if found is None or found.started_at.date() != datetime.now().astimezone().date():
            return ""
        kept = self._data / CHOICE_FILE
        if kept.exists() and kept.stat().st_mtime > found.started_at.timestamp():
            return ""
        turn = training.resume_point(found.id).next_turn
        if turn is None:
            return ""
        return (
            f"{found.plan} broke off at turn {turn} of {found.turns}: it goes on there. Keep a "
            "plan anew to begin another."
        )

    def _plan_standing(self, store: Store, people: Sequence[Athlete]) -> _Standing:
        from strikebridge.opening import known_exercises  # noqa: PLC0415 - as above
        from strikebridge.pages.plan_words import length_of  # noqa: PLC0415 - as above
        from strikebridge.plan_shelf import kept_choice, take_down  # noqa: PLC0415 - as above
        from strikebridge.session.choice import as_run  # noqa: PLC0415 - as above

        said = _athletes_words(people)
        choice = kept_choice(self._data)
        if choice is None:
            return _Standing(said)
        known = known_exercises(store)
        shelved = take_down(choice.plan, self._data, known)
        if shelved.plan is None:
            return _Standing(said, fault=f"{choice.plan} has mistakes, or is gone.")
        ids = {one.id for one in people}
        left = [one for one in choice.athletes if one in ids]
        try:
            plan = as_run(shelved.plan, choice.volume, choice.mode, choice.order)
            length = length_of(plan, left, known)
        except PlanError:
            return _Standing(said, fault=f"{choice.plan} cannot begin as it was chosen.")
        return _Standing(said, f"{plan.name}, {length}", choice=choice)


def _athletes_words(people: Sequence[Athlete]) -> str:
    from strikebridge.club.consent import is_under_age  # noqa: PLC0415 - as above
    from strikebridge.pages.plan_words import counted  # noqa: PLC0415 - as above
    from strikebridge.store.roster import local_day  # noqa: PLC0415 - as above

    young = sum(is_under_age(one, local_day()) for one in people)
    groups = {group for one in people for group in one.groups}
    said = counted(len(people), "athlete")
    said += f", {young} under 18 with consent" if young else ""
    return f"{said}, {counted(len(groups), 'group')}." if groups else f"{said}."


def _athletes_row(standing: _Standing) -> Row:
    if standing.trouble:
        return Row("Athletes", Standing.MIND, standing.trouble)
    if not standing.athletes:
        words = "Nobody yet. A session needs somebody; free reps do not."
        return Row("Athletes", Standing.MISSING, words, Lead.ATHLETES)
    return Row("Athletes", Standing.READY, standing.athletes, Lead.ATHLETES)


def _plan_row(standing: _Standing) -> Row:
    if standing.trouble:
        return Row("Plan", Standing.LATER, "It needs the roster.")
    if not standing.athletes:
        words = "Warm-up, speed, taper, fight or test day, or your own. It needs athletes."
        return Row("Plan", Standing.LATER, words, Lead.PLAN)
    if standing.fault:
        return Row("Plan", Standing.MIND, standing.fault, Lead.PLAN)
    if not standing.plan:
        words = "None chosen: warm-up, speed, taper, fight or test day, or your own."
        return Row("Plan", Standing.MISSING, words, Lead.PLAN)
    return Row("Plan", Standing.READY, f"{standing.plan}.", Lead.PLAN)
