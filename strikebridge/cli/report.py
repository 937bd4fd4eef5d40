"""`strikebridge report`: a page for an athlete, a squad or a session, as HTML or PDF."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from pathlib import Path

import click

from strikebridge.cli.options import (
    data_folder,
    data_option,
    json_option,
    print_json,
    unit_option,
)
from strikebridge.cli.reporting import (
    LAST,
    SUFFIXES,
    athlete_sheet,
    find_session,
    remember,
    session_sheet,
    squad_sheet,
    write_report,
)
from strikebridge.cli.selecting import Asked, selection_of, selection_options
from strikebridge.reports.language import LANGUAGES, UNASKED, language
from strikebridge.reports.wording import Wording
from strikebridge.safekeeping.contents import RECORDINGS
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster
from strikebridge.units import ForceUnit

ATHLETE, SQUAD, SESSION = "athlete", "squad", "session"
WHAT = (
    "Say what to report of: athlete NAME, squad, or session, with the id of one or without for "
    "the last."
)


@click.command()
@click.argument("what", nargs=-1)
@click.option("--squad", is_flag=True, help="The same as the word squad.")
@click.option(
    "--output",
    "--out",
    "output",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write; its name ends in .html or .pdf.",
)
@click.option(
    "--language",
    "tongue",
    type=click.Choice(list(LANGUAGES)),
    default=UNASKED,
    show_default=True,
    help="Language of the page.",
)
@click.option("--group", help="Of a squad only this group.")
@selection_options
@unit_option
@data_option
@json_option
def report(
    what: tuple[str, ...],
    squad: bool,
    output: Path,
    tongue: str,
    group: str | None,
    asked: Asked,
    unit: str,
    data: Path | None,
    as_json: bool,
) -> None:
    """Write a page of WHAT: athlete NAME, squad, or session ID (or last).

    A bare NAME is an athlete. The pages of athlete and squad are one side of A4 and look at the
    twelve weeks up to the newest rep, unless --since says otherwise. HTML needs no network.
    """
    kind, who = _meant(what, is_squad=squad)
    if output.suffix.lower() not in SUFFIXES:
        raise click.UsageError(f"--output ends in {' or '.join(SUFFIXES)}.")
    if kind == SESSION and (asked != Asked() or group):
        raise click.UsageError("A session is reported whole; leave out the filters.")
    if kind == ATHLETE and group:
        raise click.UsageError("--group goes with squad.")
    folder, wording = data_folder(data), Wording(language(tongue), ForceUnit(unit))
    athlete = ""
    with contextlib.closing(open_store(folder)) as store:
        if kind == SESSION:
            session = find_session(store, who)
            sheet = session_sheet(store, session, folder / RECORDINGS, wording)
        elif kind == SQUAD:
            sheet = squad_sheet(store, selection_of(asked, store), wording, group)
        else:
            athlete = Roster(store).find(who).id
            selection = replace(selection_of(asked, store), athlete=athlete)
            sheet = athlete_sheet(store, athlete, selection, wording)
    pages = write_report(sheet, output)
    remember(folder, output, athlete)
    if as_json:
        print_json({"report": str(output), "pages": pages})
    else:
        # the terminal speaks English, whatever the page is written in
        click.echo(f"{language().say(f'{kind}.kind')} written to {output}.")


def _meant(what: tuple[str, ...], *, is_squad: bool) -> tuple[str, str]:
    """Tell what is to be reported of, and of whom or which."""
    if is_squad:
        if what:
            raise click.UsageError("--squad stands alone, without a name.")
        return SQUAD, ""
    if not what:
        raise click.UsageError(WHAT)
    first, rest = what[0], what[1:]
    if first == SQUAD and not rest:
        return SQUAD, ""
    if first == SESSION and len(rest) < 2:
        return SESSION, rest[0] if rest else LAST
    if first == ATHLETE and len(rest) == 1:
        return ATHLETE, rest[0]
    if not rest and first != ATHLETE:
        return ATHLETE, first
    raise click.UsageError(f"{WHAT} A name of several words goes in quotation marks.")
