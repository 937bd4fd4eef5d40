"""`strikebridge calibrate`: from plates to a certificate."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from strikebridge.calibration.declared import parse_plate, parse_plates
from strikebridge.calibration.gravity import STANDARD, Gravity, given_gravity, gravity_at
from strikebridge.calibration.lifts import RUNS, check_plates
from strikebridge.calibration.points_table import table_text
from strikebridge.calibration.walk_setup import WalkSetup
from strikebridge.cli.calibrating import Live, calibrate_live
from strikebridge.cli.keeping import (
    Keep,
    certificate_facts,
    keep_certificate,
    print_kept,
)
from strikebridge.cli.options import (
    NUMBER,
    FiniteRange,
    data_folder,
    data_option,
    json_option,
    print_json,
    stops_cleanly,
    unit_option,
)
from strikebridge.cli.point_tables import (
    AT,
    READINGS,
    Asked,
    ManyAt,
    analyse_table,
)
from strikebridge.errors import CalibrationError, FormatError
from strikebridge.safekeeping.one_at_a_time import recording_in
from strikebridge.samples import Quantity
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.turned import turned_in
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from strikebridge.calibration.certificate import Certificate, PlateRecord

QUANTITIES = [one.value for one in Quantity if one is not Quantity.UNKNOWN]


@click.command(cls=ManyAt)
@click.argument("address", required=False)
@click.option(
    "--plate", multiple=True, help="A plate on the board's cell: A=20±0.4, once for each."
)
@click.option("--plates", type=click.Path(path_type=Path), help="Table of the plates: CSV.")
@click.option("--runs", type=click.IntRange(1, 5), help="Walks up and down; else 2.")
@click.option("--hands-free", is_flag=True, help="Go on without any key.")
@click.option("--window", "in_window", is_flag=True, help="Lead the walk in a window.")
@click.option("--points", type=click.Path(path_type=Path), help="Table of steps: CSV.")
@click.option("--degree", type=click.IntRange(1, 2), help="Of the curve; else the points say.")
@click.option("--gravity", type=NUMBER, help="Local gravity, m/s2, where it is known.")
@click.option("--latitude", type=NUMBER, help="Of the club, degrees, for its gravity.")
@click.option("--elevation-m", type=NUMBER, help="Of the club above the sea, with --latitude.")
@click.option(AT, type=READINGS, multiple=True, help="Readings to turn into forces.")
@click.option(
    "--cell-at",
    type=NUMBER,
    nargs=2,
    multiple=True,
    help="Where a cell of a platform stands, x and y in mm; once for each.",
)
@click.option(
    "--quantity",
    type=click.Choice(QUANTITIES),
    default=Quantity.COUNT.value,
    show_default=True,
    help="What the readings are; kg for a scale that names its unit.",
)
@click.option("--rating-kg", type=FiniteRange(0.0, min_open=True), help="Rating of one cell.")
@click.option(
    "--board", default="", help="Name or address of the board: keeps the certificate."
)
@click.option("--who", default="", help="Who calibrates; kept in the certificate.")
@click.option("--output", type=click.Path(path_type=Path), help="File for the certificate.")
@data_option
@unit_option
@json_option
@stops_cleanly
def calibrate(
    address: str | None,
    plate: tuple[str, ...],
    plates: Path | None,
    runs: int | None,
    hands_free: bool,
    in_window: bool,
    points: Path | None,
    degree: int | None,
    gravity: float | None,
    latitude: float | None,
    elevation_m: float | None,
    at: tuple[tuple[float, ...], ...],
    cell_at: tuple[tuple[float, float], ...],
    quantity: str,
    rating_kg: float | None,
    board: str,
    who: str,
    output: Path | None,
    data: Path | None,
    unit: str,
    as_json: bool,
) -> None:
    """Turn plates into a certificate that says what a reading is worth.

    With ADDRESS the board there is calibrated step by step, with the plates named by --plate or
    --plates. Without, a table says it all:
    the table of --points has a header and one line a step: mass_kg (or force_N) and reading,
    and as wanted tolerance_kg, direction, run, plates and time_s. For a platform on several
    cells it has reading_1, reading_2 and so on, with a plate moved from corner to corner.
    """
    where = choose_gravity(gravity, latitude, elevation_m)
    if address is not None:
        if points is not None or at:
            raise click.UsageError("Give ADDRESS or --points (with --at), not both.")
        setup = WalkSetup(
            choose_plates(plate, plates),
            runs=runs or RUNS,
            is_hands_free=hands_free,
            gravity=where,
            rating_kg=rating_kg,
        )
        keep = Keep(output, data, who, rating_kg)
        asked = Asked(where, degree, Quantity.COUNT, (), cell_at)
        live = Live(address, setup, keep, asked)
        window = WindowOptions(turned=turned_in(data_folder(data))) if in_window else None
        with recording_in(data_folder(data)):
            calibrate_live(live, ForceUnit(unit), as_json=as_json, window=window)
        return
    if plate or plates is not None or runs is not None or hands_free or in_window:
        raise click.UsageError("Plates are put on a board: name its ADDRESS as well.")
    if points is None:
        raise click.UsageError(
            "Say what to calibrate: the ADDRESS of a board and its plates, or --points FILE."
        )
    asked = Asked(where, degree, Quantity(quantity), at, cell_at)
    found = analyse_table(points, asked)
    certificate: Certificate | None = None
    kept: list[Path] = []
    if board or output is not None:
        certificate = found.certificate(certificate_facts(quantity, rating_kg, board, who))
        kept = keep_certificate(certificate, output, data_folder(data) if board else None)
    if as_json:
        named = None if certificate is None else certificate.id
        print_json(found.document() | {"certificate": named})
        return
    found.print(ForceUnit(unit))
    if certificate is None:
        click.echo("No certificate was kept. Keep it with --board NAME or --output FILE.")
    else:
        print_kept(certificate, kept)


def choose_plates(words: tuple[str, ...], table: Path | None) -> tuple[PlateRecord, ...]:
    """Read which plates there are.

    Args:
        words: plates as words of the command line.
        table: file with a table of plates, or None.

    Returns:
        The plates, in the order they are put on.

    Raises:
        click.UsageError: none, two ways at once, or a word that is no plate.
        FormatError: the table is wrong; names line and column.
    """
    if words and table is not None:
        raise click.UsageError("Give --plate or --plates, not both.")
    if table is not None:
        return parse_plates(table_text(table))
    try:
        plates = tuple(parse_plate(word) for word in words)
        check_plates(plates)
    except (FormatError, CalibrationError) as error:
        raise click.UsageError(str(error)) from error
    return plates


def choose_gravity(
    gravity: float | None, latitude: float | None, elevation_m: float | None
) -> Gravity:
    """Read what was said about gravity.

    Args:
        gravity: local gravity [m/s2], or None.
        latitude: of the club [deg], or None.
        elevation_m: of the club [m], or None.

    Returns:
        Gravity with its doubt; standard gravity where nothing was said.

    Raises:
        click.UsageError: two ways at once, a height without a latitude, or no place on Earth.
    """
    if gravity is not None and (latitude is not None or elevation_m is not None):
        raise click.UsageError("Give --gravity, or --latitude and --elevation-m, not both.")
    if latitude is None and elevation_m is not None:
        raise click.UsageError("--elevation-m goes with --latitude.")
    try:
        if gravity is not None:
            return given_gravity(gravity)
        if latitude is not None:
            return gravity_at(latitude, elevation_m or 0.0)
    except CalibrationError as error:
        raise click.UsageError(str(error)) from error
    return STANDARD
