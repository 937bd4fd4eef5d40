"""`strikebridge replay FILE`: a recording as if live."""

from __future__ import annotations

from pathlib import Path

import click

from strikebridge.analysis import collect, demand_forces
from strikebridge.cli.options import (
    calibration_options,
    choose_calibration,
    json_option,
    print_json,
    stops_cleanly,
    unit_option,
)
from strikebridge.cli.running import run_headless
from strikebridge.recording import RecordingReader
from strikebridge.reports.analysis_json import analysis_document
from strikebridge.screens.app import run_window
from strikebridge.station import Station, StationSetup
from strikebridge.units import ForceUnit


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--speed", default="1", show_default=True, help="Times real time, or max for all at once."
)
@click.option("--headless", is_flag=True, help="In the terminal, without a window.")
@calibration_options
@unit_option
@json_option
@stops_cleanly
def replay(
    file: Path,
    speed: str,
    headless: bool,
    calibration: Path | None,
    gain_n_per_count: float | None,
    zero_counts: float | None,
    rating_kg: float | None,
    unit: str,
    as_json: bool,
) -> int | None:
    """Play the recording FILE as if it were live, in the window or the terminal."""
    choice = choose_calibration(calibration, gain_n_per_count, zero_counts, rating_kg)
    header = RecordingReader(file).header
    setup = StationSetup(
        address=f"replay:{file}?speed={speed}",
        certificate=choice.certificate,
        by_hand=choice.by_hand,
        rating_N=choice.rating_N,
        shape=header.shape,
        unit=ForceUnit(unit),
    )
    if not headless and not as_json:
        return run_window(lambda: Station(setup))
    station, outcomes = run_headless(setup, is_silent=as_json)
    pipeline, decoder = station.pipeline, station.decoder
    if pipeline is None or decoder is None:
        return None
    demand_forces(file, pipeline, unreadable=decoder.unreadable)
    if as_json:
        print_json(analysis_document(collect(file.name, pipeline, outcomes)))
    return None
