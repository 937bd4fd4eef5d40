"""`strikebridge athletes`: who trains here."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

import click

from strikebridge.cli.options import data_folder, data_option, json_option, print_json
from strikebridge.club.athlete import AgeGroup, Care, Stance
from strikebridge.club.entry import CARE_FIELDS, FIELDS
from strikebridge.day_stops import newest_stop, take_back_stop
from strikebridge.enrolling import entry_of, fields_left, import_table
from strikebridge.errors import ConsentError, RosterError
from strikebridge.pages.pain_slips import NONE_TODAY, TAKEN_BACK
from strikebridge.reports.roster_words import athlete_document, roster_lines
from strikebridge.store.database import open_store
from strikebridge.store.roster import Roster, local_day

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from strikebridge.club.athlete import Athlete
    from strikebridge.club.entry import FieldFault

P = ParamSpec("P")
R = TypeVar("R")


def _field_options(command: Callable[P, R]) -> Callable[P, R]:
    """Add one option for each field of an athlete that is typed."""
    for option in (
        click.option("--note", help="A sentence of your own."),
        click.option(
            "--care",
            multiple=True,
            type=click.Choice([care.value for care in Care]),
            help="What to be reminded of at this athlete's turn; may be given again.",
        ),
        click.option("--consent-by", help="Who agreed to storing, such as mother."),
        click.option("--consent-on", help="Day of the consent, as 2026-03-01."),
        click.option("--weighed-on", help="Day of the weighing; else today."),
        click.option("--mass-kg", help="Body mass."),
        click.option("--born-year", help="Year of birth."),
        click.option(
            "--age-group",
            type=click.Choice([group.value for group in AgeGroup]),
            help="In place of a year of birth.",
        ),
    ):
        command = option(command)
    return command


@contextlib.contextmanager
def _roster(data: Path | None) -> Iterator[Roster]:
    """Open the roster of a data folder and close it again."""
    with contextlib.closing(open_store(data_folder(data))) as store:
        yield Roster(store)


@click.group()
def athletes() -> None:
    """See and change the roster: who trains here, in which groups."""


@athletes.command(name="list")
@click.option("--group", help="Only those of this group.")
@data_option
@json_option
def list_athletes(group: str | None, data: Path | None, as_json: bool) -> None:
    """List the athletes by name."""
    today = local_day()
    with _roster(data) as roster:
        found = roster.all(group)
    if as_json:
        print_json({"athletes": [athlete_document(one, today) for one in found]})
    elif not found:
        click.echo("Nobody yet. Add somebody: strikebridge athletes add NAME --stance orthodox")
    else:
        for line in roster_lines(found, today):
            click.echo(line)


@athletes.command()
@click.argument("name")
@click.option(
    "--stance",
    required=True,
    type=click.Choice([stance.value for stance in Stance]),
    help="Which side stands in front.",
)
@_field_options
@click.option("--group", multiple=True, help="Group to be in; may be given again.")
@data_option
@json_option
def add(
    name: str,
    group: tuple[str, ...],
    care: tuple[str, ...],
    data: Path | None,
    as_json: bool,
    **said: str | None,
) -> None:
    """Add one athlete.

    An age group or a year of birth is needed. Nothing of an athlete under 18 is stored without
    consent.
    """
    made = _made({"name": name, **_typed(said, care)})
    with _roster(data) as roster:
        roster.add(replace(made, groups=group))
        made = roster.find(made.id)
    _print_athlete(made, "added", as_json=as_json)


@athletes.command()
@click.argument("name")
@click.option("--name", "new_name", help="The new name.")
@click.option(
    "--stance",
    type=click.Choice([stance.value for stance in Stance]),
    help="The new stance; earlier reps keep theirs.",
)
@_field_options
@click.option("--no-care", is_flag=True, help="Nothing to be reminded of any more.")
@data_option
@json_option
def edit(
    name: str,
    new_name: str | None,
    care: tuple[str, ...],
    no_care: bool,
    data: Path | None,
    as_json: bool,
    **said: str | None,
) -> None:
    """Change what is named, and leave the rest.

    A body mass joins those on record; what --care names takes the place of what was there.
    """
    if no_care and care:
        raise click.UsageError("Give --care or --no-care, not both.")
    if not (new_name or no_care or care or any(one is not None for one in said.values())):
        raise click.UsageError("Say what to change; see --help.")
    with _roster(data) as roster:
        before = roster.find(name)
        fields = fields_left(before, said, is_care_new=bool(care or no_care))
        if new_name is not None:
            fields["name"] = new_name
        roster.change(_made({**fields, **_typed(said, care)}, before))
        after = roster.find(before.id)
    _print_athlete(after, "changed", as_json=as_json)


@athletes.command()
@click.argument("name")
@data_option
@json_option
def remove(name: str, data: Path | None, as_json: bool) -> None:
    """Take back an entry that was a slip; whoever has trained stays."""
    with _roster(data) as roster:
        gone = roster.remove(name)
    _print_athlete(gone, "removed", as_json=as_json)


@athletes.command()
@click.argument("name")
@click.option("--yes", is_flag=True, help="Do not ask.")
@data_option
@json_option
def slip(name: str, yes: bool, data: Path | None, as_json: bool) -> None:
    """Take back the newest stop for pain of today of NAME, where it was a slip.

    It asks once, by the names of athlete and exercise. The stop stays on record as taken back.
    """
    now = datetime.now().astimezone()
    with contextlib.closing(open_store(data_folder(data))) as store:
        who = Roster(store).find(name)
        stop = newest_stop(store, who.id, now)
        if stop is None:
            raise RosterError(NONE_TODAY.format(name=who.name))
        if not yes:
            words = (
                f"Was the stop for pain of {who.name} at {stop.name} ({stop.at:%H:%M}) a slip?"
            )
            click.confirm(words, abort=True, err=True)
        take_back_stop(store, who.id, stop.exercise, now)
    if as_json:
        at = {"stopped_at": stop.at.isoformat(), "taken_back_at": now.isoformat()}
        print_json({"athlete": who.name, "exercise": stop.exercise, **at})
    else:
        click.echo(TAKEN_BACK.format(name=who.name, exercise=stop.name))


@athletes.command(name="import")
@click.argument("file", type=click.Path(path_type=Path))
@data_option
@json_option
def import_athletes(file: Path, data: Path | None, as_json: bool) -> None:
    """Add all athletes of the CSV FILE, or none if anything is wrong."""
    with _roster(data) as roster:
        found = import_table(roster, file)
    if as_json:
        print_json({"imported": len(found)})
    else:
        click.echo(f"{len(found)} added from {file.name}.")


@athletes.group()
def groups() -> None:
    """See and change the groups."""


@groups.command(name="list")
@data_option
@json_option
def list_groups(data: Path | None, as_json: bool) -> None:
    """List the groups and how many are in each."""
    with _roster(data) as roster:
        found = roster.groups()
    if as_json:
        print_json({"groups": [{"name": name, "athletes": n} for name, n in found.items()]})
    elif not found:
        click.echo("No group yet. Make one: strikebridge athletes groups add GROUP NAME ...")
    else:
        for name, number in found.items():
            click.echo(f"{name}: {number}")


@groups.command(name="add")
@click.argument("group")
@click.argument("names", nargs=-1, required=True)
@data_option
def add_to_group(group: str, names: tuple[str, ...], data: Path | None) -> None:
    """Put the athletes NAMES into GROUP; the first one makes it."""
    with _roster(data) as roster:
        found = roster.put_in(group, names)
    click.echo(f"In {group}: {', '.join(one.name for one in found)}.")


@groups.command(name="remove")
@click.argument("group")
@click.argument("names", nargs=-1, required=True)
@data_option
def remove_from_group(group: str, names: tuple[str, ...], data: Path | None) -> None:
    """Take the athletes NAMES out of GROUP; with its last one the group is gone."""
    with _roster(data) as roster:
        found = roster.take_out(group, names)
    click.echo(f"Not in {group} any more: {', '.join(one.name for one in found)}.")


def _typed(said: Mapping[str, str | None], care: tuple[str, ...]) -> dict[str, str]:
    """Put what was typed into fields; what was not typed is left out."""
    fields = {name: text for name, text in said.items() if text is not None}
    return fields | {field: "yes" for field, one in CARE_FIELDS.items() if one.value in care}


def _made(fields: dict[str, str], before: Athlete | None = None) -> Athlete:
    """Make an athlete of fields, or say what is wrong with what was typed."""
    entry = entry_of(fields, before)
    if entry.athlete is not None:
        return entry.athlete
    words = [_fault_words(fault) for fault in entry.faults]
    is_only_consent = [fault.field for fault in entry.faults] == ["consent_on"]
    if is_only_consent and not (fields.get("consent_on") or fields.get("consent_by")):
        raise ConsentError(f"Nothing was stored. {' '.join(words)}")
    raise click.UsageError("\n".join(words))


def _fault_words(fault: FieldFault) -> str:
    words = fault.words
    for name in FIELDS:
        if "_" in name:
            words = words.replace(name, f"--{name.replace('_', '-')}")
    at = "NAME" if fault.field == "name" else f"--{fault.field.replace('_', '-')}"
    return f"{at}: {words}"


def _print_athlete(athlete: Athlete, done: str, *, as_json: bool) -> None:
    if as_json:
        print_json(athlete_document(athlete, local_day()))
    else:
        click.echo(f"{athlete.name} {done}.")
