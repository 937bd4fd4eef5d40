"""`strikebridge calibrate --points`: a table of one cell, or of the cells of a platform."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click
import msgspec
from typing_extensions import override

from strikebridge.calibration.document import (
    analyse_points,
    scale_error,
    walk_document,
    walk_of_points,
)
from strikebridge.calibration.platform_document import (
    analyse_platform_points,
    platform_certificate,
    platform_document,
)
from strikebridge.calibration.points_table import read_points
from strikebridge.cli.keeping import finish_certificate, print_walk
from strikebridge.cli.options import NUMBER
from strikebridge.reports.calibration_words import (
    advice_words,
    budget_lines,
    platform_lines,
    worth_words,
)
from strikebridge.samples import Quantity
from strikebridge.units import show_doubt, show_force

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from strikebridge.calibration.certificate import BudgetTerm, Certificate
    from strikebridge.calibration.gravity import Gravity
    from strikebridge.calibration.platform import Platform
    from strikebridge.calibration.platform_document import Places
    from strikebridge.calibration.points import Points
    from strikebridge.calibration.walk import WalkInput
    from strikebridge.units import ForceUnit

AT = "--at"


class _Readings(click.ParamType[tuple[float, ...]]):
    """One reading, or one a cell with commas between them."""

    name = "reading"

    @override
    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, ...]:
        return tuple(NUMBER.convert(part, param, ctx) for part in str(value).split(","))


READINGS = _Readings()


class ManyAt(click.Command):
    """A command whose `--at` takes as many numbers as follow it."""

    @override
    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        spread: list[str] = []
        is_at = False
        for word in args:
            is_more = is_at and _is_number(word)
            spread += [AT, word] if is_more and spread[-1] != AT else [word]
            is_at = word == AT or is_more
        return super().parse_args(ctx, spread)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command line asks of a table.

    Attributes:
        gravity: local gravity.
        degree: 1 or 2, None to let the points decide.
        quantity: what the readings are.
        at: readings to turn into forces, each with one number a cell.
        places_mm: where each cell of a platform stands [mm], empty where nobody said.
    """

    gravity: Gravity
    degree: int | None
    quantity: Quantity
    at: tuple[tuple[float, ...], ...]
    places_mm: Places


def analyse_table(file: Path, asked: Asked) -> LinePoints | PlatformPoints:
    """Read a table and analyse it.

    Args:
        file: the table.
        asked: what is asked of it.

    Returns:
        What was found out.

    Raises:
        FormatError: the table cannot be read, or does not carry the fit.
        click.UsageError: what is asked does not go with the columns of the table.
    """
    table = read_points(file)
    return analyse_steps(table, walk_of_points(table, asked.gravity), asked)


def analyse_steps(table: Points, walk: WalkInput, asked: Asked) -> LinePoints | PlatformPoints:
    """Analyse the steps of a walk, taken live or read from a table.

    Args:
        table: the steps.
        walk: the same as a walk.
        asked: what is asked of them.

    Returns:
        What was found out.

    Raises:
        FormatError: the steps do not carry the fit.
        click.UsageError: what is asked does not go with the number of cells.
    """
    if table.channels == 1:
        if asked.places_mm:
            raise click.UsageError("--cell-at goes with columns reading_1, reading_2, ...")
        return LinePoints(table, walk, asked)
    if asked.degree == 2:
        raise click.UsageError("--degree 2 is for one cell; several get straight lines.")
    if asked.quantity is not Quantity.COUNT:
        raise click.UsageError("--quantity is for one cell; several send raw counts.")
    return PlatformPoints(table, walk, asked)


@dataclass(frozen=True, slots=True)
class Worth:
    """What a calibration is worth at its largest load.

    Attributes:
        top_N: that load [N].
        terms: every doubt there.
        budget: the same for reading, largest first.
        warnings: sentences for the coach.
    """

    top_N: float
    terms: Sequence[BudgetTerm]
    budget: tuple[BudgetTerm, ...]
    warnings: tuple[str, ...]


