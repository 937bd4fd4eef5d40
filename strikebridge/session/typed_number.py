"""The number that a coach reads off a plain scale and types, key by key.

Nothing is taken that cannot be: no number, none at all, more than any athlete pushes. What is
only unlikely is asked about, and Enter once more says that it is right.
"""

from __future__ import annotations

from dataclasses import dataclass

from strikebridge.session.conductor import Key
from strikebridge.units import NEWTONS_PER_UNIT, ForceUnit

LONGEST = 7  # characters
MOST_N = 20_000.0  # no athlete and no scale in a gym gets there (common practice, no source)
UNLIKELY_N = 2500.0  # an isometric push of an adult stays below (common practice, no source)
LEAST_N = 20.0
UNLIKE = 2.0  # times the number before, or a part of it
DIGITS = {key: key.value for key in Key if key.value.isdigit()}
TYPING = (*DIGITS, Key.POINT, Key.RUB, Key.ENTER)
"""Keys that write a number."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A number that was typed and accepted.

    Attributes:
        value: as typed, in the unit of the scale.
        step: smallest step of what was typed, in the same unit.
    """

    value: float
    step: float


class TypedNumber:
    """Take keys until they are a number that can be.

    Attributes:
        text: what stands there.
        question: what is asked or wrong, empty if nothing is.
    """

    def __init__(self, unit: ForceUnit) -> None:
        """Begin empty.

        Args:
            unit: what the scale shows.
        """
        self._unit = unit
        self._taken: list[float] = []
        self._confirmed = ""
        self.text = ""
        self.question = ""

    def begin(self, text: str = "") -> None:
        """Begin anew.

        Args:
            text: the last number, where that was a slip and is to be corrected; else empty.
        """
        if text:
            self._taken = self._taken[:-1]
        self.text, self.question, self._confirmed = text, "", ""

    def press(self, key: Key) -> Typed | None:
        """Take a key.

        Args:
            key: a digit, the decimal point, rub out or enter.

        Returns:
            The number once enter was pressed and it can be; None before.
        """
        if key is Key.ENTER:
            return self._enter()
        if key is Key.RUB:
            self.text = self.text[:-1]
        elif len(self.text) < LONGEST and not (key is Key.POINT and "." in self.text):
            self.text += "." if key is Key.POINT else DIGITS[key]
        self.question = ""
        return None

    def _enter(self) -> Typed | None:
        try:
            value = float(self.text)
        except ValueError:
            self.question = "Type what the scale showed, then Enter."
            return None
        self.question = self._impossible(value)
        if self.question:
            return None
        if self._confirmed != self.text:
            self.question = self._unlikely(value)
            if self.question:
                self._confirmed = self.text
                return None
        self._taken.append(value)
        decimals = len(self.text.partition(".")[2])
        return Typed(value, 10.0**-decimals)

    def _impossible(self, value: float) -> str:
        value_N = value * NEWTONS_PER_UNIT[self._unit]
        if value <= 0.0:
            return f"{self.text} {self._unit} is no hold. Type what the scale showed."
        if value_N > MOST_N:
            return f"{self.text} {self._unit} cannot be. Type it again."
        return ""

    def _unlikely(self, value: float) -> str:
        value_N = value * NEWTONS_PER_UNIT[self._unit]
        again = "Enter again if it is right."
        if not LEAST_N <= value_N <= UNLIKELY_N:
            size = "much" if value_N > LEAST_N else "little"
            return f"{self.text} {self._unit} is very {size}. {again}"
        last = self._taken[-1] if self._taken else value
        if not last / UNLIKE <= value <= last * UNLIKE:
            return f"{self.text} {self._unit} after {last:g} {self._unit}? {again}"
        return ""
