"""`strikebridge demo`: the whole job on a simulated board."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import click

from strikebridge.cli.options import (
    FiniteRange,
    data_option,
    recordings_folder,
    records_there,
    stops_cleanly,
    unit_option,
)
from strikebridge.cli.running import run_headless
from strikebridge.errors import ScreenError
from strikebridge.samples import Effort, Prescription, Rep
from strikebridge.screens.app import WindowOptions, run_window
from strikebridge.session.conductor import Plan
from strikebridge.sound.speaker import Speaker
from strikebridge.station import Station, StationSetup
from strikebridge.units import ForceUnit

SECONDS = 30.0
ROUND_S = 8.0  # the simulated athlete's round, from go to go


@click.command()
@click.option("--headless", is_flag=True, help="In the terminal, without a window.")
@click.option(
    "--seconds",
    type=FiniteRange(0.0, min_open=True),
    help=f"Length; {SECONDS:g} in the terminal, without end in the window.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Which reps."
)
@unit_option
@data_option
@click.option(
    "--pictures",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder that gets a picture of each phase of the window.",
)
@stops_cleanly
@records_there
def demo(
    headless: bool,
    seconds: float | None,
    seed: int,
    unit: str,
    data: Path | None,
    pictures: Path | None,
) -> int | None:
    """Show the whole job: a simulated board, an invented athlete, the wall screen."""
    folder = recordings_folder(data)
    stamp = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S-%f")
    recording = folder / f"demo-{stamp}.jsonl"
    setup = StationSetup(
        address=f"simulated:?rate_hz=80&seed={seed}",
        plan=Plan(Prescription(Effort.MAXIMAL, 3.0), 2.0, 2.0, is_rounds=True, round_s=ROUND_S),
        recording=recording,
        unit=ForceUnit(unit),
        athlete="Ines Halloran",
        exercise="rear straight",
        is_patient=True,
    )
    if not headless:
        try:
            speaker = Speaker()
            heard = replace(setup, speaker=speaker)
            options = WindowOptions(pictures=pictures, speaker=speaker)
            return run_window(lambda: Station(heard), seconds=seconds, options=options)
        except ScreenError as error:
            click.echo(f"strikebridge: {error} Going on in the terminal.", err=True)
    click.echo("Saltmarsh Quay (an invented club): Ines Halloran, rear straight, 3 s.")
    _, outcomes = run_headless(setup, seconds=seconds or SECONDS)
    count = sum(1 for one in outcomes if isinstance(one, Rep) and one.hold.complete)
    click.echo(f"{count} {'hold' if count == 1 else 'holds'}, recorded in {recording}")
    return 0
