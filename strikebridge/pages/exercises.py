"""The page of the coach's own exercises, measured at the wall or timed beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.club.exercise import Arm, Way
from strikebridge.enrolling import SIDES, WAYS, add_exercises, exercise_entry
from strikebridge.errors import RosterError, StrikebridgeError
from strikebridge.pages.sheet import (
    BACK,
    CLICKER,
    LEAVE,
    LEAVE_KEYS,
    STAY,
    Answer,
    Chooser,
    Column,
    Field,
    FieldKind,
    Form,
    Sheet,
    SheetRow,
    SideWords,
    Step,
    row_of_key,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from strikebridge.club.exercise import Exercise
    from strikebridge.store.exercises import OwnExercises

ADD, BACK_ROW = " add", " back"  # no key begins with a space
ACTIONS = (
    SheetRow(ADD, ("Add an exercise",), "N"),
    SheetRow(BACK_ROW, ("Back to the plan",)),
)
COLUMNS = (
    Column("name", 0.40),
    Column("in a plan", 0.34),
    Column("", 0.26),
)
FORM = Form(
    "Add an exercise",
    "Measured ones push on the wall, timed ones are counted down and logged.",
    (
        Field("name", "Name", "without lead or rear, such as wall sit"),
        Field("way", "Kind", "measured at the wall, or timed", FieldKind.CHOICE, WAYS),
        Field("side", "Side", "both makes a lead and a rear one", FieldKind.CHOICE, SIDES),
        Field("arm", "Arm", "where it matters", FieldKind.CHOICE, ("", *Arm)),
    ),
)


class ExercisesPage:
    """Own exercises, listed, added, taken back."""

    def __init__(self, own: OwnExercises) -> None:
        """Open the page.

        Args:
            own: the coach's own exercises of the database.
        """
        self._own = own
        self._said = ""
        self._asked_for = ""  # the key of the exercise for which X was pressed once
        self._chooser = Chooser()

    def sheet(self) -> Sheet:
        """Say what is shown now."""
        own = self._own.all()
        rows = _rows(own)
        return Sheet(
            title="Exercises of your own",
            tell="What you do beside the six punches." if own else "None of your own yet.",
            right=f"{len(own)} of your own",
            columns=COLUMNS,
            rows=rows,
            chosen=self._chooser.index(rows),
            side=(
                SideWords("Measured or timed", is_head=True),
                SideWords("Measured ones push on the wall; timed ones are counted and logged."),
                SideWords("In a plan", is_head=True),
                SideWords(
                    "A plan names them by the word in the middle; without lead or rear it "
                    "means both sides. One that was done stays, so that its reps keep their "
                    "meaning."
                ),
            ),
            said=self._said,
            footer=f"{CLICKER}      X: take back      {BACK}",
        )

    def press(self, key: str) -> Step:
        """Do what a key is for.

        Args:
            key: as Qt names it.
        """
        own = self._own.all()
        self._chooser.index(_rows(own))
        asked_for, self._asked_for, self._said = self._asked_for, "", ""
        at = self._chooser.at
        if key == "X" and any(one.key == at for one in own):
            self._take_back(at, is_sure=asked_for == at)
            return STAY
        row = row_of_key(key, _rows(own), self._chooser)
        if key in LEAVE_KEYS or (row is not None and row.key == BACK_ROW):
            return LEAVE
        return Step(form=FORM) if row is not None and row.key == ADD else STAY

    def answer(self, form: Form, fields: Mapping[str, str]) -> Answer:
        """Take a new exercise.

        Args:
            form: as it was asked.
            fields: text by key of the field.
        """
        try:
            entry = exercise_entry(fields, self._own.all())
            if entry.faults:
                return Answer(faults=entry.faults)
            add_exercises(self._own, entry)
        except StrikebridgeError as error:
            return Answer(refused=str(error))
        self._chooser.at = entry.exercises[0].key
        self._said = f"{' and '.join(one.name for one in entry.exercises)} added."
        return Answer()

    def _take_back(self, key: str, *, is_sure: bool) -> None:
        if not is_sure:
            self._asked_for = key
            self._said = f"X again takes {key} back. Any other key does not."
            return
        try:
            self._own.remove(key)
        except RosterError as error:
            self._said = str(error)
        else:
            self._said = f"{key} is gone."


def exercise_words(exercise: Exercise) -> str:
    """Say what kind of exercise it is.

    Args:
        exercise: the exercise.
    """
    how = "measured at the wall" if exercise.way is Way.MEASURED else "timed"
    arm = "" if exercise.arm is None else f", {exercise.arm.value} arm"
    return f"{how}{arm}"


def _rows(own: tuple[Exercise, ...]) -> tuple[SheetRow, ...]:
    rows = (SheetRow(one.key, (one.name, one.key, exercise_words(one))) for one in own)
    return (*ACTIONS, *rows)
