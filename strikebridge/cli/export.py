"""`strikebridge export`: reps, measures and curves as files for other programs."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from pathlib import Path

import click

from strikebridge.cli.options import data_folder, data_option, json_option, print_json
from strikebridge.cli.selecting import Asked, selection_of, selection_options
from strikebridge.export import FORMATS
from strikebridge.export.dataset import export_format
from strikebridge.export.gather import curves_of, dataset_of
from strikebridge.safekeeping.outside import Kind, note_outside
from strikebridge.store.database import open_store
from strikebridge.store.records import Records
from strikebridge.store.roster import Roster

PSEUDONYMOUS = (
    "Names are replaced, days are not: whoever knows who trained when can still tell. Look at "
    "the cues before you hand it on."
)


@click.command()
@click.argument("folder", required=False, type=click.Path(file_okay=False, path_type=Path))
@click.option(
    "--output",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder to write into, in place of FOLDER.",
)
@click.option(
    "--format",
    "key",
    type=click.Choice(sorted(FORMATS)),
    default="csv",
    show_default=True,
    help="What to write.",
)
@click.option("--athlete", help="Only of this athlete.")
@selection_options
@click.option("--pseudonyms", is_flag=True, help="Write a pseudonym in place of each name.")
@click.option("--no-curves", is_flag=True, help="Leave the curves out, which is quicker.")
@data_option
@json_option
def export(
    folder: Path | None,
    output: Path | None,
    key: str,
    athlete: str | None,
    asked: Asked,
    pseudonyms: bool,
    no_curves: bool,
    data: Path | None,
    as_json: bool,
) -> None:
    """Write reps with their measures and curves into FOLDER; all that is on record, or a part.

    Curves come out of the recordings, which are analysed once more.
    """
    target = output or folder
    if target is None or (output is not None and folder is not None):
        raise click.UsageError("Say once which folder to write into.")
    held = data_folder(data)
    with contextlib.closing(open_store(held)) as store:
        roster = Roster(store)
        who = None if athlete is None else roster.find(athlete).id
        selection = replace(selection_of(asked, store), athlete=who, effort=None)
        reps = Records(store).reps(selection)
        names = {one.id: one.name for one in roster.all()}
    recordings = held / "recordings"
    curves, cautions = ({}, ()) if no_curves else curves_of(reps, recordings)
    written = export_format(key).write(
        dataset_of(reps, None if pseudonyms else names, curves), target
    )
    note_outside(held, Kind.EXPORT, target, who or "")
    cautions = (*cautions, *written.cautions, *((PSEUDONYMOUS,) if pseudonyms else ()))
    if as_json:
        files = [str(file) for file in written.files]
        print_json({"reps": len(reps), "files": files, "cautions": list(cautions)})
        return
    for caution in cautions:
        click.echo(f"strikebridge: {caution}", err=True)
    click.echo(f"{len(reps)} reps, {len(written.files)} files in {target}.")
