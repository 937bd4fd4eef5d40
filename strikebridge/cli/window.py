"""`strikebridge`: the window."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

import click

from strikebridge.boards.address import parse_address, usable_address
from strikebridge.boards.typed_link import SCHEME
from strikebridge.cli.options import (
    calibration_options,
    choose_calibration,
    choose_prescription,
    data_folder,
    data_option,
    prescription_options,
    recordings_folder,
    records_there,
    stops_cleanly,
    unit_option,
)
from strikebridge.cli.screen_options import screen_options
from strikebridge.errors import StrikebridgeError
from strikebridge.samples import Effort, Prescription
from strikebridge.screens.app import CHECK, run_window
from strikebridge.session.conductor import Plan
from strikebridge.units import ForceUnit

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.screens.app import WindowOptions
    from strikebridge.session.choice import Choice
    from strikebridge.station import Station

USUAL_S = {Effort.MAXIMAL: 3.0, Effort.SUBMAXIMAL: 5.0}  # common practice, no source


@click.command()
@click.option("--board", help="Address of the board; else the start page finds it.")
@click.option("--remote", help="Bluetooth button as a remote: advert:<address>.")
@calibration_options
@prescription_options
@click.option("--rounds", is_flag=True, help="Go on by the clock, without a key.")
@screen_options
@unit_option
@data_option
@stops_cleanly
@records_there
def window(
    board: str | None,
    remote: str | None,
    calibration: Path | None,
    gain_n_per_count: float | None,
    zero_counts: float | None,
    rating_kg: float | None,
    effort: str | None,
    hold_s: float | None,
    band_n: tuple[float, float] | None,
    rounds: bool,
    screen: WindowOptions,
    unit: str,
    data: Path | None,
) -> int:
    """Open the start page, or with --board the wall: free reps, counted in and measured."""
    choice = choose_calibration(calibration, gain_n_per_count, zero_counts, rating_kg)
    asked = choose_prescription(effort, hold_s, band_n) or Prescription()
    seconds = asked.hold_s or USUAL_S[asked.effort]
    folder = recordings_folder(data)
    address = str(usable_address(board)) if board else None
    plan = Plan(Prescription(asked.effort, seconds, asked.band_N), is_rounds=rounds)

    def make(address: str) -> Station:
        from strikebridge.station import (  # noqa: PLC0415 - the window is there first
            Station,
            StationSetup,
        )

        stamp = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S-%f")
        setup = StationSetup(
            address=address,
            plan=plan,
            recording=folder / f"{stamp}.jsonl",
            data=data_folder(data),
            certificate=choice.certificate,
            by_hand=choice.by_hand,
            rating_N=choice.rating_N,
            unit=options.unit_now,
            is_patient=True,
            remote=remote,
            speaker=screen.speaker,
        )
        if parse_address(address).scheme == SCHEME:
            from strikebridge.typed_station import (  # noqa: PLC0415 - the same
                TypedStation,
            )

            return TypedStation(setup, on_remark=_say)
        return Station(setup, on_remark=_say)

    options = replace(screen, unit=ForceUnit(unit), can_check=True)

    def check(address: str) -> None:
        _check(address, data, choice.certificate, options)

    def wall(address: str) -> int:
        while (code := run_window(lambda: make(address), options=options)) == CHECK:
            check(address)
        return code

    if address is not None:
        return wall(address)
    from strikebridge.cli.club_desk import ClubDesk  # noqa: PLC0415 - only where no board is named
    from strikebridge.cli.starting import Start  # noqa: PLC0415 - as above

    def session(address: str, chosen: Choice | None) -> None:
        from strikebridge.cli.session import lead_chosen  # noqa: PLC0415 - the same

        lead_chosen(chosen, address, data, choice, options)

    return Start(data, options, wall, check, session, ClubDesk(data, options)).run()


def _check(
    address: str, data: Path | None, certificate: Certificate | None, options: WindowOptions
) -> None:
    """Check zero and noise between two walls; whatever goes wrong, the wall comes back."""
    from strikebridge.check_station import (  # noqa: PLC0415 - the window is there first
        CheckStation,
        CheckStationSetup,
    )
    from strikebridge.screens.rig_app import run_rig  # noqa: PLC0415 - as above
    from strikebridge.screens.rig_pages import CheckPages  # noqa: PLC0415 - as above

    stamp = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S-%f")
    recording = recordings_folder(data) / f"check-{stamp}.jsonl"
    setup = CheckStationSetup(address, data_folder(data), recording, certificate)
    try:
        run_rig(CheckStation(setup), CheckPages(options.unit_now), options)
    except StrikebridgeError as error:
        _say(str(error))


def _say(sentence: str) -> None:
    """Print a remark without letting the acquisition wait for a terminal."""
    line = f"strikebridge: {sentence}"
    threading.Thread(target=click.echo, args=(line,), kwargs={"err": True}, daemon=True).start()
