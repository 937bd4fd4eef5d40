"""What every calibration ends with: its words in the terminal, and its certificate kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

import click
import msgspec

from strikebridge.calibration.certificate_file import save_certificate
from strikebridge.calibration.document import scale_error, walk_certificate
from strikebridge.calibration.shelf import Shelf
from strikebridge.calibration.walk_analysis import MOSTLY_PLATES
from strikebridge.reports.calibration_words import (
    advice_words,
    budget_lines,
    fit_words,
    scale_words,
    worth_words,
)
from strikebridge.samples import Quantity
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2, ForceUnit

if TYPE_CHECKING:
    from pathlib import Path

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.calibration.walk import Walk, WalkInput


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
