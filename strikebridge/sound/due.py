"""When a tone is due: what the wall goes through, heard; no clock, no device."""

from __future__ import annotations

import math

from strikebridge.glance import Phase
from strikebridge.sound.tones import Signal

LAST_SECONDS = 2  # of a hold that are counted down aloud: common practice, no source
SLACK_S = 1e-6  # a second that is over but for a rounding error is over


class Due:
    """Follow the phases of the wall and say which signals are due.

    Count-in: one signal a second. Hold: the go at its start, one signal for each of the last
    seconds while the force is up, and one when the time is over, or an overload ends it. A hold
    of no set length has no end to be told, a push that is over early gets none either.
    """

    def __init__(self) -> None:
        self._phase = Phase.WAITING
        self._number: int | None = None  # seconds told last, of this count-in or hold

    def feed(
        self, phase: Phase, seconds_left: float | None, *, is_held: bool
    ) -> tuple[Signal, ...]:
        """Let time pass.

        Args:
            phase: what the wall shows.
            seconds_left: of that phase [s], None where it has no end.
            is_held: True while the force is up.

        Returns:
            What is to be heard now, in order.
        """
        before, self._phase = self._phase, phase
        signals: list[Signal] = []
        if phase is not before:
            self._number = None
        if phase is Phase.HOLD and before is Phase.COUNT_IN:
            signals.append(Signal.GO)
        number = None if seconds_left is None else max(0, math.ceil(seconds_left - SLACK_S))
        if phase is Phase.COUNT_IN:
            if number and number != self._number:
                signals.append(Signal.COUNT)
            self._number = number
        elif phase is Phase.HOLD:
            signals += self._of_hold(number if is_held else None)
        return tuple(signals)

    def _of_hold(self, number: int | None) -> list[Signal]:
        told, self._number = self._number, number
        if number is None or told is None or number >= told:
            return []
        if number == 0:
            return [Signal.DONE]
        return [Signal.LAST] if number <= LAST_SECONDS else []
