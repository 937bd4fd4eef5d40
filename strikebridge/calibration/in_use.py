"""The calibration in use along a stream: which one it is, and by whom it was said.

What was set up stays. Else the stream says it, by an event `calibrated`, or the readings do,
where they are newtons or kilograms already. A rating said by hand goes with any of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikebridge.calibration.apply import Calibration
from strikebridge.calibration.chooser import certificate_of
from strikebridge.calibration.rating import rating_of
from strikebridge.errors import CalibrationError
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from strikebridge.samples import Event


class CalibrationInUse:
    """Know how readings become newtons from here on.

    Attributes:
        now: the calibration, None as long as nobody knows.
    """

    def __init__(self, said: Calibration | None, rating_N: float | None) -> None:
        """Begin with what was said beforehand.

        Args:
            said: overrules the stream; None to follow it.
            rating_N: what one cell is rated for [N], overruling certificate and stream; None to
                follow them.
        """
        self.now: Calibration | None = None
        self._is_said = said is not None
        self._is_rating_said = rating_N is not None
        self._rating_N = rating_N
        self._take(said)

    def hear(self, event: Event) -> None:
        """Follow what the stream says of its calibration.

        Args:
            event: `calibrated` or `rated`; others are no business of ours.

        Raises:
            CalibrationError: the certificate in it cannot be used.
        """
        if event.kind == "calibrated" and not self._is_said:
            self._take(Calibration.from_certificate(certificate_of(event)))
        if event.kind == "rated" and not self._is_rating_said:
            self._rating_N = rating_of(event)
            self._take(self.now)

    def agree(self, quantity: Quantity) -> None:
        """See that the calibration is one for what the readings are.

        Args:
            quantity: what they are, as far as it is known.

        Raises:
            CalibrationError: it is for another quantity.
        """
        if quantity is Quantity.UNKNOWN:
            return
        calibration = self.now
        if calibration is None and quantity is not Quantity.COUNT:
            self._take(Calibration.of_quantity(quantity))
        meant = None if calibration is None else calibration.quantity or Quantity.COUNT
        if meant not in (None, quantity):
            raise CalibrationError(
                f"The readings are in {quantity}, the calibration is for readings in {meant}. "
                "Leave the calibration out, or give the one made with these readings."
            )

    def _take(self, calibration: Calibration | None) -> None:
        if calibration is not None and self._rating_N is not None:
            calibration = calibration.rated(self._rating_N)
        self.now = calibration
