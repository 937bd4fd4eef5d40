"""`strikebridge erase`: somebody who asks for it is gone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from strikebridge.cli.options import (
    data_folder,
    data_option,
    json_option,
    print_json,
    stops_cleanly,
)
from strikebridge.safekeeping.erasing import erase as erase_for_good
from strikebridge.safekeeping.erasing import find_for_erasure
from strikebridge.safekeeping.traces import find_traces

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.club.athlete import Athlete
    from strikebridge.safekeeping.erasing import Erased
    from strikebridge.store.erasing import Held

PDF = "What a PDF says is packed: each one of the folder of reports went. Write them again."


@click.command()
@click.argument("athlete")
@click.option("--yes", is_flag=True, help="Do not ask.")
@data_option
@json_option
@stops_cleanly
def erase(athlete: str, yes: bool, data: Path | None, as_json: bool) -> None:
    """Erase ATHLETE (a name or an id) for good: roster, results and raw force.

    It asks once. Backups, exports and reports that may hold this athlete are named, so that
    you can delete them.
    """
    folder = data_folder(data)
    found, held = find_for_erasure(folder, athlete)
    if not yes:
        click.echo(_question(found, held), err=True)
        click.confirm("Erase for good?", abort=True, err=True)
    done = erase_for_good(folder, found, held)
    traces = find_traces(folder, found.id, found.name)
    if as_json:
        print_json(_document(held, done, traces))
        return
    click.echo(
        f"{found.name} is erased: {_counted(held.reps, 'rep')} of "
        f"{_counted(held.sessions, 'session')}, turns in "
        f"{_counted(done.recordings, 'recording')}."
    )
    for removed in (*done.removed, *done.reports):
        click.echo(f"Removed: {removed}")
    if any(one.lower().endswith(".pdf") for one in done.reports):
        click.echo(PDF)
    if done.elsewhere:
        click.echo("These may still hold this athlete. Delete them, and make a new backup:")
    for one in done.elsewhere:
        away = "" if one.is_there else " (not plugged in now)"
        click.echo(f"  {one.kind} of {one.at[:10]}: {one.path}{away}")
    if traces:
        click.echo("The name still stands here, written by somebody else. See to it yourself:")
    for path in traces:
        click.echo(f"  {path}")


def _question(athlete: Athlete, held: Held) -> str:
    counts = f"{_counted(held.reps, 'rep')} of {_counted(held.sessions, 'session')}"
    return (
        f"{athlete.name}: {counts}. Roster, results, the raw force of these turns and every "
        "PDF in the folder reports go. Only an older backup could bring them back, and on this "
        "laptop it is cleared of them. A session that was broken off can no longer be taken up."
    )


def _document(held: Held, done: Erased, traces: list[Path]) -> dict[str, object]:
    return {
        "reps": held.reps,
        "sessions": held.sessions,
        "recordings": done.recordings,
        "removed": list(done.removed),
        "reports": list(done.reports),
        "elsewhere": [
            {"kind": one.kind.value, "at": one.at, "path": one.path} for one in done.elsewhere
        ],
        "traces": [str(path) for path in traces],
    }


def _counted(count: int, what: str) -> str:
    return f"1 {what}" if count == 1 else f"{count} {what}s"
