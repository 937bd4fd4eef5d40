"""`strikebridge verify ADDRESS`: zero, noise and gain before a session."""

from __future__ import annotations

import re
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from strikebridge.calibration.certificate_file import load_certificate
from strikebridge.calibration.shelf import Shelf
from strikebridge.check_station import CheckStation, CheckStationSetup
from strikebridge.checks.check_words import check_lines, remarks, trend_words, verdict_sentence
from strikebridge.checks.expected import (
    UNCHECKED,
    Reference,
    known_plates,
    plate_reference,
    scale_reference,
    shunt_reference,
)
from strikebridge.checks.history import Verdict
from strikebridge.cli.options import (
    data_folder,
    data_option,
    json_option,
    print_json,
    recordings_folder,
    records_there,
    stops_cleanly,
    unit_option,
)
from strikebridge.reports.check_json import check_document
from strikebridge.screens.app import WindowOptions
from strikebridge.screens.rig_app import run_rig
from strikebridge.screens.rig_pages import CheckPages
from strikebridge.screens.turned import turned_in
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.checks.check_view import CheckView
    from strikebridge.checks.judging import Check

LOOK_EVERY_S = 0.1
NUMBER = r"([0-9]+(?:\.[0-9]*)?)"
AMOUNT = re.compile(rf"{NUMBER}(?:(?:±|\+-|\+/-){NUMBER})?", re.ASCII)


@click.command()
@click.argument("address")
@click.option(
    "--plate",
    help="A plate: its name in the calibration (A, A+B), or its mass, such as 20±0.2 in kg.",
)
@click.option("--scale", help="A pull read off a hanging scale, such as 30±0.3 in kg.")
@click.option("--shunt-n", help="Load that a resistor simulates, such as 300±2 in newtons.")
@click.option("--certificate", help="File or id; else the newest one of the board.")
@click.option("--window", "in_window", is_flag=True, help="Lead the check in a window.")
@data_option
@unit_option
@json_option
@stops_cleanly
@records_there
def verify(
    address: str,
    plate: str | None,
    scale: str | None,
    shunt_n: str | None,
    certificate: str | None,
    in_window: bool,
    data: Path | None,
    unit: str,
    as_json: bool,
) -> int:
    """Check the board at ADDRESS against its calibration: zero, noise, gain.

    Without --plate, --scale or --shunt-n the gain stays unchecked, and that is said.
    """
    reference = choose_reference(plate, scale, shunt_n)
    folder = data_folder(data)
    stamp = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S-%f")
    setup = CheckStationSetup(
        address,
        folder,
        recording=recordings_folder(data) / f"check-{stamp}.jsonl",
        certificate=None if certificate is None else find_certificate(certificate, folder),
        reference=reference,
        is_hands_free=not in_window,  # the terminal hears no key but Ctrl-C
    )
    station = CheckStation(setup)
    station.look_ahead()
    if in_window:
        options = WindowOptions(turned=turned_in(data_folder(data)))
        run_rig(station, CheckPages(ForceUnit(unit)), options)
    else:
        run_check(station, is_silent=as_json)
    for remark in station.remarks:
        click.echo(f"strikebridge: {remark}", err=True)
    check = station.check
    if check is None:
        raise click.ClickException("The check was cancelled. Nothing was decided.")
    if as_json:
        print_json(check_document(check))
    else:
        print_check(check, ForceUnit(unit))
        trend = trend_words(station.past, ForceUnit(unit))
        if trend:
            click.echo(trend)
    return 0 if check.verdict is Verdict.GOOD else 1


