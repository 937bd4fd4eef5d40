"""The papers of the board at a wall: its certificate, its checks, its overloads.

They lie in the data folder. Before a session they say with which certificate readings become
forces and what has to be done first; when a cell was overloaded they get a line more, which
asks for a check. A wall without a data folder has none, and warns all the same.
"""

from __future__ import annotations

import math
from datetime import datetime
from typing import TYPE_CHECKING

from strikebridge.calibration.chooser import look_up
from strikebridge.calibration.rating import RatingWatch, Strain
from strikebridge.calibration.shelf import board_words
from strikebridge.checks.history import (
    OverloadRecord,
    append_record,
    board_file,
    open_overload,
    read_history,
    standing,
)
from strikebridge.errors import CheckError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from strikebridge.boards.link import Decoder
    from strikebridge.calibration.apply import Calibration
    from strikebridge.calibration.certificate import Certificate
    from strikebridge.calibration.chooser import Chooser
    from strikebridge.samples import ForceBlock, Identity
    from strikebridge.scoreboard import Scoreboard

OVERLOADED = "Cell overloaded: verify first"  # to be read from four metres


class BoardPapers:
    """Look into the papers of one board, and keep them.

    Attributes:
        is_overload_new: True from when an overload began until whoever leads was told.
    """

    def __init__(
        self, data: Path | None, scoreboard: Scoreboard, remark: Callable[[str], None]
    ) -> None:
        """Begin with nothing known of the board.

        Args:
            data: data folder; None to look at no papers and keep none.
            scoreboard: shows how the cell stands, and what has to be done first.
            remark: called with each sentence that the coach should read, perhaps an empty one.
        """
        self._data = data
        self._scoreboard = scoreboard
        self._remark = remark
        self._chooser: Chooser | None = None
        self._rating: RatingWatch | None = None
        self._calibration: Calibration | None = None
        self.is_overload_new = False
        self._is_overload_open = False  # not yet in the papers

    @property
    def is_choosing(self) -> bool:
        """Say whether the certificate is still to be chosen."""
        return self._chooser is not None

    def look_up(self, own: Certificate | None, address: str) -> Certificate | None:
        """Find the certificate as far as it can be known before the board is open.

        Args:
            own: certificate that the link brings, None without one.
            address: where the board is plugged in.

        Returns:
            The certificate; None as long as the board has to be known first.

        Raises:
            CalibrationError: the certificates cannot be read.
        """
        if self._data is None:
            return own
        known = look_up(self._data, own, address, datetime.now().astimezone())
        for sentence in known.remarks:
            self._remark(sentence)
        self._chooser = known.chooser
        if known.certificate is not None:
            is_own = known.certificate is own
            board = known.certificate.board
            self._look_at_checks(board, address, known.certificate, only_overloads=is_own)
        return known.certificate

    def choose(self, decoder: Decoder, address: str, over_s: float) -> Certificate | None:
        """Choose the certificate once the board is known.

        Args:
            decoder: knows what the board says of itself.
            address: where the board is plugged in.
            over_s: how long readings have been coming [s].

        Returns:
            The certificate, at most once; None as long as it is too early, and where none fits.
        """
        chooser = self._chooser
        if chooser is None:
            return None
        certificate = chooser.look(decoder.identity, decoder.quantity, decoder.channels, over_s)
        if chooser.is_done:
            self._chooser = None
            self._remark(chooser.remark)
            if certificate is not None:
                self._look_at_checks(board_words(decoder.identity), address, certificate)
        return certificate

    def _look_at_checks(
        self,
        board: str,
        address: str,
        certificate: Certificate,
        *,
        only_overloads: bool = False,
    ) -> None:
        """Say if the board's last checks leave something to be done; nothing waits for it."""
        assert self._data is not None
        try:
            history = read_history(board_file(self._data, board, address))
        except CheckError as error:
            self._remark(str(error))
            return
        now = datetime.now().astimezone()
        sentence = standing(history, certificate.id, certificate.made_at, now)
        is_overloaded = open_overload(history, certificate.made_at) is not None
        if is_overloaded:
            self._scoreboard.warning = OVERLOADED
        if is_overloaded or not only_overloads:
            self._remark(sentence)

    def mind_rating(
        self, calibration: Calibration | None, blocks: Sequence[ForceBlock]
    ) -> None:
        """Hold the newest forces against what the cell is rated for.

        Args:
            calibration: what made them forces, None as long as nothing does.
            blocks: the newest forces.
        """
        self._calibration = calibration
        if calibration is None or not math.isfinite(calibration.cell_rating_N):
            return
        if self._rating is None or self._rating.rating_N != calibration.cell_rating_N:
            self._rating = RatingWatch(calibration.cell_rating_N)
        for block in blocks:
            if self._rating.feed(block):
                self.is_overload_new = self._is_overload_open = True
        self._scoreboard.strain = self._rating.strain

    @property
    def has_overload_to_keep(self) -> bool:
        """Say whether there was an overload, it is over, and it is not in the papers yet."""
        return (
            self._is_overload_open
            and self._rating is not None
            and self._rating.strain is not Strain.OVER
        )

    def keep_overload(
        self, identity: Identity | None, certificate: Certificate | None, address: str
    ) -> None:
        """Put an overload into the board's history: it asks for a check.

        Args:
            identity: what the board says of itself, None if it says nothing.
            certificate: names the board in that case; None where there is none.
            address: where it is plugged in.
        """
        rating, calibration = self._rating, self._calibration
        if rating is None or not self._is_overload_open:
            return
        self._is_overload_open = False
        board = board_words(identity)
        if not board and certificate is not None:
            board = certificate.board
        record = OverloadRecord(
            at=datetime.now().astimezone().isoformat(timespec="seconds"),
            board=board,
            address=address,
            certificate=(calibration.id or "") if calibration is not None else "",
            force_N=rating.most_N,
            rating_N=rating.rating_N,
        )
        self._scoreboard.warning = OVERLOADED
        self._remark("The cell was overloaded: run verify before you trust a number.")
        if self._data is None:
            return
        try:
            append_record(board_file(self._data, board, address), record)
        except CheckError as error:
            self._remark(str(error))
