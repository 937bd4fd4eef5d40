"""Find the baud rate of a board by trial: at the wrong one its bytes are no text.

A byte read at another speed than it was sent is cut into other bits: what comes out has its top
bit set half the time and hardly ever a line feed. So the usual rates are tried in turn until
what comes is lines of text; that rate stays. Boards on native USB, and pseudo-terminals, do not
care for the rate: they are text at the first.
"""

from __future__ import annotations

USUAL_BAUDS = (
    *(115_200, 9600, 57_600, 38_400, 19_200, 230_400, 250_000, 500_000, 1_000_000),
    *(460_800, 921_600, 74_880, 4800, 2400),
)
"""Rates in the order of trial, the commonest first (common practice, no source)."""

FEW = 48  # bytes that tell noise from text
MANY = 400  # bytes in which a line feed has to come
TEXT = frozenset(b"\t\n\r" + bytes(range(0x20, 0x7F)))
SURE_TEXT = 0.9  # of the bytes; a sketch may print a degree sign
SURE_NOISE = 0.8


class BaudTrial:
    """Look at bytes as they come, and say when to try another rate.

    Attributes:
        baud: rate that is tried or was found.
        is_settled: True once the bytes were lines of text.
    """

    def __init__(self, first: int = USUAL_BAUDS[0]) -> None:
        """Begin with a rate.

        Args:
            first: rate to try first, such as the one found last time.
        """
        self.baud = first
        self.is_settled = False
        self._order = [first, *[baud for baud in USUAL_BAUDS if baud != first]]
        self._seen = b""

    def feed(self, data: bytes) -> bool:
        """Take what came at the present rate.

        Args:
            data: untouched bytes.

        Returns:
            True if `baud` is another rate now, to be set at once.
        """
        if self.is_settled:
            return False
        self._seen += data
        size = len(self._seen)
        if size < FEW:
            return False
        share = sum(byte in TEXT for byte in self._seen) / size
        if share >= SURE_TEXT and b"\n" in self._seen:
            self.is_settled = True
            self._seen = b""
            return False
        if share >= SURE_NOISE and size < MANY:
            return False
        at = self._order.index(self.baud)
        self.baud = self._order[(at + 1) % len(self._order)]
        self._seen = b""
        return True
