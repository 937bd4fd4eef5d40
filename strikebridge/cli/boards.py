"""`strikebridge boards`: what is plugged in, or watch one board."""

from __future__ import annotations

import asyncio
import sys
from dataclasses import asdict

import click

from strikebridge.boards.serial_link import list_ports
from strikebridge.boards.watching import BoardReport, watch_board
from strikebridge.cli.options import FiniteRange, json_option, print_json, stops_cleanly
from strikebridge.reports.analysis_json import number

SECONDS = 5.0


@click.command()
@click.argument("address", required=False)
@click.option(
    "--seconds",
    type=FiniteRange(0.5, 3600.0),
    default=SECONDS,
    show_default=True,
    help="How long to watch.",
)
@json_option
@stops_cleanly
def boards(address: str | None, seconds: float, as_json: bool) -> None:
    """List the boards that are plugged in, or watch the one at ADDRESS."""
    if address is None:
        _list(as_json=as_json)
        return

    def tell(readings: int, over_s: float) -> None:
        if not as_json and sys.stderr.isatty():
            click.echo(f"\r{over_s:5.1f} s   {readings} readings ", nl=False, err=True)

    report = asyncio.run(watch_board(address, seconds, tell))
    if as_json:
        print_json(_document(report))
        return
    click.echo(err=True)
    _print(report)


def _list(*, as_json: bool) -> None:
    ports = list_ports()
    if as_json:
        print_json({"boards": [asdict(port) for port in ports]})
    elif not ports:
        click.echo("No board is plugged in. To look at the simulated one: boards simulated:")
    for port in [] if as_json else ports:
        click.echo(f"{port.address}   {port.name}")


def _document(report: BoardReport) -> dict[str, object]:
    document = asdict(report)
    for name in ("rate_hz", "noise_sd", "drift_per_min"):
        document[name] = number(document[name])
    document["quantity"] = report.quantity.value
    return document


def _print(report: BoardReport) -> None:
    unit = report.quantity.value
    ends = f"from {_values(report.first)} to {_values(report.last)}"
    lines = [
        ("board", report.identity or "says nothing of itself"),
        ("lines", f"{report.shape}, {report.channels} channel(s), {unit}"),
        (
            "readings",
            f"{report.readings}, {ends}",
        ),
        ("rate", "unknown" if report.rate_hz is None else f"{report.rate_hz:.1f} /s"),
        ("noise", "unknown" if report.noise_sd is None else f"{report.noise_sd:.3g} {unit} SD"),
        (
            "drift",
            "unknown"
            if report.drift_per_min is None
            else f"{report.drift_per_min:.3g} {unit} a minute",
        ),
        ("lost", f"{report.lost} readings, {report.unreadable_lines} unreadable lines"),
    ]
    for name, words in lines:
        click.echo(f"{name:<10}{words}")
    if not report.understood:
        click.echo("I could not read its lines. Check the baud rate and the sketch.")
    for question in report.questions:
        click.echo(question)


def _values(values: tuple[float, ...]) -> str:
    return " ".join(f"{value:.10g}" for value in values) or "nothing"
