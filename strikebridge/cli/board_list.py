"""The list of boards: what is plugged in, and what is in Bluetooth range."""

from __future__ import annotations

import asyncio
import sys
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from strikebridge.boards.serial_link import list_ports
from strikebridge.cli.options import print_json
from strikebridge.errors import BoardError

if TYPE_CHECKING:
    from strikebridge.boards.radio import RadioBoard

LISTEN_S = 4.0
"""Scales advertise every second or two (common practice, no source)."""

MOST_OTHERS = 8


def list_boards(*, with_bluetooth: bool, as_json: bool) -> None:
    """Print what is plugged in and what is in radio range.

    Args:
        with_bluetooth: False to look at cables only.
        as_json: print one JSON document.
    """
    ports = list_ports()
    devices: list[RadioBoard] = []
    silence = None if with_bluetooth else "not asked for"
    if with_bluetooth:
        if sys.stderr.isatty():
            click.echo(f"Listening for Bluetooth devices, {LISTEN_S:.0f} s ...", err=True)
        devices, silence = _listen()
    if as_json:
        found = [asdict(port) for port in ports] + [asdict(device) for device in devices]
        print_json({"boards": found, "bluetooth": silence})
        return
    known = [device for device in devices if device.is_board]
    others = [device for device in devices if not device.is_board]
    rows = [(port.address, port.name) for port in ports]
    rows += [(device.address, device.name) for device in known]
    for address, name in rows:
        click.echo(f"{address}   {name}")
    if not ports and not known:
        click.echo("No board is plugged in. To look at the simulated one: boards simulated:")
    if others:
        click.echo("Also in range; one that says its unit can be used:")
        for other in others[:MOST_OTHERS]:
            click.echo(f"{other.address}   {other.name}")
    if with_bluetooth and silence is not None:
        click.echo(silence, err=True)


def _listen() -> tuple[list[RadioBoard], str | None]:
    """Listen for devices; without Bluetooth give the reason in place of them."""
    # bleak takes a tenth of a second to import
    from strikebridge.boards.radio import list_devices  # noqa: PLC0415

    try:
        return asyncio.run(list_devices(LISTEN_S)), None
    except BoardError as error:
        return [], str(error)
