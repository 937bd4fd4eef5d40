"""Pseudo-terminals for tests; Windows has none, and there such tests are skipped."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass

import pytest

posix = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo-terminals")

if sys.platform == "win32":

    def _open() -> tuple[int, int, str]:
        raise OSError("Windows has no pseudo-terminals")

    def _speed(theirs: int) -> int:
        raise OSError("Windows has no pseudo-terminals")

    def open_terminal() -> tuple[int, int]:
        raise OSError("Windows has no pseudo-terminals")

    def settings_of(theirs: int) -> object:
        raise OSError("Windows has no pseudo-terminals")

else:
    import termios
    import tty

    def _open() -> tuple[int, int, str]:
        ours, theirs = os.openpty()
        tty.setraw(theirs)
        return ours, theirs, os.ttyname(theirs)

    def _speed(theirs: int) -> int:
        known = {termios.B115200: 115_200, termios.B9600: 9600, termios.B57600: 57_600}
        return known.get(int(termios.tcgetattr(theirs)[5]), 0)

    def open_terminal() -> tuple[int, int]:
        """Open what a shell would give a program: our end, and the program's."""
        return os.openpty()

    def settings_of(theirs: int) -> object:
        """Give how a terminal is set: echo, line editing and all that."""
        return termios.tcgetattr(theirs)


@dataclass
class Pty:
    """The board's end of a port.

    ours: where the board writes and reads; path: what a link opens.
    """

    ours: int
    theirs: int
    path: str
    is_open: bool = True

    def write(self, data: bytes) -> None:
        os.write(self.ours, data)

    def baud(self) -> int:
        """The rate that the other end was set to."""
        return _speed(self.theirs)

    def pull(self) -> None:
        """Pull the plug."""
        if self.is_open:
            self.is_open = False
            os.close(self.ours)
            os.close(self.theirs)


def open_pty() -> Pty:
    return Pty(*_open())
