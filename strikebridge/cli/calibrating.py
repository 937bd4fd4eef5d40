"""A board calibrated with plates, step by step, in the terminal or in a window."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import click

from strikebridge.calibration.declared import assumed_words
from strikebridge.calibration.points_table import parse_points, points_table
from strikebridge.calibration.shelf import board_words
from strikebridge.calibration.walk_analysis import MOSTLY_PLATES
from strikebridge.cli.keeping import Keep, certificate_facts, keep_certificate, print_kept
from strikebridge.cli.options import data_folder, print_json
from strikebridge.cli.point_tables import analyse_steps
from strikebridge.cli.walking import end_walk, lead_walk, print_points, walk_station
from strikebridge.errors import StrikebridgeError
from strikebridge.reports.calibration_words import advice_words, worth_words
from strikebridge.screens.finish_model import Finish
from strikebridge.screens.rig_app import run_rig
from strikebridge.screens.rig_pages import WalkPages
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.calibration.walk_setup import WalkSetup
    from strikebridge.cli.point_tables import Asked, LinePoints, PlatformPoints
    from strikebridge.cli.walking import Walked, WalkStation
    from strikebridge.screens.app import WindowOptions


@dataclass(frozen=True, slots=True)
class Live:
    """A calibration of the board at an address.

    Attributes:
        address: address of the board.
        setup: what the walk is made with.
        keep: what becomes of the certificate.
        asked: what is asked of the points.
    """

    address: str
    setup: WalkSetup
    keep: Keep
    asked: Asked


@dataclass(frozen=True, slots=True)
class Finished:
    """A walk of which a certificate was made.

    Attributes:
        walked: the walk and its files.
        found: what its points say.
        certificate: the certificate.
        kept: its files.
    """

    walked: Walked
    found: LinePoints | PlatformPoints
    certificate: Certificate
    kept: list[Path]


def calibrate_live(
    live: Live, unit: ForceUnit, *, as_json: bool, window: WindowOptions | None = None
) -> None:
    """Calibrate the board at an address, with plates, in the terminal or in a window.

    Args:
        live: what is to be calibrated, and how.
        unit: the coach's unit.
        as_json: print the document and nothing else.
        window: how the window opens that leads the coach; None for the terminal.

    Raises:
        StrikebridgeError: the board cannot be read, the walk was cancelled, or its points carry
            no calibration; says what is kept.
    """
    station = walk_station(live.address, live.setup, live.keep.data)
    assumed = assumed_words(live.setup.plates)
    if assumed:
        click.echo(assumed, err=True)
    if window is not None:
        done = walk_in_window(station, lambda: finish_walk(station, live), unit, window)
    else:
        lead_walk(station)
        done = finish_walk(station, live)
    if as_json:
        print_json(done.found.document() | {"certificate": done.certificate.id})
        return
    print_points(station.view())
    done.found.print(unit)
    click.echo(f"The steps are kept in {done.walked.points_file},")
    click.echo(f"every reading in {done.walked.recording}.")
    print_kept(done.certificate, done.kept)


def finish_walk(station: WalkStation, live: Live) -> Finished:
    """Make the certificate of a walk whose station has ended, and keep it.

    Args:
        station: the station.
        live: what was calibrated, and how.

    Returns:
        What there is now.

    Raises:
        StrikebridgeError: the walk was cancelled, or its points carry no calibration; says
            what is kept.
    """
    keep = live.keep
    walked = end_walk(station, keep.data)
    walk = walked.walk
    table = parse_points(points_table(walk.points, live.setup.plates))
    asked = replace(live.asked, quantity=walk.quantity)
    found = analyse_steps(table, walk.walk_input(), asked)
    known = certificate_facts(walk.quantity.value, keep.rating_kg, "", keep.who)
    known |= {"board": board_words(station.identity), "address": live.address}
    certificate = found.certificate(known)
    kept = keep_certificate(certificate, keep.output, data_folder(keep.data))
    return Finished(walked, found, certificate, kept)


def walk_in_window(
    station: WalkStation, finish: Callable[[], Finished], unit: ForceUnit, window: WindowOptions
) -> Finished:
    """Lead a walk in a window until it is closed.

    Args:
        station: the station, not started.
        finish: makes the certificate once the station has ended.
        unit: the coach's unit.
        window: how the window opens.

    Returns:
        The finished walk.

    Raises:
        StrikebridgeError: no window, no board, or no calibration.
    """
    made: list[Finished | StrikebridgeError] = []

    def once() -> Finish:
        """Make the certificate and say what it is worth; a failure waits for the terminal."""
        try:
            made.append(finish())
        except StrikebridgeError as error:
            made.append(error)
        return finish_words(made[0])

    try:
        run_rig(station, WalkPages(once, unit), window)
    except StrikebridgeError:
        if station.error is not None and not made:
            finish()  # keeps the points, and says the same with where they are
        raise
    done = made[0] if made else finish()
    if isinstance(done, StrikebridgeError):
        raise done
    return done


def finish_words(done: Finished | StrikebridgeError) -> Finish:
    """Say on the last page what a calibration is worth, or why there is none.

    Args:
        done: the finished walk, or what went wrong.

    Returns:
        What stands there.
    """
    if isinstance(done, StrikebridgeError):
        return Finish(dict.fromkeys(ForceUnit, str(done)), is_failed=True)
    worth = done.found.worth()
    minds = [f"Mind: {warning}" for warning in worth.warnings if warning != MOSTLY_PLATES]
    return Finish(
        {unit: worth_words(worth.terms, worth.top_N, unit) for unit in ForceUnit},
        worth.budget,
        advice_words(worth.budget),
        tuple(minds),
        f"Certificate {done.certificate.id} is kept, and the window and record take it by"
        " themselves for this board. Take the plates off, mount the rig, and zero it again.",
    )
