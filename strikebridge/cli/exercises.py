"""`strikebridge exercises`: what is done beside the six punches."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import click

from strikebridge.cli.options import data_folder, data_option, json_option, print_json
from strikebridge.club.athlete import Side
from strikebridge.club.exercise import Arm
from strikebridge.enrolling import BOTH_SIDES, WAYS, add_exercises, exercise_entry
from strikebridge.pages.exercises import exercise_words
from strikebridge.session.exercises import EXERCISES
from strikebridge.store.database import open_store
from strikebridge.store.exercises import OwnExercises

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from strikebridge.club.exercise import Exercise
    from strikebridge.reports.analysis_json import Json


@contextlib.contextmanager
def _own(data: Path | None) -> Iterator[OwnExercises]:
    """Open the own exercises of a data folder and close them again."""
    with contextlib.closing(open_store(data_folder(data))) as store:
        yield OwnExercises(store)


@click.group()
def exercises() -> None:
    """See the exercises that plans can name, and add your own."""


@exercises.command(name="list")
@click.option("--own", "only_own", is_flag=True, help="Only your own ones.")
@data_option
@json_option
def list_exercises(only_own: bool, data: Path | None, as_json: bool) -> None:
    """List exercises by the word that a plan calls them by."""
    with _own(data) as own:
        found = own.all()
    shown = {one.key: one for one in (*(() if only_own else EXERCISES.values()), *found)}
    if as_json:
        keys = {one.key for one in found}
        print_json(
            {"exercises": [_document(one, is_own=one.key in keys) for one in shown.values()]}
        )
    elif not shown:
        click.echo("None of your own yet. Add one: strikebridge exercises add NAME")
    else:
        width = max(len(key) for key in shown)
        for one in shown.values():
            click.echo(f"{one.key.ljust(width)}  {one.name}, {exercise_words(one)}")


@exercises.command()
@click.argument("name")
@click.option(
    "--way",
    type=click.Choice(WAYS),
    default=WAYS[0],
    help="Measured at the wall, or timed and logged; timed unless said.",
)
@click.option(
    "--side",
    type=click.Choice([*(side.value for side in Side), BOTH_SIDES]),
    help="Lead or rear; both makes one of each.",
)
@click.option(
    "--arm", type=click.Choice([arm.value for arm in Arm]), help="How the arm is held."
)
@data_option
@json_option
def add(
    name: str, way: str, side: str | None, arm: str | None, data: Path | None, as_json: bool
) -> None:
    """Add an exercise of your own; its word in a plan is made of its name."""
    fields = {"name": name, "way": way, "side": side or "", "arm": arm or ""}
    with _own(data) as own:
        entry = exercise_entry(fields, own.all())
        if entry.faults:
            raise click.UsageError(f"NAME: {' '.join(fault.words for fault in entry.faults)}")
        add_exercises(own, entry)
    if as_json:
        print_json({"exercises": [_document(one, is_own=True) for one in entry.exercises]})
    else:
        for one in entry.exercises:
            click.echo(f"{one.name} added; a plan names it {one.key}.")


@exercises.command()
@click.argument("key")
@data_option
@json_option
def remove(key: str, data: Path | None, as_json: bool) -> None:
    """Take back the exercise KEY that was a slip; one that was done stays."""
    with _own(data) as own:
        own.remove(key)
    if as_json:
        print_json({"removed": key})
    else:
        click.echo(f"{key} removed.")


def _document(exercise: Exercise, *, is_own: bool) -> dict[str, Json]:
    """Write an exercise as plain values."""
    return {
        "key": exercise.key,
        "name": exercise.name,
        "way": exercise.way.value,
        "side": None if exercise.side is None else exercise.side.value,
        "arm": None if exercise.arm is None else exercise.arm.value,
        "own": is_own,
    }
