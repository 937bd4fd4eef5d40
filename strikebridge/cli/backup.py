"""`strikebridge backup`: everything in one file, also while a session runs."""

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
from strikebridge.safekeeping.backup import make_backup


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@data_option
@json_option
@stops_cleanly
def backup(file: Path, data: Path | None, as_json: bool) -> None:
    """Put everything that is kept into FILE, one new file; a folder gets one named by the day.

    It may be made while a session runs. It is read back before it counts as made.
    """
    with show_share("Backup", is_silent=as_json) as tell:
        made = make_backup(data_folder(data), file, tell)
    if as_json:
        print_json(
            {
                "backup": str(made.path),
                "made_at": made.made_at,
                "files": made.files,
                "bytes": made.bytes,
                "packed_bytes": made.packed_bytes,
            }
        )
        return
    size = f"{made.packed_bytes / 1e6:.1f} MB"
    click.echo(f"{made.path}: {made.files} files, {size}, read back and found right.")
    click.echo(
        "It holds names and results: keep it where only you can get at it. It comes back with "
        f"strikebridge restore {made.path}."
    )
