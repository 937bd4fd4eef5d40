"""A station run in the terminal: what it finds is printed as it comes."""

from __future__ import annotations

import queue
from dataclasses import replace
from typing import TYPE_CHECKING

import click

from strikebridge.reports.words import outcome_words
from strikebridge.samples import Rep
from strikebridge.station import Station

if TYPE_CHECKING:
    from strikebridge.pipeline import Outcome
    from strikebridge.station import StationSetup

LOOK_EVERY_S = 0.1


def run_headless(
    setup: StationSetup, *, seconds: float | None = None, is_silent: bool = False
) -> tuple[Station, list[Outcome]]:
    """Run a station until its stream ends or Ctrl-C, printing every outcome as it comes.

    Args:
        setup: what the station is to do.
        seconds: end after so much of the stream [s], None to run until it ends by itself.
        is_silent: print nothing (a JSON document follows).

    Returns:
        The station, ended, and all outcomes.

    Raises:
        StrikebridgeError: why the station ended early.
    """
    # Printing waits for a terminal or a pipe, so it happens here and never on that thread.
    found: queue.SimpleQueue[Outcome] = queue.SimpleQueue()
    outcomes: list[Outcome] = []
    remarks: queue.SimpleQueue[str] = queue.SimpleQueue()
    setup = replace(setup, seconds=seconds)
    station = Station(setup, on_outcome=found.put, on_remark=remarks.put)
    station.start()
    try:
        while not station.wait(LOOK_EVERY_S):
            print_remarks(remarks)
            _print_all(found, outcomes, setup, is_silent=is_silent)
    except KeyboardInterrupt:
        click.echo("Stopped.", err=True)  # a wish, not a fault: what came until then counts
    finally:
        station.stop()
        print_remarks(remarks)
        _print_all(found, outcomes, setup, is_silent=is_silent)
    if station.error is not None:
        raise station.error
    return station, outcomes


def print_remarks(remarks: queue.SimpleQueue[str]) -> None:
    """Print what waits, to standard error.

    Args:
        remarks: sentences for the coach.
    """
    while not remarks.empty():
        click.echo(f"strikebridge: {remarks.get()}", err=True)


def _print_all(
    found: queue.SimpleQueue[Outcome],
    outcomes: list[Outcome],
    setup: StationSetup,
    *,
    is_silent: bool,
) -> None:
    while not found.empty():
        outcome = found.get()
        outcomes.append(outcome)
        if is_silent:
            continue
        if isinstance(outcome, Rep) and not outcome.hold.complete:
            click.echo(f"hold {outcome.hold.number} was still under way at the end")
            continue
        click.echo(outcome_words(outcome, setup.unit))
        if isinstance(outcome, Rep):
            click.echo(f"         {outcome.verdict.sentence}")