def choose_reference(
    plate: str | None, scale: str | None, shunt_n: str | None
) -> Callable[[Certificate], Reference]:
    """Read what the gain is to be checked with.

    Args:
        plate: names of plates of the calibration, or a mass with its tolerance [kg].
        scale: what a hanging scale will show, with its tolerance [kg].
        shunt_n: what a resistor simulates, with its tolerance [N].

    Returns:
        What makes the reference once the certificate is known.

    Raises:
        click.UsageError: two ways at once, or an amount that cannot be read.
    """
    if sum(word is not None for word in (plate, scale, shunt_n)) > 1:
        raise click.UsageError("Give one of --plate, --scale and --shunt-n.")
    if plate is not None:
        if not AMOUNT.fullmatch(plate):
            names = plate.split("+")
            return lambda certificate: known_plates(certificate, names)
        mass_kg, half_kg = _amount("--plate", plate)
        return lambda certificate: plate_reference(certificate, mass_kg, half_kg)
    if scale is not None:
        pull_kg, u_kg = _amount("--scale", scale)
        if u_kg is None:
            raise click.UsageError("--scale wants what the scale is good for: 30±0.3.")
        return lambda certificate: scale_reference(certificate, pull_kg, u_kg)
    if shunt_n is not None:
        load_N, half_N = _amount("--shunt-n", shunt_n)
        return lambda _: shunt_reference(load_N, half_N or 0.0)
    return lambda _: UNCHECKED


def _amount(option: str, text: str) -> tuple[float, float | None]:
    found = AMOUNT.fullmatch(text)
    if found is None:
        raise click.UsageError(f"{option} {text} cannot be read; write 20±0.2.")
    value = float(found[1])
    half = None if found[2] is None else float(found[2])
    if value <= 0.0:
        raise click.UsageError(f"{option} {text} is no load; write a number above 0.")
    if half is not None and half >= value:
        raise click.UsageError(f"{option} {text}: nothing is known of so doubtful a load.")
    return value, half


def find_certificate(word: str, data: Path) -> Certificate:
    """Find a certificate by its file or its id.

    Args:
        word: a file, or an id on the shelf.
        data: data folder.

    Returns:
        The certificate.

    Raises:
        CalibrationError: there is none.
    """
    path = Path(word)
    return load_certificate(path) if path.exists() else Shelf(data).find(word)


def run_check(station: CheckStation, *, is_silent: bool) -> None:
    """Run a check in the terminal, saying what to do as it goes.

    Args:
        station: not yet started.
        is_silent: print nothing (a JSON document follows).

    Raises:
        StrikebridgeError: why it ended early.
    """
    told = _Teller(is_live=sys.stderr.isatty())
    station.start()
    try:
        while not station.wait(LOOK_EVERY_S):
            if not is_silent:
                told.tell(station.view())
    finally:
        station.stop()
        told.close()
    if station.error is not None:
        raise station.error


class _Teller:
    """Print each new instruction once, and the reading on one line where somebody looks on."""

    def __init__(self, *, is_live: bool) -> None:
        self._is_live = is_live
        self._said = ""
        self._is_open = False

    def tell(self, view: CheckView) -> None:
        """Say what is new."""
        words = view.instruction if view.trouble is None else view.trouble.what
        if view.trouble is not None:
            words = f"{words} {view.trouble.advice}"
        if words != self._said:
            self._said = words
            self.close()
            click.echo(" ".join(part for part in (words, view.detail) if part), err=True)
        if self._is_live:
            force = "" if view.force_N is None else f"{view.force_N:9.1f} N"
            share = f"{view.taking_share:4.0%}" if view.taking_share else ""
            click.echo(f"\r{force}  {view.steadiness:<36}{share:<5}", nl=False, err=True)
            self._is_open = True

    def close(self) -> None:
        """End the line of the reading."""
        if self._is_open:
            click.echo(err=True)
            self._is_open = False


def print_check(check: Check, unit: ForceUnit) -> None:
    """Print what came out.

    Args:
        check: the check.
        unit: the coach's unit.
    """
    click.echo(verdict_sentence(check))
    for name, words in check_lines(check, unit):
        click.echo(f"{name:<18}{words}")
    for remark in remarks(check):
        click.echo(remark)
