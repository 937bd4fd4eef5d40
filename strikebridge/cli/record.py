"""`strikebridge record ADDRESS --output FILE`: the raw stream to a file."""

from __future__ import annotations

import contextlib
from pathlib import Path

import click

from strikebridge.boards.address import parse_address
from strikebridge.boards.typed_link import SCHEME
from strikebridge.cli.options import (
    FiniteRange,
    calibration_options,
    choose_calibration,
    choose_prescription,
    data_folder,
    data_option,
    json_option,
    prescription_options,
    print_json,
    stops_cleanly,
    unit_option,
)
from strikebridge.cli.running import run_headless
from strikebridge.cli.typing import run_typed
from strikebridge.safekeeping.one_at_a_time import recording_in
from strikebridge.samples import Prescription
from strikebridge.session.conductor import Plan
from strikebridge.station import Station, StationSetup
from strikebridge.units import ForceUnit


@click.command()
@click.argument("address")
@click.option("--output", type=click.Path(path_type=Path), required=True, help="File to make.")
@click.option("--seconds", type=FiniteRange(0.0, min_open=True), help="Length; else Ctrl-C.")
@calibration_options
@prescription_options
@data_option
@unit_option
@json_option
@stops_cleanly
def record(
    address: str,
    output: Path,
    seconds: float | None,
    calibration: Path | None,
    gain_n_per_count: float | None,
    zero_counts: float | None,
    rating_kg: float | None,
    effort: str | None,
    hold_s: float | None,
    band_n: tuple[float, float] | None,
    data: Path | None,
    unit: str,
    as_json: bool,
) -> None:
    """Record every byte of the board at ADDRESS; print the holds if it is calibrated.

    With the address typed: it counts in and down and asks what a plain scale showed.
    """
    choice = choose_calibration(calibration, gain_n_per_count, zero_counts, rating_kg)
    prescription = choose_prescription(effort, hold_s, band_n)
    setup = StationSetup(
        address=address,
        plan=Plan(prescription or Prescription()),
        recording=output,
        data=data_folder(data),
        certificate=choice.certificate,
        by_hand=choice.by_hand,
        rating_N=choice.rating_N,
        unit=ForceUnit(unit),
    )
    folder = data_folder(data)
    is_in_it = output.absolute().is_relative_to(folder.absolute())
    with recording_in(folder) if is_in_it else contextlib.nullcontext():
        station = _run(setup, seconds, is_silent=as_json)
    readings = 0 if station.pipeline is None else station.pipeline.readings
    document = {
        "recording": str(output),
        "bytes": station.bytes_recorded,
        "readings": readings,
        "seconds": station.seconds,
    }
    if as_json:
        print_json(document)
    else:
        click.echo(
            f"{output}: {document['bytes']} bytes, {readings} readings, {station.seconds:.1f} s"
        )


def _run(setup: StationSetup, seconds: float | None, *, is_silent: bool) -> Station:
    """Record until the end of the stream, or as long as was asked for."""
    if parse_address(setup.address).scheme == SCHEME:
        if seconds is not None:
            raise click.UsageError("--seconds does not go with typed:, which ends with q.")
        return run_typed(setup, is_silent=is_silent)[0]
    return run_headless(setup, seconds=seconds, is_silent=is_silent)[0]
