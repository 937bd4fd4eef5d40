"""`strikebridge session`: lead a group through a plan."""

from __future__ import annotations

import contextlib
import queue
import sys
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from strikebridge.boards.address import Address, parse_address, usable_address
from strikebridge.cli.keyboard import single_keys
from strikebridge.cli.options import (
    calibration_options,
    choose_calibration,
    data_folder,
    data_option,
    json_option,
    print_json,
    recordings_folder,
    records_there,
    stops_cleanly,
    unit_option,
)
from strikebridge.cli.rig_options import rig_options
from strikebridge.cli.running import LOOK_EVERY_S, print_remarks
from strikebridge.cli.screen_options import screen_options
from strikebridge.cli.session_keys import KEYS_WORDS, KNOWN, SessionKeys
from strikebridge.cli.session_view import framed, happening_words, screen_words
from strikebridge.cli.session_window import group_of, lead_in_window, show_session
from strikebridge.day_stops import SEE_SOMEONE
from strikebridge.errors import SessionError
from strikebridge.group_station import GroupStation
from strikebridge.opening import (
    begin_chosen,
    begin_session,
    bring_the_invented,
    plan_of,
    resume_session,
)
from strikebridge.pages.plan_words import counted
from strikebridge.plan_shelf import kept_choice
from strikebridge.reports.session_json import session_document
from strikebridge.screens.app import REVIEW
from strikebridge.session.choice import NOT_NOTED, Choice, Volume, as_run
from strikebridge.session.plan import Mode
from strikebridge.session.plan_file import BUILT_IN
from strikebridge.session.turns import expected_s, length_words
from strikebridge.station import StationSetup
from strikebridge.store.database import open_store
from strikebridge.store.past import History
from strikebridge.store.training import Training
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from strikebridge.cli.keyboard import Keys
    from strikebridge.cli.options import CalibrationChoice
    from strikebridge.club.rig_setup import RigSetup
    from strikebridge.opening import Opened
    from strikebridge.screens.app import WindowOptions
    from strikebridge.session.happenings import Happening
    from strikebridge.store.database import Store

REPORT = "strikebridge report session {session} --output session.html"
CUES = ("snap", "breathe out", "whole body", "elbow down", "let go at once")
CARE = (
    "Isometric efforts raise blood pressure: breathe out on the push, and stop at pain. Anyone "
    "with heart or blood-pressure trouble asks a doctor first."
)


@dataclass(frozen=True, slots=True)
class Shown:
    """How a session is shown in the terminal.

    Attributes:
        is_silent: True where a JSON document follows.
        is_big: True for big digits in place of lines.
        unit: the coach's unit.
    """

    is_silent: bool
    is_big: bool
    unit: ForceUnit


