"""A pseudo-terminal with a simulated board at its far end, paced by a thread of its own."""

from __future__ import annotations

import os
import sys
import threading
import time
from typing import TYPE_CHECKING

from strikebridge.boards.strikebridge_lines import REQUEST
from strikebridge.errors import BoardNotFoundError

if TYPE_CHECKING:
    from strikebridge.boards.simulated_board import SimulatedBoard, TimedLine

JOIN_WITHIN_S = 2.0

if sys.platform == "win32":

    def _open_pair() -> tuple[int, int, str]:
        raise BoardNotFoundError("Windows has no pseudo-terminals.", address="simulated:")

else:
    import tty

    def _open_pair() -> tuple[int, int, str]:
        try:
            ours, theirs = os.openpty()
        except OSError as error:
            raise BoardNotFoundError(
                f"The system gave no pseudo-terminal for the simulated board "
                f"({error.strerror}); write simulated:?speed=1.001 to do without one.",
                address="simulated:",
            ) from error
        tty.setraw(theirs)  # no echo, no line editing, no change of line ends
        os.set_blocking(ours, False)
        return ours, theirs, os.ttyname(theirs)


class PseudoPort:
    """The board's end of a pseudo-terminal.

    Attributes:
        path: what the serial link opens.
    """

    def __init__(self, board: SimulatedBoard, bunch_us: int) -> None:
        """Open a pseudo-terminal; the board's time stands still until `start`.

        Args:
            board: the model.
            bunch_us: lines are held back to multiples of this [us]; 0 for none.

        Raises:
            BoardNotFoundError: the system gives none.
        """
        self._board = board
        self._bunch_us = bunch_us
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="simulated board", daemon=True)
        self._ours, self._theirs, self.path = _open_pair()

    def start(self) -> None:
        """Let the board's time pass."""
        self._thread.start()

    def close(self) -> None:
        """Stop the thread and close both ends."""
        self._stopping.set()
        if self._thread.ident is not None:
            self._thread.join(JOIN_WITHIN_S)
        os.close(self._ours)
        os.close(self._theirs)

    def _run(self) -> None:
        """Write every line when its time has come."""
        began_s = time.monotonic() - self._board.now_s
        self._put(self._board.identity_line())
        while not self._stopping.is_set():
            for at_us, data in bunched(self._board.next_lines(), self._bunch_us):
                wait_s = began_s + at_us * 1e-6 - time.monotonic()
                if wait_s > 0.0 and self._stopping.wait(wait_s):
                    return
                self._put(data)
                self._listen()

    def _listen(self) -> None:
        try:
            asked = os.read(self._ours, 256)
        except BlockingIOError:
            return
        if REQUEST in asked:
            self._put(self._board.identity_line())

    def _put(self, data: bytes) -> None:
        try:
            os.write(self._ours, data)
        except BlockingIOError:
            return  # nobody reads: a board does not wait either


def bunched(lines: list[TimedLine], bunch_us: int) -> list[tuple[int, bytes]]:
    """Hold lines back to the next multiple of `bunch_us`, as USB and radios do.

    Args:
        lines: when and what the board writes.
        bunch_us: spacing of the bunches [us]; 0 to hold nothing back.

    Returns:
        When each line comes through [us of the board's clock], and its bytes.
    """
    if not bunch_us:
        return [(line.at_us, line.data) for line in lines]
    return [(-(-line.at_us // bunch_us) * bunch_us, line.data) for line in lines]
