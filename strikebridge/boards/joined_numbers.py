"""See a number that is two, run together because the line feed between them was lost.

Where one number a line is all there is, `84213` and `84198` become `8421384198`, which reads
like a number. It is given away by its halves: each is about what came before, while the whole
is far from it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from strikebridge.samples import Floats

JUMP = 50.0  # so many times the reading before; two halves are at least ten times as much
NEAR = 0.25  # a half fits that is off by less than this share
SPREADS = 6.0  # or by so many usual steps from one reading to the next
MOST_NEAR = 0.5  # what is off by more than this share of it is not near
RECENT = 9


class JoinedNumbers:
    """Look at whole numbers in their order."""

    def __init__(self) -> None:
        self._recent: list[float] = []

    def keep(self, values: Floats) -> NDArray[np.bool_] | None:
        """Say which numbers are one number.

        Args:
            values: shape (n,), at least one.

        Returns:
            True where it is one, shape (n,); None where all are.
        """
        before = np.empty(len(values))
        before[0] = self._recent[-1] if self._recent else values[0]
        before[1:] = values[:-1]
        if not (np.abs(values) >= JUMP * np.maximum(np.abs(before), 1.0)).any():
            self._recent = [*self._recent, *values[-RECENT:].tolist()][-RECENT:]
            return None
        is_one = np.ones(len(values), bool)
        for place, value in enumerate(values.tolist()):
            if self._is_joined(value):
                is_one[place] = False
            else:
                self._recent = [*self._recent[1 - RECENT :], value]
        return is_one

    def _is_joined(self, value: float) -> bool:
        if not self._recent or not value.is_integer():
            return False
        # the middle of what came before: one glitch word, or a zero passed, says nothing
        before = abs(float(np.median(self._recent)))
        # of the last one as well, so that whole blocks can be looked at by that alone
        if abs(value) < JUMP * max(before, abs(self._recent[-1]), 1.0):
            return False
        usual = float(np.median(np.abs(np.diff(self._recent)))) if self._recent[1:] else 0.0
        near = max(NEAR * before, SPREADS * usual)
        if near > MOST_NEAR * before:
            return False  # about zero anything is near: then no number gives itself away
        digits = str(abs(int(value)))
        return any(
            abs(float(half) - before) <= near and abs(float(rest) - before) <= near
            for half, rest in ((digits[:cut], digits[cut:]) for cut in range(1, len(digits)))
            if rest[0] != "0" or len(rest) == 1
        )
