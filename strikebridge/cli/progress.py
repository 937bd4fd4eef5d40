"""`strikebridge progress`: what became of one athlete, or of the squad."""

from __future__ import annotations

import contextlib
from dataclasses import replace
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
from strikebridge.measures.run import MEASURES
from strikebridge.opening import known_exercises
from strikebridge.records import PEAK, camp, newest_exercise
from strikebridge.reports.progress_json import camp_document
from strikebridge.reports.progress_words import (
    NO_MARK,
    board_rows,
    day_words,
    setup_mark,
    setup_words,
    sides_words,
    standing_lines,
)
from strikebridge.reports.tables import lined_up
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from strikebridge.club.athlete import Athlete
    from strikebridge.records import Camp

NOTHING = "Nothing on record yet. Lead a session: strikebridge session test-day"
NOTHING_THERE = "Nothing on record that fits. Leave out a filter, or name an earlier --since."


@click.command()
@click.argument("athlete", required=False)
@selection_options
@click.option(
    "--measure",
    type=click.Choice(sorted(MEASURES)),
    default=PEAK,
    show_default=True,
    help="What to look at.",
)
@unit_option
@data_option
@json_option
def progress(
    athlete: str | None,
    asked: Asked,
    measure: str,
    unit: str,
    data: Path | None,
    as_json: bool,
) -> None:
    """Say of ATHLETE who is up, flat or fading, and whether it is real; without, the squad.

    Without --since the twelve weeks up to the newest rep are looked at. The squad's board is
    that of one exercise, without --exercise the one done last.
    """
    with contextlib.closing(open_store(data_folder(data))) as store:
        roster = Roster(store)
        athletes = {one.id: one for one in roster.all()}
        names = {one.id: one.name for one in athletes.values()}
        selection = selection_of(asked, store)
        if athlete is not None:
            selection = replace(selection, athlete=roster.find(athlete).id)
        elif selection.exercise is None and not as_json:
            selection = replace(selection, exercise=newest_exercise(store, selection))
        found = camp(store, selection, measure)
        exercises = {key: one.name for key, one in known_exercises(store).items()}
    if as_json:
        print_json(camp_document(found, names))
    elif not found.standings:
        click.echo(NOTHING if asked == Asked() and athlete is None else NOTHING_THERE)
    elif athlete is None:
        _print_board(found, names, exercises, ForceUnit(unit))
    else:
        person = athletes[found.standings[0].like.athlete]
        _print_athlete(found, person, exercises, ForceUnit(unit))


def _print_board(
    found: Camp, names: Mapping[str, str], exercises: Mapping[str, str], unit: ForceUnit
) -> None:
    key = found.standings[0].like.exercise
    click.echo(f"{exercises.get(key, key)}, {_days(found)}")
    for line in lined_up(board_rows(found, names, unit)):
        click.echo(line)
    for setup in sorted(found.setups):
        if (mark := setup_mark(setup, found.setups)) != NO_MARK:
            click.echo(f"{mark}: {setup_words(setup, found.setups)}")
    squad = found.squads[key].error
    where = "assumed, wide on purpose" if squad.is_assumed else "of the squad's tests"
    click.echo(
        f"Typical error of a session {100.0 * squad.share:.1f} % ({where}). “Cannot tell” "
        "means that the sessions scatter too much, not that nothing changed. Form is the "
        "newest session against the four weeks before it."
    )


def _print_athlete(
    found: Camp, athlete: Athlete, exercises: Mapping[str, str], unit: ForceUnit
) -> None:
    click.echo(f"{athlete.name}, {_days(found)}")
    for standing in found.standings:
        for line in standing_lines(standing, found, exercises, unit, athlete.masses):
            click.echo(line)
    for sides in found.sides():
        click.echo(sides_words(sides, exercises))


def _days(found: Camp) -> str:
    newest = max(one.reps[-1].at for one in found.standings)
    since = "" if found.since is None else f"{day_words(found.since)} to "
    return f"{since}{day_words(newest)}"
