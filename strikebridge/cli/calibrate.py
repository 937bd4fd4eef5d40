"""`strikebridge calibrate`: from plates to a certificate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import msgspec
from typing_extensions import override

from strikebridge.calibration.certificate import save_certificate
from strikebridge.calibration.declared import assumed_words, parse_plate, parse_plates
from strikebridge.calibration.document import (
    analyse_points,
    scale_error,
    walk_certificate,
    walk_document,
    walk_of_points,
)
from strikebridge.calibration.gravity import STANDARD, Gravity, given_gravity, gravity_at
from strikebridge.calibration.lifts import RUNS, check_plates
from strikebridge.calibration.points import read_points
from strikebridge.calibration.shelf import Shelf, board_words
from strikebridge.calibration.walk import MOSTLY_PLATES, analyse_walk
from strikebridge.calibration.walk_setup import WalkSetup
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
from strikebridge.cli.walking import lead_walk, print_points, walk_station
from strikebridge.errors import CalibrationError, FormatError
from strikebridge.reports.calibration_words import (
    advice_words,
    budget_lines,
    fit_words,
    scale_words,
    worth_words,
)
from strikebridge.samples import Quantity
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2, ForceUnit, show_doubt, show_force

if TYPE_CHECKING:
    from strikebridge.calibration.certificate import Certificate, PlateRecord
    from strikebridge.calibration.walk import Walk, WalkInput

AT = "--at"
QUANTITIES = [one.value for one in Quantity if one is not Quantity.UNKNOWN]


class _ManyAt(click.Command):
    """A command whose `--at` takes as many numbers as follow it."""

    @override
    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        spread: list[str] = []
        is_at = False
        for word in args:
            is_more = is_at and _is_number(word)
            spread += [AT, word] if is_more and spread[-1] != AT else [word]
            is_at = word == AT or is_more
        return super().parse_args(ctx, spread)


@click.command(cls=_ManyAt)
@click.argument("address", required=False)
@click.option(
    "--plate", multiple=True, help="A plate on the board's cell: A=20±0.4, once for each."
)
@click.option("--plates", type=click.Path(path_type=Path), help="Table of the plates: CSV.")
@click.option("--runs", type=click.IntRange(1, 5), help="Walks up and down; else 2.")
@click.option("--hands-free", is_flag=True, help="Go on without any key.")
@click.option("--points", type=click.Path(path_type=Path), help="Table of steps: CSV.")
@click.option("--degree", type=click.IntRange(1, 2), help="Of the curve; else the points say.")
@click.option("--gravity", type=NUMBER, help="Local gravity, m/s2, where it is known.")
@click.option("--latitude", type=NUMBER, help="Of the club, degrees, for its gravity.")
@click.option("--elevation-m", type=NUMBER, help="Of the club above the sea, with --latitude.")
@click.option(AT, type=NUMBER, multiple=True, help="Readings to turn into forces.")
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
    points: Path | None,
    degree: int | None,
    gravity: float | None,
    latitude: float | None,
    elevation_m: float | None,
    at: tuple[float, ...],
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
    and as wanted tolerance_kg, direction, run, plates and time_s.
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
        calibrate_live(address, setup, keep, degree, ForceUnit(unit), as_json=as_json)
        return
    if plate or plates is not None or runs is not None or hands_free:
        raise click.UsageError("Plates are put on a board: name its ADDRESS as well.")
    if points is None:
        raise click.UsageError(
            "Say what to calibrate: the ADDRESS of a board and its plates, or --points FILE."
        )
    table = read_points(points)
    walk = walk_of_points(table, where)
    result = analyse_points(table, walk, degree)
    document = walk_document(walk, result, at)
    error = scale_error(walk, result, Quantity(quantity))
    if error is not None:
        document["gain_error"] = {"value": error.share, "u95": error.u95}
    certificate: Certificate | None = None
    kept: list[Path] = []
    if board or output is not None:
        known = certificate_facts(quantity, rating_kg, board, who)
        certificate = finish_certificate(walk, result, known)
        kept = keep_certificate(certificate, output, data_folder(data) if board else None)
    document["certificate"] = None if certificate is None else certificate.id
    if as_json:
        print_json(document)
        return
    print_walk(walk, result, ForceUnit(unit), Quantity(quantity))
    for reading, (force_N, u_N, k) in ((one, result.at(one)) for one in at):
        shown = f"{show_force(force_N, k * u_N, ForceUnit(unit))}"
        click.echo(f"{reading:g} is {shown} ± {show_doubt(k * u_N, ForceUnit(unit))} {unit}")
    if certificate is None:
        click.echo("No certificate was kept. Keep it with --board NAME or --output FILE.")
    else:
        print_kept(certificate, kept)


@dataclass(frozen=True, slots=True)
class Keep:
    """What becomes of the certificate of a walk.

    Attributes:
        output: a file of its own, or None.
        data: data folder, None for the user's.
        who: who calibrates.
        rating_kg: rated load of one cell [kg], None where it was not said.
    """

    output: Path | None
    data: Path | None
    who: str
    rating_kg: float | None


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
        try:
            return parse_plates(table.read_text(encoding="utf-8-sig"))
        except OSError as error:
            msg = f"The table {table} cannot be read ({error.strerror}). Check its name."
            raise FormatError(msg) from error
        except UnicodeDecodeError as error:
            msg = f"{table} is not text in UTF-8. Save it as CSV (UTF-8)."
            raise FormatError(msg) from error
    try:
        plates = tuple(parse_plate(word) for word in words)
        check_plates(plates)
    except (FormatError, CalibrationError) as error:
        raise click.UsageError(str(error)) from error
    return plates


def calibrate_live(
    address: str,
    setup: WalkSetup,
    keep: Keep,
    degree: int | None,
    unit: ForceUnit,
    *,
    as_json: bool,
) -> None:
    """Calibrate the board at an address, with plates, in the terminal.

    Args:
        address: address of the board.
        setup: what the walk is made with.
        keep: what becomes of the certificate.
        degree: 1 or 2, None to let the points decide.
        unit: the coach's unit.
        as_json: print the document and nothing else.

    Raises:
        StrikebridgeError: the board cannot be read, the walk was cancelled, or its points carry
            no calibration; says what is kept.
    """
    station = walk_station(address, setup, keep.data)
    assumed = assumed_words(setup.plates)
    if assumed:
        click.echo(assumed, err=True)
    walked = lead_walk(station, keep.data)
    walk, quantity = walked.walk.walk_input(), walked.walk.quantity
    result = analyse_walk(walk, degree)
    known = certificate_facts(quantity.value, keep.rating_kg, "", keep.who)
    known |= {"board": board_words(station.identity), "address": address}
    certificate = finish_certificate(walk, result, known)
    kept = keep_certificate(certificate, keep.output, data_folder(keep.data))
    if as_json:
        document = walk_document(walk, result)
        error = scale_error(walk, result, quantity)
        if error is not None:
            document["gain_error"] = {"value": error.share, "u95": error.u95}
        document["certificate"] = certificate.id
        print_json(document)
        return
    print_points(station.view())
    print_walk(walk, result, unit, quantity)
    click.echo(
        f"The steps are kept in {walked.points_file}, every reading in {walked.recording}"
    )
    print_kept(certificate, kept)


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


def certificate_facts(
    quantity: str, rating_kg: float | None, board: str, who: str
) -> dict[str, Any]:
    """Put together what a certificate says beside the walk.

    Args:
        quantity: what the readings are.
        rating_kg: rated load of one cell [kg], None where it was not said.
        board: name of the board, or its address where it has no name.
        who: who calibrates.

    Returns:
        Fields of a certificate.

    Raises:
        click.UsageError: a name that no board can have.
    """
    if board != "".join(board.split()):
        raise click.UsageError("--board is one word, as `strikebridge boards ADDRESS` says it.")
    is_address = ":" in board
    return {
        "made_at": datetime.now().astimezone().isoformat(timespec="seconds"),
        "made_by": who,
        "board": "" if is_address else board,
        "address": board if is_address else "",
        "quantity": Quantity(quantity),
        "rating_N": None if rating_kg is None else rating_kg * STANDARD_GRAVITY_M_PER_S2,
    }


def finish_certificate(walk: WalkInput, result: Walk, known: dict[str, Any]) -> Certificate:
    """Make the certificate of a walk, with all that is known of board and cell.

    Args:
        walk: the walk.
        result: what it found out.
        known: from `certificate_facts`.

    Returns:
        The certificate.

    Raises:
        CalibrationError: the curve cannot be inverted over the calibrated loads.
    """
    certificate = walk_certificate(walk, result, str(known["made_at"]))
    return msgspec.structs.replace(certificate, **known)


def keep_certificate(
    certificate: Certificate, output: Path | None, data: Path | None
) -> list[Path]:
    """Write the certificate wherever it is wanted.

    Args:
        certificate: the certificate.
        output: a file of its own, or None.
        data: data folder with the shelf, or None.

    Returns:
        The files.

    Raises:
        CalibrationError: something is in the way, or the disk refuses.
    """
    kept = []
    if output is not None:
        save_certificate(certificate, output)
        kept.append(output)
    if data is not None:
        kept.append(Shelf(data).put(certificate))
    return kept


def print_walk(walk: WalkInput, result: Walk, unit: ForceUnit, quantity: Quantity) -> None:
    """Print what a walk is worth: fit, doubt, largest first, what to do, what does not fit.

    Args:
        walk: the walk.
        result: what it found out.
        unit: the coach's unit.
        quantity: what the readings are.
    """
    budget = result.budget()
    click.echo(fit_words(result, quantity))
    error = scale_error(walk, result, quantity)
    if error is not None:
        click.echo(scale_words(error))
    click.echo(worth_words(result.terms_at(result.top_N), result.top_N, unit))
    for line in budget_lines(budget, unit):
        click.echo(line)
    click.echo(advice_words(budget))
    for warning in result.warnings:
        if warning != MOSTLY_PLATES:  # table and advice have just said so
            click.echo(f"Mind: {warning}")


def print_kept(certificate: Certificate, kept: list[Path]) -> None:
    """Print where a certificate lies and how it is used.

    Args:
        certificate: the certificate.
        kept: its files.
    """
    for path in kept:
        click.echo(f"Certificate {certificate.id}: {path}")
    if certificate.board or certificate.address:
        click.echo("The window and record take it by themselves for this board.")
    elif kept:
        click.echo(f"Use it with --calibration {kept[0]}.")


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True
