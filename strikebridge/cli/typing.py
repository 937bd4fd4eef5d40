"""A plain scale in the terminal: count in and down, ask for the number, note it."""

from __future__ import annotations

import queue
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import click

from strikebridge.glance import Glance, Phase
from strikebridge.reports.words import outcome_words
from strikebridge.samples import Prescription, Rep
from strikebridge.session.conductor import Key
from strikebridge.session.typed_number import TYPING
from strikebridge.typed_station import TypedStation

if TYPE_CHECKING:
    from strikebridge.pipeline import Outcome
    from strikebridge.station import StationSetup

LOOK_EVERY_S = 0.05
USUAL_S = 3.0  # common practice, no source
HELP = "Enter: count in.   u: correct the last number.   q: end."
KEYS = {key.value: key for key in TYPING if key.value.isdigit()} | {
    ".": Key.POINT,
    ",": Key.POINT,
}


def run_typed(
    setup: StationSetup, *, is_silent: bool = False
) -> tuple[TypedStation, list[Outcome]]:
    """Run holds with a plain scale until the coach ends it.

    Args:
        setup: what is to be done; its address is `typed:`.
        is_silent: print nothing to standard output (a JSON document follows).

    Returns:
        The station, ended, and all outcomes.

    Raises:
        StrikebridgeError: why the station ended early.
    """
    asked = setup.plan.prescription
    if asked.hold_s is None:
        asked = Prescription(asked.effort, USUAL_S, asked.band_N)
        setup = replace(setup, plan=replace(setup.plan, prescription=asked))
    found: queue.SimpleQueue[Outcome] = queue.SimpleQueue()
    station = TypedStation(setup, on_outcome=found.put)
    station.start()
    outcomes: list[Outcome] = []
    try:
        _lead(station, found, outcomes, setup, is_silent=is_silent)
    except KeyboardInterrupt:
        click.echo("Stopped.", err=True)
    finally:
        station.stop()
    if station.error is not None:
        raise station.error
    return station, outcomes


def _lead(
    station: TypedStation,
    found: queue.SimpleQueue[Outcome],
    outcomes: list[Outcome],
    setup: StationSetup,
    *,
    is_silent: bool,
) -> None:
    click.echo(HELP, err=True)
    while (line := sys.stdin.readline()) and line.strip().lower() != "q":
        if line.strip().lower() == "u":
            if not outcomes:
                click.echo("There is no number yet.", err=True)
                continue
            station.press(Key.RUB)
        else:
            station.press(Key.GO)
            _count(station)
        if not _take_number(station, found, outcomes):
            return
        if not is_silent and isinstance(outcomes[-1], Rep):
            click.echo(outcome_words(outcomes[-1], setup.unit))
        click.echo(HELP, err=True)


def _count(station: TypedStation) -> None:
    """Say the count-in and the seconds of the hold until a number is asked for."""
    said = ""
    while (glance := station.glance()).entry is None and not station.wait(LOOK_EVERY_S):
        words = _counted(glance)
        if words and words != said:
            said = words
            click.echo(words, err=True)


def _counted(glance: Glance) -> str:
    left_s = glance.seconds_left
    if left_s is None or glance.phase not in (Phase.COUNT_IN, Phase.HOLD):
        return ""
    whole = max(1, int(left_s + 0.999))
    return str(whole) if glance.phase is Phase.COUNT_IN else f"hold {whole}"


def _take_number(
    station: TypedStation, found: queue.SimpleQueue[Outcome], outcomes: list[Outcome]
) -> bool:
    """Ask until there is a number; False where the coach ended it."""
    while (glance := station.glance()).entry is None:
        if station.wait(LOOK_EVERY_S):
            return False
    click.echo(f"What did the scale show, in {glance.entry_unit}?", err=True)
    while line := sys.stdin.readline():
        text = line.strip()
        if text.lower() == "q":
            return False
        if any(char not in KEYS for char in text):
            click.echo("Type a number, such as 41.5.", err=True)
            continue
        entered = station.entered
        _enter(station, text)
        while station.entered == entered:
            if station.wait(LOOK_EVERY_S):
                return False
        if not found.empty():
            outcomes.append(found.get())
            return True
        click.echo(station.glance().question, err=True)
    return False


def _enter(station: TypedStation, text: str) -> None:
    """Type a line; an empty one confirms what stands there."""
    if text:
        for _ in range(len(station.glance().entry or "")):
            station.press(Key.RUB)
        for char in text:
            station.press(KEYS[char])
    station.press(Key.ENTER)