class LinePoints:
    """A table with one cell, analysed."""

    def __init__(self, points: Points, walk: WalkInput, asked: Asked) -> None:
        """Analyse.

        Args:
            points: the table.
            walk: the walk made of it.
            asked: what is asked of it.

        Raises:
            FormatError: the table does not carry the fit.
            click.UsageError: several readings in one.
        """
        if any(len(row) != 1 for row in asked.at):
            raise click.UsageError("--at takes single readings here: the table has one cell.")
        self._walk, self._quantity = walk, asked.quantity
        self._at = [row[0] for row in asked.at]
        self._result = analyse_points(points, walk, asked.degree)

    def document(self) -> dict[str, Any]:
        """Write down what was found out, for JSON."""
        document = walk_document(self._walk, self._result, self._at)
        error = scale_error(self._walk, self._result, self._quantity)
        if error is not None:
            document["gain_error"] = {"value": error.share, "u95": error.u95}
        return document

    def certificate(self, known: dict[str, Any]) -> Certificate:
        """Make the certificate.

        Args:
            known: what it says beside the walk.
        """
        return finish_certificate(self._walk, self._result, known)

    def worth(self) -> Worth:
        """Say what it is worth."""
        result = self._result
        terms = result.terms_at(result.top_N)
        return Worth(result.top_N, terms, result.budget(), result.warnings)

    def print(self, unit: ForceUnit) -> None:
        """Print what it is worth.

        Args:
            unit: the coach's unit.
        """
        print_walk(self._walk, self._result, unit, self._quantity)
        for reading in self._at:
            force_N, u_N, k = self._result.at(reading)
            shown, doubt = show_force(force_N, k * u_N, unit), show_doubt(k * u_N, unit)
            click.echo(f"{reading:g} is {shown} ± {doubt} {unit}")


class PlatformPoints:
    """A table with several cells, analysed.

    Attributes:
        platform: what was found out.
    """

    def __init__(self, points: Points, walk: WalkInput, asked: Asked) -> None:
        """Analyse.

        Args:
            points: the table.
            walk: the walk made of it.
            asked: what is asked of it.

        Raises:
            FormatError: the table does not carry the gains.
            click.UsageError: places or readings for another number of cells.
        """
        for row in asked.at:
            if len(row) != points.channels:
                raise click.UsageError(
                    f"--at takes {points.channels} readings here, one a cell, with commas"
                    f" between them and no blanks; {len(row)} were given."
                )
        if asked.places_mm and len(asked.places_mm) != points.channels:
            raise click.UsageError(
                f"Give --cell-at {points.channels} times, once for each cell in its order."
            )
        self._points, self._walk, self._asked = points, walk, asked
        self.platform: Platform = analyse_platform_points(points, walk)

    def document(self) -> dict[str, Any]:
        """Write down what was found out, for JSON."""
        return platform_document(
            self.platform, self._points.readings, self._asked.at, self._asked.places_mm
        )

    def certificate(self, known: dict[str, Any]) -> Certificate:
        """Make the certificate.

        Args:
            known: what it says beside the walk.
        """
        made_at = str(known["made_at"])
        readings = self._points.readings
        certificate = platform_certificate(
            self._walk, self.platform, readings, self._asked.places_mm, made_at
        )
        return msgspec.structs.replace(certificate, **known)

    def worth(self) -> Worth:
        """Say what it is worth."""
        platform = self.platform
        budget = tuple(platform.budget())
        return Worth(
            platform.range_N[1], platform.top_terms(), budget, tuple(platform.warnings)
        )

    def print(self, unit: ForceUnit) -> None:
        """Print what it is worth.

        Args:
            unit: the coach's unit.
        """
        platform = self.platform
        for line in platform_lines(platform):
            click.echo(line)
        click.echo(worth_words(platform.top_terms(), platform.range_N[1], unit))
        for line in budget_lines(platform.budget(), unit):
            click.echo(line)
        click.echo(advice_words(platform.budget()))
        for warning in platform.warnings:
            click.echo(f"Mind: {warning}")
        for document in self.document()["at"]:
            force = show_force(document["force_N"], document["u95_N"], unit)
            said = ", ".join(f"{reading:g}" for reading in document["reading"])
            doubt = show_doubt(document["u95_N"], unit)
            click.echo(f"{said} is {force} ± {doubt} {unit}{_centre_words(document)}")


def _centre_words(document: dict[str, Any]) -> str:
    if document.get("centre_mm") is None:
        return ""
    pairs = zip(document["centre_mm"], document["centre_u95_mm"], strict=True)
    x, y = (f"{round(value) + 0} ± {max(math.ceil(u95), 1)}" for value, u95 in pairs)
    return f" at {x} mm across, {y} mm along"


def _is_number(word: str) -> bool:
    try:
        [float(part) for part in word.split(",")]
    except ValueError:
        return False
    return True
