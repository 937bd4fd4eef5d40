"""One rig, live, being checked: finds the certificate, leads, and keeps the result.

The certificate must be known before a check can begin, and which one it is shows only once the
board has said its name; until then the readings are recorded and nothing else. The finished
check is written into the board's history on the acquisition thread, like everything that is
kept, so that terminal and window need not think of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from typing_extensions import override

from strikebridge.acquisition import Stream
from strikebridge.boards.address import open_link
from strikebridge.calibration.chooser import calibrated, look_up
from strikebridge.checks.check_run import CheckRun, CheckSetup
from strikebridge.checks.check_view import CheckKey, CheckState, CheckView
from strikebridge.checks.expected import UNCHECKED, Reference
from strikebridge.checks.history import (
    CheckRecord,
    Way,
    append_record,
    board_file,
    open_overload,
    read_history,
)
from strikebridge.checks.judging import past_of
from strikebridge.errors import CheckError
from strikebridge.rig_station import RigStation
from strikebridge.samples import Quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from strikebridge.boards.link import Link
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.calibration.chooser import Chooser
    from strikebridge.calibration.walk_setup import WalkCall
    from strikebridge.checks.judging import Check
    from strikebridge.samples import TimedBlock


@dataclass(frozen=True, slots=True)
class CheckStationSetup:
    """What a check is to be made with.

    Attributes:
        address: address of the board.
        data: data folder: shelf of certificates, history of checks.
        recording: file to record to; None to keep none.
        certificate: what to check against; None to take the newest one of the board.
        reference: makes of the certificate what the gain is checked with; raises where the
            certificate has no such plate.
        is_hands_free: True to take a reading that never gets stable.
        is_patient: True to wait for a lost board and go on; False to end with its error.
    """

    address: str
    data: Path
    recording: Path | None = None
    certificate: Certificate | None = None
    reference: Callable[[Certificate], Reference] = field(default=lambda _: UNCHECKED)
    is_hands_free: bool = False
    is_patient: bool = True


class _Unknown:
    """Stands in for the check until the board is known."""

    def __init__(self) -> None:
        self.has_ended = False

    def feed(self, _blocks: Sequence[TimedBlock]) -> list[WalkCall]:
        """Take readings; they are recorded, no more."""
        return []

    def press(self, key: CheckKey) -> list[WalkCall]:
        """Hear a key: only the one that cancels."""
        self.has_ended = self.has_ended or key is CheckKey.CANCEL
        return []

    def lose(self) -> None:
        """Hear that the stream broke."""

    def view(self) -> CheckView:
        """Say what is to be shown."""
        state = CheckState.CANCELLED if self.has_ended else CheckState.ZERO
        words = "Getting to know the board."
        return CheckView(
            state, words, steadiness="waiting for readings", keys=(CheckKey.CANCEL,)
        )


class CheckStation(RigStation[CheckKey, CheckView]):
    """Lead a coach through a check, on a thread of its own.

    Attributes:
        setup: what it is made with.
        remarks: sentences that a coach should read beside the check.
    """

    SAFE = "Nothing is lost."

    def __init__(self, setup: CheckStationSetup) -> None:
        """Prepare; `start` begins.

        Args:
            setup: what it is made with.
        """
        self.setup = setup
        self.remarks: list[str] = []
        self._certificate: Certificate | None = None
        self._chooser: Chooser | None = None
        self._is_kept = False
        stream = Stream(
            setup.address, setup.recording, is_patient=setup.is_patient, data=setup.data
        )
        super().__init__(stream, self._first)

    def look_ahead(self) -> None:
        """Refuse what can be known not to work before the board is open.

        Raises:
            CheckError: there is no calibration, or it does not know the plate that is named.
            CalibrationError: the shelf cannot be read.
            StrikebridgeError: the address cannot be used.
        """
        link, certificate = open_link(self.setup.address), self.setup.certificate
        if certificate is None:
            now = datetime.now().astimezone()
            known = look_up(self.setup.data, link.certificate, link.address, now)
            if known.chooser is not None and known.chooser.is_done:
                raise self._never_calibrated()
            certificate = known.certificate
        if certificate is not None:
            self.setup.reference(certificate)

    def _first(self, _quantity: Quantity) -> CheckRun | _Unknown:
        """Make the one that leads; called by the base, also where the quantity changes."""
        certificate = self._certificate
        if certificate is None:
            return _Unknown()
        return self._run_against(certificate)

    @property
    def check(self) -> Check | None:
        """The finished check, None before the end and where it was cancelled."""
        return self._led.check if isinstance(self._led, CheckRun) else None

    @property
    def certificate(self) -> Certificate | None:
        """What is checked against, None as long as the board is not known."""
        return self._certificate

    @property
    def past(self) -> tuple[CheckRecord, ...]:
        """All checks against this certificate, the new one included once it is kept."""
        if self._certificate is None:
            return ()
        history = read_history(self._history(self._certificate))
        return history.checks_against(self._certificate.id)

    @override
    def _look_up(self, link: Link) -> None:
        certificate = self.setup.certificate
        if certificate is None:
            now = datetime.now().astimezone()
            known = look_up(self.setup.data, link.certificate, link.address, now)
            self.remarks += known.remarks
            self._chooser, certificate = known.chooser, known.certificate
        if certificate is not None:
            self._begin(certificate)
        elif self._chooser is None or self._chooser.is_done:
            raise self._never_calibrated()

    @override
    def _get_to_know(self) -> None:
        super()._get_to_know()
        chooser, decoder = self._chooser, self._decoder
        if decoder is None:
            return
        self._agree(decoder.quantity if decoder.channels else Quantity.UNKNOWN)
        if chooser is None:
            return
        over_s = (self._newest_us - self._first_us) * 1e-6
        found = chooser.look(decoder.identity, decoder.quantity, decoder.channels, over_s)
        if not chooser.is_done:
            return
        self._chooser = None
        self.remarks += [chooser.remark] if chooser.remark else []
        if found is None:
            raise self._never_calibrated()
        self._feed([calibrated(found, self._now_us)])
        self._begin(found)

    def _agree(self, quantity: Quantity) -> None:
        """See that the certificate is one for what the readings are."""
        certificate = self._certificate
        if certificate is None or quantity in (Quantity.UNKNOWN, certificate.quantity):
            return
        raise CheckError(
            f"The board sends readings in {quantity}, the certificate {certificate.id} is for"
            f" readings in {certificate.quantity}. Name the board's own with --certificate."
        )

    def _never_calibrated(self) -> CheckError:
        return CheckError(
            f"No calibration of the board at {self._address} is on the shelf, so there is"
            " nothing to check it against. Calibrate it first: strikebridge calibrate."
        )

    def _begin(self, certificate: Certificate) -> None:
        self._certificate = certificate
        self._led = self._run_against(certificate)

    def _run_against(self, certificate: Certificate) -> CheckRun:
        reference = self.setup.reference(certificate)
        history = read_history(self._history(certificate))
        if history.damaged:
            self.remarks.append(f"{history.damaged} lines of the history could not be read.")
        is_open = open_overload(history, certificate.made_at) is not None
        if is_open and reference.way is Way.NONE:
            raise CheckError(
                "The cell was overloaded since its last good check, so its gain must be checked"
                " too: say with what, --plate, --scale or --shunt-n."
            )
        checks = history.checks_against(certificate.id)
        past = past_of(certificate, checks, is_after_overload=is_open)
        return CheckRun(CheckSetup(certificate, reference, past, self.setup.is_hands_free))

    def _history(self, certificate: Certificate) -> Path:
        return board_file(self.setup.data, certificate.board, self._address)

    @override
    async def _act(self, link: Link) -> bool:
        is_new = await super()._act(link)
        if self.check is not None and not self._is_kept:
            self._is_kept = True
            self._keep(self.check)
        return is_new

    def _keep(self, check: Check) -> None:
        certificate, zero, gain = self._certificate, check.levels.zero, check.gain
        if certificate is None:
            return
        record = CheckRecord(
            at=datetime.now().astimezone().isoformat(timespec="seconds"),
            board=certificate.board,
            address=self._address,
            certificate=check.certificate,
            verdict=check.verdict,
            way=check.reference.way,
            zero=zero.reading,
            u_zero=zero.u,
            zero_N=check.zero_N,
            noise_N=check.noise_N,
            load_N=None if gain is None else gain.expected_N,
            gain_error=None if gain is None else gain.error,
            gain_u95=None if gain is None else gain.u95,
        )
        append_record(self._history(certificate), record)