@click.command()
@click.argument("plan")
@click.option("--board", required=True, help="Address of the board.")
@click.option("--group", help="Group of the roster; else everybody.")
@click.option(
    "--mode",
    type=click.Choice([mode.value for mode in Mode]),
    help="What begins a rep; else the plan says it.",
)
@click.option("--speed", help="Times real time, or max; simulated and replayed boards only.")
@click.option("--headless", is_flag=True, help="In the terminal, without a window.")
@click.option("--resume", is_flag=True, help="Take up the last session of this plan again.")
@click.option("--used-to-it", is_flag=True, help="For a group that is used to it.")
@click.option("--sets", type=click.IntRange(1, 10), help="Sets of every block.")
@click.option("--beyond-dose", is_flag=True, help="Confirm more sets than the plan's dose.")
@click.option("--cue", "cues", multiple=True, help="A cue of your own list, up to nine times.")
@rig_options
@screen_options
@calibration_options
@unit_option
@data_option
@json_option
@stops_cleanly
@records_there
def session(
    plan: str,
    board: str,
    group: str | None,
    mode: str | None,
    speed: str | None,
    headless: bool,
    resume: bool,
    used_to_it: bool,
    sets: int | None,
    beyond_dose: bool,
    cues: tuple[str, ...],
    rig_setup: RigSetup,
    screen: WindowOptions,
    calibration: Path | None,
    gain_n_per_count: float | None,
    zero_counts: float | None,
    rating_kg: float | None,
    unit: str,
    data: Path | None,
    as_json: bool,
) -> int | None:
    """Lead a group through PLAN: a file, or the name of one that comes with the program."""
    choice = choose_calibration(calibration, gain_n_per_count, zero_counts, rating_kg)
    address = _address(board, speed)
    setup = StationSetup(
        address=str(address),
        data=data_folder(data),
        certificate=choice.certificate,
        by_hand=choice.by_hand,
        rating_N=choice.rating_N,
        unit=ForceUnit(unit),
        is_patient=True,
    )
    with contextlib.closing(open_store(data_folder(data))) as store:
        if address.scheme == "simulated":
            bring_the_invented(store)
        file = None if plan in BUILT_IN else Path(plan)
        written = plan_of(plan, store, file)
        if resume:
            said = None if rig_setup == NOT_NOTED else rig_setup
            opened = resume_session(store, written.name, said)
        else:
            volume = Volume(used_to_it, sets, beyond_dose)
            as_it_is_run = as_run(written, volume, None if mode is None else Mode(mode))
            opened = begin_session(store, as_it_is_run, group, rig_setup)
        if not as_json:
            _announce(opened)
        setup = replace(setup, recording=_recording(recordings_folder(data), opened))
        shown = Shown(as_json, headless and sys.stdout.isatty() and not as_json, setup.unit)
        own_cues = (cues or CUES)[:9]
        if not headless and not as_json:
            options = replace(screen, unit=setup.unit)
            setup = replace(setup, unit=options.unit_now)
            code = lead_in_window(opened, store, setup, options, own_cues)
            if code == REVIEW:
                show_session(store, opened.record.id, data_folder(data), options)
        else:
            _run(opened, store, setup, own_cues, shown)
        return _report(opened, store, shown)


def lead_chosen(
    chosen: Choice | None,
    board: str,
    data: Path | None,
    calibration: CalibrationChoice,
    options: WindowOptions,
) -> None:
    """Lead the session that was chosen in the window, in a window.

    Args:
        chosen: what was chosen, None to take up the session that broke off last.
        board: address of the board.
        data: data folder, None for the user's.
        calibration: where the forces come from.
        options: how the window opens.

    Raises:
        StrikebridgeError: what went wrong; what was done is kept.
    """
    folder = data_folder(data)
    setup = StationSetup(
        address=str(_address(board, None)),
        data=folder,
        certificate=calibration.certificate,
        by_hand=calibration.by_hand,
        rating_N=calibration.rating_N,
        unit=options.unit_now,
        is_patient=True,
    )
    with contextlib.closing(open_store(folder)) as store:
        kept = chosen or kept_choice(folder) or Choice("")
        if chosen is None:
            opened = resume_session(store, None, usual=kept.rig)
        else:
            opened = begin_chosen(store, chosen, folder)
        setup = replace(setup, recording=_recording(recordings_folder(data), opened))
        code = lead_in_window(opened, store, setup, options, kept.cues or CUES)
        if code == REVIEW:
            show_session(store, opened.record.id, folder, options)


def _address(board: str, speed: str | None) -> Address:
    """Say how the board is opened: a simulated group listens to whoever leads."""
    address = parse_address(board)
    options = dict(address.options)
    if speed is not None:
        if address.scheme not in ("simulated", "replay"):
            raise click.UsageError("--speed is for simulated and replayed boards.")
        options["speed"] = speed
    if address.scheme == "simulated":
        options.setdefault("athlete", "listens")
    return usable_address(str(replace(address, options=options)))


def _recording(folder: Path, opened: Opened) -> Path:
    stamp = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S-%f")
    return folder / f"session-{opened.record.id[:8]}-{stamp}.jsonl"


