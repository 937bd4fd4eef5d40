"""`strikebridge import`: results of days gone by, typed in a spreadsheet."""

from __future__ import annotations

import contextlib
from pathlib import Path

import click

from strikebridge.cli.options import data_folder, data_option, json_option, print_json
from strikebridge.enrolling import table_text
from strikebridge.past_results import take_in
from strikebridge.store.database import open_store
from strikebridge.store.roster import local_day


@click.command(name="import")
@click.argument("file", type=click.Path(path_type=Path))
@data_option
@json_option
def import_results(file: Path, data: Path | None, as_json: bool) -> None:
    """Take in all results of the CSV FILE, or none if anything is wrong.

    A row is a rep: athlete, day (2026-03-01), exercise (rear-straight), peak or held or both,
    unit; as wanted hold_s, effort, set, cue, and the set-up. They are marked as typed. The same
    file may be taken in again: what is on record already is left as it is.
    """
    text = table_text(file)
    with contextlib.closing(open_store(data_folder(data))) as store:
        done = take_in(store, text, file.name, local_day())
    if as_json:
        print_json({"imported": done.reps, "already_there": done.there, "days": done.days})
        return
    days = "1 day" if done.days == 1 else f"{done.days} days"
    there = f" {done.there} were on record already." if done.there else ""
    click.echo(f"{done.reps} results of {days} added from {file.name}, as typed.{there}")
