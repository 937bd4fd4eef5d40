"""Exercises of the coach's own, kept beside those of the program's table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from strikebridge.club.athlete import Side, name_fault, tidy_name
from strikebridge.club.exercise import Arm, Exercise, Way, key_fault
from strikebridge.errors import RosterError
from strikebridge.store.models import ExerciseRow, RepRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strikebridge.store.database import Store


class OwnExercises:
    """The coach's own exercises of one database."""

    def __init__(self, store: Store) -> None:
        """Open the table.

        Args:
            store: the database.
        """
        self._store = store

    def all(self) -> tuple[Exercise, ...]:
        """List them by key.

        Raises:
            StoreError: the database cannot be read.
        """
        with self._store.reading() as session:
            rows = session.scalars(select(ExerciseRow).order_by(ExerciseRow.key))
            return tuple(_exercise_of(row) for row in rows)

    def put(self, exercise: Exercise) -> None:
        """Add an exercise, or put it in place of the one with its key.

        Args:
            exercise: the exercise, measured or timed.

        Raises:
            RosterError: its key or name will not do.
            StoreError: the database cannot be written.
        """
        self.put_all([exercise])

    def put_all(self, exercises: Sequence[Exercise]) -> None:
        """Put several exercises, all of them or none.

        Args:
            exercises: as for `put`.

        Raises:
            RosterError: a key or name will not do.
            StoreError: the database cannot be written.
        """
        rows = [_row_of(exercise) for exercise in exercises]
        with self._store.writing() as session:
            for row in rows:
                session.merge(row)

    def remove(self, key: str) -> None:
        """Take back an exercise that was a slip; one that was done stays.

        Args:
            key: its key.

        Raises:
            RosterError: there is none with this key, or there are reps of it.
            StoreError: the database cannot be written.
        """
        with self._store.writing() as session:
            row = session.get(ExerciseRow, key)
            if row is None:
                raise RosterError(f"There is no exercise {key} of your own.")
            if session.scalar(select(RepRow.id).where(RepRow.exercise == key).limit(1)):
                raise RosterError(
                    f"There are reps of {key}, so it is not removed. Nothing was changed."
                )
            session.delete(row)


def _row_of(exercise: Exercise) -> ExerciseRow:
    """Make the row of an exercise, or refuse it."""
    name = tidy_name(exercise.name)
    fault = key_fault(exercise.key) or name_fault(name)
    if fault:
        raise RosterError(f"The exercise was not stored: {fault}")
    return ExerciseRow(
        key=exercise.key,
        name=name,
        way=exercise.way.value,
        side=None if exercise.side is None else exercise.side.value,
        arm=None if exercise.arm is None else exercise.arm.value,
    )


def _exercise_of(row: ExerciseRow) -> Exercise:
    return Exercise(
        key=row.key,
        name=row.name,
        way=Way(row.way),
        side=None if row.side is None else Side(row.side),
        arm=None if row.arm is None else Arm(row.arm),
    )
