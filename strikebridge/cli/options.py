"""Options that several commands share, and what they mean."""

from __future__ import annotations

import contextlib
import functools
import math
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import click
import msgspec
import platformdirs
from click.types import FloatParamType
from typing_extensions import override

from strikebridge.private_files import private_folder
from strikebridge.safekeeping.one_at_a_time import recording_in
from strikebridge.safekeeping.settling import settle
from strikebridge.samples import Effort, Prescription
from strikebridge.units import STANDARD_GRAVITY_M_PER_S2, ForceUnit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from strikebridge.calibration.apply import Calibration
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.safekeeping.job import Step, Tell

P = ParamSpec("P")
R = TypeVar("R")


class FiniteNumber(FloatParamType):
    """A number without limits; click's own takes `nan` and `inf` for numbers."""

    @override
    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value} will not do; write a plain number.", param, ctx)
        return number


class FiniteRange(FiniteNumber, click.FloatRange):
    """A number within limits; click's own lets `nan` through each of them, and `inf` too."""


NUMBER = FiniteNumber()

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON document (SI units)."
)
unit_option = click.option(
    "--unit",
    type=click.Choice([unit.value for unit in ForceUnit]),
    default=ForceUnit.KG.value,
    show_default=True,
    help="Unit that people read.",
)
data_option = click.option(
    "--data",
    type=click.Path(file_okay=False, path_type=Path),
    default=None,
    help="Folder for recordings and records; else the user's data folder.",
)


@dataclass(frozen=True, slots=True)
class CalibrationChoice:
    """What the command line says about the calibration.

    Attributes:
        certificate: a certificate from a file, or None.
        by_hand: a plain gain, or None.
        rating_N: what one cell is rated for [N], None to take what the certificate says.
    """

    certificate: Certificate | None
    by_hand: Calibration | None
    rating_N: float | None = None

    @property
    def calibration(self) -> Calibration | None:
        """The calibration, whichever way it was given; None where nothing was said."""
        from strikebridge.calibration.apply import Calibration  # noqa: PLC0415 - the window is there before it

        if self.certificate is not None:
            return Calibration.from_certificate(self.certificate)
        return self.by_hand


def calibration_options(command: Callable[P, R]) -> Callable[P, R]:
    """Add `--calibration`, a gain by hand, and the cell's rating to a command."""
    for option in (
        click.option(
            "--rating-kg",
            type=FiniteRange(0.0, min_open=True),
            help="What one cell is rated for; else the certificate says it.",
        ),
        click.option("--zero-counts", type=NUMBER, help="Reading of the untouched rig."),
        click.option(
            "--gain-n-per-count",
            type=NUMBER,
            help="Newtons a count, without a file; taken as exact.",
        ),
        click.option(
            "--calibration",
            type=click.Path(path_type=Path),
            help="Certificate file of the board.",
        ),
    ):
        command = option(command)
    return command


def choose_calibration(
    calibration: Path | None,
    gain_n_per_count: float | None,
    zero_counts: float | None,
    rating_kg: float | None = None,
) -> CalibrationChoice:
    """Read what was said about the calibration.

    Args:
        calibration: certificate file, or None.
        gain_n_per_count: newtons a count [N], or None.
        zero_counts: reading of the untouched rig, or None for 0.
        rating_kg: what one cell is rated for [kg], or None.

    Returns:
        The choice.

    Raises:
        click.UsageError: two ways at once, a zero without a gain, an impossible gain, or a
            rating that cannot be watched because nobody knows where the load is zero.
        CalibrationError: the file cannot be used.
    """
    if calibration is not None and gain_n_per_count is not None:
        raise click.UsageError("Give --calibration or --gain-n-per-count, not both.")
    if gain_n_per_count is None and zero_counts is not None:
        raise click.UsageError("--zero-counts goes with --gain-n-per-count.")
    if rating_kg is not None and gain_n_per_count is not None and zero_counts is None:
        raise click.UsageError("--rating-kg needs --zero-counts: the load counts from there.")
    certificate, by_hand = None, None
    if calibration is not None:
        from strikebridge.calibration.certificate_file import (  # noqa: PLC0415 - the same
            load_certificate,
        )

        certificate = load_certificate(calibration)
    if gain_n_per_count is not None:
        from strikebridge.calibration.apply import Calibration  # noqa: PLC0415 - the same

        by_hand = Calibration.by_hand(gain_n_per_count, zero_counts or 0.0)
    rating_N = None if rating_kg is None else rating_kg * STANDARD_GRAVITY_M_PER_S2
    return CalibrationChoice(certificate, by_hand, rating_N)


