"""Which certificate a live board is to be used with, found out while its first readings come.

What a board is shows only once it is open: it says its name with the first bytes or on request,
or never. The recording must not wait for that, so the certificate is chosen a moment later and
stands in the recording as an event, from which on readings are forces, live and on replay
alike.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strikebridge.calibration.certificate_file import certificate_from_json, certificate_to_json
from strikebridge.calibration.shelf import Shelf, age_words, board_name, of_board
from strikebridge.errors import CalibrationError
from strikebridge.samples import Event, Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from strikebridge.calibration.certificate import Certificate
    from strikebridge.calibration.shelf import Shelved
    from strikebridge.samples import Identity

IDENTITY_WITHIN_S = 1.0
"""A board that has a name has said it by then: it is asked as soon as the port is open."""


class Chooser:
    """Choose once.

    Attributes:
        is_done: True once it has looked for good.
        remark: one sentence on what was chosen and why, empty where there is nothing to say.
    """

    def __init__(self, shelved: Sequence[Shelved], address: str, now: datetime) -> None:
        """Be shown the shelf.

        Args:
            shelved: every certificate, the newest first.
            address: where the board is plugged in.
            now: the moment, with its offset.
        """
        self._shelved = shelved
        self._address = address
        self._now = now
        self.is_done = not shelved
        self.remark = ""

    def look(
        self, identity: Identity | None, quantity: Quantity, channels: int, over_s: float
    ) -> Certificate | None:
        """Look whether enough is known of the board, and choose.

        Args:
            identity: what the board has said of itself, None as long as it has not.
            quantity: what its readings are.
            channels: readings a line, 0 before the first.
            over_s: how long readings have been coming [s].

        Returns:
            The certificate, at most once; None as long as it is too early, and where none fits.
        """
        name = "" if identity is None else identity.board
        if self.is_done or not channels or not (name or over_s >= IDENTITY_WITHIN_S):
            return None
        self.is_done = True
        found = [one.certificate for one in of_board(self._shelved, name, self._address)]
        for certificate in found:
            if _fits(certificate, quantity, channels):
                self.remark = chosen_words(certificate, self._now)
                return certificate
        if found:
            made_for = f"{len(found[0].cells)} cells in {found[0].quantity}"
            self.remark = (
                f"The calibration {found[0].id} of this board is for {made_for}, and it sends"
                f" {channels} in {quantity}: not used. Calibrate it again."
            )
        return None


@dataclass(frozen=True, slots=True)
class Known:
    """What the shelf says of a board before it is open.

    Attributes:
        certificate: the one to use, None as long as the board has to be known first.
        chooser: chooses once the board is known; None where that is settled.
        remarks: sentences for the coach.
    """

    certificate: Certificate | None
    chooser: Chooser | None = None
    remarks: tuple[str, ...] = ()


def look_up(data: Path, own: Certificate | None, address: str, now: datetime) -> Known:
    """Look on the shelf before the board is open.

    Args:
        data: data folder.
        own: certificate that the link brings, which knows the name of its board; None where
            the board has to say it.
        address: where the board is plugged in.
        now: the moment, with its offset.

    Returns:
        The newest certificate of the board, else the link's own, else who will choose.

    Raises:
        CalibrationError: the shelf cannot be read.
    """
    shelf = Shelf(data)
    shelved = shelf.all()
    damaged = tuple(shelf.damaged)
    if own is None:
        return Known(None, Chooser(shelved, address, now), damaged)
    found = of_board(shelved, board_name(own), address)
    if not found:
        return Known(own, None, damaged)
    newest = found[0].certificate
    return Known(newest, None, (*damaged, chosen_words(newest, now)))


def chosen_words(certificate: Certificate, now: datetime) -> str:
    """Say which certificate is used and how old it is.

    Args:
        certificate: the certificate.
        now: the moment, with its offset.

    Returns:
        One sentence.
    """
    whose = board_name(certificate) or certificate.address or "a board without a name"
    return f"Calibration {certificate.id} of {whose}, {age_words(certificate, now)}."


def calibrated(certificate: Certificate, at_us: int) -> Event:
    """Write the choice as the event that a recording keeps.

    Args:
        certificate: what was chosen.
        at_us: when, on the stream's clock [us].

    Returns:
        The event; `certificate_of` reads it back.
    """
    text = json.dumps(certificate_to_json(certificate), ensure_ascii=False)
    return Event("calibrated", at_us, {"id": certificate.id, "certificate": text})


def certificate_of(event: Event) -> Certificate:
    """Read a `calibrated` event.

    Args:
        event: as `calibrated` wrote it.

    Returns:
        The certificate.

    Raises:
        CalibrationError: it holds no sound certificate.
    """
    try:
        document = json.loads(str(event.detail.get("certificate")))
    except (ValueError, RecursionError) as error:
        msg = (
            "The recording names a calibration that cannot be read. Give the certificate with"
            " --calibration."
        )
        raise CalibrationError(msg) from error
    return certificate_from_json(document)


def _fits(certificate: Certificate, quantity: Quantity, channels: int) -> bool:
    is_same = quantity in (Quantity.UNKNOWN, certificate.quantity)
    return is_same and len(certificate.cells) == channels
