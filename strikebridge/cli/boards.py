"""`strikebridge boards`: what is there, or watch one board and settle how it is read."""

from __future__ import annotations

import asyncio
import sys
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from strikebridge.boards.address import make_decoder
from strikebridge.boards.line_shape import LineShape, Role, parse_shape
from strikebridge.boards.recognising.roles import ASK_UNIT
from strikebridge.boards.remembered import remember_shape, shape_of
from strikebridge.boards.watching import BoardReport, watch_board
from strikebridge.cli.board_list import list_boards
from strikebridge.cli.options import (
    FiniteRange,
    data_folder,
    data_option,
    json_option,
    print_json,
    stops_cleanly,
)
from strikebridge.errors import FormatError
from strikebridge.reports.analysis_json import number

if TYPE_CHECKING:
    from pathlib import Path

SECONDS = 5.0
FORGET = "auto"
UNITS = {"counts": Role.COUNT, "kg": Role.KG, "N": Role.N, "lb": Role.LB, "g": Role.G}


@click.command()
@click.argument("address", required=False)
@click.option(
    "--seconds",
    type=FiniteRange(0.5, 3600.0),
    default=SECONDS,
    show_default=True,
    help="How long to watch.",
)
@click.option(
    "--shape", help="Shape of the board's lines, kept for it; auto to forget it again."
)
@click.option("--no-bluetooth", is_flag=True, help="Do not listen for Bluetooth devices.")
@data_option
@json_option
@stops_cleanly
def boards(
    address: str | None,
    seconds: float,
    shape: str | None,
    no_bluetooth: bool,
    data: Path | None,
    as_json: bool,
) -> None:
    """List the boards that are plugged in or in radio range, or watch the one at ADDRESS.

    What was understood of its lines is said, and what could not be told is asked. The answer is
    kept for this board.
    """
    if address is None:
        if shape is not None:
            raise click.UsageError("--shape goes with the ADDRESS of a board.")
        list_boards(with_bluetooth=not no_bluetooth, as_json=as_json)
        return
    folder = data_folder(data)
    wanted = shape_of(address, "auto", folder) if shape is None else _checked(shape)

    def tell(readings: int, over_s: float) -> None:
        if not as_json and sys.stderr.isatty():
            click.echo(f"\r{over_s:5.1f} s   {readings} readings ", nl=False, err=True)

    watch = asyncio.run(watch_board(address, seconds, tell, wanted))
    report = watch.report()
    if shape is not None and (report.understood or shape == FORGET):
        remember_shape(address, shape, folder)
    if as_json:
        print_json(_document(report))
        return
    click.echo(err=True)
    _print(report, watch.line_shape)
    if shape is not None:
        click.echo(_kept_words(shape, is_kept=report.understood or shape == FORGET))
    elif sys.stdin.isatty() and wanted == "auto" and (watch.line_shape or report.questions):
        _settle(address, report, watch.line_shape, folder)


def _checked(shape: str) -> str:
    """See that a shape can be read before any board is opened."""
    try:
        make_decoder(shape)
    except FormatError as error:
        raise click.UsageError(str(error)) from error
    return shape


def _kept_words(shape: str, *, is_kept: bool) -> str:
    if shape == FORGET:
        return "What was kept of this board is forgotten."
    if is_kept:
        return f"Kept for this board: {shape}"
    return f"No line of this board fits {shape}; nothing was kept."


def _settle(
    address: str, report: BoardReport, line_shape: LineShape | None, data: Path
) -> None:
    """Let the coach confirm or correct once what was understood, and keep it."""
    answer = line_shape
    if report.questions == (ASK_UNIT,) and line_shape is not None:
        word = click.prompt("Unit", type=click.Choice([*UNITS, "later"]), default="later")
        if word == "later":
            return
        answer = line_shape.with_value(UNITS[word])
    else:
        right = "" if line_shape is None else str(line_shape)
        words = "Enter if that is right, or the shape" if right else "Shape, or Enter for later"
        text = click.prompt(words, default=right, show_default=False)
        if not text:
            return
        answer = parse_shape(text)
    remember_shape(address, str(answer), data)
    click.echo(_kept_words(str(answer), is_kept=True))


def _document(report: BoardReport) -> dict[str, object]:
    document = asdict(report)
    del document["remarks"]  # words for people; the document is a contract
    for name in ("rate_hz", "noise_sd", "drift_per_min"):
        document[name] = number(document[name])
    document["quantity"] = report.quantity.value
    return document


def _print(report: BoardReport, line_shape: LineShape | None) -> None:
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
    if line_shape is not None:
        lines.insert(2, ("", f"a reading is {line_shape.in_words()}"))
    for name, words in lines:
        click.echo(f"{name:<10}{words}")
    if not report.understood and not report.questions:
        click.echo("I could not read its lines. Check the baud rate and the sketch.")
    for sentence in (*report.questions, *report.remarks):
        click.echo(sentence)


def _values(values: tuple[float, ...]) -> str:
    return " ".join(f"{value:.10g}" for value in values) or "nothing"
