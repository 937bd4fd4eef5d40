"""The page of the plan: what the next session is, with whom, in which order, how it is led.

Nothing is kept until the coach takes it; then it stands in the data folder, and the start page
leads to the session.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from strikebridge.errors import PlanError
from strikebridge.opening import known_exercises
from strikebridge.pages.blocks import BlocksPage
from strikebridge.pages.caution import MAXIMAL, CautionPage, is_read
from strikebridge.pages.exercises import ExercisesPage
from strikebridge.pages.faults import FaultsPage
from strikebridge.pages.plan_side import plan_side
from strikebridge.pages.plan_words import (
    MODE_WORDS,
    ORDER_WORDS,
    counted,
    is_maximal,
    length_of,
)
from strikebridge.pages.rig_form import rig_entry, rig_form, rig_words
from strikebridge.pages.sheet import (
    BACK,
    LEAVE,
    LEAVE_KEYS,
    STAY,
    Answer,
    Chooser,
    Column,
    Mark,
    Sheet,
    SheetRow,
    Step,
    row_of_key,
)
from strikebridge.pages.who import Picked, WhoPage
from strikebridge.plan_shelf import FOLDER, copy_plan, keep_choice, kept_choice, shelf
from strikebridge.session.choice import Choice, Volume, as_run
from strikebridge.session.plan import Mode, Order, with_sets
from strikebridge.store.exercises import OwnExercises
from strikebridge.store.roster import Roster

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path
    from typing import TypeVar

    from strikebridge.club.athlete import Athlete
    from strikebridge.pages.sheet import ClubPage, Form
    from strikebridge.plan_shelf import Shelved
    from strikebridge.session.plan import Plan
    from strikebridge.store.database import Store

    T = TypeVar("T")

MOST_SETS = 5  # more can be written into a plan of one's own
FOOTER = (
    "Space, PageDown, Right: change      Left: back      PageUp, arrows: choose      "
    f"K: keep      {BACK}"
)
IS_OVER = "more than the dose"


@dataclass(frozen=True, slots=True)
class Standing:
    """How the choice stands.

    Attributes:
        plan: as it would be run, None where its file has mistakes.
        length: how much it is and how long, empty where it cannot begin.
        fault: why it cannot begin, empty where it can.
        is_over: True where it is more than the plan's dose.
    """

    plan: Plan | None
    length: str = ""
    fault: str = ""
    is_over: bool = False


class PlanPage:
    """Settings of the next session, one a row."""

    def __init__(self, store: Store, data: Path) -> None:
        """Open the page.

        Args:
            store: the database.
            data: data folder, with the coach's own plans and what was chosen last.
        """
        self._store, self._data = store, data
        self._roster = Roster(store)
        self._chooser = Chooser()
        self._picked = Picked()
        self._said = ""
        kept = kept_choice(data)
        self._choice = kept or Choice("warm-up")
        self._read_again()
        if kept is None:
            self._picked.take([one.id for one in self._people], "")
        else:
            self._picked.order = list(kept.athletes)
            self._picked.take(kept.athletes, kept.group)
            self._picked.keep_to(self._people)

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        standing = self._standing()
        rows = self._rows(standing)
        return Sheet(
            title="Plan of the next session",
            tell=standing.fault or standing.length,
            right="ready to keep" if not standing.fault else "not ready",
            columns=(Column("", 0.24), Column("", 0.76)),
            rows=rows,
            chosen=self._chooser.index(rows),
            side=plan_side(self._shelved, standing.plan, self._known, self._data / FOLDER),
            said=self._said,
            footer=FOOTER,
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        self._said = ""
        self._read_again()
        standing = self._standing()
        rows = self._rows(standing)
        self._chooser.index(rows)
        if key in LEAVE_KEYS:
            return LEAVE
        if key == "Left":
            self._change(self._chooser.at, -1)
            return STAY
        row = row_of_key(key, rows, self._chooser)
        return STAY if row is None else self._do(row.key, standing)

    def _read_again(self) -> None:
        """Look at plans, exercises and roster as they are now."""
        self._known = known_exercises(self._store)
        self._shelf = shelf(self._data, self._known)
        self._people: tuple[Athlete, ...] = self._roster.all()
        self._groups = list(self._roster.groups())
        self._picked.keep_to(self._people)

    @property
    def _shelved(self) -> Shelved:
        by_key = {one.key: one for one in self._shelf}
        return by_key.get(self._choice.plan, self._shelf[0])

    def _standing(self) -> Standing:
        written, choice = self._shelved.plan, self._choice
        if written is None:
            return Standing(None, fault=f"{self._shelved.key} has mistakes.")
        volume = replace(choice.volume, is_confirmed=True)
        plan = as_run(written, volume, choice.mode, choice.order)
        try:
            as_run(written, replace(choice.volume, is_confirmed=False))
            is_over = False
        except PlanError:
            is_over = True
        try:
            length = length_of(plan, self._picked.athletes, self._known)
        except PlanError:
            is_nobody = not self._picked.athletes
            words = "Nobody takes part yet." if is_nobody else "That is too much for a day."
            return Standing(plan, fault=words, is_over=is_over)
        fault = f"{plan.name}: {IS_OVER}." if is_over and not choice.volume.is_confirmed else ""
        return Standing(plan, f"{plan.name}: {length}.", fault, is_over)

    def _rows(self, standing: Standing) -> tuple[SheetRow, ...]:
        choice, written = self._choice, self._shelved.plan
        # a plan is mostly taken as it is: two presses of a clicker
        rows = [
            _row("plan", "P", "Plan", _plan_words(self._shelved), not written),
            _row("keep", "K", "Keep it", standing.fault or "and back to the start page"),
        ]
        if written is None:
            rows.append(_row("faults", "F", "Mistakes", "show them all, with line and field"))
        else:
            order, mode = choice.order or written.order, choice.mode or written.mode
            rows += [
                _row("order", "O", "Order", ORDER_WORDS[order]),
                _row("mode", "M", "Led by", MODE_WORDS[mode]),
                _row("used", "U", "Used to it", _used_words(choice.volume)),
                _row("sets", "S", "Sets", _sets_words(choice.volume, written)),
            ]
        if standing.is_over:
            is_confirmed = choice.volume.is_confirmed
            words = f"{IS_OVER}: {'confirmed' if is_confirmed else 'not confirmed'}"
            rows.append(_row("dose", "Y", "Dose", words, not is_confirmed))
        who = self._who_words()
        rows += [
            *([_row("blocks", "W", "What is done", _blocks_words(written))] * bool(written)),
            *([_row("copy", "C", "Copy it", COPY_WORDS)] * (not self._shelved.is_own)),
            _row("group", "G", "Group", self._group_words()),
            _row("who", "A", "Who", who, not self._picked.athletes),
            _row("rig", "R", "Set-up", rig_words(self._choice.rig)),
            _row("own", "E", "Exercises", "your own ones: see, add, take back"),
            SheetRow("back", ("Back", "without keeping")),
        ]
        return tuple(rows)

    def _do(self, what: str, standing: Standing) -> Step:
        if what == "back":
            return LEAVE
        if what == "keep":
            return self._keep(standing)
        if what == "copy":
            return self._copy()
        if what == "rig":
            return Step(form=rig_form(self._choice.rig, self._choice.cues))
        page = self._page(what, standing)
        if page is None:
            self._change(what, +1)
        return Step(page=page)

    def answer(self, form: Form, fields: Mapping[str, str]) -> Answer:
        """Take the set-up and the cues.

        Args:
            form: as it was asked.
            fields: text by key of the field.
        """
        rig, cues, faults = rig_entry(fields)
        if not faults:
            self._choice = replace(self._choice, rig=rig, cues=cues)
        return Answer(faults=faults)

    def _copy(self) -> Step:
        """Copy the plan for the coach to change, and choose the copy."""
        name = copy_plan(self._shelved.key, self._data)
        self._choice = replace(self._choice, plan=name)
        self._read_again()
        self._said = f"Copied to {name} in {self._data / FOLDER}. Open it in a text editor."
        return STAY

    def _page(self, what: str, standing: Standing) -> ClubPage | None:
        """Say which page a row leads to, None where it changes a setting."""
        if what == "who":
            return WhoPage({one.id: one for one in self._people}, self._picked)
        if what == "own":
            return ExercisesPage(OwnExercises(self._store))
        if what == "blocks" and standing.plan is not None:
            return BlocksPage(standing.plan, self._known)
        if what == "faults":
            shelved = self._shelved
            return FaultsPage(shelved.key, shelved.faults, self._again, nothing=NOT_BEGUN)
        return None

    def _again(self) -> tuple[str, ...]:
        self._read_again()
        return self._shelved.faults

    def _keep(self, standing: Standing) -> Step:
        if standing.fault or standing.plan is None:
            return STAY
        choice = replace(
            self._choice,
            plan=self._shelved.key,
            athletes=self._picked.athletes,
            group=self._picked.group,
        )
        keep_choice(choice, self._data)
        if is_maximal(standing.plan, self._known) and not is_read(self._data, MAXIMAL):
            return Step(leaves=True, page=CautionPage(MAXIMAL, self._data))
        return LEAVE

    def _change(self, what: str, by: int) -> None:
        """Give a setting its next value, or the one before."""
        choice, written = self._choice, self._shelved.plan
        volume = choice.volume
        if what == "plan":
            keys = [one.key for one in self._shelf]
            # another plan asks anew how it is led and how much of it there is
            key = _next(keys, self._shelved.key, by)
            self._choice = Choice(key, rig=choice.rig, cues=choice.cues)
        elif what == "group":
            self._next_group(by)
        elif what == "used":
            used = Volume(not volume.is_used_to_it, volume.sets)
            self._choice = replace(choice, volume=used)
        elif what == "sets":
            sets = _next([None, *range(1, MOST_SETS + 1)], volume.sets, by)
            self._choice = replace(choice, volume=Volume(volume.is_used_to_it, sets))
        elif what == "dose":
            confirmed = replace(volume, is_confirmed=not volume.is_confirmed)
            self._choice = replace(choice, volume=confirmed)
        elif what == "order" and written is not None:
            order = _next(list(Order), choice.order or written.order, by)
            self._choice = replace(choice, order=None if order is written.order else order)
        elif what == "mode" and written is not None:
            mode = _next(list(Mode), choice.mode or written.mode, by)
            self._choice = replace(choice, mode=None if mode is written.mode else mode)

    def _next_group(self, by: int) -> None:
        group = _next(["", *self._groups], self._picked.group, by)
        inside = [one.id for one in self._people if not group or group in one.groups]
        self._picked.take(inside, group)

    def _group_words(self) -> str:
        if self._picked.group:
            return self._picked.group
        if len(self._picked.athletes) == len(self._people):
            return "everybody"
        return "picked one by one"

    def _who_words(self) -> str:
        names = {one.id: one.name for one in self._people}
        inside = [names[one] for one in self._picked.athletes]
        if not inside:
            return "nobody yet" if self._people else "nobody: add athletes first"
        first = ", ".join(inside[:MOST_NAMES])
        more = f" and {len(inside) - MOST_NAMES} more" if len(inside) > MOST_NAMES else ""
        return f"{len(inside)} of {len(self._people)}: {first}{more}"


COPY_WORDS = "to a file of your own, to be changed"
NOT_BEGUN = "Nothing can begin with it."
MOST_NAMES = 3


def _row(key: str, letter: str, name: str, words: str, is_faulty: object = False) -> SheetRow:  # noqa: FBT002 - a row has one flag
    return SheetRow(key, (name, words), letter, Mark.OUT if is_faulty else Mark.NONE)


def _plan_words(shelved: Shelved) -> str:
    return f"{shelved.key}, {'your own' if shelved.is_own else 'comes with the program'}"


def _used_words(volume: Volume) -> str:
    return "yes" if volume.is_used_to_it else "no, new to it"


def _blocks_words(written: Plan | None) -> str:
    return "" if written is None else f"show it in full, {counted(len(written.block), 'block')}"


def _sets_words(volume: Volume, written: Plan) -> str:
    if volume.sets is not None:
        return f"{counted(volume.sets, 'set')} of every block"
    plan = with_sets(written, is_used_to_it=volume.is_used_to_it)
    numbers = sorted({block.sets for block in plan.block})
    if len(numbers) == 1:
        return f"as the plan says: {numbers[0]}"
    return f"as the plan says: {numbers[0]} to {numbers[-1]}, by block"


def _next(values: Sequence[T], now: T, by: int) -> T:
    """Give the value after the present one, round the end; the first where it is none."""
    if now not in values:
        return values[0]
    return values[(values.index(now) + by) % len(values)]