def _announce(opened: Opened) -> None:
    """Say what is coming, how long it takes and what to mind."""
    plan, left = opened.plan, opened.conductor.order.coming
    names = ", ".join(one.name for one in opened.athletes.values())
    who = "1 athlete" if len(opened.athletes) == 1 else f"{len(opened.athletes)} athletes"
    holds = sum(1 for turn in left if turn.is_measured)
    much = f"{counted(holds, 'measured hold')}, {counted(len(left) - holds, 'timed drill')}"
    length = length_words(expected_s(plan, left))
    click.echo(f"{plan.name}: {plan.about}".rstrip(" :"))
    click.echo(f"{who}: {names}.")
    click.echo(f"{much}, {length}. {plan.care}".rstrip())
    click.echo(CARE)
    if opened.stops.today:
        click.echo("\n".join((*opened.stops.today, SEE_SOMEONE)))


def _run(
    opened: Opened,
    store: Store,
    setup: StationSetup,
    cues: tuple[str, ...],
    shown: Shown,
) -> None:
    """Run the session in the terminal until it is over or somebody ends it."""
    happened: queue.SimpleQueue[Happening] = queue.SimpleQueue()
    remarks: queue.SimpleQueue[str] = queue.SimpleQueue()
    group = replace(group_of(opened, store, cues), on_happening=happened.put)
    book = group.book
    try:
        station = GroupStation(setup, group, on_remark=remarks.put)
        heard = SessionKeys(station, shown.unit)
        station.start()
        try:
            with single_keys() as keys:
                if shown.is_big:
                    click.echo(framed(""), nl=False)
                elif not shown.is_silent:
                    click.echo(KEYS_WORDS)
                is_silent = shown.is_silent or shown.is_big
                while not station.wait(LOOK_EVERY_S) and _press(
                    keys, heard, is_silent=is_silent
                ):
                    shown = replace(shown, unit=heard.unit)
                    if shown.is_big:
                        words = screen_words(heard.shown(station.glance()), cues)
                        click.echo(framed(f"{words}\n\n{KEYS_WORDS}"), nl=False)
                    else:
                        _show(opened, happened, remarks, shown)
        except KeyboardInterrupt:
            click.echo("Stopped.", err=True)  # a wish, not a fault: what was done is kept
        finally:
            station.stop()
        if station.error is not None:
            raise station.error
    finally:
        book.close()
    _show(opened, happened, remarks, shown)


def _press(keys: Keys, heard: SessionKeys, *, is_silent: bool) -> bool:
    """Hand on what was pressed; False when the session is to end."""
    for word in keys.words(KNOWN, with_others=True):
        said = heard.hear(word)
        if said is None:
            return False
        if said and not is_silent:
            click.echo(said)
    return True


def _show(
    opened: Opened,
    happened: queue.SimpleQueue[Happening],
    remarks: queue.SimpleQueue[str],
    shown: Shown,
) -> None:
    print_remarks(remarks)
    while not happened.empty():
        words = happening_words(happened.get(), opened.athletes, shown.unit)
        if words and not shown.is_silent:
            click.echo(words)


def _report_words(session: str) -> str:
    """Write the command that reports a session, with the data folder where one was given."""
    words = REPORT.format(session=session[:8])
    data = click.get_current_context().params.get("data")
    return words if data is None else f'{words} --data "{data}"'


def _report(opened: Opened, store: Store, shown: Shown) -> int:
    """Say what was done, from the database; 1 where a board ended before the plan."""
    training, history = Training(store), History(store)
    point = training.resume_point(opened.record.id)
    reps = history.reps(opened.record.id)
    document = session_document(point, opened.turns, reps, opened.athletes)
    if shown.is_silent:
        print_json(document)
    else:
        click.echo(
            f"{document['done']} of {document['planned']} holds done, {document['skipped']} "
            "left out. Everything is saved."
        )
        click.echo(f"A report of it: {_report_words(opened.record.id)}")
    if point.next_turn is None:
        return 0
    raise SessionError(
        f"The session ended at turn {point.next_turn} of {len(opened.turns)}. What was done is "
        "saved. Take it up again with --resume."
    )
