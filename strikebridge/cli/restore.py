"""`strikebridge restore`: a backup in place of what is there, and back again."""

from __future__ import annotations

from pathlib import Path

import click

from strikebridge.cli.options import (
    data_folder,
    data_option,
    json_option,
    print_json,
    show_share,
    stops_cleanly,
)
from strikebridge.safekeeping.restore import restore_backup, take_back


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--undo", is_flag=True, help="Put back what was there before the last restore.")
@data_option
@json_option
@stops_cleanly
def restore(file: Path | None, undo: bool, data: Path | None, as_json: bool) -> None:
    """Put the backup FILE in place of what is there, also on another laptop.

    What was there is kept aside and comes back with --undo.
    """
    if undo == (file is not None):
        raise click.UsageError("Name the backup, or say --undo to take the last restore back.")
    folder = data_folder(data)
    if file is None:
        restored = take_back(folder)
    else:
        with show_share("Restore", is_silent=as_json) as tell:
            restored = restore_backup(folder, file, tell)
    if as_json:
        aside = None if restored.aside is None else str(restored.aside)
        counts = {"athletes": restored.athletes, "sessions": restored.sessions}
        print_json({"data": str(folder), **counts, "aside": aside})
        return
    people = "1 athlete" if restored.athletes == 1 else f"{restored.athletes} athletes"
    times = "1 session" if restored.sessions == 1 else f"{restored.sessions} sessions"
    source = "What was there before" if file is None else str(file)
    click.echo(f"{source} is in place now: {people}, {times}.")
    if restored.aside is not None:
        click.echo(
            f"What it replaced lies in {restored.aside} and comes back with strikebridge "
            "restore --undo. Delete that folder once you are sure."
        )
