"""What is known of a stream before its first byte: said by hand, or by a recording's header."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.certificate_file import certificate_from_json

if TYPE_CHECKING:
    from strikebridge.recording import Header
    from strikebridge.samples import Prescription


@dataclass(frozen=True, slots=True)
class Setup:
    """What is known of a stream before its first byte.

    Attributes:
        calibration: how readings become newtons; None where the readings say so themselves
            (newtons, kilograms) or nobody knows, and then there are no holds.
        nominal_rate_hz: nominal sampling rate [1/s], None if unknown.
        settling_s: settling time of the converter [s], None to take what the board says.
        prescription: what was prescribed, overruling the events of the stream; None to follow
            them.
        rating_N: what one cell is rated for [N], overruling certificate and stream; None to
            follow them.
    """

    calibration: Calibration | None = None
    nominal_rate_hz: float | None = None
    settling_s: float | None = None
    prescription: Prescription | None = None
    rating_N: float | None = None


def setup_for(header: Header, setup: Setup) -> Setup:
    """Fill in from a recording's header what was not said otherwise.

    Args:
        header: header of the recording.
        setup: what was said on the command line or by the screen.

    Returns:
        The setup to run the pipeline with.

    Raises:
        CalibrationError: the certificate in the header cannot be used.
    """
    calibration = setup.calibration
    if calibration is None and header.calibration is not None:
        certificate = certificate_from_json(header.calibration)
        calibration = Calibration.from_certificate(certificate)
    return replace(
        setup,
        calibration=calibration,
        nominal_rate_hz=setup.nominal_rate_hz or header.nominal_rate_hz,
        settling_s=header.settling_s if setup.settling_s is None else setup.settling_s,
    )