def prescription_options(command: Callable[P, R]) -> Callable[P, R]:
    """Add `--effort`, `--hold-s` and `--band-n` to a command."""
    for option in (
        click.option("--band-n", type=NUMBER, nargs=2, help="Band to stay in: low high, N."),
        click.option("--hold-s", type=FiniteRange(0.5, 60.0), help="Prescribed seconds."),
        click.option(
            "--effort",
            type=click.Choice([effort.value for effort in Effort]),
            help="What was asked for.",
        ),
    ):
        command = option(command)
    return command


def choose_prescription(
    effort: str | None, hold_s: float | None, band_n: tuple[float, float] | None
) -> Prescription | None:
    """Read what was prescribed.

    Args:
        effort: `maximal`, `submaximal` or None.
        hold_s: seconds, or None.
        band_n: edges of the band [N], or None.

    Returns:
        The prescription, None where nothing was said.

    Raises:
        click.UsageError: a band that is none, or a submaximal effort without one.
    """
    if effort is None and hold_s is None and band_n is None:
        return None
    if band_n is not None and not 0.0 <= band_n[0] < band_n[1]:
        raise click.UsageError("--band-n wants the lower edge first, then the higher one.")
    is_submaximal = effort == Effort.SUBMAXIMAL or (effort is None and band_n is not None)
    if is_submaximal and band_n is None:
        raise click.UsageError("A submaximal effort needs its band: --band-n LOW HIGH.")
    if not is_submaximal and band_n is not None:
        raise click.UsageError("A band goes with --effort submaximal.")
    return Prescription(Effort.SUBMAXIMAL if is_submaximal else Effort.MAXIMAL, hold_s, band_n)


def data_folder(data: Path | None) -> Path:
    """Find the data folder, which need not exist yet, and see to it.

    Args:
        data: what `--data` said, or None for the user's data folder.

    Raises:
        SafekeepingError: a restore that was broken off in it cannot be finished.
    """
    folder = data or platformdirs.user_data_path("strikebridge", appauthor=False)
    for remark in settle(folder):
        click.echo(remark, err=True)
    return folder


def recordings_folder(data: Path | None) -> Path:
    """Find the folder for recordings, making it for the user alone if need be.

    Args:
        data: what `--data` said, or None for the user's data folder.

    Returns:
        The folder; it exists.

    Raises:
        click.ClickException: it cannot be made.
    """
    folder = data_folder(data) / "recordings"
    try:
        private_folder(folder)
    except OSError as error:
        raise click.ClickException(f"{folder} cannot be made: {error.strerror}.") from error
    return folder


def print_json(document: Mapping[str, Any]) -> None:
    """Print one JSON document and nothing else.

    Args:
        document: plain values; a number that is not finite is written as null.
    """
    # an hour's document takes the standard library as long as all of its detection
    click.echo(msgspec.json.format(msgspec.json.encode(document), indent=2))


@contextlib.contextmanager
def show_share(what: str, *, is_silent: bool) -> Iterator[Tell | None]:
    """Show how far a job has come, in one line of a terminal; nothing where nobody looks.

    Args:
        what: name of the job.
        is_silent: True to show nothing.

    Yields:
        To be told each step; None where nothing is shown.
    """
    if is_silent or not sys.stderr.isatty():
        yield None
        return

    def tell(step: Step) -> None:
        click.echo(f"\r{what}: {step.share:4.0%}", nl=False, err=True)

    try:
        yield tell
    finally:
        click.echo("\r" + " " * (len(what) + 6) + "\r", nl=False, err=True)


def records_there(command: Callable[P, R]) -> Callable[P, R]:
    """Keep a restore away from the data folder as long as a command runs that records there."""

    @functools.wraps(command)
    def recording(*args: P.args, **kwargs: P.kwargs) -> R:
        data = kwargs.get("data")
        with recording_in(data_folder(data if isinstance(data, Path) else None)):
            return command(*args, **kwargs)

    return recording


def stops_cleanly(command: Callable[P, R]) -> Callable[P, R]:
    """Let Ctrl-C end a command as a wish, not as a crash."""

    @functools.wraps(command)
    def stoppable(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return command(*args, **kwargs)
        except KeyboardInterrupt as error:
            raise click.Abort from error

    return stoppable
