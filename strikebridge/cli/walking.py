"""The plate walk in the terminal: step by step, one line of progress, three keys."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, cast

import click

from strikebridge.acquisition import Stream
from strikebridge.calibration.plate_walk import PlateWalk
from strikebridge.calibration.points_table import points_table
from strikebridge.calibration.walk_view import WalkKey, WalkState, WalkView
from strikebridge.cli.keyboard import Keys, Pressed, single_keys
from strikebridge.cli.options import data_folder, recordings_folder
from strikebridge.errors import CalibrationError
from strikebridge.private_files import open_private, private_folder
from strikebridge.rig_station import RigStation

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from strikebridge.calibration.walk_setup import WalkSetup
    from strikebridge.samples import Quantity

LOOK_EVERY_S = 0.1
MEANING = {
    Pressed.NEXT: WalkKey.NEXT,
    Pressed.REDO: WalkKey.REDO,
    Pressed.QUIT: WalkKey.QUIT,
    Pressed.ENDED: WalkKey.CANCEL,
}
KEY_WORDS = {
    WalkKey.NEXT: "Enter",
    WalkKey.REDO: "r again",
    WalkKey.QUIT: "q end",
    WalkKey.CANCEL: "q cancel",
}

_NUMBER = re.compile(r"[0-9]+")
WalkStation = RigStation[WalkKey, WalkView]


@dataclass(frozen=True, slots=True)
class Walked:
    """A walk that is over.

    Attributes:
        station: its station, ended.
        walk: the walk itself.
        points_file: the table of its points, None where there are none.
        recording: the recording of the stream.
    """

    station: WalkStation
    walk: PlateWalk
    points_file: Path | None
    recording: Path


def walk_station(address: str, setup: WalkSetup, data: Path | None) -> WalkStation:
    """Make the station of a walk, which records into the data folder.

    Args:
        address: address of the board.
        setup: what the walk is made with.
        data: data folder, None for the user's.

    Returns:
        The station, not started.

    Raises:
        CalibrationError: these plates cannot be used.
    """
    stamp = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S-%f")
    recording = recordings_folder(data) / f"calibrate-{stamp}.jsonl"

    def make(quantity: Quantity) -> PlateWalk:
        return PlateWalk(setup, quantity)

    return RigStation(Stream(address, recording, is_patient=True), make)


def lead_walk(station: WalkStation) -> None:
    """Lead a walk in the terminal until it is over; `end_walk` keeps what there is.

    Args:
        station: the station, not started.
    """
    try:
        with single_keys() as keys:
            station.start()
            _follow(station, keys)
    except KeyboardInterrupt:
        click.echo(err=True)
        station.end(WalkKey.CANCEL)
    finally:
        station.stop()


def end_walk(station: WalkStation, data: Path | None) -> Walked:
    """Keep the points of a walk whose station has ended.

    Args:
        station: the station.
        data: data folder, None for the user's.

    Returns:
        What there is of it; the walk is done.

    Raises:
        StrikebridgeError: why the stream ended early.
        CalibrationError: it was cancelled; says where its points are.
    """
    walk = cast("PlateWalk", station.led)
    recording = cast("Path", station.stream.recording)
    if not walk.has_ended and station.error is None:
        walk.press(WalkKey.QUIT)  # the stream came to its end (a recording)
    points_file = _keep_points(walk, recording.stem, data)
    kept = ""
    if points_file is not None:
        many = len(walk.points)
        kept = (
            f" {many} point{'s are' if many > 1 else ' is'} kept in {points_file};"
            " 'strikebridge calibrate --points' reads them."
        )
    if station.error is not None:
        if kept:
            click.echo(kept.strip(), err=True)
        raise station.error
    if walk.state is not WalkState.DONE:
        msg = f"The calibration was cancelled; there is no certificate.{kept}"
        raise CalibrationError(msg)
    return Walked(station, walk, points_file, recording)


def print_points(view: WalkView) -> None:
    """Print the points and how far each lies from the line.

    Args:
        view: the view of a walk that is done.
    """
    click.echo(f"{'step':<32}{'kg':>8}{'reading':>14}{'SD':>9}   off the line")
    for point in view.points:
        on = "+".join(point.lift.plates) or "nothing"
        way = {1: "up", -1: "down", 0: ""}[point.lift.direction]
        off = f"{point.residual_kg:+.3f} kg" + ("  does not fit" if point.remark else "")
        name = f"{point.number:>2} {on} {way}"
        click.echo(
            f"{name:<32}{point.mass_kg:>8g}{point.reading:>14.8g}{point.sd:>9.3g}   {off}"
        )


def _keep_points(walk: PlateWalk, name: str, data: Path | None) -> Path | None:
    if not walk.points:
        return None
    folder = data_folder(data) / "points"
    path = folder / f"{name}.csv"
    try:
        private_folder(folder)
        with open_private(path, "w") as file:
            file.write(points_table(walk.points, walk.setup.plates))
    except OSError as error:
        msg = (
            f"The points cannot be written to {path} ({error.strerror}). The recording in"
            " the folder recordings still has every reading."
        )
        raise CalibrationError(msg) from error
    return path


def _follow(station: WalkStation, keys: Keys) -> None:
    """Print what changes and hand on what is pressed, until the walk is over."""
    show = print_progress(is_tty=sys.stderr.isatty())
    while not station.wait(LOOK_EVERY_S):
        view = station.view()
        show(view)
        for pressed in keys.take():
            is_deaf = view.trouble is not None and view.reading is None
            key = MEANING[pressed]
            if pressed is Pressed.ENDED and cast("PlateWalk", station.led).setup.is_hands_free:
                continue
            if pressed is Pressed.ENDED and view.state is WalkState.READY:
                station.end(WalkKey.CANCEL)
                raise click.UsageError("Nobody can press a key here. Add --hands-free.")
            if key in (WalkKey.QUIT, WalkKey.CANCEL) and is_deaf:
                station.end(key)
                return
            station.press(key)
    show(station.view())
    click.echo(err=True)


def print_progress(*, is_tty: bool = False) -> Callable[[WalkView], None]:
    """Print what changes: a new line for what must be read, one line that is written over.

    Args:
        is_tty: True where a line can be written over.

    Returns:
        What prints one view.
    """
    said, remarks, trouble = "", 0, ""

    def put(text: str) -> None:
        click.echo(f"\r\x1b[K{text}" if is_tty else text, err=True)

    def show(view: WalkView) -> None:
        nonlocal said, remarks, trouble
        for remark in view.remarks[remarks:]:
            put(f"Mind: {remark}")
        remarks = len(view.remarks)
        what = "" if view.trouble is None else view.trouble.what
        # the seconds in it go on; only another trouble is another line
        if _NUMBER.sub("", what) != _NUMBER.sub("", trouble):
            trouble = what
            advice = "The board is back." if view.trouble is None else view.trouble.advice
            put(f"{what} {advice}".strip())
        if view.instruction != said:
            said = view.instruction
            place = min(view.steps_done + 1, view.steps_total)
            put(f"[{place:>2}/{view.steps_total}] {said}")
            if view.detail:
                put(f"        {view.detail}")
        if is_tty:
            click.echo(f"\r\x1b[K        {_now(view)}", nl=False, err=True)

    return show


def _now(view: WalkView) -> str:
    """The reading now, in one line: mass if it is known, how stable, keys."""
    if view.reading is None:
        return _keys(view)
    value = f"{view.reading:.6g} {view.quantity}"
    if view.load_kg is not None:
        value = f"{view.load_kg:.2f} kg"
    share = f" {100.0 * view.taking_share:.0f} %" if view.taking_share else ""
    return f"{value}   {view.steadiness}{share}   {_keys(view)}"


def _keys(view: WalkView) -> str:
    return f"({', '.join(KEY_WORDS[key] for key in view.keys)})" if view.keys else ""
