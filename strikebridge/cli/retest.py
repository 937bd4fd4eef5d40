"""`strikebridge retest`: how reliable the club's own test is."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from strikebridge.cli.options import (
    data_folder,
    data_option,
    json_option,
    print_json,
    unit_option,
)
from strikebridge.cli.selecting import Asked, selection_of, selection_options
from strikebridge.errors import ScreenError
from strikebridge.opening import known_exercises
from strikebridge.records import camp, newest_exercise
from strikebridge.reports.retest_words import retest_document, retest_lines
from strikebridge.retesting import retested
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from strikebridge.retesting import Retested


@click.command()
@selection_options
@click.option(
    "--tests",
    type=click.IntRange(2, 4),
    default=2,
    show_default=True,
    help="How many tests of each athlete.",
)
@click.option(
    "--plot",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="PNG",
    help="Also draw the differences over the means into this file.",
)
@unit_option
@data_option
@json_option
def retest(
    asked: Asked,
    tests: int,
    plot: Path | None,
    unit: str,
    data: Path | None,
    as_json: bool,
) -> None:
    """Say how reliable the test is, from everybody's newest tests within two weeks.

    No reliability of a held punch is published, so the club measures its own: lead the plan
    test-day on two days within two weeks, ten athletes or more, and change nothing in between.
    """
    with contextlib.closing(open_store(data_folder(data))) as store:
        selection = selection_of(asked, store)
        if selection.exercise is None:
            selection = replace(selection, exercise=newest_exercise(store, selection))
        squad = camp(store, selection)
        names = {one.id: one.name for one in Roster(store).all()}
        exercises = {key: one.name for key, one in known_exercises(store).items()}
    found = retested(squad, tests)
    if plot is not None:
        name = exercises.get(found.like.exercise, found.like.exercise)
        _draw(found, f"{name}, {len(found.table.athletes)} athletes", ForceUnit(unit), plot)
    if as_json:
        print_json(retest_document(found, names))
        return
    for line in retest_lines(found, squad, exercises, names, ForceUnit(unit)):
        click.echo(line)


def _draw(found: Retested, title: str, unit: ForceUnit, path: Path) -> None:
    from strikebridge.screens.agreement_plot import (  # noqa: PLC0415 - needed for --plot only
        agreement_page,
    )
    from strikebridge.screens.app import open_for_pictures  # noqa: PLC0415 - likewise

    open_for_pictures()
    from strikebridge.screens.page import save_page  # noqa: PLC0415 - not without Qt

    target = path if path.suffix else path.with_suffix(".png")
    if not save_page(lambda size: agreement_page(found, title, unit, size), target):
        raise ScreenError(
            f"The picture could not be written to {target}. Choose a folder that is there and "
            "can be written to, and a name that ends in .png."
        )
