"""`strikebridge analyse FILE`: holds and measures of a recording or a table."""

from __future__ import annotations

from pathlib import Path

import click

from strikebridge.analysis import Analysis, analyse_file
from strikebridge.cli.options import (
    calibration_options,
    choose_calibration,
    choose_prescription,
    json_option,
    prescription_options,
    print_json,
    unit_option,
)
from strikebridge.errors import ScreenError
from strikebridge.reports.analysis_json import analysis_document
from strikebridge.reports.words import outcome_words
from strikebridge.stream_setup import Setup
from strikebridge.units import ForceUnit


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@calibration_options
@prescription_options
@click.option(
    "--plot",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="PNG",
    help="Also draw the holds, laid over each other at their onset, into this file.",
)
@unit_option
@json_option
def analyse(
    file: Path,
    calibration: Path | None,
    gain_n_per_count: float | None,
    zero_counts: float | None,
    rating_kg: float | None,
    effort: str | None,
    hold_s: float | None,
    band_n: tuple[float, float] | None,
    plot: Path | None,
    unit: str,
    as_json: bool,
) -> None:
    """Find and measure the holds in FILE, a recording or a CSV.

    A CSV needs a column time_s and count_1 ... count_n, or force_N, or mass_kg.
    """
    choice = choose_calibration(calibration, gain_n_per_count, zero_counts, rating_kg)
    prescription = choose_prescription(effort, hold_s, band_n)
    setup = Setup(
        calibration=choice.calibration, prescription=prescription, rating_N=choice.rating_N
    )
    analysis = analyse_file(file, setup)
    for remark in analysis.remarks:
        click.echo(f"strikebridge: {remark}", err=True)
    if plot is not None:
        draw(analysis, ForceUnit(unit), plot)
    if as_json:
        print_json(analysis_document(analysis))
    else:
        print_analysis(analysis, ForceUnit(unit))


def draw(analysis: Analysis, unit: ForceUnit, path: Path) -> None:
    """Draw what was found into a file.

    Args:
        analysis: what was found.
        unit: the coach's unit.
        path: the file; PNG by its ending, which is added where there is none.

    Raises:
        ScreenError: it cannot be drawn here, or not be written there.
    """
    from strikebridge.screens.app import open_for_pictures  # noqa: PLC0415 - needed for --plot only
    from strikebridge.screens.review_model import review_of  # noqa: PLC0415 - likewise

    open_for_pictures()
    from strikebridge.screens.review import save_picture  # noqa: PLC0415 - not without Qt

    target = path if path.suffix else path.with_suffix(".png")
    if not save_picture(review_of(analysis, unit), target):
        raise ScreenError(
            f"The picture could not be written to {target}. Choose a folder that is there and "
            "can be written to, and a name that ends in .png."
        )


def print_analysis(analysis: Analysis, unit: ForceUnit) -> None:
    """Print what was found, one line each.

    Args:
        analysis: what was found.
        unit: the coach's unit.
    """
    for rep in analysis.reps:
        click.echo(outcome_words(rep, unit))
        click.echo(f"         from {rep.hold.onset_s:.1f} s. {rep.verdict.detail}")
    for contact in analysis.contacts:
        click.echo(outcome_words(contact, unit))
    lost = sum(gap.lost for gap in analysis.gaps)
    rate = "unknown rate" if analysis.rate_hz is None else f"{analysis.rate_hz:.1f} samples/s"
    click.echo(
        f"{len(analysis.reps)} holds, {len(analysis.contacts)} contacts, {lost} samples lost, "
        f"{rate}, calibration: {analysis.calibration or 'none needed'}"
    )
